"""``episode.toml`` is read strictly where it matters and forgivingly where it does not."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day.settings import read_settings
from episode.errors import UnusableInput


def write(folder: Path, text: str) -> Path:
    (folder / "episode.toml").write_text(text, encoding="utf-8")
    return folder


def test_everything_that_people_set(tmp_path: Path):
    settings = read_settings(
        write(
            tmp_path,
            'title = "A morning"\ndate = 2026-05-03\ntime_zone = "Europe/London"\npacks = ["glass"]\n'
            '[[links]]\nlabel = "Tide table"\nurl = "https://tides.example"\nabout = ["tide"]\n'
            '[disclosures]\nsponsor = "Mudlark Boots"\n',
        )
    )
    assert settings.date == dt.date(2026, 5, 3)
    assert settings.packs == ("glass",)
    assert settings.links[0].about == ("tide",)
    assert settings.disclosures.sponsor == "Mudlark Boots"
    assert settings.assumed == ()


def test_without_a_file_it_says_what_it_assumed(tmp_path: Path):
    day = tmp_path / "2026-05-03-skelby-sands"
    day.mkdir()
    settings = read_settings(day)
    assert settings.date == dt.date(2026, 5, 3)
    assert settings.title == "Skelby sands"
    assert len(settings.assumed) == 4


def test_an_unknown_key_is_reported_with_a_suggestion(tmp_path: Path):
    settings = read_settings(write(tmp_path, 'titel = "x"\n'))
    assert [p.remedy for p in settings.problems] == ["Did you mean `title`?"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("title = [", "not valid TOML"),
        ("title = 3", "`title`"),
        ('date = "soon"', "`date`"),
        ('time_zone = "Skelby"', "no such zone"),
        ("grid_figures = 5", "`grid_figures`"),
        ("description_limit = 3", "`description_limit`"),
        ('[disclosures]\nspnsor = "x"', "disclosures.spnsor"),
    ],
)
def test_what_cannot_be_is_refused_with_file_and_key(tmp_path: Path, text: str, says: str):
    with pytest.raises(UnusableInput) as caught:
        read_settings(write(tmp_path, text))
    assert caught.value.where == "episode.toml"
    assert says in caught.value.what
    assert caught.value.remedy


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(tmp_path_factory: pytest.TempPathFactory, text: str):
    folder = tmp_path_factory.mktemp("day")
    (folder / "episode.toml").write_bytes(text.encode("utf-8", errors="surrogatepass"))
    try:
        read_settings(folder)
    except UnusableInput as error:
        assert error.where == "episode.toml"
