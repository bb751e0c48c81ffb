"""Feed a reader bytes that were bred to reach new code in it.

    python -m tests.campaign.fuzz captions --seconds 1800
    python -m tests.campaign.fuzz log --seconds 1800 --corpus /somewhere/log

Needs the extra ``fuzz`` (atheris, which drives libFuzzer). A reader may read or refuse; anything else that it
raises, and any input that takes it longer than ten seconds or two gigabytes, stops the run and is kept as a file
beside the corpus. libFuzzer prints executions (``#``), edges covered (``cov``) and features (``ft``).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

LARGEST = 4096
"""Bytes of an input; what only more of the same would show is for tests/test_bounds.py."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target", choices=sorted(TARGETS))
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--corpus", type=Path, help="kept between runs; a new folder otherwise")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    import atheris

    # Ours alone: libraries bring their own tests, and counting their edges would slow every run.
    with atheris.instrument_imports(include=["episode", "csv", "tomllib", "json"]):
        reader, seeds = TARGETS[asked.target]()
    corpus = asked.corpus or Path(tempfile.mkdtemp(prefix=f"fuzz-{asked.target}-"))
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(seeds):
        (corpus / f"seed-{number}").write_bytes(seed)
    options = [f"-max_total_time={asked.seconds}", f"-max_len={LARGEST}", "-timeout=10", "-rss_limit_mb=2048"]
    options += [f"-seed={asked.seed}", f"-artifact_prefix={corpus.parent}/{asked.target}-", "-print_final_stats=1"]
    atheris.Setup([sys.argv[0], *options, str(corpus)], reader)
    atheris.Fuzz()


Target = tuple[Callable[[bytes], None], list[bytes]]


def _scratch(target: str) -> Path:
    # Readers take paths; a file in memory costs little. One folder a target, for libFuzzer leaves without tidying.
    memory = Path("/dev/shm")
    folder = (memory if memory.is_dir() else Path(tempfile.gettempdir())) / f"fuzz-{target}"
    folder.mkdir(exist_ok=True)
    return folder


def captions() -> Target:
    """Captions and transcripts beside the clips: fetched from anywhere, so the most hostile of all."""
    from episode.errors import UnusableInput
    from episode.footage.standins import last_cue_end
    from episode.speech.subtitles import read_subtitles

    folder = _scratch("captions")
    paths = [folder / name for name in ("a.srt", "a.vtt", "a.txt")]

    def read(data: bytes) -> None:
        if not data:
            return
        path = paths[data[0] % 3]
        path.write_bytes(data[1:])
        last_cue_end(path)
        try:
            segments, _ = read_subtitles(path, "a.mp4", None if data[0] & 4 else 60.0)
        except UnusableInput as error:
            assert error.where
            return
        for one in segments:
            assert one.words
            assert one.start <= one.end

    return read, [
        b"\x001\n00:00:01,000 --> 00:00:02,500\n<i>A clay pipe</i>\n\n2\n00:00:03,000 --> 00:00:04,000\n{\\an8}bowl\n",
        b"\x01WEBVTT\n\nNOTE x\n\n00:01.000 --> 00:03.000 align:start\n<v Ann>A<00:02.000><c> pipe</c> &amp; more\n",
        b"\x02[0:02] A clay pipe bowl.\n\n[1:00:20.5] And a musket ball,\nthat's lead.\n",
    ]


