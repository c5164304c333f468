"""Closure: is the sampling complete, what is due when, can the report be filed."""
