"""How long the stages after spotting take on a day of 6 hours, and what replaying 2,000 decisions adds.

Run from the project's folder: ``python -m tests.bench.deciding``. The day is made up (``tests/big_day.py``).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from episode.claims.cautions import cautions
from episode.claims.check import check
from episode.claims.decided import decided
from episode.claims.promises import promises
from episode.drafting.chapters import chapters
from episode.drafting.decided import decided_chapters
from episode.drafting.description import draft
from episode.matching.decided import apply_decisions
from episode.matching.kinship import Kinship
from episode.matching.match import match
from episode.matching.moments import moments as find_moments
from episode.record.load import load_record
from tests.big_day import decisions, spotted, whole


def timed(what: str, work: Callable[[], Any]) -> Any:
    """Run ``work`` three times and print the fastest."""
    best, given = float("inf"), None
    for _ in range(3):
        begun = time.perf_counter()
        given = work()
        best = min(best, time.perf_counter() - begun)
    print(f"{what:44} {best * 1000:8.0f} ms")
    return given


def main() -> None:
    """Print the figures."""
    day = spotted()
    base = day.made.result
    said, log, clips, lexicon = base.transcript, base.log, base.clips, day.lexicon
    spoken, record, kin = day.made.mentions, load_record(), Kinship(lexicon)
    result = whole(day)
    finds = sum(1 for m in result.moments if m.stance.value in {"found", "unsure", "earlier"})
    words = sum(len(s.words) for s in said.segments)
    print(f"{words} words, {len(spoken)} mentions, {len(result.moments)} moments ({finds} of finds), {len(log)} rows, ")
    print(f"{len(result.claims)} claims, {len(result.promises)} promises, {len(result.chapters)} chapters\n")
    grouped = timed("moments", lambda: find_moments(spoken, said, clips, lexicon))
    matched = timed("match (moments included)", lambda: match(spoken, said, log, clips, lexicon))
    shown = matched.moments
    made = timed("check", lambda: check(said, spoken, shown, log, record, lexicon, base.settings))
    owed = timed("promises", lambda: promises(said, shown, base.settings))
    timed("cautions", lambda: cautions(said, spoken, shown, log, record, base.settings))
    drafted = timed("chapters", lambda: chapters(shown, said, clips, base.settings, lexicon, made))
    timed("description", lambda: draft(result))
    timed("all of it", lambda: whole(day))
    many = decisions(result)
    print()
    timed("2,000 decisions over moments", lambda: apply_decisions(grouped, log, many, kin, clips))
    timed("2,000 decisions over claims and promises", lambda: decided(made, owed, many))
    timed("2,000 decisions over chapters", lambda: decided_chapters(drafted, many, shown, clips, base.settings))
    after = timed("all of it with 2,000 decisions", lambda: whole(day, many))
    stale = [p for p in after.problems if p.where.startswith("decisions.jsonl")]
    print(f"{len(stale)} of {len(many)} did not apply")


if __name__ == "__main__":
    main()
