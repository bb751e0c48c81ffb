"""The log is read as people keep it. Headings and layouts: common practice, no source; CSV: RFC 4180."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from zipfile import ZipFile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.day.log import HEADINGS, read_log, read_year
from episode.errors import UnusableInput
from episode.models import Settings

DAY = Settings(date=dt.date(2026, 5, 3), time_zone="Europe/London")


def log(folder: Path, text: str | bytes, name: str = "finds.csv"):
    (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_log(folder, DAY)


def test_reads_untidy_headings_times_and_unknown_columns(tmp_path: Path):
    rows, problems = log(
        tmp_path,
        "\ufeffNo.;When;Item;Bag;From;To\r\n1;9:41;pipe bowl;A;1680;1710\r\n"
        '2;09.52;"pin; bent";A;;\r\n3;1:15;seal;B;55 BC;AD 43\r\n',
    )
    assert [r.find for r in rows] == ["1", "2", "3"]
    assert rows[0].time == dt.datetime.fromisoformat("2026-05-03T09:41:00+01:00")
    assert rows[0].other == {"Bag": "A"}
    assert (rows[0].from_, rows[0].to) == (1680, 1710)
    assert rows[1].object == "pin; bent"
    assert (rows[2].from_, rows[2].to) == (-54, 43)  # the contract's own examples of astronomical years
    assert rows[2].time == dt.datetime.fromisoformat("2026-05-03T13:15:00+01:00")
    said = [p.what for p in problems]
    assert any("Bag" in what for what in said)
    assert any("13:15" in what for what in said)


@pytest.mark.parametrize(
    ("cell", "reads"),
    [
        ("9:41", "09:41:00"),
        ("09.52", "09:52:00"),
        ("10:05am", "10:05:00"),
        ("10:05 p.m.", "22:05:00"),
        ("12:10 am", "00:10:00"),
        ("0941", "09:41:00"),
        ("14h20", "14:20:00"),
        ("9:41:30", "09:41:30"),
        ("2026-05-03T10:00:00", "10:00:00"),
        ("2026-05-03 10:00", "10:00:00"),
        ("2026-05-03T09:00:00Z", "10:00:00"),  # summer time in London is an hour ahead of UTC
        ("3/5/2026 10:15", "10:15:00"),
    ],
)
def test_times_as_people_write_them(tmp_path: Path, cell: str, reads: str):
    rows, problems = log(tmp_path, f"time,object\n{cell},pin\n")
    assert rows[0].time is not None
    assert rows[0].time.astimezone(dt.timezone(dt.timedelta(hours=1))).time().isoformat() == reads
    assert [p for p in problems if "time" in p.where] == []


@pytest.mark.parametrize("cell", ["25:10", "half nine", "9", "2026-02-30T10:00", "31/2/2026 9:00", "13:05pm"])
def test_a_bad_time_is_reported_and_the_row_is_kept(tmp_path: Path, cell: str):
    rows, problems = log(tmp_path, f"find,time,object\n7,{cell},pin\n")
    assert rows[0].time is None
    assert rows[0].object == "pin"
    assert rows[0].other == {"time": cell}
    assert any("row 2, column time" in p.where and cell in p.what and p.remedy for p in problems)


def test_reversed_years_are_left_out_but_not_lost(tmp_path: Path):
    rows, problems = log(tmp_path, "find,object,from,to\n1,pin,1800,1700\n2,seal,soon,\n")
    assert rows[0].from_ is None
    assert rows[0].other == {"from": "1800", "to": "1700"}
    assert rows[1].other == {"from": "soon"}
    assert len([p for p in problems if "row" in p.where and "row 1" not in p.where]) == 2


def test_a_row_without_a_number_gets_a_stand_in(tmp_path: Path):
    rows, problems = log(tmp_path, "find,object\n,pin\n")
    assert rows[0].find == "row 2"
    assert any("no find number" in p.what for p in problems)


def test_windows_text_is_read_and_said(tmp_path: Path):
    rows, problems = log(tmp_path, "find,object\n1,caf\xe9 cup \xa31\n".encode("cp1252"))
    assert rows[0].object == "café cup £1"
    assert any("Windows-1252" in p.what for p in problems)


def test_no_heading_for_the_object_is_unusable(tmp_path: Path):
    with pytest.raises(UnusableInput, match="no column says what was found"):
        log(tmp_path, "a,b\n1,2\n")


def test_two_logs_are_refused(tmp_path: Path):
    (tmp_path / "finds.tsv").write_text("find\tobject\n")
    with pytest.raises(UnusableInput, match="two find logs"):
        log(tmp_path, "find,object\n")


@pytest.mark.parametrize("data", [b"", b"\n\n", b"find,obj\x00ect\n"])
def test_empty_or_binary_is_refused_with_the_file_named(tmp_path: Path, data: bytes):
    with pytest.raises(UnusableInput) as caught:
        log(tmp_path, data)
    assert caught.value.where.startswith("finds.csv")
    assert caught.value.remedy


def test_spreadsheet_numbers_stay_whole_and_times_are_times(tmp_path: Path):
    openpyxl = pytest.importorskip("openpyxl")  # an independent writer of the format
    book = openpyxl.Workbook()
    book.active.append(["Find no", "Time", "Object", "From"])
    book.active.append([7, dt.time(9, 41), "clay pipe", 1680])
    book.active.append([8, dt.datetime(2026, 5, 3, 14, 5), "thimble", None])
    book.save(tmp_path / "finds.xlsx")
    rows, _ = read_log(tmp_path, DAY)
    assert [r.find for r in rows] == ["7", "8"]
    assert [f"{r.time:%H:%M}" for r in rows if r.time] == ["09:41", "14:05"]
    assert rows[0].from_ == 1680


def test_a_broken_spreadsheet_is_refused(tmp_path: Path):
    with ZipFile(tmp_path / "finds.xlsx", "w") as archive:
        archive.writestr("nothing.txt", "x")
    with pytest.raises(UnusableInput, match="cannot be read as a spreadsheet"):
        read_log(tmp_path, DAY)


def test_no_heading_stands_for_two_fields():
    every = [heading for headings in HEADINGS.values() for heading in headings]
    assert len(every) == len(set(every))


@given(st.binary(max_size=400))
@settings(max_examples=200, deadline=None)
def test_any_bytes_are_read_or_refused(tmp_path_factory: pytest.TempPathFactory, data: bytes):
    folder = tmp_path_factory.mktemp("log")
    try:
        rows, problems = log(folder, b"find,time,object,from,to\n" + data)
    except UnusableInput as error:
        assert error.where
    else:
        assert len({r.row for r in rows}) == len(rows)
        assert all(p.where and p.what for p in problems)


@given(st.text(max_size=30))
def test_year_cells_never_raise(cell: str):
    year = read_year(cell)
    assert year is None or -10000 < year <= 2200
