"""Made-up days with known pairs and known clocks, from a seed. Everything in them is invented."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from episode.lexicon.book import Lexicon
from episode.models import (
    Clip,
    Hearing,
    How,
    Kind,
    LogEntry,
    Mention,
    Segment,
    Stance,
    StartFrom,
    Term,
    Tie,
    Transcript,
    Word,
)

MORNING = datetime(2026, 5, 3, 8, 0, tzinfo=UTC)

# label, other names, broader, material, how common
_THINGS = (
    ("pipe bowl", "bowl of a clay pipe", "clay pipe", "clay", 9),
    ("pipe stem", "stem fragment", "clay pipe", "clay", 8),
    ("pin", "dress pin", "dress accessory", "copper alloy", 8),
    ("button", "dress button", "dress accessory", "copper alloy", 6),
    ("shoe buckle", "buckle for a shoe", "buckle", "copper alloy", 3),
    ("buckle", "strap buckle", "dress accessory", "copper alloy", 4),
    ("aglet", "lace tag", "dress accessory", "copper alloy", 3),
    ("thimble", "sewing thimble", "sewing tool", "copper alloy", 2),
    ("cloth seal", "bale seal", "seal", "lead", 2),
    ("musket ball", "lead ball", "shot", "lead", 4),
    ("penny", "one pence", "coin", "bronze", 3),
    ("sixpence", "tanner", "coin", "silver", 1),
    ("jetton", "reckoning counter", "token", "copper alloy", 1),
    ("codd bottle", "codd neck", "bottle", "glass", 2),
    ("torpedo bottle", "hamilton bottle", "bottle", "glass", 1),
    ("marble", "alley", "toy", "glass", 2),
    ("spoon", "table spoon", "cutlery", "pewter", 1),
    ("knife", "table knife", "cutlery", "iron", 2),
    ("nail", "iron nail", "fixing", "iron", 5),
    ("loom weight", "clay weight", "weight", "clay", 1),
    ("net sinker", "fishing weight", "weight", "lead", 2),
    ("peg tile", "roof tile", "tile", "clay", 3),
    ("comb", "hair comb", "toilet article", "bone", 1),
    ("die", "gaming die", "toy", "bone", 1),
)
_WARES = (
    ("creamware", "queen's ware", "refined earthenware", 5),
    ("pearlware", "pearl glaze ware", "refined earthenware", 4),
    ("delftware", "tin glaze", "tin-glazed ware", 2),
    ("salt-glazed stoneware", "salt glaze", "stoneware", 3),
    ("slipware", "slip decorated ware", "earthenware", 3),
    ("bellarmine", "bartmann jug", "stoneware", 2),
)
_ABOVE = (
    "clay pipe", "dress accessory", "sewing tool", "seal", "shot", "coin", "token", "bottle", "toy", "cutlery",
    "fixing", "weight", "tile", "toilet article",
)  # fmt: skip
_WARES_ABOVE = ("refined earthenware", "tin-glazed ware", "stoneware", "earthenware")
_TEASES = ("hang on what's this.", "ooh look at that.", "there's something here.", "")


def vocabulary() -> Lexicon:
    """A small lexicon of common finds."""
    terms = [Term(term=name, kind=Kind.OBJECT) for name in _ABOVE]
    terms += [Term(term=name, kind=Kind.WARE) for name in _WARES_ABOVE]
    terms += [Term(term=t, kind=Kind.OBJECT, also=(a,), broader=b, material=m) for t, a, b, m, _ in _THINGS]
    terms += [Term(term=t, kind=Kind.WARE, also=(a,), broader=b, material="ceramic") for t, a, b, _ in _WARES]
    return Lexicon(terms)


@dataclass(frozen=True)
class Plan:
    """What goes wrong on a day."""

    finds: int = 30
    cameras: int = 1
    offset: float | None = None
    """Seconds to add to camera time; ``None`` draws from all the usual mistakes."""
    drift_ppm: float = 0.0
    jitter: float = 10.0
    wrong: float = 0.0
    untimed: float = 0.0
    unlogged: float = 0.1
    unfilmed: float = 0.1
    batches: int = 0
    swaps: float = 0.0
    renamed: float = 0.2
    misspelt: float = 0.05
    # Not part of what a day is seeded with, so that days without them stay as they were.
    gap: tuple[float, float] = field(default=(60, 900), repr=False)
    """Least and most seconds between clips."""
    drift_spread: float = field(default=0.0, repr=False)
    """Each camera's drift is drawn: normal with this deviation, cut at 100 ppm; below 0, evenly within 100 ppm."""
    misheard: float = field(default=0.0, repr=False)
    """Share of true namings heard as another thing altogether."""
    minutes: bool = field(default=False, repr=False)
    """The log gives whole minutes, cut off as a clock shows them."""
    spread_out: bool = field(default=False, repr=False)
    """Offsets from every kind of mistake alike, named in ``Day.slips``, instead of mostly small ones."""
    twins: float = field(default=0.0, repr=False)
    """Share of clips that a second camera recorded too, with a tie between them; a camera of its own has only such."""
    false_ties: float = field(default=0.0, repr=False)
    """Share of ties that tell a wrong shift."""


