"""A made-up day as large as they come: 6 hours in 24 clips of two cameras, 300 finds, some 500 claims; from a seed.

Everything in it is invented. ``spotted`` gives the day as far as its mentions, ``whole`` all of it.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from episode.drafting.result import DayResult
from episode.make import Spotted, concluded
from episode.models import (
    Clip,
    Decision,
    Hearing,
    Link,
    LogEntry,
    Segment,
    Settings,
    StartFrom,
    Transcript,
    Word,
)
from episode.writing import Made, Step

MORNING = datetime(2026, 5, 3, 7, 30, tzinfo=UTC)
CLIP_S = 900.0
THINGS = (
    "clay pipe bowl", "pipe stem", "musket ball", "thimble", "shoe buckle", "cloth seal", "jetton", "Codd bottle",
    "dress pin", "button", "lead token", "marble", "pewter spoon", "knife blade", "loom weight", "bone comb", "creamware",
    "delftware", "Bellarmine jug", "salt-glazed stoneware", "sixpence", "halfpenny", "aglet", "bone die", "inkwell",
)  # fmt: skip
_ARRIVES = (
    "Hang on, what's this?",
    "Oh, look at this.",
    "Now then, what have we here?",
    "Hello, something round here.",
)
_NAMES = ("It's a {0}, lovely.", "That's a {0}.", "This is a {0}, no doubt about it.", "I've got a {0} here.")
_GUESSES = ("Could be a {0}?", "Is that a {0} maybe?")
_DATES = (
    "I would say about {0} to {1}.", "It dates from the {2} century.", "These were made in {0}.", "So that's {3}.",
    "They were first made in {0}.", "That makes it around {0}.",
)  # fmt: skip
_MORE = (
    "It was made by {4} of Skelby.", "The clay came from Dorset.", "That one is made of lead.",
    "It's the oldest that I have ever found.", "Henry the Eighth was on the throne then.",
)  # fmt: skip
_OWED = (
    "I'll put a link below to the tide tables.", "If you know what the mark is, tell me in the comments.",
    "Thanks to Jo Fenn who sent me these boots.", "Next time we go back to the old quay.",
)  # fmt: skip
_TALK = (
    "The tide is still running out and we have a good hour.", "Mind how you go along here, it is slippery.",
    "The wind is getting up a little.", "I came along here last winter and the mud was higher.",
    "Let us walk on a bit further.", "You can hear the birds over there.", "Right, on we go.",
    "People have lived along this shore for a long time.", "Give me a second to rinse my hands.",
)  # fmt: skip
_MAKERS = ("Thomas Marrow", "Ann Pell", "Harkness and Dole", "Edward Skeff")
_PERIODS = ("Tudor", "Victorian", "Georgian", "Roman", "medieval", "Stuart")
_ORDINALS = ("sixteenth", "seventeenth", "eighteenth", "nineteenth")


def spotted(seed: int = 1, *, hours: float = 6.0, finds: int = 300) -> Spotted:
    """The day with its mentions; the same for the same arguments, word for word."""
    from episode.lexicon.packs import load_lexicon
    from episode.spotting.dayterms import day_terms, expected
    from episode.spotting.spot import spot

    rng = random.Random(seed)
    clips = _clips(int(hours * 3600 / CLIP_S))
    segments, log = _talk(rng, clips, finds)
    hearing = tuple(Hearing(clip=c.name, how="transcript file") for c in clips)
    transcript = Transcript(segments=tuple(segments), clips=hearing)
    settings = Settings(
        title="A long day at Skelby Sands",
        date=date(2026, 5, 3),
        place="Skelby Sands",
        presenter="Ada Marsh",
        listen_again=False,
        links=(Link(label="Tide tables", url="https://tides.example.org/thessel", about=("tide tables",)),),
    )
    lexicon = load_lexicon(None, ())
    lexicon = load_lexicon(None, (), day_terms(log, settings, lexicon))
    mentions = spot(transcript, lexicon, log, clips=clips, expected=expected(settings))
    result = DayResult(settings=settings, clips=clips, transcript=transcript, log=tuple(log))
    return Spotted(Made(result, mentions, Path("out"), Step.DRAFT), lexicon, None)


def whole(day: Spotted | None = None, decisions: Sequence[Decision] = ()) -> DayResult:
    """All of the day's results, under these decisions."""
    return concluded(day or spotted(), tuple(decisions), ()).result


