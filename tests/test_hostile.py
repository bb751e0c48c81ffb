"""Nothing runs from input, nothing is fetched, and what cannot be used is refused with its reason.

The media are the quick cases of ``tests.campaign.media``.
"""

from __future__ import annotations

import ast
import csv
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from episode.footage import commands
from tests.campaign.media import CASES, WHOLE, clip, resident, run
from tests.conftest import ROOT

SPEECH = ROOT / "tests" / "data" / "speech"
SOURCES = sorted((ROOT / "episode").rglob("*.py"))
RUNS = {"eval", "exec", "compile", "__import__", "os.system", "os.popen", "os.startfile", "pickle.load", "pickle.loads",
        "marshal.loads", "subprocess.getoutput", "subprocess.getstatusoutput", "os.execv", "os.spawnv"}  # fmt: skip
QUICK = (
    "other things named mp4",
    "playlists and scripts that lead to other files",
    "an MP4 whose data lies in another file",
    "a length of years in the header",
    "links, pipes, sockets and devices",
    "what another user may not read",
)


@pytest.mark.skipif(sys.platform == "win32", reason="cases run in a forked process with limits")
@pytest.mark.parametrize("name", QUICK)
def test_broken_footage_is_heard_or_refused_and_the_rest_goes_on(name: str, tmp_path: Path):
    assert name in CASES
    before = resident()
    came = run(name, tmp_path / "day")
    assert came.ok, came
    assert "without a word" not in came.done
    assert came.memory - before < 1024


def test_a_jump_in_time_stamps_is_told_and_costs_no_memory(tmp_path: Path):
    before = resident()
    came = run("time stamps that jump", tmp_path / "day")
    assert came.ok, came
    assert "its time stamps jump" in came.said
    assert "3,472 days" in came.said
    assert came.memory - before < 512


@pytest.mark.skipif(sys.platform == "win32", reason="cases run in a forked process with limits")
def test_a_picture_that_no_camera_writes_is_told_of_and_not_decoded(tmp_path: Path):
    before = resident()
    came = run("a picture of 16,000 by 16,000 that says it is small", tmp_path / "day")
    assert came.ok, came
    assert "1 taken as clips (1 with sound, 0 stills)" in came.done
    assert "picture of 16,000 by 16,000 has more than 35.7 million pixels" in came.said
    assert came.memory - before < 256


@pytest.mark.parametrize("name", [os.fsdecode(b"\xff\xfe.mp4"), "-i.mp4", "concat:a|b.mp4"])
def test_any_name_the_file_system_holds_is_heard(name: str, tmp_path: Path):
    from episode.footage.sound import pieces
    from episode.footage.survey import survey
    from episode.models import Settings

    (tmp_path / "footage").mkdir()
    try:
        (tmp_path / "footage" / name).write_bytes(clip("mp4"))
    except OSError:
        pytest.skip("this file system holds no such name")
    clips, _ = survey(tmp_path, Settings())
    assert sum(piece.samples.size for piece in pieces(clips[0])) > 80_000


def test_every_ffmpeg_input_is_limited_to_local_files():
    path, target = Path("-i odd.mp4"), Path("-y.jpg")
    asked = [
        commands.sound_command(path, 1, rate=16_000, clean=True, begin=1.0, until=2.0),
        commands.still_command(path, target, at=1.0, width=640),
        commands.still_command(path, target, at=1.0, width=640, last=True),
        commands.chaptered_command(path, Path("chapters"), target, muxer="mp4", without=("location",)),
        commands.stills_command(path, [(1.0, target), (2.0, target)], width=640),
        commands.frames_command(
            path, [(0, 1, 0.5), (2, 3, 0.5)], Path("-y"), keyframes=True, grey=(8, 8), still_width=640
        ),
        commands.banner_command(path),
    ]
    builders = {n for n in dir(commands) if n.endswith("_command")}
    assert len(builders) == len({tuple(c) for c in asked}) - 1  # a command added to the module is to be added here
    for command in asked:
        assert "-nostdin" in command
        at = [place for place, part in enumerate(command) if part == "-i"]
        assert at
        before = 0
        for place in at:
            options = command[before:place]
            assert options[options.index("-protocol_whitelist") + 1] == "file,pipe"
            assert "-format_whitelist" in options or options[-2:] == ["-f", "ffmetadata"]
            assert command[place + 1].startswith("file:/")
            before = place + 2
        assert command[-1].startswith(("file:/", "pipe:1")) or command[-2] == "-i" or command[-1] == "-y"
        assert str(path) not in command
        assert str(target) not in command


def test_no_source_gives_words_to_a_shell_or_an_interpreter():
    for source in SOURCES:
        for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            called = ast.unparse(node.func)
            assert called not in RUNS, f"{source.name}:{node.lineno}"
            assert "create_subprocess_shell" not in called
            if called.startswith("subprocess."):
                assert not any(keyword.arg == "shell" for keyword in node.keywords), f"{source.name}:{node.lineno}"
                assert not isinstance(node.args[0], ast.Constant | ast.JoinedStr), f"{source.name}:{node.lineno}"