CLEAN = Plan()
MESSY = Plan(
    cameras=2, drift_ppm=60.0, wrong=0.3, untimed=0.3, unlogged=0.15, unfilmed=0.15, batches=1, swaps=0.1, renamed=0.4
)


@dataclass
class Day:
    """A day and the truth about it. ``truth`` maps clip and second of a naming to the find number."""

    clips: list[Clip] = field(default_factory=list)
    mentions: list[Mention] = field(default_factory=list)
    transcript: Transcript = field(default_factory=Transcript)
    log: list[LogEntry] = field(default_factory=list)
    truth: dict[tuple[str, float], str] = field(default_factory=dict)
    offsets: dict[str, float] = field(default_factory=dict)
    lexicon: Lexicon = field(default_factory=vocabulary)
    drifts: dict[str, float] = field(default_factory=dict)
    slips: dict[str, str] = field(default_factory=dict)
    batched: set[str] = field(default_factory=set)
    """Find numbers whose rows were written together, later."""
    ties: list[Tie] = field(default_factory=list)


def simulate(seed: int, plan: Plan) -> Day:
    """One day; the same seed and plan give the same day."""
    dice = random.Random(f"{seed} {plan}")
    day = Day()
    names = [f"cam{n}" for n in range(1, plan.cameras + 1)]
    day.offsets = {name: plan.offset if plan.offset is not None else _mistake(dice) for name in names}
    day.drifts = dict.fromkeys(names, plan.drift_ppm)
    more = random.Random(f"clocks {seed} {plan}")
    for name in names if not plan.twins else (*names, "camx"):
        if plan.spread_out or name not in day.offsets:
            day.slips[name], day.offsets[name] = _slip(more)
        if plan.drift_spread:
            day.drifts[name] = _drift(more, plan.drift_spread)
    true_time, number, logged = 0.0, 1, []
    segments: list[Segment] = []
    left = plan.finds
    while left > 0:
        camera = dice.choice(names)
        count = min(left, dice.randint(2, 6))
        left -= count
        true_time += dice.uniform(*plan.gap)
        start = true_time
        clip = f"{camera}/clip{len(day.clips) + 1:03d}.mp4"
        cursor = dice.uniform(5, 15)
        for _ in range(count):
            cursor, number = _show(dice, plan, day, segments, logged, clip, start, cursor, number)
        true_time += cursor
        seen = start - _offset(day, camera, start, plan)
        day.clips.append(
            Clip(
                name=clip,
                path=Path(clip),
                duration=cursor + 5,
                start=MORNING + timedelta(seconds=round(seen, 3)),
                start_from=StartFrom.CREATION,
                camera=camera,
            )
        )
    if plan.twins:
        _twins(more, plan, day, names)
    if plan.misheard:
        day.mentions[:] = [_misheard(more, plan, day, mention) for mention in day.mentions]
    _log(dice, plan, day, logged, number, true_time)
    day.clips.sort(key=lambda c: (c.start, c.name))
    heard = {c.name: [s for s in segments if s.clip == c.name] for c in day.clips}
    day.transcript = Transcript(
        segments=tuple(s for inside in heard.values() for s in inside),
        clips=tuple(Hearing(clip=c.name, how="recognised") for c in day.clips),
    )
    return day


