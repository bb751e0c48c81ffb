"""The opening paragraph: when, where, who, what the tide did, how many finds, which of them, and the best.

Nothing in it is made up: each sentence rests on the settings, on moments and claims, or on what was said, and one for
which there is nothing to rest on is not written.
"""

from __future__ import annotations

import re
from datetime import date

from episode.drafting.counting import counted, number_in_words, plural, series, tally
from episode.drafting.daytalk import boast, day_talk
from episode.drafting.finds import Find, finds
from episode.drafting.parts.writing import Writing
from episode.models import Claim, Stance

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


MOST_NAMED = 7
"""Finds that are named one by one; of more, those of the round-up or the ones that were talked about longest."""
FEWEST_NAMED = 3


def opening(writing: Writing) -> list[str]:
    """The sentences of one paragraph. What was not recorded is not said."""
    shown = finds(writing.day)
    here = [f for f in shown if not f.earlier]
    if not writing.detail.contents:
        return [s for s in [_brief(here, writing)] if s]
    sentences = [_when_and_where(writing)]
    if writing.detail.telling:
        sentences += [_weather(writing), _hope(here, writing)]
    sentences += [_contents(here, writing)]
    if writing.detail.telling:
        sentences += [_best(here, writing)]
    sentences += [_unnamed(here, writing), _earlier([f for f in shown if f.earlier], writing)]
    return [s for s in sentences if s]


def say_day(day: date) -> str:
    """A date as it is read aloud: "Sunday 3 May 2026"."""
    return f"{_DAYS[day.weekday()]} {_date(day)}"


