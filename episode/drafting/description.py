"""The description draft: everything a viewer is owed, within the length that hosts take.

Length is counted in bytes of UTF-8, the closing line end included: so the strictest host's interface counts
(``vocab/rules/host_rules.csv``), and nothing is longer by any other count. Where it grows too long, detail goes in
the stated order of ``SHORTENING`` until it fits; chapters are never cut in the middle, and what was left out is said
in a note.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from pydantic import Field

from episode.day.templates import NAMES
from episode.drafting.chapters import chapter_problems
from episode.drafting.daytalk import DayTalk, day_talk
from episode.drafting.formats.chapters_txt import lines as chapter_lines
from episode.drafting.forms import asked_for, built_in, fill
from episode.drafting.keeping import keep
from episode.drafting.outgoing import outgoing
from episode.drafting.parts.closing import credits_, disclosures, references, thanks
from episode.drafting.parts.corrections import corrections
from episode.drafting.parts.dated_finds import dated_finds
from episode.drafting.parts.links import links
from episode.drafting.parts.makers import makers
from episode.drafting.parts.opening import opening, say_day
from episode.drafting.parts.questions import questions
from episode.drafting.parts.taking_care import taking_care
from episode.drafting.parts.writing import Detail, Writing
from episode.drafting.result import DayResult
from episode.errors import UnusableInput
from episode.models import Claim, Problem, Promise, Rest, Value, Verdict

MAIN = "description.txt"

SHORTENING: tuple[tuple[str, str], ...] = (
    ("evidence", "what each date rests on"),
    ("long_references", "the long form of references"),
    ("other_links", "links that were not promised on camera"),
    ("makers", "the list of makers"),
    ("credits", "credits"),
    ("references", "references"),
    ("finds", "the list of finds with dates"),
    ("every_question", "all but three questions"),
    ("telling", "what the opening tells of the day"),
    ("contents", "the names of finds in the opening"),
    ("care", "the words to viewers on safety and reporting"),
    ("count", "the count of finds in the opening"),
    ("chapters", "the chapters, which stand whole in chapters.txt"),
)
"""What goes first when a draft is too long, and how the note calls it."""


class Draft(Value):
    """A description with what a person should know about it.

    ``promises`` are the day's, with those marked kept that the text keeps. ``left_out`` are claims that were said
    on camera and do not stand in the text as fact. ``wordings`` are the other forms by file name; ``rests`` says of
    each line what it comes from.
    """

    text: str
    problems: tuple[Problem, ...] = ()
    promises: tuple[Promise, ...] = ()
    left_out: tuple[Claim, ...] = ()
    wordings: dict[str, str] = Field(default_factory=dict)
    rests: tuple[Rest, ...] = ()


def description(day: DayResult) -> str:
    """The draft's text alone (see ``draft``)."""
    return draft(day).text


def draft(day: DayResult, templates: Mapping[str, str] | None = None) -> Draft:
    """The description within ``settings.description_limit`` bytes, in all its forms, and what it leaves out.

    ``templates`` are the person's own, by name; one that cannot be used is a problem, and the built-in one is used.
    """
    forms = _Forms(templates or {})
    talk = day_talk(day)
    limit = day.settings.description_limit
    writing, text, dropped = _fitted(day, talk, forms, MAIN, limit)
    if size(text) > limit:
        text = _whole_lines(text, limit)
        dropped.append("lines at the end")
    wordings = {}
    for name in NAMES:
        if name != MAIN:
            most = {"short.txt": day.settings.short_limit, "comment.txt": limit}.get(name)
            wordings[name] = _fitted(day, talk, forms, name, most)[1]
    return Draft(
        text=text,
        problems=(*forms.problems, *_problems(day, dropped)),
        promises=keep(day, text),
        left_out=tuple(c for c in day.claims if _not_as_fact(c, day)),
        wordings=wordings,
        rests=tuple(rest for rest in writing.rests.values() if rest.line in text),
    )


def size(text: str) -> int:
    """How long a host finds ``text``: bytes of UTF-8."""
    return len(text.encode("utf-8", "surrogatepass"))


