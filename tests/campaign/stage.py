"""A small day with real speech, the command line on it, and what can be seen of both from outside."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import stat
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests.campaign.nursery import Nursery, Run

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples" / "2026-05-03-skelby-sands"
PARTS = {
    "chest/CHST0041.MP4": ("chest/CHST0041.MP4", 52, 12),
    "chest/CHST0042.MP4": ("chest/CHST0042.MP4", 0, 9),
    "hand/MH_20260503_104627.mp4": ("hand/MH_20260503_104627.mp4", 37, 9),
}
"""Clips of the small day: which of the example's, from which second, how many seconds."""
NOBODY = 65534
LOCKS = {".at-work.lock", ".decisions.lock"}
"""Empty files that say who is at work; they stay, and hold nothing."""


@dataclass(frozen=True)
class Ran:
    """How a run of the command line ended."""

    status: int
    said: str
    seconds: float

    @property
    def clean(self) -> bool:
        """It ended by itself and no error came through to the person unphrased."""
        return self.status >= 0 and "Traceback" not in self.said


@dataclass
class Stage:
    """One day in one place, put back to its beginning as often as wanted."""

    root: Path
    failures: list[str] = field(default_factory=list)
    nursery: Nursery | None = None
    """Forks the runs, where there is one."""

    def __post_init__(self) -> None:
        self.root.mkdir(parents=True, exist_ok=True)
        self.kept, self.day = self.root / "kept", self.root / "2026-05-03-skelby-sands"
        self.cache, self.warm = self.root / "cache", self.root / "warm"
        self.log = self.root / "calls.txt"

    def build(self) -> Stage:
        """Cut the small day out of the example."""
        shutil.rmtree(self.kept, ignore_errors=True)
        for name, (source, begin, seconds) in PARTS.items():
            target = self.kept / "footage" / name
            target.parent.mkdir(parents=True, exist_ok=True)
            cut(EXAMPLE / "footage" / source, target, begin, seconds)
        for name in ("finds.csv", "references.csv", "track.gpx"):
            shutil.copy2(EXAMPLE / name, self.kept)
        settings = (EXAMPLE / "episode.toml").read_text(encoding="utf-8")
        (self.kept / "episode.toml").write_text('model = "tiny.en"\n' + settings, encoding="utf-8")
        return self

    def fresh(self, *, heard: bool = False) -> None:
        """The day as it came, without results; with ``heard`` the cache of a whole run, else an empty one."""
        for path in (self.day, self.cache):
            shutil.rmtree(path, ignore_errors=True)
        shutil.copytree(self.kept, self.day)
        if heard:
            shutil.copytree(self.warm, self.cache)

    def start(
        self,
        *words: object,
        strike: tuple[str, Path, int] | None = None,
        nobody: bool = False,
        more: dict[str, str] | None = None,
    ) -> subprocess.Popen[bytes] | Run:
        """The command line in a process group of its own.

        ``strike`` is how, below which folder, at which call; ``nobody`` runs it as a user without rights; ``more`` is
        added to its environment.
        """
        module, said = "episode", [*map(str, words)]
        if strike:
            how, under, call = strike
            module = "tests.campaign.struck"
            said = ["--how", how, "--under", str(under), "--call", str(call), "--log", str(self.log), "--", *said]
        env = {"EPISODE_CACHE": str(self.cache), "PYTHONPATH": str(ROOT), "TMPDIR": str(self.scratch)}
        if self.nursery is not None and not nobody and not more:
            return self.nursery.start(said, module, env)
        command = [sys.executable, "-m", module, *said]
        if nobody:
            command = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups", *command]
        return subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            env={**os.environ, **env, **(more or {})},
            start_new_session=True,
        )

    def run(self, *words: object, kill_after: float | None = None, **more: object) -> Ran:
        """Run to the end, or kill the whole process group after some seconds; status -9 where it was killed."""
        began = time.monotonic()
        process = self.start(*words, **more)  # type: ignore[arg-type]
        try:
            said = process.communicate(timeout=kill_after or 900)[1]
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            said = process.communicate()[1]
            if kill_after is None:
                self.failures.append(f"{' '.join(map(str, words))}: did not end within 15 minutes")
        return Ran(process.returncode, said.decode("utf-8", "replace"), time.monotonic() - began)

    def make(self, **more: object) -> Ran:
        """``episode make`` on the day."""
        return self.run("make", self.day, "-q", **more)

    def make_to(self, out: Path, **more: object) -> Ran:
        """The same with ``--out``."""
        return self.run("make", self.day, "-q", "--out", out, **more)

    def calls(self) -> list[str]:
        """The writing calls of the last struck run that ended by itself."""
        return self.log.read_text(encoding="utf-8").splitlines()

    @property
    def scratch(self) -> Path:
        """Where the program's temporary files go."""
        folder = self.root / "tmp"
        folder.mkdir(exist_ok=True)
        return folder

    def check(self, right: bool, what: str) -> bool:
        """Note a failure, and say it at once."""
        if not right:
            self.failures.append(what)
            print(f"  FAILED: {what}", flush=True)
        return right


def cut(source: Path, target: Path, begin: float, seconds: float) -> None:
    """Some seconds of a clip, its streams as they are."""
    import imageio_ffmpeg

    subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-ss", str(begin), "-t", str(seconds), "-i", source]
        + ["-c", "copy", "-y", target],
        check=True,
    )


def persons(day: Path, *, but: tuple[str, ...] = ()) -> dict[str, tuple[object, ...]]:
    """Every file and folder of the person's: mode, size, time and content. Results and locks are not theirs."""
    found: dict[str, tuple[object, ...]] = {}
    for path in sorted(day.rglob("*")):
        name = path.relative_to(day)
        if name.parts[0] == "out" or path.name in LOCKS or name.as_posix() in but:
            continue
        told = path.lstat()
        content = hashlib.sha256(path.read_bytes()).hexdigest() if stat.S_ISREG(told.st_mode) else ""
        found[name.as_posix()] = (told.st_mode, told.st_size, told.st_mtime_ns, content)
    return found


def results(out: Path) -> dict[str, str]:
    """SHA-256 of every file in ``out``, half-written and forgotten ones too; the empty lock is left out."""
    return {
        path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file() and path.name not in LOCKS
    }


def heard(cache: Path) -> dict[str, tuple[int, int]]:
    """Each finished piece of what was heard, with what changes when it is written again: its inode and time."""
    found = {}
    for kind in ("heard", "again", "landmarks"):
        for path in sorted((cache / kind).rglob("*")):
            if path.is_file() and not path.name.startswith("."):
                told = path.stat()
                found[path.relative_to(cache).as_posix()] = (told.st_ino, told.st_mtime_ns)
    return found


def litter(*folders: Path) -> list[str]:
    """Half-written files that nobody will ever finish."""
    return sorted(str(path) for folder in folders for path in folder.rglob(".part-*"))


def differences(one: dict[str, object], other: dict[str, object]) -> str:
    """Which names differ, in words for a failure."""
    names = [name for name in sorted({*one, *other}) if one.get(name) != other.get(name)]
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
