"""The words of the day, clip by clip in order of time."""

from __future__ import annotations

from chest import CHEST_FIRST, CHEST_SECOND
from hand import HAND_FIRST, HAND_SECOND

CLIPS = (CHEST_FIRST, HAND_FIRST, CHEST_SECOND, HAND_SECOND)
