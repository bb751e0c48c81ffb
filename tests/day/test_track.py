"""GPX as the schemas 1.0 and 1.1 say (topografix.com/GPX/1/1/gpx.xsd), and as it really comes."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day.track import LARGEST_BYTES, LONGEST_NAME, parse_track, read_track

GPX = Path("track.gpx")


def gpx(body: str, version: str = "1.1") -> bytes:
    space = f"http://www.topografix.com/GPX/{version.replace('.', '/')}"
    return f'<gpx version="{version}" creator="t" xmlns="{space}">{body}</gpx>'.encode()


def point(lat: object, lon: object, time: str = "", name: str = "trkpt", more: str = "") -> str:
    return f'<{name} lat="{lat}" lon="{lon}">{f"<time>{time}</time>" if time else ""}{more}</{name}>'


def walked(*points: str) -> str:
    return f"<trk><trkseg>{''.join(points)}</trkseg></trk>"


@pytest.mark.parametrize("version", ["1.0", "1.1"])
def test_both_versions_with_several_tracks_segments_and_waypoints(version: str):
    track, problems = parse_track(
        gpx(
            point(53.7, 0.6, "2026-05-03T08:00:00Z", "wpt", "<name> find \n 8 </name>")
            + f"<trk><name>a</name><trkseg>{point(53.7, 0.6, '2026-05-03T08:00:00Z')}</trkseg>"
            + f"<trkseg>{point(53.8, 0.6, '2026-05-03T09:00:00Z')}</trkseg></trk>"
            + walked(point(53.9, 0.6, "2026-05-03T10:00:00.5Z")),
            version,
        ),
        GPX,
    )
    assert problems == ()
    assert [[fix.lat for fix in segment] for segment in track.segments] == [[53.7], [53.8], [53.9]]
    assert [(w.name, w.lat) for w in track.waypoints] == [("find 8", 53.7)]


@pytest.mark.parametrize(
    ("written", "utc"),
    [
        ("2026-05-03T09:41:00Z", datetime(2026, 5, 3, 9, 41, tzinfo=UTC)),
        ("2026-05-03T09:41:00+01:00", datetime(2026, 5, 3, 8, 41, tzinfo=UTC)),
        # Schema: "Date and time in are in Univeral Coordinated Time (UTC), not local time!"
        ("2026-05-03T09:41:00", datetime(2026, 5, 3, 9, 41, tzinfo=UTC)),
    ],
)
def test_times_are_utc_unless_they_say_otherwise(written: str, utc: datetime):
    track, _ = parse_track(gpx(walked(point(1, 2, written))), GPX)
    assert track.segments[0][0].at == utc


def test_a_track_without_times_is_kept_for_drawing_and_said():
    track, problems = parse_track(gpx(walked(point(1, 2), point(1.1, 2))), GPX)
    assert [fix.at for fix in track.segments[0]] == [None, None]
    assert "no times" in problems[0].what


@pytest.mark.parametrize(("lat", "lon"), [(90.1, 0), (-91, 0), (0, 180), (0, -180.5), ("nan", 0), ("", 0), ("1e1", 0)])
def test_positions_that_the_schema_excludes_are_left_out_and_counted(lat: object, lon: object):
    track, problems = parse_track(gpx(walked(point(lat, lon), point(-90, -180, "2026-05-03T09:41:00Z"))), GPX)
    assert len(track.segments[0]) == 1
    assert problems[0].what.startswith("1 point with no usable position")


def test_as_few_as_possible_are_left_out_where_time_goes_back():
    times = ["10:00", "10:01", "23:59", "10:02", "09:00", "10:03"]
    track, problems = parse_track(gpx(walked(*(point(1, 2, f"2026-05-03T{t}:00Z") for t in times))), GPX)
    assert [f"{fix.at:%H:%M}" for fix in track.segments[0]] == ["10:00", "10:01", "10:02", "10:03"]
    assert problems[0].what.startswith("2 points whose time goes back")


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b'<!DOCTYPE g [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>', "entities"),
        (b'<!DOCTYPE g SYSTEM "file:///etc/passwd"><gpx/>', "entities"),
        (b'<!DOCTYPE g [<!ENTITY x SYSTEM "file:///etc/passwd">]><gpx>&x;</gpx>', "entities"),
        (b"<gpx><trk>", "not well-formed"),
        (b"", "not well-formed"),
        (b"\xff\xfe\x00", "not well-formed"),
        (b'<?xml version="1.0" encoding="nonsense"?><gpx/>', ""),
        (b"<html/>", "not GPX"),
    ],
)
def test_broken_and_hostile_files_are_refused_in_words(data: bytes, said: str):
    track, problems = parse_track(data, GPX)
    assert track.segments == ()
    assert said in problems[0].what
    assert problems[0].level == "error"
    assert "passwd" not in problems[0].what


def test_deep_nesting_is_no_trouble():
    track, _ = parse_track(gpx("<extensions>" + "<a>" * 50_000 + "</a>" * 50_000 + "</extensions>"), GPX)
    assert track.segments == ()


@pytest.mark.parametrize("name", ["a xmlns='b'", 'x xmlns:ns="1" xmlns="2', " xmlns" * 300])
def test_a_name_that_looks_like_markup_stays_a_name(name: str):
    escaped = name.replace('"', "&quot;")
    track, problems = parse_track(gpx(f'<wpt lat="1" lon="2"><name>{escaped}</name></wpt>'), GPX)
    assert [w.name for w in track.waypoints] == [" ".join(name.split())[:LONGEST_NAME]]
    assert {p.what for p in problems} == set()


@pytest.mark.parametrize("time", ["9" * 1_000_000, "2026-05-03T" + "1" * 1_000_000, "x xmlns='b'", "-" * 30])
def test_a_time_that_is_none_costs_nothing(time: str):
    track, problems = parse_track(gpx(walked(point(1, 2, time))), GPX)
    assert track.segments[0][0].at is None
    assert "no times" in problems[0].what


def test_a_route_is_no_walk():
    track, problems = parse_track(gpx(f"<rte>{point(1, 2, name='rtept')}</rte>"), GPX)
    assert track.segments == ()
    assert "planned route" in problems[0].what


def test_a_day_without_a_track_and_one_with_too_much(tmp_path: Path):
    assert read_track(tmp_path) == (read_track(tmp_path)[0], ())
    with (tmp_path / "Track.GPX").open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    assert "larger than" in read_track(tmp_path)[1][0].what


def test_nothing_prints_a_position():
    track, problems = parse_track(
        gpx(point(53.71234, 0.62345, name="wpt") + walked(point(53.71234, 0.62345), point(953.71234, 0))), GPX
    )
    assert "71234" not in repr(track) + repr(problems)


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data: bytes):
    parse_track(data, GPX)


@given(
    st.lists(
        st.tuples(
            st.one_of(
                st.floats(-200, 200).map(repr), st.text(max_size=5).map(lambda t: "".join(filter(str.isalnum, t)))
            ),
            st.one_of(
                st.sampled_from(["", "2026-05-03T09:41:00+99:99", "0001-01-01T00:00:00+14:00", "9999-99-99T00:00:00Z"]),
                st.datetimes().map(lambda t: t.isoformat()),
            ),
        ),
        max_size=12,
    )
)
def test_fixes_are_on_earth_and_in_order(rows: list[tuple[str, str]]):
    track, _ = parse_track(gpx(walked(*(point(lat, 0.5, time) for lat, time in rows))), GPX)
    for segment in track.segments:
        times = [fix.at for fix in segment if fix.at]
        assert times == sorted(times)
        assert all(-90 <= fix.lat <= 90 for fix in segment)
