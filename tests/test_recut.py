"""A day moved onto a cut of it, on the command line: the editor's own file, so that nothing need be heard."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import NamedTuple

import jsonschema
import pytest
from typer.testing import CliRunner

from episode.cli.app import app
from episode.results import json_schema
from tests.test_broken import TALK, day, silent_clip  # noqa: F401 - fixtures


def episode(*arguments: object, cwd: Path | None = None) -> Ran:
    """The command line, in this process: dozens of starts of Python would take minutes."""
    with contextlib.chdir(cwd or Path.cwd()):
        ran = CliRunner().invoke(app, [str(a) for a in arguments])
    return Ran(ran.exit_code, ran.stdout, ran.stderr)


class Ran(NamedTuple):
    returncode: int
    stdout: str
    stderr: str


EDL = """TITLE: small
FCM: NON-DROP FRAME

001  A001     V     C        00:00:30:00 00:00:48:00 01:00:00:00 01:00:18:00
* FROM CLIP NAME:  A001.mp4
002  A001     V     C        00:00:04:00 00:00:16:00 01:00:18:00 01:00:30:00
* FROM CLIP NAME:  A001.mp4
"""


def test_chapters_and_moments_follow_the_edit_and_what_was_cut_is_named(day: Path, tmp_path: Path):  # noqa: F811
    cut = tmp_path / "small.edl"
    cut.write_text(EDL)
    ran = episode("retime", day, cut, "--json")
    assert ran.returncode == 0, ran.stderr
    told = json.loads(ran.stdout)
    assert [(p["clip"], p["clip_start"], p["cut_start"]) for p in told["pieces"]] == [
        ("A001.mp4", 30.0, 0.0),
        ("A001.mp4", 4.0, 18.0),
    ]
    moments = json.loads((day / "out" / "cut" / "moments.json").read_text())["moments"]
    found = {m["find"]: m["start"] for m in moments if m["find"]}
    assert set(found) == {"1", "3"}
    raw = {m["find"]: m["start"] for m in json.loads((day / "out" / "moments.json").read_text())["moments"]}
    assert found["3"] == raw["3"] - 30.0
    assert found["1"] == raw["1"] - 4.0 + 18.0
    chapters = json.loads((day / "out" / "chapters.json").read_text())
    assert chapters["timeline"] == "the finished cut small.edl"
    dropped = {item["id"] for item in told["dropped"] if item["what"] == "moment"}
    gone = [m for m in json.loads((day / "out" / "moments.json").read_text())["moments"] if m["find"] == "2"]
    assert dropped >= {m["id"] for m in gone}


@pytest.fixture
def cut(tmp_path: Path) -> Path:
    path = tmp_path / "small.edl"
    path.write_text(EDL)
    return path


def timeline_of(day: Path, where: str = "") -> str:  # noqa: F811
    return json.loads((day / "out" / where / "chapters.json").read_text())["timeline"]


def titles(day: Path, where: str = "") -> list[str]:  # noqa: F811
    return [c["title"] for c in json.loads((day / "out" / where / "chapters.json").read_text())["chapters"]]


def decide(day: Path, **decision: object) -> None:  # noqa: F811
    with (day / "decisions.jsonl").open("a") as file:
        file.write(json.dumps(decision) + "\n")


def test_a_later_run_keeps_the_films_chapters_up_to_date(day: Path, cut: Path):  # noqa: F811
    assert episode("retime", day, cut).returncode == 0
    assert "Thimble" in " ".join(titles(day))
    raw = titles(day, "raw")
    assert timeline_of(day, "raw") == "all clips in order"
    decide(
        day, action="rename", clip="A001.mp4", start=36.0, term="thimble", quote="It's a thimble", value="finger ring"
    )
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    assert "small.edl: chapters and description in out/ are this film's" in ran.stderr
    assert timeline_of(day) == "the finished cut small.edl"
    assert "finger ring" in " ".join(titles(day)).casefold(), (titles(day), ran.stderr)
    assert "thimble" not in " ".join(titles(day)).casefold()
    assert len(titles(day, "raw")) == len(raw)
    assert "finger ring" in (day / "out" / "description.txt").read_text().casefold()


def test_every_form_of_chapters_and_captions_is_the_films(day: Path, cut: Path):  # noqa: F811
    out = day / "out"
    assert episode("make", day).returncode == 0
    forms = ("chapters.xml", "chapters.podcast.json", "captions.vtt", "captions.srt")
    raw = {name: (out / name).read_bytes() for name in forms}
    assert episode("retime", day, cut).returncode == 0
    for name in forms:
        assert (out / "raw" / name).read_bytes() == raw[name] != (out / name).read_bytes()
    assert (out / "cut" / "captions.srt").read_bytes() == (out / "captions.srt").read_bytes()
    assert (out / "captions" / "A001.mp4.srt").read_text().startswith("1\n00:00:")
    assert episode("retime", day, "--raw").returncode == 0
    assert {name: (out / name).read_bytes() for name in forms} == raw
    assert not (out / "cut" / "captions.srt").exists() and not (out / "raw").exists()


@pytest.mark.parametrize("name", ["cut", "trace", "moments", "claims", "promises", "transcript"])
def test_the_films_files_match_their_schemas(day: Path, cut: Path, name: str):  # noqa: F811
    episode("retime", day, cut)
    jsonschema.validate(json.loads((day / "out" / "cut" / f"{name}.json").read_text()), json_schema(name))


def test_the_same_film_is_not_traced_again(day: Path, cut: Path):  # noqa: F811
    assert "not traced again" not in episode("retime", day, cut).stderr
    before = (day / "out" / "chapters.json").read_bytes()
    assert "not traced again" in episode("retime", day, cut).stderr
    assert (day / "out" / "chapters.json").read_bytes() == before
    cut.write_text(EDL.replace("00:00:30:00 00:00:48:00", "00:00:31:00 00:00:49:00"))
    assert "not traced again" not in episode("retime", day, cut).stderr
    assert json.loads((day / "out" / "cut" / "cut.json").read_text())["pieces"][0]["clip_start"] == 31.0


@pytest.mark.parametrize("gone", [True, False])
def test_a_film_that_changed_or_is_gone_is_said(day: Path, cut: Path, gone: bool):  # noqa: F811
    episode("retime", day, cut)
    before = (day / "out" / "chapters.txt").read_bytes()
    if gone:
        cut.unlink()
    else:
        cut.write_text(EDL + "\n")
    ran = episode("make", day)
    assert ran.returncode == 0
    assert ("no longer where it was" if gone else "has changed since it was traced") in ran.stderr
    assert "--raw" in ran.stderr
    assert (day / "out" / "chapters.txt").read_bytes() == before
    assert timeline_of(day, "raw") == "all clips in order"


def test_footage_that_changed_since_is_said(day: Path, cut: Path):  # noqa: F811
    episode("retime", day, cut)
    with (day / "footage" / "A001.mp4").open("ab") as file:
        file.write(b"\0" * 64)
    assert "the footage it was cut from has changed or is gone (A001.mp4)" in episode("make", day).stderr


def test_back_to_the_raw_clips(day: Path, cut: Path):  # noqa: F811
    episode("make", day)
    before = (day / "out" / "chapters.json").read_bytes()
    episode("retime", day, cut)
    (day / "out" / "cut" / "mine.txt").write_text("kept")
    ran = episode("retime", day, "--raw")
    assert ran.returncode == 0, ran.stderr
    assert (day / "out" / "chapters.json").read_bytes() == before
    assert not (day / "out" / "raw").exists()
    assert sorted(p.name for p in (day / "out" / "cut").iterdir()) == ["mine.txt", "trace.json"]
    episode("make", day)
    assert (day / "out" / "chapters.json").read_bytes() == before
    assert "not traced again" in episode("retime", day, cut).stderr
    assert timeline_of(day) == "the finished cut small.edl"


def test_what_was_cut_out_is_listed_and_holds_nothing_up(day: Path, cut: Path):  # noqa: F811
    (day / "footage" / "A001.txt").write_text(
        TALK.replace(
            "that's lead.",
            "made in 1066, the oldest in the world. There's a link in the description.\n\n[0:29] Right, on we go.",
        )
    )
    before = json.loads(episode("make", day, "--json").stdout)["left"]
    assert before["unreferenced"] >= 2
    ran = episode("retime", day, cut)
    assert "Finds cut out: musket ball" in ran.stderr
    assert "Promises no longer made: " in ran.stderr
    listed = (day / "out" / "cut" / "not-in-the-film.txt").read_text()
    assert "find 2, musket ball: A001.mp4 at 0:20, " in listed
    assert "1066" in listed
    assert "link" in listed.partition("Promises")[2]
    after = json.loads(episode("make", day, "--json").stdout)["left"]
    assert after.get("unreferenced", 0) < before["unreferenced"]
    assert after.get("promise", 0) < before["promise"]
    assert "musket" not in (day / "out" / "description.txt").read_text().casefold()
    assert "musket" not in (day / "out" / "chapters.txt").read_text().casefold()


@pytest.mark.parametrize(
    "damage", ["", "{}", '{"format": "episode.trace/1"', "\0" * 100, '{"format":"episode.trace/9"}']
)
def test_a_damaged_trace_counts_as_none(day: Path, damage: str):  # noqa: F811
    (day / "out" / "cut").mkdir(parents=True)
    (day / "out" / "cut" / "trace.json").write_text(damage)
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    assert timeline_of(day) == "all clips in order"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "which film?"),
        (["small.edl", "--raw"], "goes alone"),
        (["small.edl", "--with-chapters", "copy.mp4"], "this is a timeline"),
    ],
)
def test_arguments_that_do_not_go_together_are_2(day: Path, cut: Path, arguments: list[str], says: str):  # noqa: F811
    ran = episode("retime", day, *arguments, cwd=cut.parent)
    assert (ran.returncode, says in ran.stderr) == (2, True), ran.stderr


def test_a_cut_that_is_not_there_is_2(day: Path):  # noqa: F811
    ran = episode("retime", day, "nowhere.mp4")
    assert ran.returncode == 2
    assert "no such file" in ran.stderr
