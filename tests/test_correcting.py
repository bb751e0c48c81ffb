"""A correction after publishing is kept, told, and takes the wrong statement out of the description."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from episode.claims.decided import corrections
from episode.day.deciding import add_decision
from episode.day.decisions import read_decisions
from episode.models import Decision
from tests.test_broken import day, episode, silent_clip  # noqa: F401 - fixtures


@pytest.fixture
def wrong(day: Path) -> Path:  # noqa: F811
    path = day / "footage" / "A001.txt"
    path.write_text(path.read_text().replace("that's lead.", "that's lead. It was made in 1645."))
    assert episode("make", day).returncode == 0
    return day


def test_it_is_kept_and_told_and_can_be_withdrawn(wrong: Path):
    ran = episode("correct", wrong, "made in 1645", "Lead balls cannot be dated by eye.", "--reference", "Ask a museum")
    assert ran.returncode == 0, ran.stderr
    comment = (wrong / "out" / "corrections.txt").read_text()
    assert "We said: “It was made in 1645”. Lead balls cannot be dated by eye [1]." in comment
    assert "[1] Ask a museum" in comment
    description = (wrong / "out" / "description.txt").read_text()
    assert "Lead balls cannot be dated by eye" in description
    assert "said on camera: 1645" not in description
    claim = next(c for c in json.loads((wrong / "out" / "claims.json").read_text())["claims"] if c["from"] == 1645)
    assert claim["struck"]
    assert episode("correct", wrong, claim["id"], "").returncode == 0
    assert (wrong / "out" / "corrections.txt").read_text() == "Nothing to correct so far.\n"


@pytest.mark.parametrize("said", ["the moon is cheese", "zz"])
def test_what_was_not_said_cannot_be_corrected(wrong: Path, said: str):
    ran = episode("correct", wrong, said, "x")
    assert ran.returncode == 2
    assert "claims.csv" in ran.stderr
    assert not (wrong / "decisions.jsonl").exists()


def test_before_make_it_says_so(day: Path):  # noqa: F811
    ran = episode("correct", day, "x", "y")
    assert ran.returncode == 2
    assert "episode make" in ran.stderr


def test_a_torn_line_spoils_only_itself(tmp_path: Path):
    (tmp_path / "decisions.jsonl").write_text('{"action": "pa')
    add_decision(tmp_path, Decision(action="correct", clip="a", start=1.0, quote="q", value="so"))
    decisions, problems = read_decisions(tmp_path)
    assert [(d.action, d.value, d.line) for d in decisions] == [("correct", "so", 2)]
    assert len(problems) == 1


def test_the_last_word_stands():
    said = [
        Decision(action="correct", clip="a", quote="One.", value="first"),
        Decision(action="correct", clip="a", quote="Two.", value="other"),
        Decision(action="correct", clip="a", quote="one.", value="second", reference="r"),
        Decision(action="correct", clip="a", quote="Two.", value=""),
    ]
    assert [(c.quote, c.text, c.reference) for c in corrections(tuple(said))] == [("one.", "second", "r")]
