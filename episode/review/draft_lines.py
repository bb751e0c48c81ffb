"""The description line by line, with what each line, or each sentence of its opening, rests on."""

from __future__ import annotations

from episode.drafting.outgoing import one_line
from episode.drafting.result import DayResult
from episode.drafting.stamps import stamp
from episode.models import Rest
from episode.review.watching import in_film, watch_link

MANY = 4

Mark = tuple[str, str, str]
"""Kind, address on the page or nothing, label."""
Piece = tuple[str, tuple[Mark, ...]]


def draft_lines(day: DayResult) -> list[list[Piece]]:
    """The lines of the description, the finished film's where there is one, each in pieces with their marks."""
    film = day.film
    rests = {rest.line: rest for rest in (film.rests if film else day.rests)}
    sentences = [rest for rest in rests.values() if rest.within]
    marks = _Marks(day)
    found: list[list[Piece]] = []
    for line in (film.description if film else day.description).splitlines():
        rest = rests.get(line)
        whole = [rest] if rest else _within(line, sentences)
        if whole and " ".join(r.line for r in whole) == line:
            found.append([(r.line, marks.of(r)) for r in whole])
        else:
            found.append([(line, tuple(dict.fromkeys(m for r in whole for m in marks.of(r))))])
    return found


def _within(line: str, sentences: list[Rest]) -> list[Rest]:
    return sorted((r for r in sentences if r.line in line), key=lambda r: line.index(r.line))


class _Marks:
    def __init__(self, day: DayResult) -> None:
        self._film = day.film
        self._shown = {m.id: stamp(m.start) for m in day.moments}
        self._said = {c.id: stamp(c.start) for c in day.claims} | {p.id: stamp(p.start) for p in day.promises}
        if day.film:
            self._said |= {c.id: in_film(c.start) for c in day.film.claims}
            self._said |= {p.id: in_film(p.start) for p in day.film.promises}

    def of(self, rest: Rest) -> tuple[Mark, ...]:
        """What one line or sentence rests on."""
        marks: list[Mark] = []
        for clip, at in rest.said:
            marks.append(("said", "", f"said at {in_film(at)}") if self._film else _heard(clip, at))
        marks += [("claim", f"#{c}", f"said at {self._said[c]}") for c in rest.claims if c in self._said]
        marks += [("promise", "#promises", f"promised at {self._said[p]}") for p in rest.promises if p in self._said]
        shown = [m for m in rest.moments if m in self._shown]
        if len(shown) < MANY:
            marks += [("moment", f"#{m}", f"shown at {self._shown[m]}") for m in shown]
        else:
            marks.append(("moments", "#finds", f"{len(shown)} moments"))
        marks += [("log", "", f"log {one_line(f)}") for f in rest.finds]
        marks += [("settings", "", f"episode.toml, {rest.settings}")] if rest.settings else []
        return tuple(dict.fromkeys(marks))


def _heard(clip: str, at: float) -> Mark:
    return "heard", watch_link(clip, at - 1), f"said at {stamp(at)}"
