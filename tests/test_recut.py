"""A day moved onto a cut of it, on the command line: the editor's own file, so that nothing need be heard."""

from __future__ import annotations

import json
from pathlib import Path

from tests.test_broken import day, episode, silent_clip  # noqa: F401 - fixtures

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


def test_a_cut_that_is_not_there_is_2(day: Path):  # noqa: F811
    ran = episode("retime", day, "nowhere.mp4")
    assert ran.returncode == 2
    assert "no such file" in ran.stderr