def _mistake(dice: random.Random) -> float:
    kind = dice.random()
    small = dice.gauss(0, 60)
    if kind < 0.5:
        return small
    if kind < 0.75:
        return dice.choice((-3600.0, 3600.0)) + small
    if kind < 0.85:
        return dice.uniform(-3600, 3600)
    return dice.uniform(-86400, 86400)


def _offset(day: Day, camera: str, at: float, plan: Plan) -> float:
    return day.offsets[camera] + day.drifts.get(camera, plan.drift_ppm) * 1e-6 * at


def _slip(dice: random.Random) -> tuple[str, float]:
    """A kind of mistake and the seconds that it makes, every kind alike."""
    small, sign = dice.gauss(0, 40), dice.choice((-1, 1))
    kind = dice.choice(("none", "minutes", "summer time", "zone", "half-hour zone", "twelve hours", "day", "anything"))
    size = {
        "none": 0.0,
        "minutes": dice.uniform(60, 1500),
        "summer time": 3600.0,
        "zone": 3600.0 * dice.randint(2, 11),
        "half-hour zone": 3600.0 * (dice.randint(0, 11) + 0.5),
        "twelve hours": 43200.0,
        "day": 86400.0 * dice.choice((1, 1, 1, 2, 3, 7)),
        "anything": dice.uniform(0, 86400),
    }[kind]
    return kind, sign * size + small


def _drift(dice: random.Random, spread: float) -> float:
    if spread < 0:
        return dice.uniform(-100, 100)
    while abs(drift := dice.gauss(0, spread)) > 100:
        pass
    return drift


def _misheard(dice: random.Random, plan: Plan, day: Day, mention: Mention) -> Mention:
    if (mention.clip, mention.start) not in day.truth or dice.random() >= plan.misheard:
        return mention
    label, _, _, kind = _draw(dice)
    return mention.model_copy(update={"term": label, "kind": kind, "how": How.SOUNDS_LIKE, "score": 0.7})


def _twins(dice: random.Random, plan: Plan, day: Day, names: list[str]) -> None:
    """Second recordings of some clips, in which nothing is recognised, tied by sound to 20 ms (some wrongly)."""
    for clip in list(day.clips):
        if dice.random() >= plan.twins:
            continue
        camera = dice.choice([name for name in (*names, "camx") if name != clip.camera])
        ours, theirs = day.drifts.get(clip.camera, 0.0) * 1e-6, day.drifts.get(camera, 0.0) * 1e-6
        lead = dice.uniform(-20, 40)
        # The camera's seconds: true time t is camera time t - offset - drift * t.
        true_start = (clip.start - MORNING).total_seconds()
        true_start = (true_start + day.offsets[clip.camera]) / (1 - ours)
        began = true_start - lead
        rate = (1 - theirs) / (1 - ours)
        seen = began - day.offsets[camera] - theirs * began
        name = f"{camera}/twin{len(day.clips) + 1:03d}.mp4"
        twin = clip.model_copy(
            update={
                "name": name,
                "path": Path(name),
                "camera": camera,
                "start": MORNING + timedelta(seconds=round(seen, 3)),
                "duration": clip.duration + 20.0,
            }
        )
        day.clips.append(twin)
        shift = lead * (1 - theirs) + dice.gauss(0, 0.01)
        if dice.random() < plan.false_ties:
            shift += dice.choice((-1, 1)) * dice.uniform(30, 400)
        overlap = min(clip.duration, twin.duration - shift) - max(0.0, -shift)
        day.ties.append(
            Tie(
                clip=clip.name,
                other=name,
                shift_s=round(shift, 4),
                drift_ppm=round((rate - 1) * 1e6 + dice.gauss(0, 0.01 * 12**0.5 / max(overlap, 1.0) * 1e6), 2),
                error_s=0.02,
                overlap_s=max(0.0, overlap),
            )
        )


