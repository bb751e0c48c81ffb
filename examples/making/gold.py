"""What a perfect reading of the day would give, written down while the day is made."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from timeline import Placed, Timeline
from truth import CALLED, CLOCKS, LOGGED_NOT_FILMED

DAY = date(2026, 5, 3)
ZONE = ZoneInfo("Europe/London")
WARES = {"creamware", "pearlware", "transfer-printed ware", "Westerwald stoneware"}


def gold(timelines: list[Timeline], starts_from: dict[str, str]) -> dict[str, object]:
    """The whole gold as one JSON object; the README beside this file says what each part holds."""
    return {
        "format": "skelby-sands gold 1",
        "time_zone": ZONE.key,
        "clips": [_clip(t, starts_from[t.script.file]) for t in timelines],
        "said": [_said(t, p) for t in timelines for p in t.placed],
        "mentions": [_mention(t, n, p) for t in timelines for p in t.placed for n in p.mentions],
        "finds": _objects(timelines, str.isdigit),
        "unlogged": [o for o in _objects(timelines, str.isalpha) if o["stance"] == "found"],
        "earlier": [o for o in _objects(timelines, str.isalpha) if o["stance"] == "earlier"],
        "unfilmed": list(LOGGED_NOT_FILMED),
        "claims": [_claim(t, p, f) for t in timelines for p in t.placed for f in p.say.claims],
        "promises": [_promise(t, p) for t in timelines for p in t.placed if p.say.promise],
        "chapters": _chapters(timelines),
    }


def true_start(timeline: Timeline) -> datetime:
    return datetime.fromisoformat(f"{DAY}T{timeline.script.starts}").replace(tzinfo=ZONE)


def camera_start(timeline: Timeline) -> datetime:
    """What the camera believed: its clock plus its offset is the log's time."""
    return true_start(timeline) - timedelta(seconds=CLOCKS[timeline.script.camera])


def _clip(timeline: Timeline, start_from: str) -> dict[str, object]:
    return {
        "clip": timeline.script.file,
        "camera": timeline.script.camera,
        "duration": timeline.duration,
        "start": true_start(timeline).isoformat(),
        "camera_start": camera_start(timeline).isoformat(),
        "start_from": start_from,
        "offset_s": CLOCKS[timeline.script.camera],
    }


def _said(timeline: Timeline, placed: Placed) -> dict[str, object]:
    return {
        **_span(timeline, placed.start, placed.end),
        "text": placed.text,
        "words": [[_ms(start), _ms(end), word] for start, end, word in placed.words],
    }


def _mention(timeline: Timeline, named, placed: Placed) -> dict[str, object]:
    return {
        **_span(timeline, named.start, named.end),
        "heard": named.heard,
        "term": named.term,
        "kind": "ware" if named.term in WARES else "object",
        "stance": named.stance,
        "find": placed.say.find if (placed.say.find or "").isdigit() and named.stance == "found" else None,
    }


def _objects(timelines: list[Timeline], wanted) -> list[dict[str, object]]:
    found = []
    for timeline in timelines:
        by_find: dict[str, list[Placed]] = {}
        for placed in timeline.placed:
            if placed.say.find and wanted(placed.say.find):
                by_find.setdefault(placed.say.find, []).append(placed)
        for find, shown in by_find.items():
            named = [n for p in shown for n in p.mentions if n.stance in ("found", "earlier")]
            guessed = [n for p in shown for n in p.mentions if n.stance == "unsure"]
            first = (named or guessed)[0]
            found.append(
                {
                    **({"find": find} if find.isdigit() else {}),
                    **_span(timeline, shown[0].start, shown[-1].end),
                    "named": _ms(first.start),
                    "term": CALLED.get(find, first.term),
                    "stance": first.stance,
                }
            )
    return found


def _claim(timeline: Timeline, placed: Placed, fact) -> dict[str, object]:
    return {
        **_span(timeline, *placed.span(fact.words)),
        "quote": placed.text,
        "words": fact.words,
        "kind": fact.kind,
        "about": fact.about,
        "find": placed.say.find if (placed.say.find or "").isdigit() else None,
        "from": fact.from_,
        "to": fact.to,
        "verdict": fact.verdict,
        "why": fact.why,
        "source": fact.source,
    }


def _promise(timeline: Timeline, placed: Placed) -> dict[str, object]:
    owed = placed.say.promise
    return {**_span(timeline, placed.start, placed.end), "quote": placed.text, "kind": owed.kind, "text": owed.text}


def _chapters(timelines: list[Timeline]) -> list[dict[str, object]]:
    """Where each logged find comes into play, on the timeline of all clips end to end."""
    before, chapters = 0.0, [{"start": 0.0, "find": None, "title": "Start"}]
    for timeline in timelines:
        for item in _objects([timeline], str.isdigit):
            chapters.append({"start": _ms(before + item["start"]), "find": item["find"], "title": item["term"]})
        recap = [p for p in timeline.placed if any(n.stance == "recap" for n in p.mentions)]
        if recap:
            chapters.append({"start": _ms(before + recap[0].start), "find": None, "title": "The day's finds"})
        before += timeline.duration
    return chapters


def _span(timeline: Timeline, start: float, end: float) -> dict[str, object]:
    return {"clip": timeline.script.file, "start": _ms(start), "end": _ms(end)}


def _ms(seconds: float) -> float:
    return round(float(seconds), 3)
