"""The trade's spelling in a day's written transcript: said, marked, undone by a person, and nowhere else."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from episode.day.deciding import add_decision
from episode.models import Decision
from tests.test_broken import day, episode, silent_clip  # noqa: F401 - fixtures

QUIET = "trade_spelling_from = 0.5\n"


@pytest.fixture
def misheard(day: Path) -> Path:  # noqa: F811
    path = day / "footage" / "A001.txt"
    path.write_text(path.read_text() + "\n[0:50] And look at this, it's a cod bottle, from the Old Slip.\n")
    return day


def settings(day: Path, text: str) -> None:  # noqa: F811
    path = day / "episode.toml"
    path.write_text(text + (path.read_text() if path.exists() else ""))


def make(day: Path) -> tuple[str, dict, str]:  # noqa: F811
    ran = episode("make", day)
    assert ran.returncode == 0, ran.stderr
    out = day / "out"
    return ran.stderr, json.loads((out / "transcript.json").read_text()), (out / "transcript.vtt").read_text()


def words(transcript: dict) -> list[tuple[str, str | None]]:
    return [(w["word"], w.get("as_heard")) for s in transcript["segments"] for w in s["words"]]


def test_it_is_said_and_marked_and_quotes_stay_as_heard(misheard: Path):
    settings(misheard, QUIET)
    said, transcript, vtt = make(misheard)
    assert "the trade's spelling in 1 place" in said
    assert "“cod” is now “Codd” (A001.mp4, 0:5" in said
    assert ("Codd", "cod") in words(transcript)
    assert any("a Codd bottle, from" in s["text"] for s in transcript["segments"])
    assert "<c.corrected>Codd</c> bottle" in vtt
    assert "heard “cod”, written “Codd”" in vtt
    out = misheard / "out"
    mention = next(m for m in json.loads((out / "mentions.json").read_text())["mentions"] if m["term"] == "Codd bottle")
    assert mention["heard"] == "cod bottle"
    assert "it's a cod bottle" in mention["quote"]
    assert 'Codd <span class="soft">(heard: cod)</span> bottle' in (out / "review.html").read_text()
    assert json.loads(episode("make", misheard, "--json").stdout)["respelt"] == 1


@pytest.mark.parametrize("text", ["trade_spelling = false\n" + QUIET, "trade_spelling_from = 1.0\n"])
def test_a_person_can_have_the_words_heard(misheard: Path, text: str):
    settings(misheard, text)
    said, transcript, vtt = make(misheard)
    assert "trade's spelling" not in said
    assert {heard for _, heard in words(transcript)} == {None}
    assert "cod bottle" in vtt
    assert "NOTE" not in vtt


@pytest.mark.parametrize(
    "about", [{"clip": "A001.mp4", "start": 51.5, "term": "Codd bottle"}, {"quote": "And look at this, it's a cod bottle, from the Old Slip."}]
)  # fmt: skip
def test_a_rejected_mention_keeps_its_words(misheard: Path, about: dict):
    settings(misheard, QUIET)
    add_decision(misheard, Decision(action="reject", **about))
    said, transcript, _ = make(misheard)
    assert "does not apply" not in said
    assert {heard for _, heard in words(transcript)} == {None}


def test_a_private_place_is_neither_written_nor_kept_as_heard(misheard: Path):
    settings(misheard, QUIET + 'private_places = ["Old Slip", "cod bottle"]\n')
    make(misheard)
    for path in sorted((misheard / "out").rglob("*")):
        if path.is_file() and path.suffix in {".json", ".vtt", ".html", ".txt"}:
            text = path.read_text().lower()
            assert "old slip" not in text, path.name
            assert "cod bottle" not in text, path.name
            assert '"as_heard": "cod"' not in text


def test_the_words_follow_the_cut_with_their_marks(misheard: Path, tmp_path: Path):
    settings(misheard, QUIET)
    cut = tmp_path / "small.edl"
    cut.write_text(
        "TITLE: small\nFCM: NON-DROP FRAME\n\n"
        "001  A001     V     C        00:00:49:00 00:00:59:00 01:00:00:00 01:00:10:00\n* FROM CLIP NAME:  A001.mp4\n"
    )
    assert episode("retime", misheard, cut).returncode == 0
    assert ("Codd", "cod") in words(json.loads((misheard / "out" / "cut" / "transcript.json").read_text()))
    vtt = (misheard / "out" / "cut" / "transcript.vtt").read_text()
    assert "<c.corrected>Codd</c>" in vtt
    assert "00:00:0" in vtt.split("\n")[4]
