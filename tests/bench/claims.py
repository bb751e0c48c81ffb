"""Claims found in narrations of our own, apart for development and for those kept aside, and on the example day.

    python -m tests.bench.claims [--dev]

Narrations: `tests/data/claims/dev.txt`, which may be tuned on (`--dev` lists what goes wrong there), and
`heldout.txt`, of which only totals are ever printed. Both are written by one hand and taken as written and as
lower-case captions. A claim is found where one of its kind (a date counts as a period and the other way round) is
made in its sentence; its interval is exact where both ends are the gold's; a planted error rests on a published
fact of the record and must be contradicted; an open statement is held by no record and must not be judged.

The example day: its script is invented here and its planted errors rest on published facts; the words are taken as
written, so that hearing is not measured. A claim is found where it begins within 2.5 s of the gold's; verdicts are compared where the gold gives one.
"""

from __future__ import annotations

import json
import sys
import time
from collections import Counter
from datetime import datetime
from pathlib import Path

from episode.claims.check import check
from episode.claims.promises import promises
from episode.day.log import read_log
from episode.day.settings import read_settings
from episode.lexicon.packs import load_lexicon
from episode.models import Moment, Segment, Transcript, Word
from episode.record.load import load_record
from episode.spotting.spot import spot
from tests.bench.narrated import narrated

EXAMPLES = Path(__file__).parents[2] / "examples"
DAY = EXAMPLES / "2026-05-03-skelby-sands"
NEAR_S = 2.5
DATED = {"date", "period"}


def main() -> None:
    """Print recall, precision, agreement of verdicts and subjects, and the time it took."""
    for name in ("dev", "heldout"):
        for caption in (False, True):
            narrations(name, caption=caption, listing=name == "dev" and "--dev" in sys.argv)
    gold = json.loads((EXAMPLES / "making" / "gold.json").read_text(encoding="utf-8"))
    for caption in (False, True):
        score(gold, caption=caption)


def narrations(name: str, *, caption: bool, listing: bool) -> None:
    """One file of narrations: recall, precision, intervals, planted errors, open statements, false alarms."""
    began = time.perf_counter()
    result = narrated(Path(__file__).parents[1] / "data" / "claims" / f"{name}.txt", caption=caption)
    tally = result.tally
    if listing:
        print("\n".join(f"  {line}" for line in result.wrong))
    print(
        f"{name} {'captions' if caption else 'punctuated'}: {tally['gold']} claims, "
        f"recall {tally['found'] / tally['gold']:.3f}, precision {tally['found'] / max(1, tally['made']):.3f}, "
        f"interval exact {tally['exact']} of {tally['dated']}, planted caught {tally['caught']} of {tally['planted']}, "
        f"open left open {tally['left open']} of {tally['open']}, verdict as planned {tally['agreed']} of "
        f"{tally['judged']}, falsely contradicted {tally['false']} of {tally['made']}; "
        f"{time.perf_counter() - began:.1f} s"
    )


def score(gold: dict, *, caption: bool) -> None:
    """One pass over the day, with punctuation or as lower-case captions without."""
    said = transcript(gold, caption=caption)
    settings = read_settings(DAY)
    log, _ = read_log(DAY, settings)
    lexicon, record = load_lexicon(None, ()), load_record()
    mentions = spot(said, lexicon, log)
    moments = shown(gold)
    began = time.perf_counter()
    found = check(said, mentions, moments, log, record, lexicon, settings)
    seconds = time.perf_counter() - began
    tally: Counter[str] = Counter()
    matched = set()
    for wanted in gold["claims"]:
        kinds = DATED if wanted["kind"] in DATED else {wanted["kind"]}
        near = [
            c
            for c in found
            if c.clip == wanted["clip"] and c.kind in kinds and abs(c.start - wanted["start"]) <= NEAR_S
        ]
        if wanted["from"] is not None or wanted["to"] is not None:
            near.sort(key=lambda c: abs((c.to or 0) - (wanted["to"] or 0)))
        if not near:
            print(f"  missed: {wanted['words']!r} in {wanted['quote']!r}")
            continue
        claim = near[0]
        matched.add(claim.id)
        tally["found"] += 1
        tally["subject"] += wanted["about"] is None or claim.about == wanted["about"]
        if wanted["verdict"]:
            tally["judged"] += 1
            tally["agreed"] += claim.verdict.value == wanted["verdict"]
    wrong = [c for c in found if c.id not in matched]
    for claim in wrong:
        print(f"  beyond the gold: {claim.kind} {claim.verdict.value} in {claim.quote!r}")
    owed = promises(said, moments, settings)
    kinds = Counter(p["kind"] for p in gold["promises"]) & Counter(p.kind for p in owed)
    print(
        f"{'captions' if caption else 'punctuated'}: {tally['found']} of {len(gold['claims'])} claims, "
        f"{len(wrong)} beyond the gold, subject agrees in {tally['subject']}, verdict in {tally['agreed']} of "
        f"{tally['judged']}, contradicted beyond the gold "
        f"{sum(c.verdict.value == 'contradicted' for c in wrong)}; promises {sum(kinds.values())} of "
        f"{len(gold['promises'])} ({len(owed)} found); {seconds:.2f} s"
    )


def transcript(gold: dict, *, caption: bool) -> Transcript:
    """The gold's words with their times."""
    segments = []
    for line in gold["said"]:
        spelt = line["text"].split()
        same = len(spelt) == len(line["words"])
        words = [
            Word(start=start, end=end, word=spelt[n] if same else word, probability=1.0)
            for n, (start, end, word) in enumerate(line["words"])
        ]
        if caption:
            words = [w.model_copy(update={"word": w.word.lower().strip(".,?!;:")}) for w in words]
        text = " ".join(w.word for w in words)
        segments.append(Segment(clip=line["clip"], start=line["start"], end=line["end"], text=text, words=tuple(words)))
    return Transcript(segments=tuple(segments))


def shown(gold: dict) -> tuple[Moment, ...]:
    """The gold's finds as moments."""
    at = datetime.fromisoformat(gold["clips"][0]["start"])
    return tuple(
        Moment(
            id=f"m{n:03d}",
            clip=find["clip"],
            start=find["start"],
            end=find["end"],
            at=at,
            term=find["term"],
            stance=find["stance"],
            find=find["find"],
        )
        for n, find in enumerate(gold["finds"], start=1)
    )


if __name__ == "__main__":
    main()
