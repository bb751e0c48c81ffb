"""The built-in templates in a day folder: whole, usable as they are, and over nothing of the person's."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from episode.cli.app import app
from episode.day.templates import NAMES, read_templates
from episode.drafting.description import draft
from episode.drafting.laying_out import lay_out
from episode.errors import UnusableInput
from tests.drafting.invented import day


def episode(*arguments: object):
    return CliRunner().invoke(app, [str(a) for a in arguments])


def test_they_make_what_the_built_in_ones_make(tmp_path: Path):
    ran = episode("wording", tmp_path)
    assert ran.exit_code == 0
    assert sorted(p.name for p in (tmp_path / "templates").iterdir()) == sorted(NAMES)
    own, problems = read_templates(tmp_path)
    assert not problems
    mine, theirs = draft(day(), own), draft(day())
    assert (mine.text, mine.wordings, mine.problems) == (theirs.text, theirs.wordings, theirs.problems)


def test_what_is_there_stays_as_it_is(tmp_path: Path):
    (tmp_path / "templates").mkdir()
    mine = tmp_path / "templates" / "short.txt"
    mine.write_text("MINE")
    nowhere = tmp_path / "templates" / "comment.txt"
    nowhere.symlink_to(tmp_path / "gone")
    ran = episode("wording", tmp_path)
    assert ran.exit_code == 0
    assert ran.stderr.count("was left as it is") == 2
    assert mine.read_text() == "MINE" and nowhere.is_symlink() and not (tmp_path / "gone").exists()
    assert (tmp_path / "templates" / "description.txt").is_file()


def test_one_alone(tmp_path: Path):
    laid, kept = lay_out(tmp_path, ("short.txt",))
    assert ([p.name for p in laid], kept) == (["short.txt"], ())


@pytest.mark.parametrize("name", ["../short.txt", "short.html", ""])
def test_what_is_no_form_is_refused(tmp_path: Path, name: str):
    with pytest.raises(UnusableInput):
        lay_out(tmp_path, (name,))
    assert list(tmp_path.iterdir()) == []


def test_no_folder_and_a_file_in_the_way_are_said(tmp_path: Path):
    assert episode("wording", tmp_path / "none").exit_code == 2
    (tmp_path / "templates").write_text("a note")
    ran = episode("wording", tmp_path)
    assert ran.exit_code == 2 and "is a file" in ran.stderr
    assert (tmp_path / "templates").read_text() == "a note"
