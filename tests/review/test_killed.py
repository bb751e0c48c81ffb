"""The server killed at its worst moments: what it answered as done is there, and the page comes up again.

Each kill is SIGKILL from within, at a named place of the append or of the writing of ``out/``, in a process of its own.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import episode.review.desk as desk_module
from episode.day.decisions import read_decisions
from episode.make import Options, Spotted, prepared
from episode.review.asking import Asked
from episode.review.keys import moment_key
from episode.review.open_desk import desk_of
from episode.review.server import application
from tests.test_broken import LOG, TALK, silent_clip  # noqa: F401 - a fixture

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
ORIGIN = "http://127.0.0.1:8123"


def die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def before_the_line() -> None:
    import episode.day.deciding as deciding

    deciding._write = lambda *_: die()  # type: ignore[assignment]


def in_the_line() -> None:
    import episode.day.deciding as deciding

    def half(handle: int, data: bytes, _: int) -> None:
        os.write(handle, data[: len(data) // 2])
        die()

    deciding._write = half


def after_the_line() -> None:
    import episode.day.deciding as deciding

    write = deciding._write

    def whole(handle: int, data: bytes, length: int) -> None:
        write(handle, data, length)
        die()

    deciding._write = whole


def in_file(count: int, *, renamed: bool) -> Callable[[], None]:
    """At the ``count``-th file that is put in place in ``out/``: right before it is, or right after."""

    def plant() -> None:
        replace, done = Path.replace, [0]

        def replacing(self: Path, target: Path) -> Path:
            done[0] += 1
            if done[0] == count and not renamed:
                die()
            made = replace(self, target)
            if done[0] == count:
                die()
            return made

        Path.replace = replacing  # type: ignore[method-assign, assignment]

    return plant


KILLS = {
    "before the line is written": before_the_line,
    "in the middle of the line": in_the_line,
    "after the line, before the answer": after_the_line,
    "before the first file": in_file(1, renamed=False),
    "after the first file": in_file(1, renamed=True),
    "in the middle of the files": in_file(9, renamed=False),
    "after the page itself": in_file(25, renamed=True),
}


@pytest.fixture(scope="module")
def read(tmp_path_factory: pytest.TempPathFactory, silent_clip: Path, cache: Path) -> Spotted:  # noqa: F811
    folder = tmp_path_factory.mktemp("killed") / "2026-05-03-small"
    (folder / "footage").mkdir(parents=True)
    shutil.copy(silent_clip, folder / "footage")
    (folder / "footage" / "A001.txt").write_text(TALK)
    (folder / "finds.csv").write_text(LOG)
    return prepared(folder)


def test_nothing_that_was_answered_is_lost_and_the_page_comes_up_again(read: Spotted) -> None:
    folder = read.made.out.parent
    answered: list[str] = []
    for name, plant in KILLS.items():
        told, status = killed(folder, read, plant)
        assert os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL, (name, told, status)
        answered += told
        known, problems = read_decisions(folder)
        assert set(answered) <= {d.id for d in known}, name
        assert len(problems) <= 1 and all("line" in p.where for p in problems), (name, problems)
        whole(folder / "out")
    assert len(answered) >= 10
    client, desk = opened(folder, read)
    try:
        page = client.get("/out/review.html").text
        assert page.count("looked at, right") >= 3
        # One half line lies there, said and passed over; a decision after it stands.
        told = client.post("/decide?since=0", json=ask("accept", desk.day.moments[-1]), headers={"Origin": ORIGIN})
        assert told.status_code == 200 and told.json()["id"] in {d.id for d in read_decisions(folder)[0]}
    finally:
        desk.close()
    whole(folder / "out")
    assert "looked at, right" in (folder / "out" / "review.html").read_text(encoding="utf-8")


def killed(folder: Path, read: Spotted, plant: Callable[[], None]) -> tuple[list[str], int]:
    """Decide in another process until it dies at the planted place: the ids it answered, and how it ended."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reader)
            desk_module.REST_S = 0.05
            client, desk = opened(folder, read)
            moments = [m for m in desk.day.moments if m.find]
            begun = len(read_decisions(folder)[0])
            answer(client, ask("accept", moments[begun % len(moments)]), writer)  # nothing happens to this one
            plant()
            answer(client, ask("accept", moments[(begun + 1) % len(moments)]), writer)
            settle(desk)
        finally:
            os._exit(3)
    os.close(writer)
    with os.fdopen(reader) as lines:
        told = lines.read().split()
    return told, os.waitpid(child, 0)[1]


def opened(folder: Path, read: Spotted):  # type: ignore[no-untyped-def]
    desk = desk_of(folder, read, Options())
    client = TestClient(application(folder, desk, "t", 8123), base_url=ORIGIN)
    assert client.get("/?token=t").status_code == 200
    return client, desk


def ask(action: str, moment) -> dict:  # type: ignore[no-untyped-def, type-arg]
    return Asked(action=action, key=moment_key(moment)).model_dump()


def answer(client: TestClient, body: dict, writer: int) -> None:  # type: ignore[type-arg]
    told = client.post("/decide?since=0", json=body, headers={"Origin": ORIGIN})
    if told.status_code == 200:
        os.write(writer, f"{told.json()['id']}\n".encode())


def settle(desk) -> None:  # type: ignore[no-untyped-def]
    end = time.monotonic() + 20
    while (desk.since(0)["working"] or desk.since(0)["unwritten"]) and time.monotonic() < end:
        time.sleep(0.02)


def whole(out: Path) -> None:
    """No file of ``out/`` is half of one."""
    for path in out.rglob("*.json"):
        json.loads(path.read_text(encoding="utf-8"))
    for path in out.rglob("*.html"):
        assert path.read_text(encoding="utf-8").rstrip().endswith("</html>")