class _Forms:
    """The templates in use; a person's that fails once is not tried again."""

    def __init__(self, own: Mapping[str, str]) -> None:
        self.texts = {name: own.get(name) for name in NAMES}
        self.problems: list[Problem] = []

    def asked_for(self, name: str) -> frozenset[str]:
        return asked_for(self.texts[name] or built_in(name)) | asked_for(built_in(name))

    def fill(self, name: str, values: Mapping[str, object]) -> str:
        own = self.texts[name]
        if own is not None:
            try:
                return fill(name, own, values)
            except UnusableInput as error:
                self.texts[name] = None
                self.problems.append(Problem(where=error.where, what=error.what, remedy=error.remedy, level="error"))
        return fill(name, built_in(name), values)


def _fitted(
    day: DayResult, talk: DayTalk, forms: _Forms, name: str, limit: int | None
) -> tuple[Writing, str, list[str]]:
    """The form ``name``, with as much left out as it takes to be within ``limit``, and what that was."""
    detail, dropped = Detail(), []
    writing, text = _compose(day, talk, detail, forms, name)
    for what, words in SHORTENING:
        if limit is None or size(text) <= limit:
            break
        detail = replace(detail, **{what: False})
        shorter = _compose(day, talk, detail, forms, name)
        if size(shorter[1]) < size(text):
            dropped.append(words)
            writing, text = shorter
    return writing, text, dropped


def _compose(day: DayResult, talk: DayTalk, detail: Detail, forms: _Forms, name: str) -> tuple[Writing, str]:
    writing = Writing(day, detail, talk)
    values: dict[str, object] = {
        "title": writing.text(day.settings.title),
        "place": writing.text(day.settings.place),
        "presenter": writing.text(day.settings.presenter),
        "date": say_day(day.filmed) if day.filmed else "",
    }
    # What a form does not show is not worded, and so cites nothing.
    shown = forms.asked_for(name)
    for key, part in _PARTS.items():
        values[key] = part(writing) if key in shown else []
    values["opening"] = " ".join(opening(writing)) if "opening" in shown else ""
    values["references"] = references(writing)
    text = forms.fill(name, values)
    told = day.settings
    lines = [outgoing(line, told) if line.strip() else "" for line in text.splitlines()]
    return writing, "\n".join(lines).strip("\n") + "\n" if any(lines) else "\n"


def _chapters(writing: Writing) -> list[str]:
    if not writing.detail.chapters or chapter_problems(writing.day.chapters):
        return []
    return [line.replace("<", "").replace(">", "") for line in chapter_lines(writing.day)]


_PARTS: dict[str, Callable[[Writing], list[str]]] = {
    "chapters": _chapters,
    "finds": dated_finds,
    "corrections": corrections,
    "makers": makers,
    "questions": questions,
    "links": links,
    "disclosures": disclosures,
    "care": taking_care,
    "credits": credits_,
    "thanks": thanks,
}


def _whole_lines(text: str, limit: int) -> str:
    kept = ""
    for line in text.splitlines(keepends=True):
        if size(kept) + size(line) > limit:
            break
        kept += line
    return kept.rstrip("\n") + "\n" if kept.strip() else ""


def _problems(day: DayResult, dropped: list[str]) -> tuple[Problem, ...]:
    found = list(chapter_problems(day.chapters))
    if dropped:
        chapters_went = SHORTENING[-1][1] in dropped
        found.append(
            Problem(
                where="description.txt",
                what=f"too long for {day.settings.description_limit} bytes; left out: {'; '.join(dropped)}",
                remedy="Raise description_limit in episode.toml if your host takes more, or shorten links and credits.",
                level="warning" if chapters_went else "note",
            )
        )
    return tuple(found)


def _not_as_fact(claim: Claim, day: DayResult) -> bool:
    if claim.struck or claim.verdict is Verdict.CONTRADICTED:
        return True
    return claim.verdict is Verdict.UNREFERENCED and not claim.reference and day.settings.unverified == "leave out"
