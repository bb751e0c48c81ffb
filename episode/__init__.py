"""Paperwork for a filmed day of finds hunting: from raw clips to chapters, claims and a description draft."""

import os

__version__ = "0.1.0"

# The library that finds speech in sound reports its use to its maker unless told not to before it is loaded.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
