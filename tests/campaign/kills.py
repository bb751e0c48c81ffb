"""kill -9 in the middle of everything, and then an undisturbed run."""

from __future__ import annotations

import contextlib
import json
import os
import random
import re
import shutil
import signal
import subprocess
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any

from tests.campaign.nursery import Nursery, Run
from tests.campaign.stage import Stage, differences, heard, litter, persons, results

AGAIN = 0.75
"""Share of killed runs of which the next is killed as well."""


@dataclass
class Killed:
    """What the kills came to."""

    kills: Counter[str] = field(default_factory=Counter)
    where: Counter[str] = field(default_factory=Counter)
    kept: int = 0
    """Finished pieces that stood when a run was killed."""
    twice: int = 0
    answered: int = 0
    """Decisions that the server said were done."""
    torn: int = 0
    compared: int = 0
    """Times that the results were compared with an undisturbed run's."""

    def count(self, kind: str) -> None:
        """One more, said now and then."""
        self.kills[kind] += 1
        if self.kills.total() % 10 == 0:
            print(f"  {self.kills.total()} kills", flush=True)


@dataclass
class Expected:
    """An undisturbed run: its files, its pieces, how long it took and how often it writes."""

    out: dict[str, str]
    pieces: set[str]
    seconds: float
    writes: int


def undisturbed(stage: Stage) -> Expected:
    """Make the day twice from nothing, once as a plain process; both must give the same bytes."""
    found = []
    for _ in range(2):
        stage.fresh()
        ran = stage.make()
        stage.check(ran.status == 0, f"the undisturbed run ended with {ran.status}: {ran.said[-400:]}")
        found.append(results(stage.day / "out"))
        stage.nursery = stage.nursery or Nursery()
    stage.check(found[0] == found[1], f"two undisturbed runs differ in {differences(*found)}")
    shutil.rmtree(stage.warm, ignore_errors=True)
    shutil.copytree(stage.cache, stage.warm)
    pieces = set(heard(stage.cache))
    stage.fresh(heard=True)
    stage.make(strike=("kill", stage.day, 0))
    return Expected(found[0], pieces, ran.seconds, len(stage.calls()))


def kills(stage: Stage, expected: Expected, count: int, draw: random.Random, told: Killed) -> None:
    """``count`` kills of ``make`` from an empty cache, at moments spread evenly over the whole run."""
    done = 0
    while done < count:
        stage.fresh()
        before = persons(stage.day)
        finished: dict[str, tuple[int, int]] = {}
        while True:
            ran = stage.make(kill_after=draw.uniform(0.05, expected.seconds))
            if ran.status != -signal.SIGKILL:
                stage.check(ran.status == 0, f"a run that was not killed ended with {ran.status}")
                break
            done += 1
            told.count("make, by time")
            told.where[_stood(stage, expected, finished)] += 1
            finished = _still_there(stage, finished, told)
            if done >= count or draw.random() >= AGAIN:
                break
        told.kept += len(finished)
        _go_on(stage, expected, before, finished, told, f"killed after {ran.seconds:.2f} s")


def kills_while_writing(stage: Stage, expected: Expected, count: int, draw: random.Random, told: Killed) -> None:
    """``count`` kills of ``make`` at the n-th call that writes below the day folder, or below the cache."""
    done = 0
    while done < count:
        cold = draw.random() < 1 / 3
        stage.fresh(heard=not cold)
        before, finished = persons(stage.day), heard(stage.cache)
        calls = []
        while done < count and (not calls or draw.random() < AGAIN):
            under, most = (stage.cache, 6 * len(expected.pieces)) if cold else (stage.day, expected.writes)
            calls.append(draw.randint(1, most))
            ran = stage.make(strike=("kill", under, calls[-1]))
            if ran.status != -signal.SIGKILL:
                stage.check(ran.status == 0, f"a run that was not killed ended with {ran.status}")
                break
            done += 1
            told.count("make, keeping what was heard" if cold else "make, writing results")
            told.where["writing to the cache" if cold else "writing to out/"] += 1
            finished = _still_there(stage, finished, told)
        told.kept += len(finished)
        _go_on(stage, expected, before, finished, told, f"killed at call {calls} below {under.name}")


