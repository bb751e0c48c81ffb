"""How much of the finds the selects keep, and how much else they leave out.

    python tests/bench/selects.py

The days of tests/data/chapters (their mentions as marked) and the example day, laid out and grouped as in
``chapters.py``. ``finds' talk`` is the share of seconds of speech within found, earlier and unsure moments that is in a
select: long silences are meant to go, words are not. ``left out`` is the share of the footage that no select holds.
``as before`` is a cut of two seconds around each moment. ``in words`` counts cuts that fall inside a word, of all cuts.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from episode.drafting.selects import selects  # noqa: E402
from episode.lexicon.packs import load_lexicon  # noqa: E402
from episode.matching.match import match  # noqa: E402
from episode.models import Moment, Settings, Transcript, Word  # noqa: E402
from tests.bench.chapters import Told, day_sets  # noqa: E402

Spans = dict[str, list[tuple[float, float]]]
SHOWN = {"found", "earlier", "unsure"}


def main() -> None:
    lexicon = load_lexicon()
    sets = day_sets(lexicon)
    print(f"{'set':<21} {'how':<10} {'minutes':>8} {'kept':>6} {'left out':>9} {'finds talk':>11} {'in words':>9}")
    for title, days in sets.items():
        moments = [match(d.mentions, d.transcript, (), d.clips, lexicon).moments for d in days]
        for how, cut in (("selects", chosen), ("as before", around)):
            told(title, how, days, moments, [cut(d, m) for d, m in zip(days, moments, strict=True)])


def chosen(day: Told, moments: tuple[Moment, ...]) -> Spans:
    spans: Spans = {}
    for one in selects(moments, day.transcript, day.clips, Settings()):
        spans.setdefault(one.clip, []).append((one.start, one.end))
    return spans


def around(day: Told, moments: tuple[Moment, ...]) -> Spans:
    lengths = {clip.name: clip.duration for clip in day.clips}
    spans: Spans = {}
    for one in sorted((m for m in moments if m.stance in SHOWN), key=lambda m: m.start):
        here = spans.setdefault(one.clip, [])
        start, end = max(0.0, one.start - 2), min(lengths[one.clip], one.end + 2)
        if here and start <= here[-1][1]:
            here[-1] = (here[-1][0], max(here[-1][1], end))
        else:
            here.append((start, end))
    return spans


def told(title: str, how: str, days: list[Told], moments: list[tuple[Moment, ...]], found: list[Spans]) -> None:
    whole = sum(day.seconds for day in days)
    kept = sum(b - a for spans in found for here in spans.values() for a, b in here)
    talk = inside = cuts = wrong = 0.0
    for day, those, spans in zip(days, moments, found, strict=True):
        for clip, word in words(day.transcript):
            here = spans.get(clip, [])
            middle = (word.start + word.end) / 2
            if any(m.clip == clip and m.stance in SHOWN and m.start <= middle <= m.end for m in those):
                talk += word.end - word.start
                inside += (word.end - word.start) * any(a <= middle <= b for a, b in here)
            wrong += sum(word.start + 0.002 < cut < word.end - 0.002 for span in here for cut in span)
        cuts += sum(2 * len(here) for here in spans.values())
    print(
        f"{title:<21} {how:<10} {whole / 60:>8.1f} {kept / 60:>6.1f} {1 - kept / whole:>9.1%} "
        f"{inside / max(talk, 1e-9):>11.1%} {wrong / max(cuts, 1):>9.1%}"
    )


def words(transcript: Transcript) -> list[tuple[str, Word]]:
    return [(segment.clip, word) for segment in transcript.segments for word in segment.words]


if __name__ == "__main__":
    main()
