"""Where on the page something can be seen and heard."""

from __future__ import annotations

from urllib.parse import quote

from episode.drafting.stamps import stamp


def watch_link(clip: str, at: float) -> str:
    """The clip's address from ``out/``, from this second on (W3C Media Fragments: ``#t=``)."""
    return f"../footage/{quote(clip, safe='/')}#t={max(at, 0):.1f}"


def in_film(at: float) -> str:
    """A second of the finished film in words; the film lies outside the day folder and is not played."""
    return f"{stamp(at)} of the film"
