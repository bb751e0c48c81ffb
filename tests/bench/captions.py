"""How many captions keep to the guidelines.

    python tests/bench/captions.py

Over the example day (as its script times it) and the days of tests/data/chapters, laid out as in ``chapters.py``, the
long ones of over an hour among them: the share of captions within each figure of ``vocab/rules/caption_rules.csv``
(reading speed as 180 words a minute with ease and 225 at most), the share that end at a stop or other punctuation, and
single words that are no sentence of their own. ``spoken`` is the share of words that are said within sentences faster
than 180 words a minute: no caption that is word for word and on time can make those slower. Beside them the transcript's
cues (transcript.vtt), which are not made for reading, with the same counts.
"""

from __future__ import annotations

import html
import itertools
import re
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from episode.drafting.caption_rules import caption_rules  # noqa: E402
from episode.drafting.captioning import Caption, captions  # noqa: E402
from episode.drafting.timeline import starts  # noqa: E402
from episode.lexicon.packs import load_lexicon  # noqa: E402
from episode.models import Settings  # noqa: E402
from episode.speech.sentences import sentences  # noqa: E402
from episode.speech.subtitles import write_vtt  # noqa: E402
from tests.bench.chapters import DATA, Told, example, laid_out, long_days, read  # noqa: E402

STOP = re.compile(r"[.?!…,;:][\"'”’)]*$")


def main() -> None:
    lexicon = load_lexicon()
    dev, held = read(DATA / "dev.txt"), read(DATA / "heldout.txt")
    sets = {
        "example day": [example(lexicon)],
        "development": [laid_out(name, said, lexicon) for name, said in dev],
        "kept aside": [laid_out(name, said, lexicon) for name, said in held],
        "kept aside, over 1 h": long_days(held, lexicon),
    }
    head = ("captions", "2 x 37", ">= 1 s", "<= 7 s", "<= 180", "<= 225", "at stop", "orphans", "overlap", "spoken")
    print(f"{'set':<21} {'how':<10} " + " ".join(f"{name:>8}" for name in head))
    for title, days in sets.items():
        told(title, "captions", days, [list(captions(d.transcript, d.clips, Settings())) for d in days])
        told(title, "transcript", days, [cues(d) for d in days])


def cues(day: Told) -> list[Caption]:
    import webvtt

    def seconds(stamp: str) -> float:
        hours, minutes, rest = stamp.split(":")
        return int(hours) * 3600 + int(minutes) * 60 + float(rest)

    track = webvtt.from_string(write_vtt(day.transcript, starts(day.clips)))
    return [
        Caption(start=seconds(c.start), end=seconds(c.end), lines=tuple(html.unescape(c.text).split("\n")))
        for c in track
    ]


def told(title: str, how: str, days: list[Told], found: list[list[Caption]]) -> None:
    rules = caption_rules()
    every = [one for day in found for one in day]
    stops = [bool(STOP.search(one.lines[-1])) for one in every]
    count = [len(" ".join(one.lines).split()) for one in every]
    length = [max(one.end - one.start, 0.001) for one in every]
    wide = [len(c.lines) <= rules.lines and all(len(line) <= rules.line_length for line in c.lines) for c in every]
    orphans = sum(n == 1 and not re.search(r"[.?!…]", one.lines[-1]) for n, one in zip(count, every, strict=True))
    overlap = sum(a.end > b.start + 1e-6 for day in found for a, b in itertools.pairwise(day))
    fast = words = 0
    for day in days:
        for sentence in sentences(day.transcript):
            words += len(sentence.words)
            fast += len(sentence.words) * (len(sentence.words) * 60 > rules.speed * (sentence.end - sentence.start))
    paced = [n * 60 / s for n, s in zip(count, length, strict=True)]
    shares = (
        sum(wide), sum(s >= rules.shortest_s - 0.001 for s in length), sum(s <= rules.longest_s + 0.001 for s in length),
        sum(p <= rules.speed + 0.5 for p in paced), sum(p <= rules.fastest + 0.5 for p in paced), sum(stops),
    )  # fmt: skip
    shown = " ".join(f"{share / max(1, len(every)):>8.1%}" for share in shares)
    print(f"{title:<21} {how:<10} {len(every):>8} {shown} {orphans:>8} {overlap:>8} {fast / max(1, words):>8.1%}")


if __name__ == "__main__":
    main()
