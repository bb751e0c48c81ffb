"""Find spots are cut to the precision set. Figures to metres: Ordnance Survey national grid, common practice."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day.privacy import WITHHELD, blur_grid, blur_text
from episode.models import Settings


@pytest.mark.parametrize(
    ("given_", "figures", "printed"),
    [
        ("TA 4512 1234", 4, "TA 45 12"),
        ("TA45121234", 4, "TA4512"),
        ("ta 451 123", 4, "ta 45 12"),
        ("TA 4512 1234", 2, "TA 4 1"),
        ("TA 4512 1234", 0, WITHHELD),
        ("TA 45 12", 4, "TA 45 12"),
        ("TA 4512 1234", 6, "TA 451 123"),
        ("O 15904 34671", 4, "O 15 34"),
        ("53.71234, -0.12345", 4, "53.72, -0.12"),
        ("53.71234N 0.12345W", 4, "53.72, -0.12"),
        ("53°42'44\"N 0°07'24\"W", 4, "53.72, -0.12"),
        ("53.71234, -0.12345", 0, WITHHELD),
        ("///filled.count.soap", 4, WITHHELD),
        ("9C5W6V2X+2F", 4, WITHHELD),
        ("geo:53.71234,-0.12345", 4, "53.72, -0.12"),
    ],
)
def test_a_place_is_cut(given_: str, figures: int, printed: str):
    assert blur_grid(given_, figures) == printed


@pytest.mark.parametrize(
    ("prose", "printed"),
    [
        ("found at 53°42'44\"N 0°07'24\"W by the wall", "found at 53.72, -0.12 by the wall"),
        ("near 53.71234, -0.12345 even so", "near 53.72, -0.12 even so"),
        ("53.71234, -0.12345\nand on", "53.72, -0.12\nand on"),
        ("at 53°42'44\"NW0°07'24\"", "at 53.72, -0.12"),
    ],
)
def test_the_words_around_coordinates_stay_whole(prose: str, printed: str):
    assert blur_text(prose, Settings()) == printed


@pytest.mark.parametrize("before", [".", "53.71", "53.71N", "53°42'", "53°42'44\"N"])
@pytest.mark.parametrize("space", [" ", "\n", "\t"])
def test_a_megabyte_of_space_is_read_through(before: str, space: str):
    hostile = before + space * 1_000_000 + "x"
    assert blur_text(hostile, Settings()) == hostile


@pytest.mark.parametrize(
    "prose",
    [
        "Rd No 821265 on the base",
        "registered NO 821265",
        "made from 1780 to 1820",
        "so 1750 1800 is my guess",
        "a lot of 12 pins",
        "0:00 Setting out",
        "e.g. this one",
        "weighs 3.25 g, 12.50 mm across",
    ],
)
def test_words_and_numbers_that_are_no_place_stay(prose: str):
    assert blur_text(prose, Settings()) == prose


def test_a_private_place_is_withheld_with_and_without_its_article():
    for place, said in (
        ("the old jetty", "by old jetty"),
        ("the old jetty", "by the Old-Jetty"),
        ("The Gut", "by gut"),
    ):
        assert blur_text(said, Settings(private_places=(place,))) == "by [place withheld]"
    assert blur_text("the cat", Settings(private_places=("the",))) == "[place withheld] cat"


def test_private_places_are_withheld_whole_and_in_any_case():
    settings = Settings(private_places=("Gannet Stairs",))
    assert blur_text("by gannet-stairs, and Gannet Stairside", settings) == f"by {WITHHELD}, and Gannet Stairside"


@given(st.text(max_size=80), st.sampled_from([0, 2, 4, 6]))
def test_blurring_twice_changes_nothing_more_and_never_raises(text: str, figures: int):
    once = blur_grid(text, figures)
    assert blur_grid(once, figures) == once


@given(
    st.integers(0, 99999), st.integers(0, 99999), st.sampled_from(["TA", "TQ", "SE", "NZ"]), st.sampled_from(["", " "])
)
def test_no_finer_grid_reference_survives_in_prose(east: int, north: int, letters: str, gap: str):
    printed = blur_text(f"found at {letters}{gap}{east:05}{gap}{north:05} today", Settings())
    assert f"{east:05}" not in printed
    assert re.search(rf"{letters}{gap}{east:05}"[:-3] + rf"{gap}{north:05}"[:-3] + " today", printed)
