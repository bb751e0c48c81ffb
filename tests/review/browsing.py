"""A day with words of its own, a server on it, and a browser in front."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from episode.make import Spotted
    from episode.review.desk import Desk

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples" / "2026-05-03-skelby-sands"
GOLD = ROOT / "examples" / "making" / "gold.json"
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


def chromium() -> str | None:
    """Debian's browser, or None."""
    return shutil.which("chromium")


def spoken_day(folder: Path) -> Path:
    """The example day with transcripts beside its clips, so that nothing has to be heard."""
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("out", "decisions.jsonl"))
    said: dict[str, list[str]] = {}
    for line in json.loads(GOLD.read_text(encoding="utf-8"))["said"]:
        at = line["start"]
        said.setdefault(line["clip"], []).append(f"[{int(at) // 60}:{int(at) % 60:02d}] {line['text']}")
    for clip, lines in said.items():
        (folder / "footage" / clip).with_suffix(".txt").write_text("\n\n".join(lines) + "\n", encoding="utf-8")
    return folder


@dataclass
class Lines:
    """A day's decisions."""

    day: Path

    def lines(self) -> list[dict]:  # type: ignore[type-arg]
        """All of them."""
        path = self.day / "decisions.jsonl"
        return [json.loads(x) for x in path.read_text(encoding="utf-8").splitlines()] if path.exists() else []

    def line(self, action: str, count: int = 1) -> dict:  # type: ignore[type-arg]
        """The last decision of this kind, once there are ``count`` of them."""
        end = time.monotonic() + 10
        while time.monotonic() < end:
            found = [x for x in self.lines() if x["action"] == action]
            if len(found) >= count:
                return found[-1]
            time.sleep(0.05)
        raise AssertionError(f"no line says “{action}”: {self.lines()}")


@dataclass
class Table(Lines):
    """The review's own server, in this process: a day that was read once serves many tests."""

    url: str = ""

    def start(self, spotted: Spotted) -> Table:
        """Put the day on the desk and open the door."""
        from episode.make import Options
        from episode.review.open_desk import desk_of

        return self.open(desk_of(self.day, spotted, Options()))

    def open(self, desk: Desk) -> Table:
        """Open the door before this desk."""
        import uvicorn

        from episode.review.server import application

        self.desk = desk
        listener = socket.create_server(("127.0.0.1", 0))
        port = listener.getsockname()[1]
        config = uvicorn.Config(application(self.day, self.desk, "key", port), log_level="error", lifespan="off")
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [listener]}, daemon=True)
        self.thread.start()
        self.url = f"http://127.0.0.1:{port}/?token=key"
        return self

    def stop(self) -> None:
        """Close the door and clear the desk."""
        self.server.should_exit = True
        self.thread.join(timeout=10)
        self.desk.close()


@dataclass
class Server(Lines):
    """`episode review` on a day, as a process of its own."""

    url: str = ""
    process: subprocess.Popen[str] | None = field(default=None, repr=False)

    def start(self) -> Server:
        """Start it and wait for its address."""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "episode", "review", str(self.day)],
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            text=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            start_new_session=True,
        )
        assert self.process.stderr is not None
        lines = []
        for line in self.process.stderr:
            lines.append(line)
            if found := re.search(r"http://\S+token=\S+", line):
                self.url = found[0]
                return self
        raise AssertionError("it never said its address: " + "".join(lines)[-2000:])

    def kill(self) -> None:
        """Pull the plug."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def stop(self) -> None:
        """Ctrl-C."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            try:
                self.process.wait(timeout=30)
            except subprocess.TimeoutExpired:
                self.kill()
