"""EXIF as CIPA DC-008 (Exif 2.32) defines its tags, written by Pillow and read back."""

from __future__ import annotations

import io
import struct
import zlib
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from episode.day.photos import describe, read_photos
from episode.models import LogEntry, Settings

SUMMER = Settings(time_zone="Europe/London")
TAKEN = {0x9003: "2026:05:03 10:00:12"}
GPS = {1: "N", 2: (53.0, 41.0, 43.8), 3: "W", 4: (0.0, 39.0, 19.3), 7: (9.0, 0.0, 11.5), 29: "2026:05:03"}


def picture(path: Path, exif: dict | None = None, gps: dict | None = None, main: dict | None = None, **how: object):
    path.parent.mkdir(exist_ok=True, parents=True)
    tags = Image.Exif()
    for tag, value in (main or {}).items():
        tags[tag] = value
    if exif:
        tags.get_ifd(0x8769).update(exif)
    if gps:
        tags.get_ifd(0x8825).update(gps)
    Image.new("RGB", (8, 8), "tan").save(path, exif=tags.tobytes(), **how)


def row(number: int, photo: str) -> LogEntry:
    return LogEntry(find=str(number), row=number, object="thing", photo=photo)


@pytest.mark.parametrize(
    ("tags", "utc"),
    [
        (TAKEN, datetime(2026, 5, 3, 9, 0, 12, tzinfo=UTC)),  # no zone: the log's
        ({**TAKEN, 0x9291: "25 "}, datetime(2026, 5, 3, 9, 0, 12, 250_000, tzinfo=UTC)),
        ({**TAKEN, 0x9011: "+02:00"}, datetime(2026, 5, 3, 8, 0, 12, tzinfo=UTC)),
        ({**TAKEN, 0x9011: "-03:30"}, datetime(2026, 5, 3, 13, 30, 12, tzinfo=UTC)),
        ({0x9004: "2026:05:03 10:00:12"}, datetime(2026, 5, 3, 9, 0, 12, tzinfo=UTC)),
        ({0x9003: "0000:00:00 00:00:00"}, None),
        ({0x9003: "    :  :     :  :  "}, None),  # the standard's own way of saying unknown
        ({}, None),
    ],
)
def test_time_of_taking(tags: dict, utc: datetime | None):
    photo = describe("a.jpg", {}, tags, {}, SUMMER)
    assert photo.at == utc


def test_satellites_win_over_the_camera_and_are_utc():
    photo = describe("a.jpg", {}, TAKEN, GPS, SUMMER)
    assert (photo.at, photo.clock) == (datetime(2026, 5, 3, 9, 0, 11, 500_000, tzinfo=UTC), "GPS")


def test_place_has_the_signs_of_its_hemispheres():
    photo = describe("a.jpg", {}, {}, {**GPS, 1: "S"}, SUMMER)
    assert (photo.lat, photo.lon) == pytest.approx((-(53 + 41 / 60 + 43.8 / 3600), -(39 / 60 + 19.3 / 3600)))


@pytest.mark.parametrize(
    "change",
    [{1: "X"}, {2: (91.0, 0.0, 0.0)}, {2: (53.0, 60.0, 0.0)}, {2: (float("nan"), 0.0, 0.0)}, {4: "0"}, {4: (1.0,)}],
)
def test_a_place_that_makes_no_sense_is_none(change: dict):
    assert describe("a.jpg", {}, {}, {**GPS, **change}, SUMMER).lat is None


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.tif", "a.heic"])
def test_every_kind_of_file_tells_time_place_and_orientation(tmp_path: Path, name: str):
    if name.endswith("heic"):
        from pillow_heif import register_heif_opener

        register_heif_opener()
    picture(tmp_path / "photos" / name, TAKEN, GPS, {0x0112: 6})
    photos, problems = read_photos(tmp_path, (row(2, "A"),), SUMMER)
    assert problems == ()
    photo = photos.by_row[2][0]
    assert photo.at == datetime(2026, 5, 3, 9, 0, 11, 500_000, tzinfo=UTC)
    assert (photo.lat, photo.lon) == pytest.approx((53.695500, -0.655361), abs=1e-5)
    # A HEIC turns the picture itself and says 1.
    assert photo.orientation == (1 if name.endswith("heic") else 6)


