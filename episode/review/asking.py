"""What the page asks for, turned into a decision about something of the day, or refused with words."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.timeline import starts
from episode.models import Chapter, Claim, Clip, Decision, Moment, Promise, Stance
from episode.review.keys import chapter_key, claim_key, clip_key, moment_key, promise_key

LONGEST_WORDS = 2000
NEAR_S = 5.0
"""How far from where it was a moment that was moved is still taken for the same."""
_TIME = re.compile(r"^(?:(?:(\d{1,3}):)?(\d{1,3}):)?(\d{1,6}(?:[.,]\d{1,3})?)$")


class Refused(Exception):
    """The page asked for something that cannot be; the words say why."""


class Asked(BaseModel):
    """One request of the page: what to do with the thing of handle ``key``."""

    model_config = ConfigDict(extra="forbid")

    action: str = Field(max_length=20)
    key: str = Field(default="", max_length=40)
    value: str | None = Field(default=None, max_length=LONGEST_WORDS)
    start: str | None = Field(default=None, max_length=20)
    end: str | None = Field(default=None, max_length=20)
    stance: str | None = Field(default=None, max_length=20)


def asked(text: bytes) -> Asked:
    """Read the body of a request.

    Raises:
        Refused: it is not what the page sends.
    """
    try:
        return Asked.model_validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the request"
        raise Refused(f"{where}: {first['msg'].lower()}") from None


def decision(ask: Asked, day: DayResult) -> Decision:
    """The line that says what ``ask`` wants, with its subject described by content.

    Raises:
        Refused: nothing has that handle any more, or the value is none.
    """
    made = _MAKERS.get(ask.action)
    if made is None:
        raise Refused(f"nobody knows how to “{ask.action}”")
    return Decision.model_validate({"action": ask.action, **made(ask, day)})


def find_moment(key: str, day: DayResult) -> Moment | None:
    """The moment of this handle."""
    return next((m for m in day.moments if moment_key(m) == key.rstrip("x")), None)


def nearest_moment(clip: str, at: float, day: DayResult) -> Moment | None:
    """The moment of the clip ``clip`` that holds second ``at``, or the nearest within `NEAR_S`."""
    away = [(max(m.start - at, at - m.end, 0.0), abs(m.start - at), m.id, m) for m in day.moments if m.clip == clip]
    best = min(away, key=lambda x: x[:3], default=None)
    return best[3] if best and best[0] <= NEAR_S else None


def find_clip(key: str, day: DayResult) -> Clip | None:
    """The clip of this handle."""
    return next((c for c in day.clips if clip_key(c.name) == key), None)


def seconds(text: str | None, what: str) -> float:
    """Seconds from “83.5”, “1:23.5” or “0:01:23.5”.

    Raises:
        Refused: it is no time.
    """
    read = _TIME.match((text or "").strip())
    if read is None:
        raise Refused(f"{what}: “{(text or '')[:20]}” is no time; write it as 1:23.5 or as seconds")
    hours, minutes, rest = read.groups()
    return int(hours or 0) * 3600 + int(minutes or 0) * 60 + float(rest.replace(",", "."))


def _moment(ask: Asked, day: DayResult) -> Moment:
    found = find_moment(ask.key, day)
    if found is None:
        raise Refused("that moment has changed since; look at it again")
    return found


def _about(moment: Moment) -> dict[str, Any]:
    quote = next((m.quote for m in moment.mentions if m.quote), None)
    return {"clip": moment.clip, "start": moment.start, "end": moment.end, "term": moment.term, "quote": quote}


def _plain(ask: Asked, day: DayResult) -> dict[str, Any]:
    return _about(_moment(ask, day))


def _worded(ask: Asked, day: DayResult) -> dict[str, Any]:
    words = " ".join((ask.value or "").split())
    if not words:
        raise Refused("say what to call it")
    return {**_about(_moment(ask, day)), "value": words}


def _stance(ask: Asked, day: DayResult) -> dict[str, Any]:
    if ask.value not in {s.value for s in Stance}:
        raise Refused(f"“{ask.value}” is no stance")
    return {**_about(_moment(ask, day)), "value": ask.value}


def _pair(ask: Asked, day: DayResult) -> dict[str, Any]:
    wanted = (ask.value or "").strip()
    if wanted and wanted not in {e.find.strip() for e in day.log}:
        raise Refused(f"the log has no find {wanted}")
    return {**_about(_moment(ask, day)), "value": wanted or None}


def _move(ask: Asked, day: DayResult) -> dict[str, Any]:
    moment = _moment(ask, day)
    begin, end = _span(ask, _clip_of(moment.clip, day))
    return {**_about(moment), "new_start": begin, "new_end": end}


def _second_inside(ask: Asked, day: DayResult) -> dict[str, Any]:
    moment = _moment(ask, day)
    at = seconds(ask.value, "where")
    if not moment.start < at < moment.end:
        raise Refused("that second lies outside the moment")
    return {**_about(moment), "value": at}


def _still(ask: Asked, day: DayResult) -> dict[str, Any]:
    moment = _moment(ask, day)
    at = seconds(ask.value, "still")
    if at > _clip_of(moment.clip, day).duration:
        raise Refused("that second lies beyond the clip's end")
    return {**_about(moment), "value": at}


def _join(ask: Asked, day: DayResult) -> dict[str, Any]:
    moment = _moment(ask, day)
    other = find_moment(ask.value or "", day)
    if other is None or other.clip != moment.clip or other.id == moment.id:
        raise Refused("there is no such moment in the same clip any more")
    return {**_about(moment), "value": other.start}


def _add(ask: Asked, day: DayResult) -> dict[str, Any]:
    clip = find_clip(ask.key, day)
    if clip is None:
        moment = find_moment(ask.key, day)
        clip = _clip_of(moment.clip, day) if moment else None
    if clip is None:
        raise Refused("there is no such clip any more")
    begin, end = _span(ask, clip)
    words = " ".join((ask.value or "").split())
    if not words:
        raise Refused("say what it is, or “unknown”")
    stance = ask.stance or Stance.FOUND.value
    if stance not in {s.value for s in Stance}:
        raise Refused(f"“{stance}” is no stance")
    return {"clip": clip.name, "start": begin, "end": end, "value": words, "stance": stance}


def _clip_of(name: str, day: DayResult) -> Clip:
    found = next((c for c in day.clips if c.name == name), None)
    if found is None:
        raise Refused("its clip is no longer among the footage")
    return found


def _span(ask: Asked, clip: Clip) -> tuple[float, float]:
    begin, end = seconds(ask.start, "from"), seconds(ask.end, "to")
    if not begin < end <= clip.duration + 0.5:
        raise Refused("from must come before to, and both lie inside the clip")
    return begin, min(end, clip.duration)


def _claim(ask: Asked, day: DayResult) -> dict[str, Any]:
    told = (*day.claims, *(day.film.claims if day.film else ()))
    found: Claim | None = next((c for c in told if claim_key(c) == ask.key), None)
    if found is None:
        raise Refused("that claim has changed since; look at it again")
    value: str | bool | None = " ".join((ask.value or "").split()) or None
    if ask.action == "strike":
        value = ask.value != "no"
    return {
        "clip": found.clip,
        "start": found.start,
        "term": found.about,
        "quote": found.quote,
        "kind": found.kind,
        "value": value,
    }


def _promise(ask: Asked, day: DayResult) -> dict[str, Any]:
    owed = (*day.promises, *(day.film.promises if day.film else ()))
    found: Promise | None = next((p for p in owed if promise_key(p) == ask.key), None)
    if found is None:
        raise Refused("that promise has changed since; look at it again")
    words = " ".join((ask.value or "").split())
    return {
        "clip": found.clip,
        "start": found.start,
        "quote": found.quote,
        "kind": found.kind,
        "value": False if words == "no" else (words or True),
    }


def _chapter(ask: Asked, day: DayResult) -> dict[str, Any]:
    found: Chapter | None = next((c for c in day.chapters if chapter_key(c) == ask.key), None)
    if found is None:
        raise Refused("that chapter has changed since; look at it again")
    clip, second = _in_clip(found.start, day)
    first = next((m for m in day.moments if m.id in found.moments), None)
    subject = {"clip": clip, "start": second, "term": first.term if first else None, "title": found.title}
    if ask.action == "drop":
        return subject
    if ask.action == "title":
        words = " ".join((ask.value or "").split())
        if not words:
            raise Refused("a chapter needs a title")
        return {**subject, "value": words}
    to_clip, to_second = _in_clip(seconds(ask.value, "begins"), day)
    if to_clip != clip:
        raise Refused("a chapter can be moved within its clip only; it lies in " + outgoing(clip, day.settings))
    return {**subject, "value": to_second}


def _in_clip(at: float, day: DayResult) -> tuple[str, float]:
    """The clip and its second at a second of the programme."""
    begins = starts(day.clips)
    for clip in reversed(day.clips):
        if at >= begins[clip.name]:
            if at - begins[clip.name] > clip.duration + 0.5:
                break
            return clip.name, round(at - begins[clip.name], 3)
    raise Refused("that lies beyond the end of the footage")


def _undo(ask: Asked, _: DayResult) -> dict[str, Any]:
    if not ask.value:
        raise Refused("there is nothing to undo")
    return {"value": ask.value}


_MAKERS: dict[str, Callable[[Asked, DayResult], dict[str, Any]]] = {
    "accept": _plain,
    "reject": _plain,
    "rename": _worded,
    "stance": _stance,
    "pair": _pair,
    "move": _move,
    "split": _second_inside,
    "join": _join,
    "still": _still,
    "add": _add,
    "reference": _claim,
    "reword": _claim,
    "strike": _claim,
    "kept": _promise,
    "title": _chapter,
    "begin": _chapter,
    "drop": _chapter,
    "undo": _undo,
}
