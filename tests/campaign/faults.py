"""The fault campaign: the machine stops, the disk is full, folders move; nothing of the person's may suffer.

Usage: python -m tests.campaign.faults [--kills N] [--seed S] [--points N] [--only disk,places,kills] [--folder DIR]

Prints a table of figures; the exit status is 1 where anything went wrong. 200 kills take the better part of an hour
on two cores.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

from tests.campaign.disk import full_disk
from tests.campaign.kills import Expected, Killed, kills, kills_of_review, kills_while_writing, undisturbed
from tests.campaign.places import places
from tests.campaign.stage import Stage

PARTS = ("disk", "places", "kills")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--points", type=int, default=16, help="calls at which the disk is full in whole runs")
    parser.add_argument("--only", default=",".join(PARTS))
    parser.add_argument("--folder", type=Path, help="an empty folder to work in (default: a temporary one)")
    said = parser.parse_args()
    chosen = [part for part in PARTS if part in said.only.split(",")]
    with tempfile.TemporaryDirectory(prefix="faults-") as scratch:
        stage = Stage((said.folder or Path(scratch)).resolve()).build()
        stage.root.chmod(0o755)
        began, expected = time.monotonic(), undisturbed(stage)
        print(f"undisturbed: {expected.seconds:.1f} s, {len(expected.pieces)} pieces, {expected.writes} writing calls")
        for part, run in (
            ("disk", lambda: full_disk(stage, expected, said.points)),
            ("places", lambda: places(stage, expected)),
        ):
            if part in chosen:
                for what, number in run().items():
                    print(f"{part}: {what}: {number}", flush=True)
        if "kills" in chosen:
            _kills(stage, expected, said.kills, random.Random(said.seed))
        if stage.nursery:
            stage.nursery.close()
        print(f"in {(time.monotonic() - began) / 60:.0f} min")
    print(f"{len(stage.failures)} failures")
    for failure in stage.failures:
        print(f"  {failure}")
    sys.exit(bool(stage.failures))


def _kills(stage: Stage, expected: Expected, count: int, draw: random.Random) -> None:
    told = Killed()
    written, reviewed = count * 3 // 10, count // 10
    try:
        kills_of_review(stage, reviewed, draw, told)
        kills_while_writing(stage, expected, written, draw, told)
        kills(stage, expected, count - written - reviewed, draw, told)
    except KeyboardInterrupt:
        print("stopped; until then:")
    for kind, number in told.kills.items():
        print(f"kill -9 of {kind}: {number}")
    for place, number in told.where.items():
        print(f"  killed {place}: {number}")
    print(f"undisturbed runs after kills, compared byte for byte: {told.compared}")
    print(f"pieces finished before a kill: {told.kept}, heard twice: {told.twice}")
    print(f"decisions answered: {told.answered}, lines torn: {told.torn}")


if __name__ == "__main__":
    main()
