"""Words that name a thing by what was said before: "another one", "same again", "two more of those".

Only what was spoken of shortly before counts, and only in a sentence that names no thing of its own.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from episode.models import How, Kind, Term
from episode.spotting.names import Span
from episode.spotting.stream import Token

SHORTLY_S = 45.0
_AGAIN = re.compile(
    r" (?P<said>(?:and |yet |there's |heres |theres |thats |look |oh )*?"
    r"(?:another(?: one)?|one more|(?:two|three|four|five) more(?: of (?:them|these|those))?|a second one|"
    r"(?:the )?same again|(?:another )?one of (?:them|these|those)))"
    r"(?= (?:and|but|look|here|there|just|right|in|on|under|by|if|that|this|with|only|lying|sticking|over|next|for)\b|[,.?]|\Z)"
)


@dataclass(slots=True)
class Told:
    """The things spoken of in a clip so far, each with when."""

    things: list[tuple[float, Term]]

    def note(self, spans: Sequence[Span], tokens: Sequence[Token]) -> None:
        """Remember what a sentence names."""
        for span in spans:
            if span.term.kind in (Kind.OBJECT, Kind.WARE):
                self.things.append((tokens[span.first].word.start, span.term))


def referred(told: Told, tokens: Sequence[Token], first: int, last: int) -> Span | None:
    """What the sentence of tokens ``first`` to ``last`` means by "another one" and the like, or ``None``."""
    if first >= last or not told.things:
        return None
    at, thing = told.things[-1]
    if tokens[first].word.start - at > SHORTLY_S:
        return None
    # An object of the same breath goes before the ware that it is made of.
    thing = next((t for when, t in reversed(told.things[-3:]) if t.kind is Kind.OBJECT and at - when < 4.0), thing)
    text, starts = "", []
    for token in tokens[first:last]:
        starts.append(len(text))
        text += f" {token.plain}{token.after}"
    found = _AGAIN.search(text)
    if found is None:
        return None
    begin, end = found.span("said")
    inside = [n for n, start in enumerate(starts) if begin - 1 <= start < end]
    return Span(first + inside[0], first + inside[-1] + 1, thing, How.OTHER_NAME)
