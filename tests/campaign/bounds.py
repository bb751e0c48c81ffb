"""Ask every reader for more time and memory than it may take, and print what it said.

    python -m tests.campaign.bounds            every case, a few minutes
    python -m tests.campaign.bounds skos edl   those whose names hold one of the words

Each case runs in a process of its own that may take 3 GiB and 120 s of a processor; one that dies of it, or raises
anything but an error for the person, fails the campaign.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import struct
import sys
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from episode.errors import EpisodeError
from episode.models import LogEntry, Settings

MOST_MEMORY = 3 << 30
MOST_SECONDS = 120
SETTINGS = Settings(date=dt.date(2026, 5, 3), time_zone="Europe/London")

Case = Callable[[Path], object]
CASES: dict[str, Case] = {}


class Came(NamedTuple):
    """What a case came to: ``read``, ``refused`` or how it failed; a processor's seconds; MiB at most."""

    how: str
    said: str
    seconds: float
    memory: int

    @property
    def bounded(self) -> bool:
        return self.how in {"read", "refused"}


def run(name: str, folder: Path) -> Came:
    """Run one case in a process of its own (POSIX)."""
    import resource

    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        most = MOST_MEMORY + held()
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        try:
            told = f"read\t{CASES[name](folder)}"
        except EpisodeError as error:
            told = f"refused\t{error}" if error.where else f"has no place\t{error}"
        except BaseException as error:
            told = f"raised\t{type(error).__name__}: {error}"
        os.write(writing, told[:3000].encode("utf-8", "replace"))
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        told = pipe.read().decode("utf-8", "replace")
    _, status, used = os.wait4(child, 0)
    how, _, said = told.partition("\t")
    if status:
        how = "died"
    return Came(how, " / ".join(said.split("\n")), used.ru_utime + used.ru_stime, used.ru_maxrss // 1024)


def held() -> int:
    """Bytes of address space that this process has before anything is read."""
    pages = Path("/proc/self/statm")
    return int(pages.read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE") if pages.exists() else 0


def case(name: str) -> Callable[[Case], Case]:
    def keep(function: Case) -> Case:
        CASES[name] = function
        return function

    return keep


def written(path: Path, data: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


# The find log


def log(name: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.day.log import read_log

        written(folder / ("finds.xlsx" if "XLSX" in name else "finds.csv"), data())
        rows, problems = read_log(folder, SETTINGS)
        return f"{len(rows):,} rows, {len(problems)} problems"


log("log, 200 MB", lambda: b"find,time,object\n" + b"1,9:41,pipe\n" * 17_000_000)
log("log, 4 million rows", lambda: b"find,time,object\n" + b"1,9:41,pipe\n" * 4_000_000)
log("log, 4,900 rows", lambda: b"find,time,object\n" + b"1,9:41,pipe\n" * 4_900)
log("log, a cell of 1 MB", lambda: b"find,object\n1," + b"a" * 1_000_000)
log("log, a row of 49 million cells", lambda: b"find,object\n1" + b"," * 49_000_000 + b"x")
log("log, 49 million empty lines", lambda: b"\n" * 49_000_000)
log("log, a quotation that never ends", lambda: b'find,object\n1,"' + b'a\n""' * 12_000_000)
log("log, cells of lines in one row", lambda: b"find,object\n1," + b'"\n",' * 12_000_000)
log("log, 900 headings", lambda: b"find,object" + b",h" * 900 + b"\n" + (b"x," * 900 + b"\n") * 4_000)
log("log, a time of 19,000 digits", lambda: b"find,time,object\n1," + b"9" * 19_000 + b",pipe\n")
log("log, a year of 19,000 digits", lambda: b"find,from,object\n1," + b"9" * 19_000 + b",pipe\n")
log("log, a time of a million digits", lambda: b"find,time,object\n1," + b"9" * 1_000_000 + b",pipe\n")
log("XLSX, 10 GB in a zip", lambda: workbook(b'<row r="1"><c r="A1"><v>1</v></c></row>', unpacked=10**10))
log("XLSX, a cell in the far corner", lambda: workbook(cells("A1", "XFD1048576")))
log("XLSX, a cell far off", lambda: workbook(cells("A1", "BZZ20000")))
log("XLSX, one long text 80,000 times", lambda: workbook(repeated(80_000), shared=b"a" * 19_000))
log("XLSX, entities", lambda: workbook(cells("A1"), before=laughs("worksheet")))
log("XLSX, nested deep", lambda: workbook(b"<row>" * 200_000))


def workbook(sheet: bytes, *, shared: bytes = b"", before: bytes = b"", unpacked: int = 0) -> bytes:
    """The least that readers take for an XLSX file (ECMA-376); ``unpacked`` is the size that it claims for the sheet."""
    main = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    there = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    parts = {
        "[Content_Types].xml": b'<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        b'<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        b'<Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.'
        b'spreadsheetml.sheet.main+xml"/></Types>',
        "_rels/.rels": b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        b'<Relationship Id="r1" Type="%s/officeDocument" Target="xl/workbook.xml"/></Relationships>' % there,
        "xl/workbook.xml": b'<workbook xmlns="%s" xmlns:r="%s"><sheets><sheet name="a" sheetId="1" r:id="r1"/></sheets>'
        b"</workbook>" % (main, there),
        "xl/_rels/workbook.xml.rels": b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        b'<Relationship Id="r1" Type="%s/worksheet" Target="worksheets/sheet1.xml"/>'
        b'<Relationship Id="r2" Type="%s/sharedStrings" Target="sharedStrings.xml"/></Relationships>' % (there, there),
        "xl/sharedStrings.xml": b'<sst xmlns="%s"><si><t>%s</t></si></sst>' % (main, shared),
        "xl/worksheets/sheet1.xml": before
        + b'<worksheet xmlns="%s"><sheetData>%s</sheetData></worksheet>' % (main, sheet),
    }
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
        if unpacked:
            archive.writestr("xl/media/a.bin", bytes(unpacked // 1000))  # a thousandth, which is enough to be refused
            archive.infolist()[-1].file_size = min(unpacked, 2**32 - 2)
    return packed.getvalue()


def cells(*places: str) -> bytes:
    rows = ((place.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"), place) for place in places)
    return b"".join(f'<row r="{row}"><c r="{place}"><v>1</v></c></row>'.encode() for row, place in rows)


def repeated(times: int) -> bytes:
    return b"".join(b'<row r="%d"><c r="A%d" t="s"><v>0</v></c></row>' % (at, at) for at in range(1, times))


def laughs(root: str) -> bytes:
    """Entities of entities, a billion at the end."""
    entities = b"".join(b'<!ENTITY a%d "%s">' % (at, (b"&a%d;" % (at - 1) if at else b"ha") * 10) for at in range(10))
    return b"<?xml version='1.0'?><!DOCTYPE %s [%s]>" % (root.encode(), entities)


# Settings, decisions, references, templates


def settings(name: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.day.settings import read_settings

        written(folder / "episode.toml", data())
        return read_settings(folder).title[:20]


settings("settings, 200 MB", lambda: b"#" * 200_000_000)
settings("settings, nested arrays", lambda: b"a=" + b"[" * 49_000 + b"]" * 49_000)
settings("settings, nested tables", lambda: b"a=" + b"{a=" * 20_000 + b"1" + b"}" * 20_000)
settings("settings, a dotted key of 49,000", lambda: b".".join([b"a"] * 49_000) + b"=1")
settings("settings, a quoted dotted key", lambda: b'a={"b c" . ' * 1 + b'"b c" . ' * 10_000 + b"d=1}")
settings("settings, a number of 99,000 digits", lambda: b"x=" + b"9" * 99_000)
settings("settings, a date of 99,000 digits", lambda: b"date=" + b"9" * 99_000)
settings("settings, 9,000 unknown keys", lambda: b"\n".join(b"key%d=1" % at for at in range(9_000)))


def decisions(name: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.day.decisions import read_decisions

        written(folder / "decisions.jsonl", data())
        made, problems = read_decisions(folder)
        return f"{len(made):,} decisions, {len(problems)} problems"


LINE = b'{"action":"accept","clip":"a","start":1,"end":2}\n'
decisions("decisions, 200 MB", lambda: LINE * 4_200_000)
decisions("decisions, a million", lambda: LINE * 1_000_000)
decisions("decisions, 99,000", lambda: LINE * 99_000)
decisions("decisions, 99,000 of junk", lambda: b"x\n" * 99_000)
decisions("decisions, nested lists", lambda: b"[" * 5_000_000)
decisions("decisions, nested objects", lambda: b'{"value":' * 2_000_000)
decisions("decisions, a time of a million digits", lambda: LINE.replace(b":1,", b":" + b"9" * 1_000_000 + b","))
decisions(
    "decisions, a value of 45 MB",
    lambda: LINE.replace(b"accept", b"rename").replace(b"}", b',"value":"' + b"a" * 45_000_000 + b'"}'),
)


def references(name: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.day.references import read_references

        written(folder / "references.csv", data())
        return f"{len(read_references(folder)[0]):,} rows"


references("references, 200 MB", lambda: b"claim,reference\n" + b"a,b\n" * 50_000_000)


def template(name: str, text: str) -> None:
    @case(name)
    def read(_: Path) -> object:
        from episode.drafting.forms import fill

        return len(fill("description.txt", text, {"chapters": ["x"] * 1000, "title": "t" * 1000}))


template(
    "template, loops in loops",
    "{% for a in chapters %}{% for b in chapters %}{% for c in chapters %}x{% endfor %}{% endfor %}{% endfor %}",
)
template("template, two loops", "{% for a in chapters %}{% for b in chapters %}{{ title }}{% endfor %}{% endfor %}")
template("template, a product", "{{ 'a' * 10000000000 }}")
template("template, a power", "{{ 9 ** 9 ** 9 }}")
template("template, padding", "{{ '%10000000000d' % 1 }}{{ 'a'.ljust(10000000000) }}")
template("template, a range", "{% for a in range(10000000000) %}x{% endfor %}")
template("template, nested deep", "(".join("{{" + "(" * 40_000 for _ in range(1)) + "1" + ")" * 40_000 + "}}")
template("template, a list that doubles", "{% set a = chapters %}" + "{% set a = a + a %}" * 60 + "{{ a | length }}")
template("template, a text that doubles", "{% set a = title %}" + "{% set a = a ~ a %}" * 60 + "{{ a | length }}")
template(
    "template, a block that doubles",
    "{% set a = title %}" + "{% set a %}{{ a }}{{ a }}{% endset %}" * 60 + "{{ a | length }}",
)
template("template, a list in a list", "{% set a = title %}" + "{% set a = [a, a] %}" * 60 + "{{ a }}")
template(
    "template, loops over itself",
    "{% for a in [" + "chapters," * 9_000 + "] %}{% for b in a %}{% endfor %}{% endfor %}",
)
template("template, wide", "{{ title.ljust(10000000000) }}")
template("template, joining", "{{ chapters" + " | join(title)" * 9 + " }}")
template(
    "template, replacing", "{% set a = title %}" + "{% set a = a | replace('t', title) %}" * 6 + "{{ a | length }}"
)


# Transcripts beside the clips


def transcript(name: str, ending: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.footage.standins import last_cue_end
        from episode.speech.subtitles import read_subtitles

        path = written(folder / f"a.{ending}", data())
        last_cue_end(path)
        segments, _ = read_subtitles(path, "a.mp4", None)
        return f"{len(segments):,} segments, {sum(len(one.words) for one in segments):,} words"


CUE = b"00:00:01,000 --> 00:00:02,000\n"
transcript("captions, 200 MB", "srt", lambda: (CUE + b"hello there\n\n") * 4_700_000)
transcript("captions, 220,000 at one time", "srt", lambda: (CUE + b"hello there\n\n") * 220_000)
transcript(
    "captions, 160,000 in their order", "srt",
    lambda: b"".join(b"%02d:%02d:%02d,0 --> 167:00:00,0\nwell %d\n\n" % (at // 3600, at // 60 % 60, at % 60, at) for at in range(160_000)),
)  # fmt: skip
transcript("captions, one of 1.4 million words", "srt", lambda: CUE + b"hello " * 1_400_000)
transcript("captions, one of 300,000 lines", "srt", lambda: CUE + b"hello there you\n" * 300_000)
transcript("captions, one word of 9 MB", "srt", lambda: CUE + b"a" * 9_900_000)
transcript("captions, tags never closed", "srt", lambda: CUE + b"<a " * 3_000_000)
transcript("captions, braces never closed", "srt", lambda: CUE + b"{\\a" * 3_000_000)
transcript(
    "captions, spaces around an arrow", "srt", lambda: CUE[:-1] + b" " * 4_900_000 + b"x\n" + b" " * 4_900_000 + b"-->"
)
transcript("captions, references to letters", "srt", lambda: CUE + b"&amp;&#x41;&#9999999999;" * 400_000)
transcript("captions, brackets", "srt", lambda: CUE + (b"[" * 60 + b"\n") * 160_000)
transcript(
    "captions, times inside a line", "vtt", lambda: b"WEBVTT\n\n00:01.000 --> 00:02.000\n" + b"<00:01.500>a " * 700_000
)
transcript("captions, all overlapping", "vtt", lambda: b"WEBVTT\n\n" + b"00:01.000 --> 10:00.000\na b\n\n" * 300_000)
transcript(
    "captions, a time of a million digits", "srt", lambda: b"0" * 1_000_000 + b":00:01,000 --> 00:00:02,000\na\n"
)
transcript("captions, null bytes", "srt", lambda: CUE + bytes(9_000_000))
transcript("paragraphs at one time", "txt", lambda: b"[0:01] a\n" * 490_000)
transcript(
    "paragraphs in their order", "txt",
    lambda: b"".join(b"[%d:%02d:%02d] a\n" % (at // 3600, at // 60 % 60, at % 60) for at in range(490_000)),
)  # fmt: skip
transcript("paragraphs, 9 MB of empty lines", "txt", lambda: b"\n" * 9_900_000 + b"[0:01] a\n")
transcript("paragraphs, 9 MB of blanks", "txt", lambda: b"[0:01] a\n" + b"\t" * 9_900_000)


# Track and photographs


def track(name: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.day.track import read_track

        written(folder / "track.gpx", data())
        found, problems = read_track(folder)
        return f"{sum(map(len, found.segments)):,} points; " + "; ".join(problem.what for problem in problems)


POINT = b'<trkpt lat="1" lon="1"><time>2026-05-03T09:%02d:%02dZ</time></trkpt>'
track("track, 200 MB", lambda: b"<gpx><trk>" + b'<trkpt lat="1" lon="1"/>' * 8_400_000 + b"</trk></gpx>")
track("track, 800,000 points", lambda: b"<gpx><trk>" + b'<trkpt lat="1" lon="1"/>' * 800_000 + b"</trk></gpx>")
track(
    "track, 199,000 timed points",
    lambda: b"<gpx><trk>" + b"".join(POINT % (at // 60 % 60, at % 60) for at in range(199_000)) + b"</trk></gpx>",
)
track("track, a million laughs", lambda: laughs("gpx") + b"<gpx>&a9;</gpx>")
track("track, nested deep", lambda: b"<gpx>" + b"<a>" * 2_800_000 + b"</a>" * 2_800_000 + b"</gpx>")
track("track, a million attributes", lambda: b"<gpx " + b" ".join(b'a%d="1"' % at for at in range(1_500_000)) + b"/>")
track(
    "track, a time of 19 million digits",
    lambda: b'<gpx><trk><trkpt lat="1" lon="1"><time>' + b"9" * 19_000_000 + b"</time></trkpt></trk></gpx>",
)
track(
    "track, a latitude of 19 million digits",
    lambda: b'<gpx><trk><trkpt lat="' + b"9" * 19_000_000 + b'" lon="1"/></trk></gpx>',
)
track(
    "track, names full of namespaces",
    lambda: b'<gpx><wpt lat="1" lon="1"><name>' + b" xmlns" * 3_000_000 + b"</name></wpt></gpx>",
)


def photograph(name: str, ending: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.day.photos import read_photos

        written(folder / "photos" / f"a.{ending}", data())
        _, problems = read_photos(folder, [LogEntry(row=2, find="1", photo="a")], SETTINGS)
        return "; ".join(problem.what for problem in problems) or "no problem"


photograph("picture, 100,000 by 100,000 PNG", "png", lambda: png(100_000, 100_000, zlib.compress(bytes(100_000))))
photograph("picture, 7,000 by 7,000 PNG", "png", lambda: png(7_000, 7_000, zlib.compress(bytes(7_001 * 7_000))))
photograph("picture, 16,000 by 16,000 PNG", "png", lambda: png(16_000, 16_000, zlib.compress(bytes(16_001 * 16_000))))
photograph("picture, 16,000 by 16,000 JPEG", "jpg", lambda: jpeg(16_000, 16_000))
photograph("picture, 16,000 by 16,000 TIFF", "tif", lambda: tiff(16_000, 16_000))
photograph("picture, 65,535 by 65,535 JPEG", "jpg", lambda: jpeg(65_535, 65_535))
photograph("picture, 100,000 by 100,000 TIFF", "tif", lambda: tiff(100_000, 100_000))
photograph(
    "picture, EXIF of a billion values",
    "jpg",
    lambda: jpeg(16, 16, exif=ifd(b"\x92\x86\x00\x07" + struct.pack(">II", 2**32 - 1, 8))),
)
photograph(
    "picture, EXIF that leads to itself",
    "jpg",
    lambda: jpeg(16, 16, exif=ifd(b"\x87\x69\x00\x04" + struct.pack(">II", 1, 8))),
)
photograph(
    "picture, text packed a thousandfold",
    "png",
    lambda: png(16, 16, zlib.compress(bytes(17 * 16)), text=zlib.compress(bytes(500_000_000))),
)


def png(width: int, height: int, pixels: bytes, text: bytes = b"") -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    told = chunk(b"zTXt", b"a\0\0" + text) if text else b""
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + told + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")


def jpeg(width: int, height: int, exif: bytes = b"") -> bytes:
    told = b"\xff\xe1" + struct.pack(">H", len(exif) + 8) + b"Exif\0\0" + exif if exif else b""
    return (
        b"\xff\xd8" + told + b"\xff\xc0" + struct.pack(">HBHHBBBB", 11, 8, height, width, 1, 1, 0x11, 0) + b"\xff\xd9"
    )


def ifd(*entries: bytes) -> bytes:
    return b"MM\0*\0\0\0\x08" + struct.pack(">H", len(entries)) + b"".join(entries) + bytes(4)


def tiff(width: int, height: int) -> bytes:
    tags = ((256, width), (257, height), (258, 8), (259, 1), (262, 1), (273, 8), (278, height), (279, 10**9))
    return ifd(*(struct.pack(">HHII", tag, 4, 1, value) for tag, value in tags))


# Vocabularies


def thesaurus(name: str, ending: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.lexicon.skos import import_skos

        count, problems = import_skos(written(folder / f"a{ending}", data()), folder / "a.csv")
        return f"{count:,} terms, {len(problems)} problems"


SKOS = b"http://www.w3.org/2004/02/skos/core#"
RDF = b'<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:skos="%s">' % SKOS
LABEL = b'<skos:Concept rdf:about="urn:a%d"><skos:prefLabel>term %d</skos:prefLabel></skos:Concept>'
thesaurus("skos, 200 MB", ".ttl", lambda: b"#" * 200_000_000)
thesaurus("skos, a billion laughs", ".rdf", lambda: laughs("rdf:RDF") + RDF + LABEL % (1, 1) + b"&a9;</rdf:RDF>")
thesaurus(
    "skos, an outside entity",
    ".rdf",
    lambda: b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + RDF + b"&a;</rdf:RDF>",
)
thesaurus(
    "skos, laughs in UTF-16", ".rdf", lambda: (laughs("rdf:RDF") + RDF + b"&a9;</rdf:RDF>").decode().encode("utf-16")
)
thesaurus(
    "skos, RDF/XML of 15 MB", ".rdf", lambda: RDF + b"".join(LABEL % (at, at) for at in range(165_000)) + b"</rdf:RDF>"
)
thesaurus(
    "skos, Turtle of 15 MB",
    ".ttl",
    lambda: b"".join(b'<urn:a%d> <%sprefLabel> "term %d" .\n' % (at, SKOS, at) for at in range(190_000)),
)
thesaurus("skos, nested XML", ".rdf", lambda: RDF + b"<skos:a>" * 1_000_000)
thesaurus("skos, nested Turtle", ".ttl", lambda: b"<a> <b> " + b"[<b> " * 1_000_000)
thesaurus("skos, nested lists in Turtle", ".ttl", lambda: b"<a> <b> " + b"(" * 1_000_000)
thesaurus("skos, nested JSON-LD", ".jsonld", lambda: b"[" * 1_000_000)
thesaurus("skos, JSON-LD nested 900 deep", ".jsonld", lambda: b'{"urn:a":' * 900 + b"1" + b"}" * 900)
thesaurus("skos, an outside context", ".jsonld", lambda: b'{"@context":"http://127.0.0.1:9/","@id":"urn:a"}')
thesaurus("skos, a number of a million digits", ".jsonld", lambda: b'{"urn:a":' + b"9" * 1_000_000 + b"}")
thesaurus("skos, one name of 15 MB", ".ttl", lambda: b'<urn:a> <%sprefLabel> "' % SKOS + b"a" * 15_000_000 + b'" .')


@case("vocabulary, 200 MB")
def _vocabulary(folder: Path) -> object:
    from episode.lexicon.packs import load_lexicon

    path = written(folder / "own.csv", b"term,kind\n" + b"glass float,object\n" * 10_500_000)
    return len(load_lexicon((), (path,)).terms)


# Timelines


def timeline(name: str, ending: str, data: Callable[[], bytes]) -> None:
    @case(name)
    def read(folder: Path) -> object:
        from episode.cutting.timeline import read_timeline

        return f"{len(read_timeline(written(folder / f'cut.{ending}', data()), ()).pieces):,} pieces"


EVENT = b"%03d  A001     V     C        00:00:%02d:00 00:00:%02d:00 01:%02d:%02d:00 01:%02d:%02d:00\n"
timeline("edl, 200 MB", "edl", lambda: b"TITLE: x\n" * 23_000_000)
timeline(
    "edl, 3,500 events", "edl",
    lambda: b"".join(EVENT % (at, at % 60, at % 60 + 1, at // 60, at % 60, (at + 1) // 60, (at + 1) % 60) for at in range(3_500)),
)  # fmt: skip
timeline("edl, lines of blanks", "edl", lambda: (b"1 " + b" a" * 195 + b"\n") * 20_000)
timeline("edl, an event of a million digits", "edl", lambda: b"9" * 1_000_000 + EVENT % (1, 1, 2, 1, 1, 1, 2))
timeline("otio, nested deep", "otio", lambda: b'{"OTIO_SCHEMA":"Timeline.1","tracks":' * 100_000)
timeline("otio, nested 900 deep", "otio", lambda: b'{"OTIO_SCHEMA":"Stack.1","children":[' * 450 + b"]}" * 450)
timeline("otio, 200 MB", "otio", lambda: b'{"OTIO_SCHEMA":"Timeline.1"' + b" " * 200_000_000 + b"}")
timeline("otio, 20,000 clips", "otio", lambda: otio(20_000))
timeline(
    "otio, a number of a million digits", "otio", lambda: b'{"OTIO_SCHEMA":"Timeline.1","a":' + b"9" * 1_000_000 + b"}"
)


def otio(count: int) -> bytes:
    clip = (
        b'{"OTIO_SCHEMA":"Clip.1","name":"A","source_range":{"OTIO_SCHEMA":"TimeRange.1","start_time":{"OTIO_SCHEMA":'
        b'"RationalTime.1","rate":25,"value":0},"duration":{"OTIO_SCHEMA":"RationalTime.1","rate":25,"value":5}}}'
    )
    track = b'{"OTIO_SCHEMA":"Track.1","kind":"Video","children":[' + b",".join([clip] * count) + b"]}"
    return b'{"OTIO_SCHEMA":"Timeline.1","tracks":{"OTIO_SCHEMA":"Stack.1","children":[' + track + b"]}}"


# Words


def words(name: str, text: Callable[[], str]) -> None:
    @case(name)
    def read(_: Path) -> object:
        from episode.record.dates import read_dates

        return f"{len(read_dates(text(), filmed=SETTINGS.date)):,} dates"


words("date of a million digits", lambda: "in " + "9" * 1_000_000)
words("date of a million words", lambda: "seventeen hundred and " * 250_000)
words("date of Roman numerals", lambda: "M" * 1_000_000)
words("dates, a million hyphens", lambda: "1760" + "-" * 1_000_000)


def main() -> int:
    wanted = sys.argv[1:]
    failed = 0
    print("| case | came to | s | MiB | said |\n| --- | --- | --- | --- | --- |")
    for name in CASES:
        if wanted and not any(word in name for word in wanted):
            continue
        with tempfile.TemporaryDirectory() as folder:
            came = run(name, Path(folder))
            failed += not came.bounded
            said = came.said.replace(folder + "/", "")
            print(f"| {name} | {came.how} | {came.seconds:.1f} | {came.memory} | {said[:110]} |", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
