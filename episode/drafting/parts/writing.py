"""What the parts of a description share: how much detail is wanted, and the numbers of references."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from episode.drafting.daytalk import DayTalk
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.models import Claim, Moment, Promise, Rest


@dataclass(frozen=True)
class Detail:
    """How fully a description is written; each is turned off in turn where it grows too long."""

    evidence: bool = True
    long_references: bool = True
    other_links: bool = True
    makers: bool = True
    credits: bool = True
    references: bool = True
    finds: bool = True
    every_question: bool = True
    telling: bool = True
    contents: bool = True
    care: bool = True
    count: bool = True
    chapters: bool = True


@dataclass
class Writing:
    """One attempt at a description: the day, the detail, and the references met so far, in order."""

    day: DayResult
    detail: Detail = field(default_factory=Detail)
    talk: DayTalk | None = None
    references: list[str] = field(default_factory=list)
    rests: dict[str, Rest] = field(default_factory=dict)
    """What each line of the text rests on."""

    def text(self, words: str) -> str:
        """``words`` fit to go out; angle brackets, which hosts refuse, become single guillemets."""
        return outgoing(words, self.day.settings).replace("<", "‹").replace(">", "›")

    def rest(
        self,
        line: str,
        *,
        claims: Iterable[Claim] = (),
        moments: Iterable[Moment] = (),
        finds: Iterable[str | None] = (),
        promises: Iterable[Promise] = (),
        settings: str = "",
        said: Iterable[tuple[str, float]] = (),
        within: bool = False,
    ) -> str:
        """``line``, with a note of what it comes from: what was said or logged, or a key of the settings."""
        self.rests[line] = Rest(
            line=line,
            claims=tuple(dict.fromkeys(c.id for c in claims)),
            moments=tuple(dict.fromkeys(m.id for m in moments)),
            finds=tuple(dict.fromkeys(f for f in finds if f)),
            promises=tuple(dict.fromkeys(p.id for p in promises)),
            settings=settings,
            said=tuple(said),
            within=within,
        )
        return line

    def cite(self, claim: Claim) -> str:
        """The numbers of what a claim rests on, as " [1, 3]"; empty where references are left out."""
        sources = [e.source for e in claim.evidence if e.source]
        if claim.reference:
            sources.append(claim.reference)
        return self.cite_sources(sources)

    def cite_sources(self, sources: list[str]) -> str:
        """As ``cite``, for the sources themselves."""
        if not self.detail.references or not sources:
            return ""
        numbers = []
        for source in sources:
            told = self.text(source)
            if told not in self.references:
                self.references.append(told)
            numbers.append(self.references.index(told) + 1)
        return " [" + ", ".join(str(n) for n in sorted(set(numbers))) + "]"


def sentence(words: str) -> str:
    """``words`` with a capital at the front and a full stop at the end."""
    words = words.strip()
    if not words:
        return ""
    return words[:1].upper() + words[1:] + ("" if words[-1] in ".?!…" else ".")
