"""Against the worked examples of Ordnance Survey, "A guide to coordinate systems in Great Britain"."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day.national_grid import (
    from_square,
    grid_square,
    helmert,
    in_great_britain,
    national_grid,
    project,
    to_osgb36,
)


def degrees(d: int, m: int, s: float) -> float:
    return d + m / 60 + s / 3600


def test_the_guides_example_of_the_projection():
    # Annex C.1: Caister water tower.
    assert project(degrees(52, 39, 27.2531), degrees(1, 43, 4.5177)) == pytest.approx(
        (651409.903, 313177.270), abs=0.001
    )


def test_the_guides_example_of_the_transformation():
    # "Helmert transformation worked example", D1 to system B.
    told = (3790269.549, -110038.064, 5111050.261)
    assert helmert(3790644.900, -110149.210, 5111482.970) == pytest.approx(told, abs=0.001)


@pytest.mark.parametrize(
    ("lat", "lon", "east", "north"),
    [
        (degrees(52, 39, 28.8282), degrees(1, 42, 57.8663), 651409.804, 313177.450),
        (51.5007, -0.1246, 530268.168, 179640.532),
        (60.15, -1.14, 447852.637, 1140921.300),
        (50.118, -5.537, 147255.642, 30206.767),
        (55.9533, -3.1883, 325897.321, 674001.740),
        (58.209, -6.386, 142463.700, 932860.361),
    ],
)
def test_the_whole_way_is_within_five_metres_of_the_survey_s_own_grid(
    lat: float, lon: float, east: float, north: float
):
    # Eastings and northings by OSTN15, as the package convertbng 2.0.0 computes it.
    assert national_grid(lat, lon) == pytest.approx((east, north), abs=5)


@pytest.mark.parametrize(
    ("lat", "lon", "inside"),
    [
        (53.695, 0.655, True),
        (49.92, -6.30, True),  # Scilly
        (55.63, -6.19, True),  # Islay
        (60.15, -1.14, True),  # Lerwick
        (51.13, 1.31, True),  # Dover
        (51.88, -5.34, True),  # St Davids
        (54.60, -5.93, False),  # Belfast
        (53.35, -6.26, False),  # Dublin
        (50.95, 1.86, False),  # Calais
        (49.21, -2.13, False),  # Jersey
        (52.37, 4.90, False),  # Amsterdam
        (-53.7, 0.6, False),
    ],
)
def test_the_grid_is_for_great_britain(lat: float, lon: float, inside: bool):
    # Positions of towns: common knowledge, no source.
    assert in_great_britain(lat, lon) is inside


@pytest.mark.parametrize(
    ("corner", "letters"), [((651409, 313177), "TG 51 13"), ((0, 0), "SV 00 00"), ((439668, 1175316), "HU 39 75")]
)
def test_letters_of_squares(corner: tuple[int, int], letters: str):
    # The guide, section 7: TG 51 13 and SV at the false origin; HU (Shetland) common practice.
    assert grid_square(*corner, 4) == letters


@given(st.floats(0, 699_999.9), st.floats(0, 1_299_999.9), st.sampled_from([2, 4, 6, 8, 10]))
def test_a_square_holds_its_point(east: float, north: float, figures: int):
    letters, *digits = grid_square(east, north, figures).split()
    corner = from_square(letters, *digits)
    size = 10 ** (5 - figures // 2)
    assert corner is not None
    assert 0 <= east - corner[0] < size
    assert 0 <= north - corner[1] < size


def test_off_the_grid_is_refused():
    with pytest.raises(ValueError):
        grid_square(-1, 0, 4)
    assert from_square("ZZ", "1", "1") is None
    assert from_square("TI", "1", "1") is None


@given(st.floats(49.9, 60.9), st.floats(-7, 1.9))
def test_the_datum_shift_is_of_the_known_size(lat: float, lon: float):
    # Between 50 m and 200 m anywhere in Great Britain (common practice: "about 100 m").
    moved = to_osgb36(lat, lon)
    assert 1e-4 < abs(moved[0] - lat) + abs(moved[1] - lon) < 5e-3
