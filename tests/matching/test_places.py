"""Places of moments. The track runs through a square of open sea; figures to metres as in tests/day."""

from __future__ import annotations

from datetime import timedelta

import pytest

from episode.matching.places import placed, position, reduced, spot_at, waypoints_of
from episode.matching.walk import blurred_walk
from episode.models import Clock, Fix, Matched, Moment, Photo, Photos, Settings, Stance, Track, Waypoint
from tests.matching.helpers import NINE, clip, row

LAT, LON = 53.695507, 0.655362


def after(seconds: float):
    return NINE + timedelta(seconds=seconds)


def track(*fixes, waypoints=()):
    return Track(segments=(tuple(Fix(at=after(s), lat=a, lon=o) for s, a, o in fixes),), waypoints=waypoints)


def moment(at=0.0, find=None, **more):
    return Moment(
        id="m1", clip="cam/a.mp4", start=0, end=5, at=after(at), term="pin", stance=Stance.FOUND, find=find, **more
    )


def place(one=None, log=(), walked=None, photos=None, clocks=(), **settings):
    matched = Matched(moments=(one or moment(),), clocks=clocks)
    made = placed(matched, log, (clip(),), walked or Track(), photos or Photos(), Settings(**settings)).moments[0]
    return made.place, made.place_from


WALK = track((0, LAT, LON), (60, LAT + 0.001, LON), (1000, LAT, LON))


def test_between_two_fixes_on_a_straight_line_and_never_over_a_gap():
    assert position(WALK, after(30)) == pytest.approx((LAT + 0.0005, LON, 30))
    assert position(WALK, after(60 + 100)) == pytest.approx((LAT + 0.001, LON, 100))
    assert position(WALK, after(500)) is None
    assert position(WALK, after(-121)) is None
    assert position(Track(), NINE) is None


def test_across_the_date_line():
    _, lon, _ = position(track((0, 0, 179.99), (10, 0, -179.99)), after(5))
    assert abs(abs(lon) - 180) < 1e-6


def test_the_log_comes_first_then_photograph_waypoint_and_track():
    here = Photos(by_row={2: (Photo(name="a.jpg", lat=LAT + 0.02, lon=LON),)})
    mark = Waypoint(name="find 7", lat=LAT + 0.04, lon=LON)
    walked = WALK.model_copy(update={"waypoints": (mark,)})
    seven = moment(10, "7")
    assert place(seven, (row("7", "pin", grid="TA 7712 2534"),), walked, here) == ("TA 77 25", "log")
    assert place(seven, (row("7", "pin", grid="by the wall"),), walked, here) == ("TA 75 27", "photograph")
    assert place(seven, (row("7", "pin"),), walked) == ("TA 75 29", "waypoint of that number")
    assert place(seven, (row("7", "pin"),), WALK) == ("TA 75 25", "track, 10 s from its nearest point")
    assert place(seven, (row("7", "pin"),)) == ("", "")


@pytest.mark.parametrize(
    ("lat", "lon", "figures", "printed"),
    [
        (LAT, LON, 4, "TA 75 25"),
        (LAT, LON, 2, "TA 7 2"),
        (LAT, LON, 6, "TA 754 253"),
        (LAT, LON, 0, ""),
        (52.37123, 4.90123, 4, "52.38, 4.90"),
        (-33.86123, 151.21123, 0, ""),
    ],
)
def test_no_finer_than_allowed(lat: float, lon: float, figures: int, printed: str):
    # OSTN15 puts LAT, LON at 575410.0, 425390.0 (convertbng 2.0.0): easting 75410, northing 25390 of TA.
    assert reduced(lat, lon, figures) == printed


def test_withheld_places_are_withheld_whatever_tells_them():
    assert place(moment(10, "7"), (row("7", "pin", grid="TA 7512 2534"),), WALK, grid_figures=0) == ("", "")


def test_private_places_stay_out_and_so_does_what_lies_beside_them():
    hidden = {"private_places": ("old jetty",)}
    jetty = row("6", "pin", place="by the Old Jetty", grid=f"{LAT}, {LON}", number=2)
    assert place(moment(10, "6"), (jetty,), WALK, **hidden) == ("", "withheld: a private place")
    assert place(moment(10), (jetty,), WALK, **hidden) == ("", "withheld: a private place")
    assert place(moment(10), (jetty,), WALK)[0] == "TA 75 25"


def test_a_camera_whose_clock_nobody_knows_is_not_looked_up():
    clocks = (Clock(camera="cam", known=False),)
    log = (row("7", "pin"),)
    assert place(moment(10), log, WALK, clocks=clocks) == ("", "")
    assert place(moment(10, "7"), log, WALK, clocks=clocks)[0] == "TA 75 25"
    assert place(moment(10), (), WALK, clocks=clocks)[0] == "TA 75 25"


@pytest.mark.parametrize(
    ("name", "tied"),
    [("7", True), ("Find 7", True), ("no. 07", True), ("#7", True), ("7 bent pin", True), ("SF 7", True),
     ("7 May", False), ("17", False), ("70", False), ("find", False), ("", False)],
)  # fmt: skip
def test_waypoints_bear_the_number_of_their_find(name: str, tied: bool):
    found = waypoints_of((row("7", "pin"),), (Waypoint(name=name, lat=LAT, lon=LON),))
    assert bool(found) is tied


def test_waypoints_without_a_number_go_by_time_each_to_one_row():
    log = (row("7", "pin", 0, 2), row("8", "nail", 1, 3))
    found = waypoints_of(log, (Waypoint(at=after(50), lat=LAT, lon=LON),))
    assert {number: why for number, (_, why) in found.items()} == {3: "waypoint, 10 s from its log time"}
    assert waypoints_of(log, (Waypoint(at=after(500), lat=LAT, lon=LON),)) == {}


def test_two_of_one_number_tie_nothing():
    marks = (Waypoint(name="7", lat=LAT, lon=LON), Waypoint(name="find 7", lat=LAT, lon=LON))
    assert waypoints_of((row("7", "pin"),), marks) == {}


def test_the_walk_is_squares_without_times_and_leaves_private_spots_out():
    walked = track(*((s, LAT + s * 1e-4, LON) for s in range(0, 300, 10)))
    walk = blurred_walk(walked, Settings())
    assert walk.system == "national grid"
    (line,) = walk.lines
    assert all(value % 1000 == 0 for point in line for value in point)
    assert len(line) == len(set(line)) == 4
    assert set(walk.model_dump()) == {"system", "lines"}
    cut = blurred_walk(walked, Settings(), (spot_at(LAT + 0.015, LON),))
    assert len(cut.lines) == 2
    assert blurred_walk(walked, Settings(grid_figures=0)) is None
    assert blurred_walk(Track(), Settings()) is None
    abroad = blurred_walk(track((0, 52.37123, 4.90123)), Settings())
    assert abroad.lines == (((52.38, 4.90),),)
