"""Screening of laboratory results at the closure of underground storage tanks, against dated action levels."""

__version__ = "0.1.0"