def test_rows_name_photographs_in_their_own_way(tmp_path: Path):
    for name in ("IMG_1.JPG", "IMG_2.jpg", "bag/é.jpg", "twice.jpg", "bag/twice.jpg", "x.jpg", "x.png", "left.jpg"):
        picture(tmp_path / "photos" / name, TAKEN)
    log = (
        row(2, "img_1; IMG_2.JPG, photos/bag/e\u0301.jpg"),
        row(3, "twice.jpg;bag/twice"),
        row(4, "x"),
        row(5, "gone.jpg, ../../etc/passwd"),
        row(6, ""),
    )
    photos, problems = read_photos(tmp_path, log, SUMMER)
    named = {number: [p.name for p in found] for number, found in photos.by_row.items()}
    assert named == {2: ["IMG_1.JPG", "IMG_2.jpg", "bag/é.jpg"], 3: ["twice.jpg", "bag/twice.jpg"]}
    assert photos.missing == ((4, "x"), (5, "gone.jpg"), (5, "../../etc/passwd"))
    assert photos.unnamed == ("left.jpg", "x.jpg", "x.png")
    assert [p.where for p in problems] == ["find log, row 4", *["find log, row 5"] * 2]
    assert "x.jpg, x.png" in problems[0].what
    assert photos.times == dict.fromkeys((2, 3), datetime(2026, 5, 3, 9, 0, 12, tzinfo=UTC))


def test_broken_and_hostile_files_are_reported(tmp_path: Path):
    folder = tmp_path / "photos"
    folder.mkdir()
    (folder / "broken.jpg").write_bytes(b"\xff\xd8\xff\xe1\x00\x10Exif\0\0MM\0")
    (folder / "text.png").write_text("no picture")
    (folder / "bomb.png").write_bytes(png(60_000, 60_000))
    (folder / "large.png").write_bytes(png(8_000, 8_000))
    log = tuple(row(n, name) for n, name in enumerate(("broken", "text", "bomb", "large"), start=2))
    photos, problems = read_photos(tmp_path, log, SUMMER)
    said = {p.where: p.what for p in problems}
    assert set(said) == {f"photos/{n}" for n in ("broken.jpg", "text.png", "bomb.png", "large.png")}
    assert "so many pixels" in said["photos/bomb.png"]
    assert "50 million" in said["photos/large.png"]
    assert photos.times == {}


def png(wide: int, high: int) -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 64)) + chunk(b"IEND", b"")
    )


def test_nothing_prints_a_position(tmp_path: Path):
    picture(tmp_path / "photos" / "a.jpg", TAKEN, GPS)
    photos, problems = read_photos(tmp_path, (row(2, "a"),), SUMMER)
    assert "53.6" not in repr(photos) + repr(problems)


ANYTHING = st.one_of(
    st.none(), st.text(max_size=24), st.binary(max_size=24), st.integers(), st.floats(), st.tuples(*[st.floats()] * 3)
)


@given(
    *[
        st.dictionaries(st.sampled_from(keys), ANYTHING)
        for keys in ([0x0112], [0x9003, 0x9291, 0x9011, 0x9004], [1, 2, 3, 4, 7, 29])
    ]
)
def test_any_tags_give_a_photograph(main: dict, exif: dict, gps: dict):
    photo = describe("a.jpg", main, exif, gps, SUMMER)
    assert photo.at is None or photo.at.tzinfo is not None


@given(st.binary(max_size=200), st.integers(0, 200))
def test_any_damage_is_read_or_reported(tmp_path: Path, noise: bytes, at: int):
    whole = io.BytesIO()
    tags = Image.Exif()
    tags.get_ifd(0x8769).update(TAKEN)
    tags.get_ifd(0x8825).update(GPS)
    Image.new("RGB", (8, 8)).save(whole, "JPEG", exif=tags.tobytes())
    data = bytearray(whole.getvalue())
    data[at : at + len(noise)] = noise
    (tmp_path / "photos").mkdir(exist_ok=True)
    (tmp_path / "photos" / "a.jpg").write_bytes(data)
    read_photos(tmp_path, (row(2, "a"),), SUMMER)
