"""Delivered texts in the normal form: numbers, dates, one unit, one identity a row."""
