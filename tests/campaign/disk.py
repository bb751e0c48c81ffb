"""A disk that is full at every call that writes: said clearly, nothing half-written, the next run right."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.campaign.kills import Expected
from tests.campaign.stage import Ran, Stage, differences, heard, litter, persons, results
from tests.campaign.struck import Strike

KIB = (4, 16, 64, 128, 256, 320, 384, 512, 768)
"""Sizes of the small disks."""


def full_disk(stage: Stage, expected: Expected, points: int) -> Counter[str]:
    """Results, cache, temporary files and decisions on a full disk. Gives how often each was tried."""
    told = Counter[str]()
    old = _older_results(stage)
    stage.fresh(heard=True)
    shutil.copytree(old, stage.day / "out")  # a run that finds folders and stills makes fewer calls
    stage.make(strike=("once", stage.day, 0))
    calls = len(stage.calls())
    print(f"  {calls} calls of the results", flush=True)
    for number in range(few := min(points, calls)):
        call = 1 + number * calls // few
        how = ("once", "from")[number % 2]
        stage.fresh(heard=True)
        shutil.copytree(old, stage.day / "out")
        before, was = persons(stage.day), results(stage.day / "out")
        ran = stage.make(strike=(how, stage.day, call))
        told["results, at a call"] += 1
        what = f"full {how} at call {call} of the results"
        _said(stage, ran, what)
        _old_or_new(stage, was, expected.out, results(stage.day / "out"), what)
        stage.check(persons(stage.day) == before, f"{what}: the person's files changed")
        _right_next(stage, expected, what)
    _full_cache(stage, expected, max(4, points // 2), told)
    _full_decisions(stage, told)
    if small_disk_possible(stage.root):
        _small_disks(stage, expected, told)
    else:
        print("  no small disk can be mounted here: left out")
    return told


def _older_results(stage: Stage) -> Path:
    """What an earlier run wrote, with another title and another log."""
    stage.fresh(heard=True)
    settings = stage.day / "episode.toml"
    settings.write_text(settings.read_text("utf-8").replace("one tide, fourteen finds", "an older title"), "utf-8")
    log = (stage.day / "finds.csv").read_text("utf-8").splitlines()
    (stage.day / "finds.csv").write_text("\n".join(log[:-4]) + "\n", "utf-8")
    stage.make()
    old = stage.root / "old"
    shutil.rmtree(old, ignore_errors=True)
    shutil.copytree(stage.day / "out", old)
    return old


def _said(stage: Stage, ran: Ran, what: str) -> None:
    stage.check(ran.status > 0 and ran.clean, f"{what}: it ended with {ran.status}: {ran.said[-300:]}")
    stage.check("No space left" in ran.said and "Free" in ran.said, f"{what}: it said {ran.said[-300:]!r}")
    stage.check(str(stage.root) in ran.said or "temporary" in ran.said, f"{what}: it did not say where")


def _old_or_new(stage: Stage, old: dict[str, str], new: dict[str, str], now: dict[str, str], what: str) -> None:
    broken = [name for name in now if now[name] not in (old.get(name), new.get(name))]
    gone = [name for name in old if name not in now and name in new]
    stage.check(not broken, f"{what}: neither old nor new: {', '.join(broken[:4])}")
    stage.check(not gone, f"{what}: lost: {', '.join(gone[:4])}")


def _right_next(stage: Stage, expected: Expected, what: str) -> None:
    ran = stage.make()
    out = results(stage.day / "out")
    stage.check(ran.status == 0, f"{what}: the next run ended with {ran.status}")
    stage.check(out == expected.out, f"{what}: the next run's results differ in {differences(out, expected.out)}")


def _full_cache(stage: Stage, expected: Expected, points: int, told: Counter[str]) -> None:
    stage.fresh()
    stage.make(strike=("once", stage.cache, 0))
    calls = len(stage.calls())
    print(f"  {calls} calls of the cache", flush=True)
    for number in range(few := min(points, calls)):
        how, call = ("once", "from")[number % 2], 1 + number * calls // few
        stage.fresh()
        ran = stage.make(strike=(how, stage.cache, call))
        told["cache, at a call"] += 1
        what = f"full {how} at call {call} of the cache"
        stage.check(ran.status == 0 and ran.clean, f"{what}: it ended with {ran.status}: {ran.said[-300:]}")
        _alike_but_for_the_note(stage, expected, ran, what)
        kept = {name for name in heard(stage.cache) if name.startswith("heard")}
        all_kept = kept == {name for name in expected.pieces if name.startswith("heard")}
        stage.check(all_kept or "could not be kept" in ran.said, f"{what}: it did not say that nothing was kept")
        stage.check(not litter(stage.cache), f"{what}: half-written files stayed in the cache")


def _alike_but_for_the_note(stage: Stage, expected: Expected, ran: Ran, what: str) -> None:
    """The page lists what went wrong, so it alone may differ where something was said."""
    out, wanted = results(stage.day / "out"), dict(expected.out)
    if "could not be kept" in ran.said:
        out.pop("review.html")
        wanted.pop("review.html")
    stage.check(out == wanted, f"{what}: the results differ in {differences(out, wanted)}")


def _full_decisions(stage: Stage, told: Counter[str]) -> None:
    for how in ("once", "from"):
        for line in full_at_every_decision(stage.root / "decisions", how):
            stage.check(False, line)
        told["decisions, at every call"] += 1


def full_at_every_decision(folder: Path, how: str) -> Iterator[str]:
    """Add a decision on a disk that is full at the first call, the second, and so on; gives what went wrong."""
    from episode.day.deciding import add_decision
    from episode.errors import CannotWrite
    from episode.models import Decision

    decision = Decision(action="add", clip="A.mp4", start=1.0, end=2.0, value="nail")
    path = folder / "decisions.jsonl"
    for fresh in (True, False):
        for call in range(1, 40):
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(parents=True)
            if not fresh:
                add_decision(folder, decision)
            before = path.read_bytes() if path.exists() else b""
            strike = Strike(folder, how, call)
            try:
                with strike.struck():
                    add_decision(folder, decision)
            except CannotWrite as error:
                if "No space left" not in error.what or not error.remedy:
                    yield f"decisions, full {how} at call {call}: it said {error}"
                if (path.read_bytes() if path.exists() else b"") != before:
                    yield f"decisions, full {how} at call {call} ({strike.calls[-1]}): the file is not as it was"
            if len(strike.calls) < call:
                break
            add_decision(folder, decision)
            if path.read_bytes().count(b"\n") != before.count(b"\n") + 1 and how == "from":
                yield f"decisions, full {how} at call {call}: the next decision was not added once"


# ------------------------------------------------------------------ small disks that are real


def small_disk_possible(root: Path) -> bool:
    """Whether a small disk can be mounted: Linux, root, and the right to."""
    if sys.platform != "linux" or os.geteuid() != 0:
        return False
    with contextlib.suppress(OSError, subprocess.CalledProcessError), small_disk(root / "probe", 64):
        return True
    return False


@contextlib.contextmanager
def small_disk(place: Path, kib: int) -> Iterator[Path]:
    """A disk of so many KiB in memory.

    Raises:
        CalledProcessError: it cannot be mounted.
    """
    place.mkdir(parents=True, exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={kib}k", "tmpfs", place], check=True, capture_output=True)
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", place], check=True)


def _small_disks(stage: Stage, expected: Expected, told: Counter[str]) -> None:
    passed = False
    for kib in KIB:
        stage.fresh(heard=True)
        with small_disk(stage.root / "small", kib) as small:
            ran = stage.make_to(small / "out")
            what = f"results on a disk of {kib} KiB"
            told["results, on a small disk"] += 1
            passed = ran.status == 0
            if not passed:
                _said(stage, ran, what)
                _whole(stage, small / "out", expected, what)
        if passed:
            break
    stage.check(passed, "no small disk was large enough")
    for kib in (16, 64):
        stage.fresh()
        shutil.rmtree(stage.cache, ignore_errors=True)
        with small_disk(stage.cache, kib):
            ran = stage.make()
            what = f"cache on a disk of {kib} KiB"
            told["cache, on a small disk"] += 1
            stage.check(ran.status == 0 and ran.clean, f"{what}: it ended with {ran.status}: {ran.said[-300:]}")
            _alike_but_for_the_note(stage, expected, ran, what)
    stage.fresh()
    with small_disk(stage.scratch, 8):
        ran = stage.make()
        told["temporary files, on a small disk"] += 1
        stage.check(ran.clean, f"temporary files on a disk of 8 KiB: it ended with {ran.status}: {ran.said[-400:]}")
        print(f"  temporary files on a disk of 8 KiB: status {ran.status}")
    _right_next(stage, expected, "after temporary files had no room")


def _whole(stage: Stage, out: Path, expected: Expected, what: str) -> None:
    stage.check(not litter(out), f"{what}: half-written files stayed")
    for path in out.rglob("*"):
        if path.suffix == ".json":
            json.loads(path.read_bytes())
        if path.suffix == ".jpg":
            stage.check(path.read_bytes().endswith(b"\xff\xd9"), f"{what}: {path.name} is half a picture")
