"""How captions have to look, read from the vocabulary's rules, where each figure has its source."""

from __future__ import annotations

import csv
import functools
import io

from episode.lexicon.resources import vocab_root
from episode.models import Seconds, Value


class CaptionRules(Value):
    """Figures of captioning guidelines; words a minute are counted as words between spaces."""

    line_length: int
    """Characters a line holds."""
    lines: int
    speed: float
    """Words a minute that are read with ease."""
    fastest: float
    """Words a minute that no caption may exceed where what is said allows it."""
    shortest_s: Seconds
    longest_s: Seconds
    hang_s: Seconds
    """How long a caption may stay after its words."""
    close_s: Seconds
    """A gap between captions that is shorter than this is closed."""


@functools.cache
def caption_rules() -> CaptionRules:
    """The rules, from ``vocab/rules/caption_rules.csv``."""
    text = vocab_root().joinpath("rules").joinpath("caption_rules.csv").read_text(encoding="utf-8")
    values = {row["rule"]: float(row["value"]) for row in csv.DictReader(io.StringIO(text))}
    return CaptionRules(
        line_length=int(values["characters a line"]),
        lines=int(values["lines"]),
        speed=values["words a minute"],
        fastest=values["words a minute at most"],
        shortest_s=values["seconds at least"],
        longest_s=values["seconds at most"],
        hang_s=values["seconds after the words"],
        close_s=values["seconds of a gap that is closed"],
    )
