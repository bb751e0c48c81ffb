"""Whether the same day gives the same bytes: again, on one processor, elsewhere, and on older processors.

    python -m tests.campaign.reproducible [DAY] [--model NAME]

Each run is from nothing, with a cache and results of its own. The exit status is 1 where a run that must be the same
is not. Another machine's arithmetic is had by holding the libraries to an older processor's instructions: words may
differ there, and how many do is printed.
"""

from __future__ import annotations

import argparse
import difflib
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.campaign.stage import EXAMPLE, ROOT, differences, results

NO_AVX512 = "AVX512F AVX512CD AVX512_SKX AVX512_CLX AVX512_CNL AVX512_ICL AVX512_SPR"
ELSEWHERE = {"TZ": "Asia/Tokyo", "LC_ALL": "C", "PYTHONHASHSEED": "7"}
HASWELL = {
    "CT2_FORCE_CPU_ISA": "AVX2",
    "ONEDNN_MAX_CPU_ISA": "AVX2",
    "OPENBLAS_CORETYPE": "Haswell",
    "NPY_DISABLE_CPU_FEATURES": NO_AVX512,
}
RUNS: tuple[tuple[str, dict[str, str], bool], ...] = (
    ("again", {}, True),
    ("on one processor", {"one": "1"}, True),
    ("another zone, language and order of hashing", ELSEWHERE, True),
    ("a processor of 2013 (AVX2)", HASWELL, False),
    ("a processor of 2011 (AVX)", {**HASWELL, "CT2_FORCE_CPU_ISA": "AVX", "ONEDNN_MAX_CPU_ISA": "AVX"}, False),
    ("any 64-bit processor", {**HASWELL, "CT2_FORCE_CPU_ISA": "GENERIC", "ONEDNN_MAX_CPU_ISA": "SSE41"}, False),
)
"""What it is called, what is set for it, whether it must be the same."""


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("day", type=Path, nargs="?", default=EXAMPLE)
    told.add_argument("--model", default="base")
    given = told.parse_args()
    failed = False
    with tempfile.TemporaryDirectory() as name:
        first = made(given.day, given.model, Path(name) / "first", {})
        for number, (what, more, must) in enumerate(RUNS):
            out = made(given.day, given.model, Path(name) / str(number), more)
            one, other = results(first), results(out)
            unlike = [n for n in {*one, *other} if one.get(n) != other.get(n)]
            failed |= must and bool(unlike)
            print(f"{what}: {len(unlike)} of {len(one)} files differ{words(first, out) if unlike else ''}", flush=True)
            if must and unlike:
                print(f"  FAILED: {differences(dict(one), dict(other))}")
    sys.exit(failed)


def made(day: Path, model: str, place: Path, more: dict[str, str]) -> Path:
    """Results of a run from nothing."""
    begun = time.monotonic()
    command = [sys.executable, "-m", "episode", "make", str(day), "--model", model, "--out", str(place / "out"), "-q"]
    if more.get("one"):
        command = ["taskset", "-c", str(min(os.sched_getaffinity(0))), *command]
    env = {**os.environ, **more, "EPISODE_CACHE": str(place / "cache"), "PYTHONPATH": str(ROOT)}
    ran = subprocess.run(command, env=env, cwd="/", stdin=subprocess.DEVNULL, capture_output=True, text=True)
    if ran.returncode:
        sys.exit(f"it ended with {ran.returncode}: {ran.stderr[-2000:]}")
    print(f"  {time.monotonic() - begun:.0f} s", flush=True)
    return place / "out"


def words(first: Path, second: Path) -> str:
    """How many words of a transcript are other ones, and how many only in stops and capitals."""
    one, other = (_said(out) for out in (first, second))
    matched = difflib.SequenceMatcher(None, one, other, autojunk=False).get_opcodes()
    changed = [(one[i:j], other[k:n]) for tag, i, j, k, n in matched if tag != "equal"]
    real = [pair for pair in changed if _bare(pair[0]) != _bare(pair[1])]
    count = sum(max(len(a), len(b)) for a, b in real)
    return (
        f"; of {len(one)} words {count} are others, and {len(changed) - len(real)} places differ in stops or capitals"
    )


def _said(out: Path) -> list[str]:
    told = json.loads((out / "transcript.json").read_text(encoding="utf-8"))
    return [word["word"] for segment in told["segments"] for word in segment["words"]]


def _bare(some: list[str]) -> list[str]:
    return ["".join(c for c in word.casefold() if c.isalnum()) for word in some]


if __name__ == "__main__":
    main()
