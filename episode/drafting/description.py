"""The description draft: everything a viewer is owed, within the length that hosts take.

Length is counted in characters (Unicode code points, the closing line end included). Where it grows too long,
detail goes in the stated order of ``SHORTENING`` until it fits; chapters are never cut in the middle, and what was
left out is said in a note.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from episode.drafting.chapters import chapter_problems
from episode.drafting.formats.chapters_txt import lines as chapter_lines
from episode.drafting.keeping import keep
from episode.drafting.parts.closing import credits_, disclosures, references
from episode.drafting.parts.corrections import corrections
from episode.drafting.parts.dated_finds import dated_finds
from episode.drafting.parts.links import links
from episode.drafting.parts.makers import makers
from episode.drafting.parts.opening import opening
from episode.drafting.parts.questions import questions
from episode.drafting.parts.taking_care import taking_care
from episode.drafting.parts.writing import Detail, Writing
from episode.drafting.result import DayResult
from episode.models import Claim, Problem, Promise, Value, Verdict

SHORTENING: tuple[tuple[str, str], ...] = (
    ("evidence", "what each date rests on"),
    ("long_references", "the long form of references"),
    ("other_links", "links that were not promised on camera"),
    ("makers", "the list of makers"),
    ("credits", "credits"),
    ("references", "references"),
    ("finds", "the list of finds with dates"),
    ("every_question", "all but three questions"),
    ("contents", "the count of finds in the opening"),
    ("care", "the words to viewers on safety and reporting"),
    ("chapters", "the chapters, which stand whole in chapters.txt"),
)
"""What goes first when a draft is too long, and how the note calls it."""


class Draft(Value):
    """A description with what a person should know about it.

    ``promises`` are the day's, with those marked kept that the text keeps. ``left_out`` are claims that were said
    on camera and do not stand in the text as fact.
    """

    text: str
    problems: tuple[Problem, ...] = ()
    promises: tuple[Promise, ...] = ()
    left_out: tuple[Claim, ...] = ()


def description(day: DayResult) -> str:
    """The draft's text alone (see ``draft``)."""
    return draft(day).text


def draft(day: DayResult) -> Draft:
    """The description within ``settings.description_limit`` characters, and what it leaves out."""
    limit = day.settings.description_limit
    detail, dropped = Detail(), []
    text = _compose(day, detail)
    for name, words in SHORTENING:
        if len(text) <= limit:
            break
        detail = replace(detail, **{name: False})
        shorter = _compose(day, detail)
        if len(shorter) < len(text):
            dropped.append(words)
            text = shorter
    if len(text) > limit:
        text = _whole_lines(text, limit)
        dropped.append("lines at the end")
    return Draft(
        text=text,
        problems=_problems(day, dropped),
        promises=keep(day, text),
        left_out=tuple(c for c in day.claims if _not_as_fact(c, day)),
    )


def _compose(day: DayResult, detail: Detail) -> str:
    writing = Writing(day, detail)
    parts: list[tuple[str, Callable[[Writing], list[str]]]] = [
        ("", opening),
        ("Chapters", _chapters),
        ("Finds", dated_finds),
        ("Corrections", corrections),
        ("Makers", makers),
        ("Can you tell us more?", questions),
        ("Links", links),
        ("Disclosures", disclosures),
        ("Take care, and report finds", taking_care),
        ("Credits", credits_),
        ("References", references),
    ]
    blocks = []
    for heading, part in parts:
        lines = part(writing)
        if lines:
            blocks.append("\n".join([heading, *lines] if heading else lines))
    return "\n\n".join(blocks) + "\n"


def _chapters(writing: Writing) -> list[str]:
    if not writing.detail.chapters or chapter_problems(writing.day.chapters):
        return []
    return [line.replace("<", "").replace(">", "") for line in chapter_lines(writing.day)]


def _whole_lines(text: str, limit: int) -> str:
    kept = ""
    for line in text.splitlines(keepends=True):
        if len(kept) + len(line) > limit:
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
                what=f"too long for {day.settings.description_limit} characters; left out: {'; '.join(dropped)}",
                remedy="Raise description_limit in episode.toml if your host takes more, or shorten links and credits.",
                level="warning" if chapters_went else "note",
            )
        )
    return tuple(found)


def _not_as_fact(claim: Claim, day: DayResult) -> bool:
    if claim.struck or claim.verdict is Verdict.CONTRADICTED:
        return True
    return claim.verdict is Verdict.UNREFERENCED and not claim.reference and day.settings.unverified == "leave out"
