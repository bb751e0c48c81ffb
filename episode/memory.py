"""Memory that was freed goes back to the system."""

from __future__ import annotations

import ctypes


def give_back() -> None:
    """Return what was freed, where the C library is glibc; nothing elsewhere.

    By itself it keeps freed minutes of sound for later ones that seldom fit between what threads hold, so that memory
    would grow with the day.
    """
    try:
        trim = ctypes.CDLL(None).malloc_trim
    except (AttributeError, OSError, TypeError):
        return
    trim(0)
