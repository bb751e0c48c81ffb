"""Tables as people save them: delimiters, encodings, broken rows."""

import csv
import io
import string
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from episode import sheets as reading
from episode.errors import UnusableInput
from episode.lexicon.table import read_table

CELL = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")) | st.sampled_from('\n,;"\t'), max_size=30)


def saved(folder: Path, data: bytes | str, name: str = "mine.csv") -> Path:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(rows=st.lists(st.lists(CELL, min_size=3, max_size=3), max_size=8), mark=st.sampled_from(",;\t"))
def test_what_a_csv_writer_wrote_is_read_back(tmp_path: Path, rows: list[list[str]], mark: str) -> None:
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, delimiter=mark)
    writer.writerows([["term", "also", "note"], *rows])
    table = read_table(saved(tmp_path, sheet.getvalue()))
    wanted = [[cell.strip() for cell in row] for row in rows]
    assert [list(row.cells.values()) for row in table.rows] == [row for row in wanted if any(row)]
    assert not table.problems


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(data=st.binary(max_size=300) | st.text(string.printable, max_size=300).map(str.encode))
def test_any_bytes_are_read_or_refused_with_a_place(tmp_path: Path, data: bytes) -> None:
    path = saved(tmp_path, data)
    try:
        table = read_table(path)
    except UnusableInput as error:
        assert "mine.csv" in error.where
        assert error.what
    else:
        assert table.headings or not table.rows


def test_mark_of_order_blank_lines_and_headings_in_capitals(tmp_path: Path) -> None:
    table = read_table(saved(tmp_path, b"\xef\xbb\xbf\r\n Term ,Heard_As\r\n\r\nsherd,shard\r\n"))
    assert table.headings == ("term", "heard_as")
    assert [(row.number, row.cells) for row in table.rows] == [(4, {"term": "sherd", "heard_as": "shard"})]


def test_utf16_from_a_spreadsheet(tmp_path: Path) -> None:
    table = read_table(saved(tmp_path, "term\tnote\nMinié ball\t–\n".encode("utf-16")))
    assert table.rows[0].cells == {"term": "Minié ball", "note": "–"}


def test_windows_1252_is_read_and_the_row_is_named(tmp_path: Path) -> None:
    table = read_table(saved(tmp_path, "term\nsherd\nMinié ball\n".encode("cp1252")))
    assert table.rows[1].cells["term"] == "Minié ball"
    (problem,) = table.problems
    assert problem.where.endswith("row 3")
    assert "Windows-1252" in problem.what


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "is empty"),
        (b"\n\n", "is empty"),
        (b"term\nsherd\0\n", "byte 0x00 in row 2"),
        (b"term\nok\n\x81\x8d\n", "in row 3 is not text"),
        (b'term,note\nsherd,"never closed' + b"x" * 150_000, "cannot be read"),
        (b"term\n" + b"x" * 30_000, "holds 30,000 characters"),
    ],
)
def test_what_cannot_be_read_says_where(tmp_path: Path, data: bytes, what: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_table(saved(tmp_path, data))
    assert what in caught.value.what


def test_too_large_and_too_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = saved(tmp_path, "term\n" + "sherd\n" * 50)
    monkeypatch.setattr(reading, "MOST_ROWS", 10)
    with pytest.raises(UnusableInput, match="more than 10 rows"):
        read_table(path)
    monkeypatch.setattr(reading, "LARGEST_BYTES", 20)
    with pytest.raises(UnusableInput, match="is larger than"):
        read_table(path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="no such file"):
        read_table(tmp_path / "gone.csv")
    with pytest.raises(UnusableInput, match="folder"):
        read_table(tmp_path)


def test_cells_beyond_the_headings_are_named_and_a_heading_twice(tmp_path: Path) -> None:
    table = read_table(saved(tmp_path, "term,note,note\nsherd,a,b,c\n"))
    assert [p.where.rsplit(", ", 1)[1] for p in table.problems] == ["row 1", "row 2"]
    assert table.rows[0].cells == {"term": "sherd", "note": "a"}


def test_a_file_that_only_says_it_is_a_spreadsheet(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput, match="cannot be read as a spreadsheet"):
        read_table(saved(tmp_path, "term\n", "mine.xlsx"))


def test_spreadsheet_keeps_whole_numbers_whole(tmp_path: Path) -> None:
    table = read_table(saved(tmp_path, spreadsheet([["term", "from"], ["creamware", 1762]]), "mine.xlsx"))
    assert table.rows[0].cells == {"term": "creamware", "from": "1762"}


def spreadsheet(rows: list[list[str | int]]) -> bytes:
    """A smallest workbook (ECMA-376) with inline strings."""
    import zipfile

    def cell(value: str | int) -> str:
        if isinstance(value, int):
            return f"<c><v>{value}</v></c>"
        return f'<c t="inlineStr"><is><t>{value}</t></is></c>'

    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    body = "".join(f"<row>{''.join(map(cell, row))}</row>" for row in rows)
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{office}"><sheets>'
        '<sheet name="a" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{office}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{body}</sheetData></worksheet>',
    }
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return data.getvalue()
