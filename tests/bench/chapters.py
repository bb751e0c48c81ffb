"""How near chapter starts come to where finds come into play.

    python tests/bench/chapters.py            the days in tests/data/chapters, long days joined from them, the example day
    python tests/bench/chapters.py --errors   list starts that were missed or made too many (development days only)
    python tests/bench/chapters.py --titles   list the chapters of the development days

Days are invented talk, written by hand with a mark where each chapter begins (format: tests/data/chapters/README.md)
and timed with a seed: words by their length at a rate drawn for the day, pauses as written. No rule is fitted to
``heldout.txt``. ``gold mentions`` makes chapters from the mentions marked in the text, ``spotted`` from the spotting
room's: the difference is spotting's. Long days are the kept-aside days in drawn orders, with silences stretched, as
one day of over an hour.

Counted without the opening, the first ten seconds, in which hosts take no second chapter: recall is the share of marks with a start within 5 s, precision the share of
starts within 5 s of a mark, one to one. Pk (Beeferman, Berger and Lafferty 1999) and WindowDiff (Pevzner and Hearst
2002), lower is better, by the library segeval on a grid of one second; beside them as many starts as there are
marks, drawn at random (the mean of 20 draws) or spaced equally.
"""

from __future__ import annotations

import argparse
import datetime as dt
import itertools
import json
import random
import sys
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from episode.drafting.chapters import chapters  # noqa: E402
from episode.lexicon.book import Lexicon  # noqa: E402
from episode.lexicon.packs import load_lexicon  # noqa: E402
from episode.matching.match import match  # noqa: E402
from episode.models import (  # noqa: E402
    Chapter,
    Clip,
    How,
    Mention,
    Segment,
    Settings,
    Stance,
    StartFrom,
    Transcript,
    Word,
)
from episode.spotting.spot import spot  # noqa: E402
from tests.bench.spotting import timed  # noqa: E402

DATA = ROOT / "tests" / "data" / "chapters"
GOLD = ROOT / "examples" / "making" / "gold.json"
NEAR_S = 5.0
OPENING_S = 10.0
DRAWS = 20
LONG_S = 3700.0
ROUND_UP = "The day's finds"


@dataclass
class Said:
    """A sentence of a day: what it is marked with, and the silence before it (``None``: drawn)."""

    clip: str
    text: str
    begins: str = ""
    silence: float | None = None
    mentions: list[tuple[str, str]] = field(default_factory=list)


@dataclass
class Told:
    """A day laid out in time; ``marks`` are seconds on the programme's timeline with their sorts."""

    name: str
    clips: tuple[Clip, ...]
    transcript: Transcript
    mentions: tuple[Mention, ...]
    marks: list[tuple[float, str]]

    @property
    def seconds(self) -> float:
        return sum(clip.duration for clip in self.clips)


def day_sets(lexicon: Lexicon) -> dict[str, list[Told]]:
    """The days by what they are for."""
    dev, held = read(DATA / "dev.txt"), read(DATA / "heldout.txt")
    return {
        "development": [laid_out(name, said, lexicon) for name, said in dev],
        "kept aside": [laid_out(name, said, lexicon) for name, said in held],
        "kept aside, over 1 h": long_days(held, lexicon),
        "example day": [example(lexicon)],
    }


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--errors", action="store_true")
    options.add_argument("--titles", action="store_true")
    given = options.parse_args()
    lexicon = load_lexicon()
    sets = day_sets(lexicon)
    print(f"{'set':<21} {'from':<14} {'days':>4} {'marks':>5} {'starts':>6} {'R':>5} {'P':>5} {'Pk':>5} {'WD':>5}")
    for title, days in sets.items():
        for source in ("gold mentions", "spotted"):
            found = [made(day, lexicon, source) for day in days]
            report(title, source, days, [[c.start for c in cs if c.start > 0] for cs in found])
            if title == "development" and source == "gold mentions":
                listed(days, found, given)
        report(title, "equal spacing", days, [equal(day) for day in days])
        report(title, "random", [d for d in days for _ in range(DRAWS)], drawn(days))


def read(path: Path) -> list[tuple[str, list[Said]]]:
    """Every day of a file by name."""
    days: list[tuple[str, list[Said]]] = []
    clip, begins, silence = "a", "", None
    for line in path.read_text("utf-8").splitlines():
        head, _, rest = line.partition(" ")
        if not line.strip():
            continue
        if head == "@":
            days.append((rest.split("|")[0].strip(), []))
        elif head == "==":
            clip = rest.strip()
        elif head == "~":
            silence = float(rest)
        elif head == ">>":
            begins = rest.strip()
        else:
            text, _, cells = line.partition(" => ")
            pairs = [cell.strip().rsplit(" ", 1) for cell in cells.split(";") if cell.strip()]
            days[-1][1].append(Said(clip, text.strip(), begins, silence, [(t, s) for t, s in pairs]))
            begins, silence = "", None
    return days