def _stood(stage: Stage, expected: Expected, before: dict[str, tuple[int, int]]) -> str:
    found = set(heard(stage.cache))
    sounds = [name for name in expected.pieces if name.startswith("heard/")]
    if (stage.day / "out" / "transcript.json").exists():
        return "writing to out/"
    if all(name in found for name in sounds):
        return "after hearing, before writing"
    return "hearing" if (stage.cache / "models").exists() else "before hearing"


def _still_there(stage: Stage, finished: dict[str, tuple[int, int]], told: Killed) -> dict[str, tuple[int, int]]:
    now = heard(stage.cache)
    again = [name for name, when in finished.items() if now.get(name) != when]
    told.twice += len(again)
    stage.check(not again, f"heard twice: {', '.join(again[:3])}")
    return now


def _go_on(
    stage: Stage, expected: Expected, before: dict[str, Any], finished: dict[str, Any], told: Killed, what: str
) -> None:
    ran = stage.make()
    stage.check(ran.status == 0 and ran.clean, f"{what}: the next run ended with {ran.status}: {ran.said[-300:]}")
    out = results(stage.day / "out")
    told.compared += 1
    stage.check(out == expected.out, f"{what}: the results differ in {differences(out, expected.out)}")
    now = persons(stage.day)
    stage.check(now == before, f"{what}: of the person's files changed: {differences(now, before)}")
    _still_there(stage, finished, told)
    stage.check(set(heard(stage.cache)) == expected.pieces, f"{what}: other pieces were kept than undisturbed")
    left = [*litter(stage.day), *(str(p) for p in stage.scratch.iterdir())]
    stage.check(not left, f"{what}: left behind: {', '.join(left[:3])}")
    for path in stage.scratch.iterdir():  # told once
        shutil.rmtree(path, ignore_errors=True)


# ------------------------------------------------------------------ review


def kills_of_review(stage: Stage, count: int, draw: random.Random, told: Killed) -> None:
    """``count`` kills of ``review`` while decisions are sent to it as fast as it answers."""
    for number in range(count):
        if number % 5 == 0:
            stage.fresh(heard=True)
        path = stage.day / "decisions.jsonl"
        before, lines = persons(stage.day, but=(path.name,)), _bytes(path)
        strike = ("kill", stage.day, draw.randint(1, 400)) if number % 2 else None
        process = stage.start("review", stage.day, strike=strike)
        done: list[str] = []
        killer = None
        try:
            if page := page_of(process):
                if not strike:
                    killer = threading.Timer(draw.uniform(0.0, 4.0), stop, (process,))
                    killer.start()
                page.decide(draw, done, rest_after=draw.randint(1, 12))
        finally:
            stop(process)
            if killer:
                killer.cancel()
        told.count("review")
        told.answered += len(done)
        what = f"review, killed as number {number + 1} with {len(done)} decisions answered"
        now = _bytes(path)
        stage.check(now.startswith(lines), f"{what}: earlier lines of decisions.jsonl changed")
        told.torn += not now.endswith(b"\n") and bool(now)
        _all_there(stage, now, done, told, what)
        left = persons(stage.day, but=(path.name,))
        stage.check(left == before, f"{what}: of the person's files changed: {differences(left, before)}")
        if number % 3 == 2 or number == count - 1:
            _decided_alike(stage, told, what)


def _decided_alike(stage: Stage, told: Killed, what: str) -> None:
    """One more decision after the torn line; then the same results as on a day without any kill."""
    from episode.day.deciding import add_decision
    from episode.models import Decision

    path = stage.day / "decisions.jsonl"
    done = sorted(_ids(path.read_bytes()) if path.exists() else ())
    more = add_decision(stage.day, Decision(action="add", clip="chest/CHST0041.MP4", start=1.0, end=2.0, value="nail"))
    _all_there(stage, path.read_bytes(), [*done, more.id], told, f"{what}, after one more")
    ran = stage.make()
    stage.check(ran.clean and ran.status == 0, f"{what}: the next make ended with {ran.status}: {ran.said[-300:]}")
    out = results(stage.day / "out")
    aside = stage.root / "aside"
    (stage.day / "out").rename(aside)
    stage.make()
    undisturbed = results(stage.day / "out")
    told.compared += 1
    stage.check(out == undisturbed, f"{what}: the results differ in {differences(out, undisturbed)}")
    shutil.rmtree(aside)