def _show(dice, plan, day, segments, logged, clip, start, cursor, number):  # type: ignore[no-untyped-def]
    label, also, material, kind = _draw(dice)
    if dice.random() < plan.wrong:
        wrong, _, _, its_kind = _draw(dice)
        cursor = _say(day, segments, clip, cursor, "it says", wrong, wrong, its_kind, "on here.", 0.7)[0]
        cursor += dice.uniform(3, 20)
    tease = dice.choice(_TEASES)
    if tease:
        cursor = _words(segments, clip, cursor, tease)
        cursor += dice.uniform(0.5, 2.0)
    heard = also if dice.random() < 0.2 else label
    stance = Stance.UNSURE if dice.random() < 0.1 else Stance.FOUND
    cursor, named = _say(day, segments, clip, cursor, "it's a", heard, label, kind, "I think.", 0.95, stance)
    if dice.random() < 0.5:
        cursor = _words(segments, clip, cursor, "lovely thing, look at the colour of it.")
    if dice.random() < 0.4:
        cursor = _say(day, segments, clip, cursor, "yes this", label, label, kind, "is whole.", 0.9)[0]
    find = str(number)
    if dice.random() >= plan.unlogged:
        day.truth[clip, named] = find
        logged.append((start + named + dice.gauss(0, plan.jitter), find, label, also, material))
    return cursor + dice.uniform(3, 90), number + 1


def _draw(dice: random.Random) -> tuple[str, str, str, Kind]:
    pool = [(t, a, m, Kind.OBJECT, w) for t, a, _, m, w in _THINGS]
    pool += [(t, a, "ceramic", Kind.WARE, w) for t, a, _, w in _WARES]
    chosen = dice.choices(pool, weights=[p[4] for p in pool])[0]
    return chosen[0], chosen[1], chosen[2], chosen[3]


def _say(day, segments, clip, cursor, before, heard, term, kind, after, score, stance=Stance.FOUND):  # type: ignore[no-untyped-def]
    text = f"{before} {heard} {after}"
    at = cursor + 0.3 * len(before.split())
    until = at + 0.3 * len(heard.split())
    end = _words(segments, clip, cursor, text)
    day.mentions.append(
        Mention(
            clip=clip,
            start=round(at, 3),
            end=round(until, 3),
            heard=heard,
            term=term,
            kind=kind,
            how=How.WRITTEN if heard == term else How.OTHER_NAME,
            score=score,
            stance=stance,
            quote=text,
        )
    )
    return end, round(at, 3)


def _words(segments: list[Segment], clip: str, cursor: float, text: str) -> float:
    words = []
    for word in text.split():
        words.append(Word(start=round(cursor, 3), end=round(cursor + 0.25, 3), word=word, probability=0.9))
        cursor += 0.3
    segments.append(Segment(clip=clip, start=words[0].start, end=words[-1].end, text=text, words=tuple(words)))
    return cursor + 0.2


def _log(dice, plan, day, logged, number, true_time):  # type: ignore[no-untyped-def]
    for _ in range(round(plan.unfilmed * plan.finds)):
        label, also, material, _ = _draw(dice)
        logged.append((dice.uniform(0, true_time), str(number), label, also, material))
        number += 1
    logged.sort()
    for _ in range(plan.batches):
        first = dice.randrange(max(1, len(logged) - 5))
        last = min(len(logged), first + 5)
        at = logged[last - 1][0] + 120
        for place in range(first, last):
            logged[place] = (at + 8 * (place - first), *logged[place][1:])
            day.batched.add(logged[place][1])
    logged.sort()
    for place in range(len(logged) - 1):
        if dice.random() < plan.swaps:
            logged[place], logged[place + 1] = logged[place + 1], logged[place]
    for row, (at, find, label, also, material) in enumerate(logged, start=2):
        written = also if dice.random() < plan.renamed else label
        if dice.random() < plan.misspelt and len(written) > 4:
            cut = dice.randrange(1, len(written) - 1)
            written = written[:cut] + written[cut + 1 :]
        time = None if dice.random() < plan.untimed else MORNING + timedelta(seconds=round(at))
        if plan.minutes and time is not None:
            time = time.replace(second=0)
        known = material if dice.random() < 0.5 else ""
        day.log.append(LogEntry(find=find, row=row, time=time, object=written, material=known))
