"""Words that stand for a thing named before: "another one", "same again", and a short name for a longer one.

Both look back over what was said in the same clip. "Another one" is the object or ware last in talk; "the
seal" after "bottle seal" is that seal. Only what is near and plain is taken, since a wrong one is a false
mention.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from episode.lexicon.book import Lexicon
from episode.models import How, Kind, Stance, Term
from episode.spotting.names import Span
from episode.spotting.spoken import Spoken
from episode.spotting.stream import Token, firsts_of

NEAR_S = 25.0
"""How long a thing stays in talk for "another one"."""
SHORT_FOR_S = 90.0
"""How long a short name stands for the longer one, outside a round-up."""

_THINGS = frozenset({Kind.OBJECT, Kind.WARE})
_IN_TALK = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE, Stance.ASIDE, Stance.RECAP})
_WORDS = frozenset("another again more any them these those mine she he".split())
_HERE = r"(?=\Z| (?:here|there|just|and|look|over|under|down|next|right|by|same|up|in|on|with|today|already|if)\b)"
_PATTERNS = tuple(
    re.compile(pattern)
    for pattern in (
        r"\A(?: and| oh| ooh| yes| look)*(?P<w> (?:the )?same (?:thing )?again)\Z",
        rf"(?P<w> another (?:one|of (?:them|these|those))){_HERE}",
        r"(?P<w> another (?:little |big |small |wee )?(?:scrap|bit|piece|fragment|lump|chunk) of (?:it|them|that|the same))\b",
        rf" (?:heres|theres|got|found|have|is)(?P<w> another){_HERE}",
        r"\A(?: and| oh| ooh| yes| look)*(?P<w> another)(?=\Z)",
        r"(?P<w> (?:one|two|three|four|five|six|couple|few|some|loads|lots|plenty) more of (?:them|these|those|the same|it))\b",
        rf" (?:heres|theres|got)(?P<w> (?:one|two|three) more){_HERE}",
        r"(?P<w> (?:this is|thats|that is|heres|here is) (?:one|another) of (?:them|those|mine))(?=\Z| (?:here|there|this|look|from|that|which|i)\b)",
        r" (?:havent|hasnt|never|didnt|dont|not|cant|couldnt) (?:found|find|had|have|seen|see|got|get|come across)"
        r"(?P<w> any)(?=\Z| (?:today|yet|here|this|so|at|on|for|myself|round|along|down|since|lately)\b)",
        r" (?:jar|box|tin|bag|shelf|drawer|tray|bucket|collection|drawerful|boxful|jarful|bagful|tub) of(?P<w> (?:them|these|those))\b",
        r" here(?P<w> (?:she|he) is)(?=\Z| (?:just|look|so|all|now|in)\b)",
    )
)
_DEFINITE = frozenset("the one half my his her its our their that this me".split())
_NEW = frozenset("a an another any some no other different".split())


def stand_ins(talk: Sequence[Spoken], rows: Sequence[Sequence[Stance]], tokens: Sequence[Token]) -> dict[int, Span]:
    """By sentence of the clip: the words that stand for the thing last in talk, in sentences that name none.

    Args:
        talk: the clip's sentences with what they name.
        rows: the stance of each of their mentions; what is denied, hoped for or likened to is not in talk.
        tokens: the clip's words.
    """
    firsts = firsts_of(tokens, len(talk))
    found: dict[int, Span] = {}
    last: tuple[Term, float] | None = None
    for number, sentence in enumerate(talk):
        things = [
            span.term
            for span, stance in zip(sentence.spans, rows[number], strict=True)
            if span.term.kind in _THINGS and stance in _IN_TALK
        ]
        if any(span.term.kind in _THINGS for span in sentence.spans):
            last = (things[-1], sentence.end) if things else last
            continue
        if last is None or sentence.start - last[1] > NEAR_S:
            continue
        words = [token.plain for token in tokens[firsts[number] : firsts[number + 1]]]
        if _WORDS.isdisjoint(words):
            continue
        bare = sentence.passage.bare
        match = next((m for pattern in _PATTERNS if (m := pattern.search(bare))), None)
        if match is None:
            continue
        first = firsts[number] + bare.count(" ", 0, match.start("w"))
        until = first + match.group("w").count(" ")
        if any(span.first < until and first < span.last for span in sentence.spans):
            continue
        found[number] = Span(first, until, last[0], How.OTHER_NAME)
        last = (last[0], sentence.end)
    return found


@dataclass(slots=True)
class Said:
    """What was said so far in the day: longer names by their last word, last words said alone, and terms of clips before."""

    longer: dict[str, tuple[Term, float]] = field(default_factory=dict)
    alone: set[str] = field(default_factory=set)
    terms: set[str] = field(default_factory=set)

    def next_clip(self, talk: Sequence[Spoken]) -> None:
        """Keep what was named in the clip that ends; its times are nothing to the next."""
        self.terms.update(span.term.term for sentence in talk for span in sentence.spans)
        self.longer = {head: (term, -math.inf) for head, (term, _) in self.longer.items()}


def short_for(
    talk: Sequence[Spoken], rows: Sequence[Sequence[Stance]], tokens: Sequence[Token], said: Said, lexicon: Lexicon
) -> dict[int, list[Span]]:
    """By sentence: its spans, where "the seal" was read as the "bottle seal" named before.

    The longer name must have been said (in a round-up: in any clip before, too), and the short one not yet on
    its own; "a seal" is a new one unless the short name is only one of several that its term has.
    """
    changed: dict[int, list[Span]] = {}
    for number, sentence in enumerate(talk):
        row = list(sentence.spans)
        for index, span in enumerate(sentence.spans):
            if span.term.kind not in _THINGS:
                continue
            forms = [token.form for token in tokens[span.first : span.last]]
            head = _singular(forms[-1])
            if len(forms) > 1:
                said.longer[head] = (span.term, sentence.end)
                continue
            known = said.longer.get(head)
            if known is None or head in said.alone or known[0].term == span.term.term:
                if known is None:
                    said.alone.add(head)
                continue
            before = tokens[span.first - 1].plain if span.first else ""
            # "Brooch" for a knee brooch is true as it stands, and "seal" for a bottle seal is another thing.
            generic = _singular(span.term.term) == head
            wider = generic and lexicon.is_a(known[0], span.term)
            if rows[number][index] is not Stance.RECAP and (
                wider or sentence.start - known[1] > SHORT_FOR_S or (generic and before not in _DEFINITE)
            ):
                continue
            if generic and before in _NEW:
                continue
            row[index] = replace(span, term=known[0], how=How.OTHER_NAME)
        if row != list(sentence.spans):
            changed[number] = row
    return changed


def _singular(word: str) -> str:
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > 3 else word
