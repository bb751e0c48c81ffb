"""Folders that cannot be written, that move, that two runs want at once; footage that is swapped under the run."""

from __future__ import annotations

import os
import shutil
import signal
import sys
import threading
import time
from collections import Counter
from pathlib import Path

from tests.campaign.kills import Expected, page_of, stop
from tests.campaign.stage import EXAMPLE, Ran, Stage, cut, differences, heard, persons, results

DAY_S = 86_400
PLACED = ("timeline.otio", "selects.otio")
"""They say where the clips lie, seen from the folder of results."""


def places(stage: Stage, expected: Expected) -> Counter[str]:
    """All of it, once each; gives what was tried."""
    told = Counter[str]()
    for part in (_read_only, _times, _clock, _moved, _cache, _at_once, _review, _taken_away, _replaced, _meanwhile):
        part(stage, expected)
        told[part.__doc__ or part.__name__] += 1
    return told


def _alike(stage: Stage, out: dict[str, str], what: str, status: int, wanted: dict[str, str]) -> None:
    stage.check(status == 0, f"{what}: it ended with {status}")
    stage.check(out == wanted, f"{what}: the results differ in {differences(out, wanted)}")


def _read_only(stage: Stage, expected: Expected) -> None:
    """day folder and out/ read-only"""
    if sys.platform != "linux" or os.geteuid() != 0 or not shutil.which("setpriv"):
        print("  read-only folders: needs Linux, root and setpriv; left out")
        return
    other = stage.root / "elsewhere"
    for locked in ("day", "out"):
        stage.fresh(heard=True)
        shutil.rmtree(other, ignore_errors=True)
        if locked == "out":
            stage.make()
        for path in (stage.root, stage.cache, *stage.cache.rglob("*"), stage.scratch):
            path.chmod(0o777 if path.is_dir() else 0o666)
        other.mkdir(mode=0o777)
        other.chmod(0o777)
        _set_modes(stage.day, 0o555, 0o444)
        before, was = persons(stage.day), results(stage.day / "out") if locked == "out" else {}
        ran = stage.make(nobody=True)
        what = f"{locked} read-only"
        stage.check(ran.status == 3 and ran.clean, f"{what}: it ended with {ran.status}: {ran.said[-400:]}")
        stage.check("--out" in ran.said and "denied" in ran.said, f"{what}: it said {ran.said[-300:]!r}")
        ran = stage.make_to(other / "out", nobody=True)
        out = {**results(other / "out"), **{name: expected.out[name] for name in PLACED}}
        _alike(stage, out, f"{what}, with --out", ran.status, expected.out)
        stage.check(persons(stage.day) == before, f"{what}: the person's files changed")
        if locked == "out":
            stage.check(results(stage.day / "out") == was, f"{what}: the results changed")
        _set_modes(stage.day, 0o755, 0o644)


def _set_modes(folder: Path, of_folders: int, of_files: int) -> None:
    for path in (folder, *folder.rglob("*")):
        path.chmod(of_folders if path.is_dir() else of_files)


def _times(stage: Stage, expected: Expected) -> None:
    """results and cache from tomorrow, then from years ago"""
    for away in (DAY_S, -9999 * DAY_S):
        stage.fresh(heard=True)
        stage.make()
        pieces = heard(stage.cache)
        for folder in (stage.day / "out", stage.cache):
            for path in folder.rglob("*"):
                os.utime(path, (time.time() + away, time.time() + away))
        kept = {name: inode for name, (inode, _) in pieces.items()}
        ran = stage.make()
        what = f"clock {away:+} s off"
        _alike(stage, results(stage.day / "out"), what, ran.status, expected.out)
        now = {name: inode for name, (inode, _) in heard(stage.cache).items()}
        stage.check(now == kept, f"{what}: heard twice: {differences(now, kept)}")


