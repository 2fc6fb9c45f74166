"""Weatherglass: who is getting worse, why, and what on the drug chart needs a second look."""

__version__ = "0.1.0"