def _all_there(stage: Stage, data: bytes, done: list[str], told: Killed, what: str) -> None:
    whole = _ids(data)
    wrong = [name for name in done if whole[name] != 1]
    stage.check(not wrong, f"{what}: of the decisions answered {len(wrong)} are not there exactly once")
    stage.check(all(n == 1 for n in whole.values()), f"{what}: a decision stands twice")
    torn = sum(bool(line.strip()) for line in data.split(b"\n")) - whole.total()
    stage.check(torn <= told.torn, f"{what}: {torn} lines are torn")


def _ids(data: bytes) -> Counter[str]:
    found = Counter[str]()
    for line in data.split(b"\n"):
        with contextlib.suppress(ValueError):
            found[json.loads(line)["id"]] += 1
    return found


def _bytes(path: Path) -> bytes:
    return path.read_bytes() if path.exists() else b""


def stop(process: subprocess.Popen[bytes] | Run) -> None:
    """Pull the plug."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def page_of(process: subprocess.Popen[bytes] | Run) -> Page | None:
    """The page once its address was said; None where the server ended before."""
    assert process.stderr is not None
    for line in process.stderr:
        if found := re.search(rb"http://127\.0\.0\.1:(\d+)/\?token=(\S+)", line):
            return Page(int(found[1]), found[2].decode())
    return None


class Page:
    """What a browser does on the live page, without one."""

    def __init__(self, port: int, token: str) -> None:
        self.port, self.cookie = port, f"episode-{port}={token}"

    def decide(self, draw: random.Random, done: list[str], *, rest_after: int) -> None:
        """Decide until the server is gone (20 s at most), with one rest in which it writes its results."""
        end, count = time.monotonic() + 20, 0
        with contextlib.suppress(OSError, HTTPException, ValueError, KeyError):
            while time.monotonic() < end:
                ask = self._anything(draw)
                answer = self._asked("POST", "/decide", json.dumps(ask).encode())
                if "id" in answer:
                    done.append(answer["id"])
                    count += 1
                if count == rest_after:
                    count += 1
                    time.sleep(3.5)

    def once(self) -> str:
        """One decision; gives its id."""
        return str(self._asked("POST", "/decide", json.dumps(self._anything(random.Random(1))).encode()).get("id", ""))

    def settled(self) -> bool:
        """Whether everything was worked through and written, and nothing stands in the way."""
        now = self._asked("GET", "/changes?since=0")
        return not (now["working"] or now["unwritten"] or now["trouble"])

    def trouble(self) -> str:
        """What the page says is wrong."""
        return str(self._asked("GET", "/changes?since=0")["trouble"])

    def _anything(self, draw: random.Random) -> dict[str, str]:
        text = json.dumps(self._asked("GET", "/changes?since=0"))
        keys = sorted(set(re.findall(r"\b[mcpk]-[0-9a-f]{16}\b", text)))
        kinds: dict[str, list[dict[str, str]]] = {
            "m": [{"action": "accept"}, {"action": "reject"}, {"action": "rename", "value": f"sherd {draw.random()}"}],
            "c": [{"action": "reference", "value": f"Oswald 1975, p. {draw.randint(1, 99)}"}],
            "p": [{"action": "kept", "value": "in the pinned comment"}],
            "k": [{"action": "title", "value": f"Chapter {draw.randint(1, 999)}"}],
        }
        if draw.random() < 0.15:
            return {"action": "undo"}
        key = draw.choice(keys)
        return {**draw.choice(kinds[key[0]]), "key": key}

    def _asked(self, method: str, path: str, body: bytes | None = None) -> Any:
        way = HTTPConnection("127.0.0.1", self.port, timeout=20)
        headers = {
            "Cookie": self.cookie,
            "Origin": f"http://127.0.0.1:{self.port}",
            "Content-Type": "application/json",
        }
        try:
            way.request(method, path, body, headers)
            return json.loads(way.getresponse().read())
        finally:
            way.close()
