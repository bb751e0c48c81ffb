"""The command line with a disk that fails, or a machine that stops, at one chosen call.

Usage: python -m tests.campaign.struck --under FOLDER --how kill|once|from --call N [--log FILE] -- make DAY ...

Calls that write below FOLDER are counted as they come: making a file or folder, writing to one, flushing, renaming,
removing, changing a mode. The N-th fails: ``kill`` ends the whole process group (half of what was to be written is
written), ``once`` says that the disk is full this one time, ``from`` from then on. A full disk still removes files.
``--call 0`` only counts; the calls are listed in ``--log``. What FFmpeg writes by itself is not counted.
"""

from __future__ import annotations

import argparse
import atexit
import builtins
import contextlib
import errno
import io
import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

HARMLESS = {"unlink", "rmdir", "chmod", "ftruncate"}
"""What a full disk still does."""
PATHS = ("mkdir", "unlink", "remove", "rmdir", "chmod", "replace", "rename")
NUMBERS = ("fsync", "ftruncate")


class Strike:
    """Counts the calls that write below ``under`` and lets one of them fail."""

    def __init__(self, under: Path, how: str, call: int) -> None:
        self.under = str(under.resolve())
        self.how = how
        self.call = call
        self.calls: list[str] = []

    def reach(self, what: str, where: object) -> bool:
        """Count a call; True where it is to fail. ``where`` is a path or an open file's number."""
        path = self._path(where)
        if path is None or not (path == self.under or path.startswith(self.under + os.sep)):
            return False
        if self.how != "kill" and what in HARMLESS:
            return False
        self.calls.append(f"{what} {os.path.relpath(path, self.under)}")
        count = len(self.calls)
        return bool(self.call) and (count >= self.call if self.how == "from" else count == self.call)

    def fall(self, where: object) -> None:
        """What happens when it fails."""
        if self.how == "kill":
            os.killpg(0, signal.SIGKILL)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), None if isinstance(where, int) else str(where))

    def _path(self, where: object) -> str | None:
        try:
            if isinstance(where, int):
                return str(Path(f"/proc/self/fd/{where}").readlink())
            return os.path.abspath(os.fsdecode(where))  # type: ignore[arg-type]  # noqa: PTH100 - a link itself is renamed
        except (OSError, TypeError, ValueError):
            return None

    @contextlib.contextmanager
    def struck(self) -> Iterator[None]:
        """Stand between this process and the disk for a while."""
        real = {name: getattr(os, name) for name in (*PATHS, *NUMBERS, "open", "write")}
        opened = io.open
        self.put()
        try:
            yield
        finally:
            for name, call in real.items():
                setattr(os, name, call)
            io.open = builtins.open = opened

    def put(self) -> None:
        """Stand between this process and the disk from now on."""
        self._paths(*PATHS)
        self._numbers(*NUMBERS)
        self._opening()
        self._writing()

    def _paths(self, *names: str) -> None:
        for name in names:
            real = getattr(os, name)
            told = {"remove": "unlink", "rename": "replace"}.get(name, name)

            def call(path, *more, real=real, told=told, **kinds):  # type: ignore[no-untyped-def]
                does = told != "mkdir" or not os.path.lexists(path)
                if does and kinds.get("dir_fd") is None and self.reach(told, more[0] if told == "replace" else path):
                    self.fall(path)
                return real(path, *more, **kinds)

            setattr(os, name, call)

    def _numbers(self, *names: str) -> None:
        for name in names:
            real = getattr(os, name)

            def call(number, *more, real=real, name=name):  # type: ignore[no-untyped-def]
                if self.reach(name, number):
                    self.fall(number)
                return real(number, *more)

            setattr(os, name, call)

    def _opening(self) -> None:
        real = os.open

        def opened(path, flags, mode=0o777, *, dir_fd=None):  # type: ignore[no-untyped-def]
            makes = flags & os.O_CREAT and not os.path.lexists(path)
            if dir_fd is None and makes and self.reach("make", path):
                self.fall(path)
            return real(path, flags, mode, dir_fd=dir_fd)

        os.open = opened

    def _writing(self) -> None:
        strike, real_write, real_open = self, os.write, io.open

        def write(number, data):  # type: ignore[no-untyped-def]
            if strike.reach("write", number):
                if strike.how == "kill":
                    real_write(number, bytes(data)[: len(data) // 2])
                strike.fall(number)
            return real_write(number, data)

        class File(io.FileIO):
            def write(self, data):  # type: ignore[no-untyped-def]
                if strike.reach("write", self.fileno()):
                    super().write(bytes(data)[: len(data) // 2])
                    strike.fall(self.fileno())
                return super().write(data)

        def opened(file, mode="r", buffering=-1, encoding=None, errors=None, newline=None, closefd=True, opener=None):  # type: ignore[no-untyped-def]
            writes = isinstance(mode, str) and set("wax+") & set(mode)
            if not writes or isinstance(file, int) or opener is not None:
                return real_open(file, mode, buffering, encoding, errors, newline, closefd, opener)
            if not os.path.lexists(file) and strike.reach("make", file):
                strike.fall(file)
            raw = File(file, mode.replace("b", "").replace("t", ""))
            if buffering == 0:
                return raw
            held = io.BufferedRandom(raw) if "+" in mode else io.BufferedWriter(raw)
            return held if "b" in mode else io.TextIOWrapper(held, encoding, errors, newline)

        os.write, io.open, builtins.open = write, opened, opened


LOGS: list[tuple[Path, Strike]] = []


def at_exit() -> None:
    """List the calls; once."""
    while LOGS:
        path, strike = LOGS.pop()
        strike.call = 0
        path.write_text("\n".join(strike.calls) + "\n", encoding="utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--under", type=Path, required=True)
    parser.add_argument("--how", choices=("kill", "once", "from"), required=True)
    parser.add_argument("--call", type=int, required=True)
    parser.add_argument("--log", type=Path)
    parser.add_argument("words", nargs="+")
    said = parser.parse_args()
    strike = Strike(said.under, said.how, said.call)
    if said.log:
        LOGS.append((said.log, strike))
    atexit.register(at_exit)
    strike.put()
    sys.argv = ["episode", *said.words]
    from episode.cli import run

    run()


if __name__ == "__main__":
    main()