def laid_out(name: str, said: list[Said], lexicon: Lexicon, *, stretch: float = 1.0, lead: float = 2.0) -> Told:
    """Times for every word, seeded by the day's name."""
    draw = random.Random(name)
    pace = draw.uniform(0.85, 1.15)
    names = {name.casefold(): term.term for name, term, _ in lexicon.names()}
    segments, mentions, marks, clips = [], [], [], []
    base, at, here = 0.0, lead, said[0].clip
    begun = dt.datetime(2026, 5, 3, 9, tzinfo=dt.UTC)
    for index, line in enumerate(said):
        if line.clip != here:
            base, at, here = _close(clips, here, at, base, begun), 1.0, line.clip
        if index:
            at += draw.uniform(0.4, 0.9) if line.silence is None else line.silence * stretch
        begins, words = at, []
        for piece in line.text.split():
            # About 2.7 words a second: a sixth of a second a word and a twentieth a letter.
            long = pace * (0.13 + 0.05 * len(piece))
            words.append(Word(start=round(at, 3), end=round(at + long, 3), word=piece, probability=0.95))
            at += long + (0.02 if piece[-1].isalnum() else 0.12)
        end = words[-1].end
        at = end
        segments.append(Segment(clip=line.clip, start=begins, end=end, text=line.text, words=tuple(words)))
        if line.begins:
            marks.append((base + begins, line.begins))
        mentions += [_mention(line, words, term, stance, lexicon, names) for term, stance in line.mentions]
    _close(clips, here, at, base, begun)
    marks = [mark for mark in marks if mark[0] >= OPENING_S]
    return Told(name, tuple(clips), Transcript(segments=tuple(segments)), tuple(mentions), marks)


def _close(clips: list[Clip], name: str, at: float, base: float, begun: dt.datetime) -> float:
    length = round(at + 3.0, 3)
    clips.append(clip_of(name, length, begun + dt.timedelta(seconds=base)))
    return base + length


def clip_of(name: str, length: float, start: dt.datetime) -> Clip:
    return Clip(name=name, path=Path(name), camera="one", duration=length, start=start, start_from=StartFrom.CREATION)


def _mention(line: Said, words: list[Word], term: str, stance: str, lexicon: Lexicon, names: dict[str, str]) -> Mention:
    """The mention at the words that name the term, else over the whole sentence."""
    known = lexicon.get(term)
    if known is None:
        raise SystemExit(f"{term!r} (in {line.text!r}) is no term of the vocabulary")
    plain = [w.word.casefold().strip(".,?!;:") for w in words]
    spans = [
        (i, j)
        for i in range(len(plain))
        for j in range(min(len(plain), i + 5), i, -1)
        if names.get(" ".join(plain[i:j])) == term
    ]
    first, last = max(spans, key=lambda s: s[1] - s[0], default=(0, len(plain)))
    return Mention(
        clip=line.clip,
        start=words[first].start,
        end=words[last - 1].end,
        heard=" ".join(w.word for w in words[first:last]),
        term=term,
        kind=known.kind,
        how=How.WRITTEN,
        score=1.0,
        stance=Stance(stance),
        quote=line.text,
    )


def long_days(days: list[tuple[str, list[Said]]], lexicon: Lexicon) -> list[Told]:
    """Three days of over an hour, each of all the given ones in a drawn order, silences stretched to fill it."""
    found = []
    for seed in range(3):
        order = list(days)
        random.Random(seed).shuffle(order)
        joined = [
            Said(
                f"{name}{line.clip}",
                line.text,
                line.begins or ("opening" if not i else ""),
                line.silence,
                line.mentions,
            )
            for name, said in order
            for i, line in enumerate(said)
        ]
        stretch = 1.0
        while (told := laid_out(f"long {seed}", joined, lexicon, stretch=stretch)).seconds < LONG_S:
            stretch += 0.25
        # The words by which a joined day opens are no chapter of their own: nobody opens in the middle.
        told.marks = [mark for mark in told.marks if mark[1] != "opening"]
        found.append(told)
    return found


