"""The date convention that a day's settings or the command line name."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from episode.errors import UnusableInput
from episode.make import Options, make


def a_day(folder: Path, convention: str) -> Path:
    (folder / "footage").mkdir()
    (folder / "footage" / "a.txt").write_text("[0:01] This pearlware is about 1838.\n")
    (folder / "episode.toml").write_text(f'date = 2026-05-03\nconvention = "{convention}"\n')
    return folder


def test_the_setting_fixes_the_years_and_the_command_line_wins(tmp_path: Path) -> None:
    # Tate's table of years: circa adds none to the year; Historic England's list, as configured here, ten.
    day = a_day(tmp_path, "tate")

    def years(options: Options | None) -> tuple[int, int]:
        make(day, options)
        claim = json.loads((day / "out" / "claims.json").read_text())["claims"][0]
        assert "depends on the date convention" in claim["note"]
        return claim["from"], claim["to"]

    assert years(None) == (1838, 1838)
    assert years(Options(convention="historic-england")) == (1828, 1848)


@pytest.mark.parametrize("given", [True, False])
def test_an_unknown_convention_is_refused_before_anything_is_heard(tmp_path: Path, given: bool) -> None:
    day = a_day(tmp_path, "tate" if given else "nonesuch")
    with pytest.raises(UnusableInput) as caught:
        make(day, Options(convention="nonesuch") if given else None)
    assert ("--convention" if given else "episode.toml") in str(caught.value.where)
    assert "historic-england" in caught.value.remedy
    assert not (day / "out" / "transcript.json").exists()