def log() -> Target:
    """The find log: CSV of any dialect, headings, clock times and years."""
    import datetime as dt

    from episode.day.log import find_log, read_log
    from episode.errors import UnusableInput
    from episode.models import Settings

    folder = _scratch("log")
    settings = Settings(date=dt.date(2026, 5, 3), time_zone="Europe/London")

    def read(data: bytes) -> None:
        (folder / "finds.csv").write_bytes(data)
        assert find_log(folder)
        try:
            rows, problems = read_log(folder, settings)
        except UnusableInput as error:
            assert error.where
            return
        assert len({row.row for row in rows}) == len(rows)
        assert all(problem.where and problem.what for problem in problems)

    return read, [
        b'find,time,object,from,to,notes\n1,9:41,clay pipe,c. 1680,AD 1710,"a ""b"""\n2,2pm,jug,55 BC,,\n',
        "\ufeffNo;When;What;Grid\n1;2026-05-03T09:41+01:00;pipe;TQ 123 456\n2;3/5/2026 9.41;jug;\n".encode(),
        "find\ttime\n1\t0941 hrs\n2\t10:05am\n3\t12:61\n".encode("utf-16"),
    ]


def dates() -> Target:
    """Date language in running speech, which any clip may hold."""
    import datetime as dt

    from episode.record.dates import read_dates

    def read(data: bytes) -> None:
        text = data.decode("utf-8", "replace")
        at = 0
        for span in read_dates(text, filmed=dt.date(2026, 5, 3)):
            assert at <= span.at < span.until <= len(text)
            assert text[span.at : span.until] == span.text
            assert span.from_ is None or span.to is None or span.from_ <= span.to
            at = span.until

    return read, [
        b"about seventeen sixty, late 17th century or early 18th, between 1680 and 1710, circa AD 43 to 55 BC",
        b"from the reign of George the Third, two to three hundred years old, the eighteen-eighties, before 12 May 1840",
        b"the third quarter of the nineteenth century, MDCCLX, 1760/61, 1760s?, Iron Age, post-medieval, c.1800-50",
    ]


def edl() -> Target:
    """An editor's edit list."""
    from episode.cutting.timeline import read_timeline
    from episode.errors import UnusableInput

    path = _scratch("edl") / "cut.edl"

    def read(data: bytes) -> None:
        path.write_bytes(data)
        try:
            traced = read_timeline(path, ())
        except UnusableInput as error:
            assert error.where
            return
        assert all(piece.cut_start <= piece.cut_end for piece in traced.pieces)

    return read, [
        b"TITLE: x\nFCM: NON-DROP FRAME\n\n001  A001     V     C        00:00:01:00 00:00:03:00 01:00:00:00 01:00:02:00\n"
        b"* FROM CLIP NAME: A001.mp4\n002  B002     V     D    012 00:00:01:00 00:00:03:00 01:00:02:00 01:00:04:00\n"
        b"M2   B002       050.0                00:00:01:00\n",
    ]


def track() -> Target:
    """A GPX track."""
    from episode.day.track import parse_track

    path = Path("track.gpx")

    def read(data: bytes) -> None:
        _, problems = parse_track(data, path)
        assert all(problem.where and problem.what for problem in problems)

    return read, [
        b'<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><wpt lat="51.5" lon="0.1"><name>a'
        b'</name><time>2026-05-03T09:41:12Z</time></wpt><trk><trkseg><trkpt lat="51.5" lon="0.1"><time>2026-05-03T09:41:1'
        b'2.5+01:00</time></trkpt></trkseg></trk><rte><rtept lat="1" lon="2"/></rte></gpx>',
    ]


def decisions() -> Target:
    """Lines of ``decisions.jsonl``."""
    from episode.day.decisions import parse

    def read(data: bytes) -> None:
        _, problems = parse(data)
        assert all(problem.where and problem.what for problem in problems)

    return read, [
        b'{"id":"a","at":"2026-05-03T09:41:12Z","action":"rename","clip":"A.mp4","start":1,"end":2,"value":"jug"}\n'
        b'{"action":"move","clip":"A.mp4","start":1,"end":2,"new_start":3}\n{"action":"undo","id":"b","value":"a"}\n',
    ]


TARGETS: dict[str, Callable[[], Target]] = {
    reader.__name__: reader for reader in (captions, log, dates, edl, track, decisions)
}

if __name__ == "__main__":
    main()
