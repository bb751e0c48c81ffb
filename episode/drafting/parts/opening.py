"""The opening paragraph: when, where, with whom, and what is shown, counted in words."""

from __future__ import annotations

from datetime import date

from episode.drafting.counting import counted, series, tally
from episode.drafting.finds import finds
from episode.drafting.parts.writing import Writing

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def opening(writing: Writing) -> list[str]:
    """One paragraph. What was not recorded is not said."""
    sentences = [_when_and_where(writing)]
    if writing.detail.contents:
        sentences += _contents(writing)
    paragraph = " ".join(s for s in sentences if s)
    shown = [moment for find in finds(writing.day) for moment in find.moments]
    keys = "place, date, presenter"
    return [writing.rest(paragraph, moments=shown, settings=keys)] if paragraph else []


def say_day(day: date) -> str:
    """A date as it is read aloud: "Sunday 3 May 2026"."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def _when_and_where(writing: Writing) -> str:
    settings = writing.day.settings
    place = writing.text(settings.place)
    filmed = writing.day.filmed
    presenter = writing.text(settings.presenter)
    words = "Filmed"
    if place and place == settings.place.strip():
        words += f" at {place}" + ("," if "," in place and filmed else "")
    if filmed:
        words += f" on {say_day(filmed)}"
    if presenter:
        words += f", with {presenter}" if words != "Filmed" else f" with {presenter}"
    return f"{words}." if words != "Filmed" else ""


def _contents(writing: Writing) -> list[str]:
    shown = finds(writing.day)
    today = tally((writing.text(f.name), f.mass) for f in shown if not f.earlier and not f.unknown and f.name)
    unknown = sum(1 for f in shown if f.unknown)
    if unknown:
        what = counted(unknown, "object").removeprefix("an ")
        today.append(("one " if unknown == 1 else "") + f"{what} that nobody could name")
    earlier = tally((writing.text(f.name), f.mass) for f in shown if f.earlier and f.name)
    found = [f"Found that day and shown here: {series(today)}."] if today else []
    return found + ([f"Also shown, from other days: {series(earlier)}."] if earlier else [])