def decisions(day: DayResult, count: int = 2000, seed: int = 1) -> tuple[Decision, ...]:
    """``count`` decisions of every kind about the day's moments, claims, promises and chapters."""
    rng = random.Random(seed)
    made: list[Decision] = []
    for number in range(count):
        which = rng.random()
        if which < 0.7 or not day.claims:
            made.append(_about_moment(rng, day, number))
        elif which < 0.9:
            c = rng.choice(day.claims)
            action = rng.choice(("reference", "reword", "strike"))
            about = {"clip": c.clip, "start": c.start, "quote": c.quote, "kind": c.kind, "term": c.about}
            value: str | bool = rng.random() < 0.5 if action == "strike" else f"Guide, p. {number}"
            made.append(Decision(action=action, value=value, id=f"{number:032x}", line=number + 1, **about))
        elif which < 0.95 and day.promises:
            p = rng.choice(day.promises)
            about = {"clip": p.clip, "start": p.start, "quote": p.quote, "kind": p.kind}
            made.append(Decision(action="kept", value=True, id=f"{number:032x}", line=number + 1, **about))
        else:
            chapter = rng.choice(day.chapters)
            clip = day.clips[min(len(day.clips) - 1, int(chapter.start // CLIP_S))].name
            about = {"clip": clip, "start": round(chapter.start % CLIP_S, 3), "title": chapter.title}
            made.append(Decision(action="title", value=f"Part {number}", id=f"{number:032x}", line=number + 1, **about))
    return tuple(made)


def _about_moment(rng: random.Random, day: DayResult, number: int) -> Decision:
    m = rng.choice(day.moments)
    about = {"clip": m.clip, "start": m.start, "end": m.end, "term": m.term, "line": number + 1}
    about |= {"quote": m.mentions[0].quote if m.mentions else None, "id": f"{number:032x}"}
    kinds = (
        "accept",
        "accept",
        "accept",
        "pair",
        "rename",
        "stance",
        "still",
        "reject",
        "split",
        "move",
        "add",
        "join",
    )
    action = rng.choice(kinds)
    if action == "pair":
        about["value"] = rng.choice([*day.log]).find if rng.random() < 0.2 else m.find
    elif action == "rename":
        about["value"] = rng.choice(THINGS)
    elif action == "stance":
        about["value"] = rng.choice(("found", "earlier", "unsure"))
    elif action in {"still", "split"}:
        about["value"] = round((m.start + m.end) / 2, 2)
    elif action == "move":
        about |= {"new_start": max(0.0, m.start - 1.0), "new_end": m.end + 1.0}
    elif action == "join":
        about["value"] = m.start + 30.0
    elif action == "add":
        about |= {"start": m.end, "end": m.end + 5.0, "value": rng.choice(THINGS), "term": None, "quote": None}
    return Decision(action=action, **about)


def _clips(count: int) -> tuple[Clip, ...]:
    return tuple(
        Clip(
            name=f"{'hand' if n % 3 else 'head'}/C{n:04d}.MP4",
            path=Path(f"/nowhere/C{n:04d}.MP4"),
            duration=CLIP_S,
            start=MORNING + timedelta(seconds=n * (CLIP_S + 20)),
            start_from=StartFrom.CREATION,
            camera="hand" if n % 3 else "head",
            fps=25.0,
            audio_tracks=1,
            has_video=True,
        )
        for n in range(count)
    )


def _talk(rng: random.Random, clips: Sequence[Clip], finds: int) -> tuple[list[Segment], list[LogEntry]]:
    segments: list[Segment] = []
    log: list[LogEntry] = []
    shares = [finds * (n + 1) // len(clips) - finds * n // len(clips) for n in range(len(clips))]
    for clip, share in zip(clips, shares, strict=True):
        each = (CLIP_S - 20) / max(1, share)
        for number in range(share):
            at = 5 + number * each + rng.uniform(0, 4)
            last = 5 + (number + 1) * each - 4
            thing = rng.choice(THINGS)
            lines = _find(rng, thing)
            for text in lines:
                at = _say(segments, clip.name, at, text) + rng.uniform(0.2, 0.6)
            if rng.random() < 0.9:
                named = clip.start + timedelta(seconds=at + rng.gauss(20, 8))
                name = thing if rng.random() < 0.9 else thing.split()[-1]
                log.append(LogEntry(find=str(len(log) + 1), row=len(log) + 2, time=named, object=name))
            at += rng.uniform(3, 6)
            while at + 5 < last:
                text = rng.choice(_OWED) if rng.random() < 0.02 else rng.choice(_TALK)
                at = _say(segments, clip.name, at, text) + rng.uniform(1.5, 7)
    return segments, log


def _find(rng: random.Random, thing: str) -> list[str]:
    year = rng.randrange(1500, 1890)
    words = (year, year + rng.randrange(10, 60), rng.choice(_ORDINALS), rng.choice(_PERIODS), rng.choice(_MAKERS))
    names = _GUESSES if rng.random() < 0.08 else _NAMES
    lines = [rng.choice(_ARRIVES), rng.choice(names).format(thing)]
    lines += [text.format(*words) for text in rng.sample(_DATES, rng.choice((1, 1, 2)))]
    if rng.random() < 0.5:
        lines.append(rng.choice(_MORE).format(*words))
    return lines


def _say(segments: list[Segment], clip: str, at: float, text: str) -> float:
    spoken = text.split()
    words = tuple(
        Word(start=round(at + 0.33 * i, 2), end=round(at + 0.33 * i + 0.28, 2), word=word, probability=0.9)
        for i, word in enumerate(spoken)
    )
    segments.append(Segment(clip=clip, start=round(at, 2), end=words[-1].end, text=text, words=words))
    return words[-1].end