HOSTILE = ('=HYPERLINK("http://x")', "+1+1", "-2+3", "@SUM(1)", "\t=1", "\uff1d1+1", "=cmd|' /C calc'!A0")


def test_no_spreadsheet_finds_a_formula_in_any_table(tmp_path: Path, cache: Path):
    day = small_day(tmp_path)
    rows = [["find", "time", "object", "period", "maker", "notes", "=1+1"]]
    rows += [[word, f"10:00:{10 + n}", word, word, word, word, word] for n, word in enumerate(HOSTILE)]
    with (day / "finds.csv").open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows(rows)
    (day / "references.csv").write_text('claim,reference\n"about 1650","=HYPERLINK(""x"")"\n')
    (day / "footage" / "=1+1.txt").write_text(
        "[0:02] Look at this. =1+1 That's a clay pipe bowl, about 1650.\n\n"
        "[0:09] -2+3 is a musket ball from 1700, +1 made by @Sum of London.\n"
    )
    assert episode("make", day).returncode in {0, 1, 3}
    tables = sorted((day / "out").rglob("*.csv"))
    assert {table.name for table in tables} >= {"claims.csv", "log_check.csv"}
    seen = 0
    for table in tables:
        for row in csv.reader(table.read_text(encoding="utf-8").splitlines(keepends=True)):
            for cell in row:
                seen += cell.startswith("'")
                assert not cell.startswith(("=", "@", "\t", "\r", "\n", "\uff1d")), (table.name, cell)
                assert not cell.startswith(("+", "-")) or cell[1:].replace(".", "").isdigit(), (table.name, cell)
    assert seen


def test_a_term_that_looks_like_a_formula_comes_back_from_a_vocabulary(tmp_path: Path):
    from episode.lexicon.packs import load_lexicon
    from episode.lexicon.skos import import_skos

    source, target = tmp_path / "a.ttl", tmp_path / "a.csv"
    source.write_text('<urn:a> <http://www.w3.org/2004/02/skos/core#prefLabel> "=1+1 jug" .')
    import_skos(source, target)
    assert "\n'=1+1 jug," in target.read_text()
    assert [term.term for term in load_lexicon((), (target,)).terms] == ["=1+1 jug"]


BLOCK = """
import os, socket, sys
def refuse(*args, **kwargs):
    with open(os.environ["BLOCKED"], "a") as told:
        told.write(repr(args) + "\\n")
    raise OSError("the network is blocked")
class Blocked(socket.socket):
    def connect(self, address):
        refuse(address) if self.family != getattr(socket, "AF_UNIX", None) else super().connect(address)
    connect_ex = connect
    def sendto(self, *args):
        refuse(args)
socket.socket = Blocked
socket.create_connection = socket.getaddrinfo = socket.gethostbyname = refuse
"""


@pytest.mark.hears
def test_a_day_is_made_and_heard_without_a_network(tmp_path: Path):
    day = small_day(tmp_path)
    shutil.copy(SPEECH / "lj001-0008.flac", day / "footage")
    blocker = tmp_path / "blocker"
    blocker.mkdir()
    (blocker / "sitecustomize.py").write_text(BLOCK)
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(blocker), str(ROOT)]),
        "BLOCKED": str(tmp_path / "tried"),
        "EPISODE_CACHE": str(tmp_path / "cache"),
    }
    apart = ["unshare", "--net"] if without_network() else []
    told = subprocess.run(
        [sys.executable, "-c", "import socket; socket.create_connection(('127.0.0.1', 9))"],
        env=environment,
        capture_output=True,
        text=True,
    )
    assert "the network is blocked" in told.stderr
    (tmp_path / "tried").unlink()
    ran = episode("make", day, "--model", "tiny.en", env=environment, before=apart)
    assert ran.returncode == 0, ran.stderr
    assert not (tmp_path / "tried").exists()
    heard = (day / "out" / "transcript.json").read_text()
    assert '"how": "recognised"' in heard


def without_network() -> bool:
    return (
        bool(shutil.which("unshare"))
        and not subprocess.run(["unshare", "--net", "true"], capture_output=True).returncode
    )


def small_day(tmp_path: Path) -> Path:
    """A clip with a transcript beside it, and a log."""
    day = tmp_path / "2026-05-03-small"
    (day / "footage").mkdir(parents=True)
    (day / "footage" / WHOLE).write_bytes(clip("mp4"))
    (day / "footage" / "A000.txt").write_text("[0:02] Oh, look at this. That's a clay pipe bowl, about 1650.\n")
    (day / "finds.csv").write_text("find,time,object\n1,10:00:02,clay pipe bowl\n")
    (day / "episode.toml").write_text('time_zone = "Europe/London"\n')
    return day


def episode(*arguments: object, before: list[str] | None = None, **kwargs) -> subprocess.CompletedProcess[str]:
    command = [*(before or []), sys.executable, "-m", "episode", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, timeout=300, **kwargs)
