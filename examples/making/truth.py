"""What is true of the day and said nowhere on camera."""

from __future__ import annotations

CLOCKS = {"chest": 3623.0, "hand": -104.0}
"""Seconds to add to a camera's time to get the log's time: winter time and 23 s slow; 104 s fast."""

CALLED = {"8": "sixpence", "12": "shoe buckle"}
"""The closest term, where a find is first named by a wider one."""

LOGGED_NOT_FILMED = ("15", "16")
"""Find numbers of the log that no clip shows."""