def _date(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


_PLACE_KEYS = "place, date, presenter"


def _brief(here: list[Find], writing: Writing) -> str:
    """The shortest: "Seventeen finds at Skelby Sands on 3 May 2026, with Maud Pellarin."."""
    count = _capital(counted_finds(len(here))) if here and writing.detail.count else ""
    words = _placed(count or "Filmed", writing, short=bool(count))
    moments = [m for f in here for m in f.moments] if count else []
    return writing.rest(words, moments=moments, settings=_PLACE_KEYS, within=True) if words else ""


def _placed(begin: str, writing: Writing, *, short: bool = False) -> str:
    place, presenter, filmed = _place(writing), writing.text(writing.day.settings.presenter), writing.day.filmed
    words = begin
    if place:
        words += f" at {place}" + ("," if "," in place and filmed else "")
    if filmed:
        words += f" on {_date(filmed) if short else say_day(filmed)}"
    if presenter:
        words += f", with {presenter}" if words != begin else f" with {presenter}"
    return "" if words == "Filmed" else f"{words}."


def _place(writing: Writing) -> str:
    """The day's place, as the settings give it; nothing where it is one that they keep private."""
    place = writing.text(writing.day.settings.place)
    return place if place == writing.day.settings.place.strip() else ""


def _when_and_where(writing: Writing) -> str:
    place, presenter, filmed = _place(writing), writing.text(writing.day.settings.presenter), writing.day.filmed
    tide = (writing.talk or day_talk(writing.day)).tide if writing.detail.telling else None
    if place and presenter and filmed:
        were = "were" if re.search(r",| and |&", presenter) else "was"
        words = f"On {say_day(filmed)} {presenter} {were} at {place}."
    else:
        words = _placed("Filmed", writing)
    if not words:
        return ""
    said = []
    if tide:
        words = f"{words.rstrip('.')}, {writing.text(tide.words)}."
        said = [(tide.clip, tide.start)]
    return writing.rest(words, settings=_PLACE_KEYS, said=said, within=True)


def _weather(writing: Writing) -> str:
    weather = (writing.talk or day_talk(writing.day)).weather
    if weather is None:
        return ""
    return writing.rest(f"{writing.text(weather.words)}.", said=[(weather.clip, weather.start)], within=True)


def _hope(here: list[Find], writing: Writing) -> str:
    hoped = (writing.talk or day_talk(writing.day)).hoped
    if hoped is None or not hoped.term:
        return ""
    words = f"The hope was for {counted(1, writing.text(hoped.term))}"
    came = [f for f in here if not f.unknown and any(m.term == hoped.term for m in f.moments)]
    if came:
        words += ", and there was one" if len(came) == 1 else f", and there were {number_in_words(len(came))}"
    elif not here:
        return ""
    return writing.rest(f"{words}.", moments=[hoped, *(m for f in came for m in f.moments)], within=True)


def _contents(here: list[Find], writing: Writing) -> str:
    if not here:
        return ""
    named = [f for f in here if f.name and not f.unknown]
    chosen = _chosen(named, writing)
    number = _capital(counted_finds(len(here)))
    words = f"{number} {'is' if len(here) == 1 else 'are'} shown"
    if chosen:
        told = tally((writing.text(f.name), f.mass) for f in chosen)
        words += (": " if len(chosen) == len(here) else ", among them ") + series(told)
    recap = [m for m in writing.day.moments if m.stance is Stance.RECAP] if len(chosen) < len(named) else []
    return writing.rest(f"{words}.", moments=[*(m for f in here for m in f.moments), *recap], within=True)


def counted_finds(number: int) -> str:
    """As they are read aloud: "one find", "seventeen finds"."""
    return "one find" if number == 1 else f"{number_in_words(number)} {plural('find')}"


def _chosen(named: list[Find], writing: Writing) -> list[Find]:
    """All of a few; of many those that the speaker named again at the end, else those most was said about."""
    if len(named) <= MOST_NAMED:
        return named
    again = {n.term for m in writing.day.moments if m.stance is Stance.RECAP for n in m.mentions}
    names = {f.name for f in named if any(m.term in again for m in f.moments)}
    recalled = [f for f in named if f.name in names]
    if FEWEST_NAMED <= len(recalled) <= MOST_NAMED + 3:
        return recalled
    among = recalled if len(recalled) > MOST_NAMED else named
    longest = sorted(among, key=lambda f: -sum(m.end - m.start for m in f.moments))[:MOST_NAMED]
    names = {f.name for f in longest}
    return [f for f in named if f.name in names]


def _best(here: list[Find], writing: Writing) -> str:
    """The find that was called the favourite, and what was claimed of it or else of another by who found it."""
    favourite = (writing.talk or day_talk(writing.day)).favourite
    unverified = writing.day.settings.unverified
    owner = {m.id: f for f in here for m in f.moments if f.name and not f.unknown}
    boasts: list[tuple[Find, Claim, str]] = []
    for claim in writing.day.claims:
        find = owner.get(claim.moment or "")
        words = boast(claim, unverified=unverified) if find else ""
        if find and words:
            boasts.append((find, claim, f"“{writing.text(words)}”"))
    presenter = writing.text(writing.day.settings.presenter)
    if favourite is not None:
        liked = [f for f in owner.values() if any(m.term == favourite.words for m in f.moments)]
        if liked:
            find = liked[0]
            whose = f"{presenter}'s favourite" if presenter else "The favourite of the day"
            words = f"{whose} is the {writing.text(find.name)}"
            said = next(((c, w) for f, c, w in boasts if f is find), None)
            words += f", {said[1]}." if said else "."
            claims = [said[0]] if said else []
            at = [(favourite.clip, favourite.start)]
            return writing.rest(words, moments=find.moments, claims=claims, said=at, within=True)
    if not boasts:
        return ""
    find, claim, quoted = boasts[0]
    whose = f"in {presenter}'s words" if presenter else "in the words said over it"
    words = f"The {writing.text(find.name)} is, {whose}, {quoted}."
    return writing.rest(words, moments=find.moments, claims=[claim], within=True)


def _unnamed(here: list[Find], writing: Writing) -> str:
    unknown = [f for f in here if f.unknown]
    if not unknown:
        return ""
    moments = [m for f in unknown for m in f.moments]
    if len(unknown) == len(here):
        words = "Nobody could name it." if len(here) == 1 else "Nobody could name any of them."
    else:
        words = f"{_capital(number_in_words(len(unknown)))} of the {number_in_words(len(here))} nobody could name."
    return writing.rest(words, moments=moments, within=True)


def _earlier(earlier: list[Find], writing: Writing) -> str:
    told = tally((writing.text(f.name), f.mass) for f in earlier if f.name)
    if not told:
        return ""
    moments = [m for f in earlier for m in f.moments]
    return writing.rest(f"Also shown, from other days: {series(told)}.", moments=moments, within=True)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
