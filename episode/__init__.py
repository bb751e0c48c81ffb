"""Paperwork for a filmed day of finds hunting: from raw clips to chapters, claims and a description draft."""

__version__ = "0.1.0"
