"""A second run with nothing changed does nothing; with anything changed it is a run like any other."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from episode.cli.app import app
from tests.test_broken import LOG, TALK, silent_clip  # noqa: F401 - a fixture


@pytest.fixture(scope="module")
def made(tmp_path_factory, silent_clip):  # noqa: F811
    """A day that was run once, its words from files, and the cache of that run."""
    root = tmp_path_factory.mktemp("unchanged")
    day = root / "day"
    (day / "footage").mkdir(parents=True)
    for name in ("A001", "B002"):
        shutil.copy(silent_clip, day / "footage" / f"{name}.mp4")
        (day / "footage" / f"{name}.txt").write_text(TALK)
    (day / "finds.csv").write_text(LOG)
    (day / "episode.toml").write_text('title = "Small"\ntime_zone = "Europe/London"\nlisten_again = false\n')
    assert not stands(run(day, root / "cache"))
    return root


@pytest.fixture
def day(made, tmp_path):
    for name in ("day", "cache"):
        shutil.copytree(made / name, tmp_path / name, copy_function=shutil.copy2)
    return tmp_path / "day"


def run(day: Path, cache: Path, *more: str) -> str:
    result = CliRunner().invoke(app, ["make", "-q", str(day), *more], env={"EPISODE_CACHE": str(cache)})
    assert result.exit_code in (0, 3), result.output
    return result.stderr


def again(day: Path, *more: str) -> str:
    return run(day, day.parent / "cache", *more)


def stands(said: str) -> bool:
    return "Nothing has changed since the last run" in said


def state(out: Path) -> dict[str, tuple[int, bytes]]:
    return {
        str(p.relative_to(out)): (p.stat().st_mtime_ns, p.read_bytes())
        for p in out.rglob("*")
        if p.is_file() and not p.name.startswith(".")
    }


def test_nothing_changed_and_nothing_written(day):
    before = state(day / "out")
    said = again(day)
    assert stands(said)
    assert state(day / "out") == before
    assert "moments" in said and f"Written to {day / 'out'}" in said


def test_the_folder_may_be_moved(day):
    elsewhere = day.parent / "elsewhere"
    day.rename(elsewhere)
    assert stands(again(elsewhere))


def log(day):
    with (day / "finds.csv").open("a", encoding="utf-8") as file:
        file.write("\n")


def decided(day):
    (day / "decisions.jsonl").write_text("")


def settings(day):
    path = day / "episode.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n# looked through\n", encoding="utf-8")


def replaced(day):
    """Another content under the same name, size and time."""
    path = day / "footage" / "A001.txt"
    was = path.stat()
    path.write_bytes(path.read_bytes().replace(b"a", b"o", 1))
    os.utime(path, ns=(was.st_atime_ns, was.st_mtime_ns))
    assert path.stat().st_size == was.st_size


def taken_away(day):
    (day / "footage" / "B002.mp4").unlink()


def page_changed(day):
    (day / "out" / "description.txt").write_text("mine")


def page_gone(day):
    (day / "out" / "review.html").unlink()


@pytest.mark.parametrize(
    "change", [log, decided, settings, replaced, taken_away, page_changed, page_gone], ids=lambda x: x.__name__
)
def test_whatever_is_changed_is_seen(day, change):
    change(day)
    assert not stands(again(day))
    assert (day / "out" / "review.html").stat().st_size > 1000
    assert (day / "out" / "description.txt").read_text(encoding="utf-8") != "mine"


@pytest.mark.parametrize("option", [("--packs", "none"), ("--model", "tiny.en"), ("--convention", "historic-england")])
def test_other_options_are_another_run(day, option):
    assert not stands(again(day, *option))
    assert stands(again(day, *option))


def test_a_folder_that_leads_elsewhere_is_run(day):
    (day / "loop").symlink_to(day, target_is_directory=True)
    assert not stands(again(day))
    assert not stands(again(day))


def test_json_is_told_again(day):
    result = CliRunner().invoke(
        app, ["make", "-q", "--json", str(day)], env={"EPISODE_CACHE": str(day.parent / "cache")}
    )
    assert result.exit_code == 0
    assert '"format": "episode.summary/1"' in result.stdout and str(day / "out") in result.stdout