def _clock(stage: Stage, expected: Expected) -> None:
    """the clock itself set back and forth: after a run that was killed, after a whole one, and in the middle of one"""
    found = sorted(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
    if not found:
        print("  the clock: needs Debian's faketime; left out")
        return
    tells = stage.root / "clock"
    clock = {"LD_PRELOAD": str(found[0]), "FAKETIME_TIMESTAMP_FILE": str(tells), "FAKETIME_NO_CACHE": "1"}
    for away in ("-400d", "+4000d"):
        stage.fresh()
        stage.run("make", stage.day, "-q", kill_after=expected.seconds / 2)
        pieces = heard(stage.cache)
        tells.write_text(away)
        ran = stage.run("make", stage.day, "-q", more=clock)
        _alike(stage, results(stage.day / "out"), f"clock {away} after a kill", ran.status, expected.out)
        now = heard(stage.cache)
        stage.check(all(now[n] == pieces[n] for n in pieces), f"clock {away} after a kill: heard twice")
        shutil.rmtree(stage.day / "out")
        ran = stage.make()
        _alike(stage, results(stage.day / "out"), f"clock back from {away}", ran.status, expected.out)
    for share in (0.2, 0.4, 0.6, 0.8):
        stage.fresh()
        tells.write_text("+0")
        process = stage.start("make", stage.day, "-q", more=clock)
        time.sleep(expected.seconds * share)
        tells.write_text("-30d")
        said = process.communicate()[1].decode("utf-8", "replace")
        what = f"clock set back at {share:.0%}: {said[-300:]}"
        _alike(stage, results(stage.day / "out"), what, process.returncode or 0, expected.out)


def _moved(stage: Stage, expected: Expected) -> None:
    """day folder moved between runs"""
    stage.fresh()
    stage.make()
    pieces, before = heard(stage.cache), persons(stage.day)
    place = stage.root / "moved to here" / stage.day.name
    place.parent.mkdir(exist_ok=True)
    stage.day.rename(place)
    ran = stage.run("make", place, "-q")
    _alike(stage, results(place / "out"), "moved", ran.status, expected.out)
    stage.check(heard(stage.cache) == pieces, f"moved: heard twice: {differences(heard(stage.cache), pieces)}")
    stage.check(persons(place) == before, "moved: the person's files changed")
    shutil.rmtree(place)


def _cache(stage: Stage, expected: Expected) -> None:
    """cache moved, deleted, and full of rubbish"""
    stage.fresh(heard=True)
    stage.make()
    pieces = heard(stage.cache)
    place, stage.cache = stage.cache, stage.root / "cache moved"
    place.rename(stage.cache)
    ran = stage.make()
    _alike(stage, results(stage.day / "out"), "cache moved", ran.status, expected.out)
    stage.check(heard(stage.cache) == pieces, "cache moved: heard twice")
    for path in stage.cache.rglob("*.json"):
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    ran = stage.make()
    _alike(stage, results(stage.day / "out"), "cache cut in half", ran.status, expected.out)
    shutil.rmtree(stage.cache)
    ran = stage.make()
    _alike(stage, results(stage.day / "out"), "cache deleted", ran.status, expected.out)
    shutil.rmtree(stage.cache)
    stage.cache = place


def _at_once(stage: Stage, expected: Expected) -> None:
    """two makes at once, and the lock of one that was killed"""
    stage.fresh()
    first = stage.start("make", stage.day, "-q")
    _until((stage.day / "out" / ".at-work.lock").exists)
    ran = stage.make()
    said = "another run is at work" in ran.said and "Wait" in ran.said
    stage.check(ran.status == 2 and said, f"two at once: the second ended with {ran.status}: {ran.said[-300:]}")
    first.communicate()
    _alike(stage, results(stage.day / "out"), "two at once", first.returncode, expected.out)
    first = stage.start("make", stage.day, "-q")
    time.sleep(expected.seconds / 4)
    os.killpg(first.pid, signal.SIGKILL)
    first.communicate()
    ran = stage.make()
    _alike(stage, results(stage.day / "out"), "lock of a killed run", ran.status, expected.out)


def _review(stage: Stage, expected: Expected) -> None:
    """make while review runs, with a decision in between"""
    stage.fresh(heard=True)
    process = stage.start("review", stage.day)
    page = page_of(process)
    if not stage.check(page is not None, "review did not start") or page is None:
        stop(process)
        return
    found: list[Ran] = []
    worker = threading.Thread(target=lambda: found.append(stage.make()))
    worker.start()
    done = page.once()
    worker.join()
    (ran,) = found
    locked = ran.status == 2 and "another run is at work" in ran.said
    stage.check(ran.status == 0 or locked, f"make while review runs: it ended with {ran.status}: {ran.said[-300:]}")
    stage.check(bool(done), "make while review runs: the decision was not taken")
    stage.check(_until(page.settled), f"make while review runs: the page stayed in trouble: {page.trouble()}")
    stop(process)
    out = results(stage.day / "out")
    shutil.rmtree(stage.day / "out")
    ran = stage.make()
    _alike(stage, out, "make while review runs", ran.status, results(stage.day / "out"))


def _taken_away(stage: Stage, expected: Expected) -> None:
    """footage deleted between runs, and put back"""
    clip, aside = stage.day / "footage" / "hand" / "MH_20260503_104627.mp4", stage.root / "aside.mp4"
    stage.fresh(heard=True)
    stage.make()
    pieces = heard(stage.cache)
    clip.rename(aside)
    ran = stage.make()
    without = results(stage.day / "out")
    shutil.rmtree(stage.day / "out")
    again = stage.make()
    _alike(stage, without, "footage deleted", ran.status, results(stage.day / "out"))
    aside.rename(clip)
    again = stage.make()
    _alike(stage, results(stage.day / "out"), "footage put back", again.status, expected.out)
    now = heard(stage.cache)
    stage.check(all(now[n] == pieces[n] for n in pieces), "footage put back: heard twice")


def _another(clip: Path, target: Path) -> None:
    """Other footage with the size and the time of ``clip``: shorter, and filled up with an empty box."""
    cut(EXAMPLE / "footage" / "chest" / "CHST0041.MP4", target, 6, 5)
    free = clip.stat().st_size - target.stat().st_size
    with target.open("ab") as file:
        file.write(free.to_bytes(4, "big") + b"free" + bytes(free - 8))
    os.utime(target, ns=(clip.stat().st_atime_ns, clip.stat().st_mtime_ns))


def _replaced(stage: Stage, expected: Expected) -> None:
    """footage replaced between runs by other footage of the same name, size and time"""
    stage.fresh(heard=True)
    clip, other = stage.day / "footage" / "chest" / "CHST0041.MP4", stage.root / "other.mp4"
    _another(clip, other)
    stage.make()
    shutil.copy2(other, clip)
    ran = stage.make()
    now = results(stage.day / "out")
    stage.check(now != expected.out, "footage replaced: nothing changed")
    for folder in (stage.day / "out", stage.cache):
        shutil.rmtree(folder)
    stage.make()
    _alike(stage, now, "footage replaced", ran.status, results(stage.day / "out"))


def _meanwhile(stage: Stage, expected: Expected) -> None:
    """footage deleted or replaced while a run is at it"""
    name = Path("footage") / "chest" / "CHST0041.MP4"
    stage.fresh()
    other = stage.root / "other.mp4"
    _another(stage.day / name, other)
    shutil.copy2(other, stage.day / name)
    stage.make()
    swapped = results(stage.day / "out")
    for number in range(8):
        stage.fresh()
        aside = stage.root / "aside.mp4"
        process = stage.start("make", stage.day, "-q")
        time.sleep(expected.seconds * (0.2 + number / 10))
        (stage.day / name).rename(aside)
        replace = number % 2 == 0
        if replace:
            shutil.copy2(other, stage.day / name)
        said = process.communicate()[1].decode("utf-8", "replace")
        what = f"footage {'replaced' if replace else 'deleted'} while at it ({number})"
        ended = process.returncode in (0, 3) and "Traceback" not in said
        stage.check(ended, f"{what}: it ended with {process.returncode}: {said[-400:]}")
        if not replace:
            aside.rename(stage.day / name)
        ran = stage.make()
        _alike(stage, results(stage.day / "out"), what, ran.status, swapped if replace else expected.out)


def _until(true, seconds: float = 30) -> bool:  # type: ignore[no-untyped-def]
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.05)
    return False
