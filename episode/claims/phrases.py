"""What leads up to a word in a sentence, and whether it is denied."""

from __future__ import annotations

import re

from episode.claims.cues import pattern


def led(text: str, at: int, cue: str, *, words: int) -> int | None:
    """Where the cue phrase begins that leads up to ``at`` with at most ``words`` words between."""
    before = text[:at]
    found = None
    for match in pattern(cue).finditer(before):
        between = before[match.end() :]
        if re.fullmatch(rf"\s*(?:[\w'’-]+\s+){{0,{words}}}", between):
            found = match.start() if found is None else min(found, match.start())
    return found


def denied(text: str, at: int) -> bool:
    """Whether a denial stands close before ``at`` in the same clause."""
    close = text[max(0, at - 22) : at]
    denials = [m.end() for m in pattern("negated").finditer(close)]
    return bool(denials) and not re.search(r"[,;]|\bbut\b", close[denials[-1] :])
