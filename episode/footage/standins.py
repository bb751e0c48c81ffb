"""Transcript files that stand in for recognition: is this one, and how far does it go.

Their words are read by the ``speech`` room; here only the time stamps matter.
"""

from __future__ import annotations

import re
from pathlib import Path

LARGEST_BYTES = 10_000_000
WORDS_A_SECOND = 2.5
"""An even speaking pace, 150 words a minute (common practice, no source), for a last paragraph without an end."""

_CUE_END = re.compile(r"-->\s*(?:(\d{1,3}):)?(\d{1,2}):(\d{2})[.,](\d{1,3})")
_STAMP = re.compile(r"^[^\S\n]*\[(?:(\d{1,3}):)?(\d{1,3}):([0-5]\d)(?:[.,]\d{1,3})?\](.*)$", re.MULTILINE)


def last_cue_end(path: Path) -> float | None:
    """Seconds at which the transcript's last cue ends, or ``None`` if ``path`` is no transcript.

    SubRip and WebVTT give the ends of their cues. In ``.txt`` the first line that is not empty, and every
    paragraph after it, begins with ``[m:ss]`` or ``[h:mm:ss]``; the last is given the time it takes to say.

    Raises:
        OSError: the file cannot be read.
    """
    if path.stat().st_size > LARGEST_BYTES:
        return None
    text = _text(path.read_bytes())
    if path.suffix.lower() != ".txt":
        ends = [
            int(h or 0) * 3600 + int(m) * 60 + int(s) + int(ms.ljust(3, "0")) / 1000
            for h, m, s, ms in _CUE_END.findall(text)
        ]
        return max(ends, default=None)
    if _STAMP.match(text.lstrip()) is None:
        return None
    last = list(_STAMP.finditer(text))[-1]
    begin = int(last[1] or 0) * 3600 + int(last[2]) * 60 + int(last[3])
    return begin + max(1.0, len(text[last.start(4) :].split()) / WORDS_A_SECOND)


def _text(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")