def example(lexicon: Lexicon) -> Told:
    """The example day's script, and its moments' starts as marks."""
    day = json.loads(GOLD.read_text("utf-8"))
    clips = tuple(clip_of(c["clip"], c["duration"], dt.datetime.fromisoformat(c["start"])) for c in day["clips"])
    begin, at = {}, 0.0
    for clip in clips:
        begin[clip.name], at = at, at + clip.duration
    segments = tuple(
        Segment(
            clip=said["clip"], start=said["start"], end=said["end"], text=said["text"],
            words=tuple(Word(start=a, end=max(a, b), word=w, probability=1.0) for a, b, w in timed(said)),
        )
        for said in day["said"]
    )  # fmt: skip
    mentions = tuple(
        Mention(
            clip=m["clip"], start=m["start"], end=m["end"], heard=m["term"], term=m["term"], kind=term.kind,
            how=How.WRITTEN, score=1.0, stance=Stance(m["stance"]), quote="",
        )
        for m in day["mentions"] if (term := lexicon.get(m["term"]))
    )  # fmt: skip
    # The day's list ends with a round-up, of which no chapter is wanted.
    marks = [
        (c["start"], c["title"]) for c in day["chapters"] if c["start"] > 0 and (c["find"] or c["title"] != ROUND_UP)
    ]
    return Told("example", clips, Transcript(segments=segments), mentions, marks)


def made(day: Told, lexicon: Lexicon, source: str) -> tuple[Chapter, ...]:
    mentions = day.mentions if source == "gold mentions" else spot(day.transcript, lexicon, clips=day.clips)
    matched = match(mentions, day.transcript, (), day.clips, lexicon)
    return chapters(matched.moments, day.transcript, day.clips, Settings(), lexicon)


def report(title: str, source: str, days: list[Told], starts: list[list[float]]) -> None:
    hits = sum(len(paired([m for m, _ in d.marks], s)) for d, s in zip(days, starts, strict=True))
    marks, count = sum(len(d.marks) for d in days), sum(len(s) for s in starts)
    scores = [segmented(d, s) for d, s in zip(days, starts, strict=True)]
    pk, wd = (sum(s[i] for s in scores) / len(scores) for i in (0, 1))
    times = DRAWS if source == "random" else 1
    print(
        f"{title:<21} {source:<14} {len(days) // times:>4} {marks // times:>5} {count // times:>6} "
        f"{hits / marks:5.2f} {hits / count if count else 0:5.2f} {pk:5.2f} {wd:5.2f}",
        flush=True,
    )


def paired(marks: list[float], starts: list[float]) -> list[tuple[float, float]]:
    """Marks and starts within reach, one to one, nearest first."""
    near = sorted((abs(m - s), m, s) for m in marks for s in starts if abs(m - s) <= NEAR_S)
    found: list[tuple[float, float]] = []
    for _, mark, start in near:
        if all(mark != m and start != s for m, s in found):
            found.append((mark, start))
    return found


def segmented(day: Told, starts: list[float]) -> tuple[float, float]:
    """Pk and WindowDiff."""
    import segeval

    whole = round(day.seconds)
    wanted, got = (masses(whole, s) for s in ([m for m, _ in day.marks], starts))
    return float(segeval.pk(got, wanted)), float(segeval.window_diff(got, wanted))


def masses(whole: int, starts: list[float]) -> tuple[int, ...]:
    edges = [0, *sorted({round(s) for s in starts if 0 < round(s) < whole}), whole]
    return tuple(b - a for a, b in itertools.pairwise(edges))


def equal(day: Told) -> list[float]:
    count = len(day.marks)
    return [day.seconds * (i + 1) / (count + 1) for i in range(count)]


def drawn(days: list[Told]) -> list[list[float]]:
    draw = random.Random(5)
    return [sorted(draw.uniform(1, day.seconds) for _ in day.marks) for day in days for _ in range(DRAWS)]


def listed(days: list[Told], found: list[tuple[Chapter, ...]], given: argparse.Namespace) -> None:
    for day, made_of in zip(days, found, strict=True):
        starts = [c.start for c in made_of if c.start > 0]
        hits = paired([m for m, _ in day.marks], starts)
        for mark, sort in day.marks if given.errors else ():
            if mark not in {m for m, _ in hits}:
                print(f"    {day.name}: missed {sort} at {mark:.1f}: {said_at(day, mark)}")
        for chapter in made_of if given.errors else ():
            if chapter.start > 0 and chapter.start not in {s for _, s in hits}:
                print(f"    {day.name}: too many {chapter.start:.1f} {chapter.title}: {said_at(day, chapter.start)}")
        for chapter in made_of if given.titles else ():
            print(f"    {day.name}: {chapter.start:7.1f} {chapter.title}")


def said_at(day: Told, second: float) -> str:
    at = 0.0
    for clip in day.clips:
        if second < at + clip.duration:
            near = [s for s in day.transcript.segments if s.clip == clip.name and s.end > second - at]
            return repr(near[0].text) if near else "(silence)"
        at += clip.duration
    return "(end)"


if __name__ == "__main__":
    main()
