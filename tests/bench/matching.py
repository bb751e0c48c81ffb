"""Clocks and pairs on made-up days, and on the example day: figures, not pass or fail.

    python tests/bench/matching.py [--days 100] [--first-seed 5000]

The days come from ``tests/matching/simulate.py``; seeds below 1000 were used while writing the room, the
reported ones begin at 5000. The floor pairs each moment with the nearest row in time, once on the camera's
own clock and once on the true one, without reading a word.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "matching"))

from simulate import CLEAN, MESSY, Day, Plan, simulate  # noqa: E402

from episode.matching.match import match  # noqa: E402
from episode.matching.naming import naming_second  # noqa: E402
from episode.models import (  # noqa: E402
    Clip,
    How,
    Matched,
    Mention,
    Segment,
    Stance,
    StartFrom,
    Transcript,
    Word,
)

FINDS = {Stance.FOUND, Stance.UNSURE, Stance.EARLIER}


def score(matched: Matched, truth: dict[tuple[str, float], str], finds: dict[str, str | None]) -> tuple[int, int, int]:
    """Right, given and true pairs; ``finds`` maps moment ids to find numbers."""
    right = given = 0
    for moment in matched.moments:
        find = finds.get(moment.id)
        if find is None:
            continue
        given += 1
        right += any(truth.get((m.clip, m.start)) == find for m in moment.mentions)
    return right, given, len(truth)


def floor(day: Day, matched: Matched, *, true_clock: bool) -> dict[str, str | None]:
    cameras = {clip.name: clip for clip in day.clips}
    rows = [row for row in day.log if row.time is not None]
    near = []
    for moment in matched.moments:
        if moment.stance in FINDS:
            clip = cameras[moment.clip]
            at = clip.start.timestamp() + naming_second(moment.mentions, moment.term)
            at += day.offsets[clip.camera] if true_clock else 0.0
            near += [(abs(row.time.timestamp() - at), moment.id, row.find) for row in rows if row.time]
    pairs: dict[str, str | None] = {}
    for gap, moment_id, find in sorted(near):
        if gap <= 600 and moment_id not in pairs and find not in pairs.values():
            pairs[moment_id] = find
    return pairs


def told(right: int, given: int, true: int) -> str:
    precision, recall = right / max(1, given), right / max(1, true)
    f1 = 2 * precision * recall / max(1e-9, precision + recall)
    return f"P {precision:.3f}  R {recall:.3f}  F1 {f1:.3f}  ({right} right of {given} given, {true} true)"


def days(name: str, plan: Plan, count: int, first: int, lag: float = 0.0) -> None:
    sums = {"matched": [0, 0, 0], "floor, camera clock": [0, 0, 0], "floor, true clock": [0, 0, 0]}
    errors, covered, known, took, bands = [], 0, 0, 0.0, {}
    for seed in range(first, first + count):
        day = simulate(seed, plan)
        began = time.perf_counter()
        matched = match(day.mentions, day.transcript, day.log, day.clips, day.lexicon)
        took += time.perf_counter() - began
        ours = {m.id: m.find for m in matched.moments}
        for label, finds in (
            ("matched", ours),
            ("floor, camera clock", floor(day, matched, true_clock=False)),
            ("floor, true clock", floor(day, matched, true_clock=True)),
        ):
            sums[label] = [a + b for a, b in zip(sums[label], score(matched, day.truth, finds), strict=True)]
        for moment in matched.moments:
            if moment.find:
                right = any(day.truth.get((m.clip, m.start)) == moment.find for m in moment.mentions)
                band = bands.setdefault(min(9, int(moment.confidence * 10)), [0, 0])
                band[0] += right
                band[1] += 1
        for clock in matched.clocks:
            start = min(c.start.timestamp() for c in day.clips if c.camera == clock.camera)
            begun = start + day.offsets[clock.camera] - datetime.fromisoformat("2026-05-03T08:00:00+00:00").timestamp()
            off = abs(clock.offset_s - day.offsets[clock.camera] - plan.drift_ppm * 1e-6 * begun)
            errors.append(off)
            if clock.error_s is not None:
                known += 1
                covered += off <= clock.error_s
    off = np.array(errors)
    print(f"{name}: {count} days, {took / count * 1000:.0f} ms a day")
    print(
        f"  clocks {len(off)}: error median {np.median(off):.1f} s, mean {off.mean():.1f} s, "
        f"90 % {np.quantile(off, 0.9):.1f} s, worst {off.max():.0f} s, within 30 s {np.mean(off <= 30):.0%}; "
        f"95 % intervals hold {covered}/{known}"
    )
    for label, (right, given, true) in sums.items():
        print(f"  {label:20} {told(right, given, true)}")
    shown = ", ".join(f"{b / 10:.1f}+: {r}/{n}" for b, (r, n) in sorted(bands.items()))
    print(f"  right by confidence  {shown}")


def example() -> None:
    """The example day from its gold mentions."""
    gold_file = ROOT / "examples" / "making" / "gold.json"
    folders = sorted((ROOT / "examples").glob("2026-*"))
    if not gold_file.exists() or not folders:
        print("example day: not there")
        return
    from episode.day.log import read_log
    from episode.day.settings import read_settings
    from episode.lexicon.packs import load_lexicon

    gold = json.loads(gold_file.read_text(encoding="utf-8"))
    log, _ = read_log(folders[0], read_settings(folders[0]))
    clips = sorted((_clip(row) for row in gold["clips"]), key=lambda clip: clip.start)
    transcript = Transcript(segments=tuple(_segment(said) for said in gold["said"]))
    mentions = [_mention(row, gold["said"]) for row in gold["mentions"]]
    matched = match(mentions, transcript, log, clips, load_lexicon())
    truth = {(f["clip"], f["named"]): f["find"] for f in gold["finds"]}
    right = given = 0
    for moment in matched.moments:
        if moment.find:
            given += 1
            spans = [f for f in gold["finds"] if f["clip"] == moment.clip and f["find"] == moment.find]
            right += any(moment.start - 0.1 <= f["named"] <= moment.end + 0.1 for f in spans)
    print("example day, from gold mentions")
    print(f"  matched              {told(right, given, len(truth))}")
    starts = [
        abs(m.start - f["start"]) for m in matched.moments for f in gold["finds"]
        if m.find == f["find"] and m.clip == f["clip"]
    ]  # fmt: skip
    print(f"  starts off by        median {np.median(starts):.2f} s, worst {max(starts):.2f} s")
    true = {row["camera"]: row["offset_s"] for row in gold["clips"]}
    for clock in matched.clocks:
        print(
            f"  clock {clock.camera:8} {clock.offset_s:+.1f} s, true {true[clock.camera]:+.1f}, "
            f"error {abs(clock.offset_s - true[clock.camera]):.1f} s, interval ± {clock.error_s} s, {clock.pairs} pairs"
        )


def speed(seed: int) -> None:
    """A long, messy day."""
    day = simulate(seed, replace(MESSY, finds=300))
    began, used = time.perf_counter(), time.process_time()
    matched = match(day.mentions, day.transcript, day.log, day.clips, day.lexicon)
    took, used = time.perf_counter() - began, time.process_time() - used
    print(
        f"speed: {len(matched.moments)} moments, {len(day.log)} rows, {len(day.clips)} clips, 2 cameras in "
        f"{took:.1f} s ({used:.1f} s of processor)"
    )


def _clip(row: dict[str, str]) -> Clip:
    return Clip(
        name=row["clip"],
        path=Path(row["clip"]),
        duration=float(row["duration"]),
        start=datetime.fromisoformat(row["camera_start"]),
        start_from=StartFrom(row["start_from"]),
        camera=row["camera"],
    )


def _segment(said: dict) -> Segment:  # type: ignore[type-arg]
    words = [list(word) for word in said["words"]]
    written = said["text"].split()
    if len(written) == len(words):
        words = [[start, end, spelled] for (start, end, _), spelled in zip(words, written, strict=True)]
    else:
        words[-1][2] += said["text"][-1]
    return Segment(
        clip=said["clip"],
        start=said["start"],
        end=said["end"],
        text=said["text"],
        words=tuple(Word(start=start, end=end, word=word, probability=1.0) for start, end, word in words),
    )


def _mention(row: dict, said: list[dict]) -> Mention:  # type: ignore[type-arg]
    quote = next(
        (s["text"] for s in said if s["clip"] == row["clip"] and s["start"] - 0.01 <= row["start"] <= s["end"]), ""
    )
    kept = {key: row[key] for key in ("clip", "start", "end", "heard", "term", "kind", "stance")}
    return Mention(**kept, how=How.WRITTEN, score=1.0, quote=quote)


def main() -> None:
    """Print all figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--days", type=int, default=100)
    parser.add_argument("--first-seed", type=int, default=5000)
    given = parser.parse_args()
    print(f"seeds {given.first_seed} to {given.first_seed + given.days - 1}")
    days("clean (one camera)", CLEAN, given.days, given.first_seed)
    days("messy (two cameras)", MESSY, given.days, given.first_seed)
    speed(given.first_seed)
    example()


if __name__ == "__main__":
    main()
