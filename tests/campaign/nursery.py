"""Runs of the command line that are forked from a process which has loaded the program: seconds less for each.

Loading writes nothing, so a kill in it shows nothing; the time goes into more kills instead. Each run is a process
in a group of its own, as a plain one is.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import pkgutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import IO

ROOT = Path(__file__).resolve().parents[2]


class Run:
    """A forked run, as far as ``subprocess.Popen`` is needed of it."""

    def __init__(self, nursery: Nursery, pid: int, stderr: IO[bytes]) -> None:
        self.pid, self.stderr, self.returncode = pid, stderr, None
        self._nursery = nursery

    def poll(self) -> int | None:
        """The exit status, where it has ended."""
        if self.returncode is None:
            self.returncode = self._nursery.ask({"poll": self.pid})
        return self.returncode

    def wait(self, timeout: float | None = None) -> int:
        """Wait for it to end.

        Raises:
            subprocess.TimeoutExpired: it did not within so many seconds.
        """
        end = time.monotonic() + (timeout or 1e9)
        while self.poll() is None:
            if time.monotonic() > end:
                raise subprocess.TimeoutExpired("episode", timeout or 0.0)
            time.sleep(0.01)
        assert self.returncode is not None
        return self.returncode

    def communicate(self, timeout: float | None = None) -> tuple[None, bytes]:
        """Wait for it to end and give what it said (which is little enough for the pipe)."""
        self.wait(timeout)
        return None, self.stderr.read()


class Nursery:
    """The process that has loaded the program, seen from the campaign."""

    def __init__(self) -> None:
        self._own, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.campaign.nursery", str(theirs.fileno())],
            pass_fds=[theirs.fileno()],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        theirs.close()
        self.ask({})

    def start(self, words: list[str], module: str, env: dict[str, str]) -> Run:
        """``python -m module words``."""
        reads, writes = os.pipe()
        request = json.dumps({"words": words, "module": module, "env": env}).encode()
        socket.send_fds(self._own, [request], [writes])
        os.close(writes)
        pid = json.loads(self._own.recv(1 << 16))
        return Run(self, pid, os.fdopen(reads, "rb"))

    def ask(self, what: dict[str, int]) -> int | None:
        """Ask and wait for the answer."""
        self._own.send(json.dumps(what).encode())
        answer: int | None = json.loads(self._own.recv(1 << 16))
        return answer

    def close(self) -> None:
        """Send it home."""
        self._own.close()
        self._process.wait()


def main() -> None:
    way = socket.socket(fileno=int(sys.argv[1]))
    _load()
    while True:
        asked, handles, *_ = socket.recv_fds(way, 1 << 16, 1)
        if not asked:
            return
        told = json.loads(asked)
        answer: int | None = 0
        if "poll" in told:
            pid, status = os.waitpid(told["poll"], os.WNOHANG)
            answer = os.waitstatus_to_exitcode(status) if pid else None
        elif "words" in told:
            answer = os.fork()
            if not answer:
                way.close()
                _child(told, handles[0])
        for handle in handles:
            os.close(handle)
        way.send(json.dumps(answer).encode())


def _load() -> None:
    import episode
    from episode.make import make

    for module in pkgutil.walk_packages(episode.__path__, "episode."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    for name in ("faster_whisper", "scipy.ndimage", "uvicorn", "starlette.testclient", "tests.campaign.struck"):
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    with tempfile.TemporaryDirectory() as folder:
        os.environ["EPISODE_CACHE"] = folder
        footage = Path(folder) / "2026-05-03-small" / "footage"
        footage.mkdir(parents=True)
        (footage / "A001.srt").write_text("1\n00:00:01,000 --> 00:00:04,000\nThat's a clay pipe from 1650.\n")
        make(footage.parent)


def _child(told: dict, stderr: int) -> None:  # type: ignore[type-arg]
    status = 1
    try:
        os.setsid()
        nothing = os.open(os.devnull, os.O_RDWR)
        for number, handle in enumerate((nothing, nothing, stderr)):
            os.dup2(handle, number)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.chdir(ROOT)
        os.environ.update(told["env"])
        tempfile.tempdir = None
        sys.argv = [told["module"], *told["words"]]
        if told["module"] == "episode":
            from episode.cli import run
        else:
            from tests.campaign.struck import main as run
        try:
            run()
            status = 0
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        from tests.campaign.struck import at_exit

        at_exit()
        os._exit(status)


if __name__ == "__main__":
    main()
