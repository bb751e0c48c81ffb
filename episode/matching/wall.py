"""Wall-clock times as seconds and back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

NOWHEN = datetime(1970, 1, 1, tzinfo=UTC)
"""Stands for the start of a clip that nothing is known of."""


def epoch(when: datetime) -> float:
    """Seconds since 1970, UTC; a time without a zone counts as UTC."""
    aware = when if when.tzinfo else when.replace(tzinfo=UTC)
    return (aware - NOWHEN).total_seconds()


def later(when: datetime, seconds: float) -> datetime:
    """A time some seconds on, in the same zone, by elapsed time; the time itself where no calendar reaches."""
    aware = when if when.tzinfo else when.replace(tzinfo=UTC)
    try:
        return (aware.astimezone(UTC) + timedelta(seconds=round(seconds, 3))).astimezone(aware.tzinfo)
    except (OverflowError, ValueError):
        return aware
