"""A corpus of broken and hostile footage, each file heard or refused with its reason.

    python -m tests.campaign.media                 every case, then `make` over all of them together
    python -m tests.campaign.media cut links       those whose names hold one of the words; `make` for `make` alone

Each case lies in a day of its own beside a clip that is whole. The day is surveyed, every clip's sound is decoded, and
asked for again from what was kept of it, and a still is taken of its beginning, middle and end, in a process that may
take 4 GiB and 120 s of a processor. The campaign fails where a case ends that process, takes more than 600 MiB, raises
what is not for the person, passes without a word, sounds otherwise the second time, or costs the whole clip its sound
or its still. Seconds are a processor's, FFmpeg's included. Runs on Linux or macOS; as root it also tries what another user may not read.
"""

from __future__ import annotations

import functools
import json
import os
import resource
import socket
import subprocess
import sys
import tempfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from episode.errors import EpisodeError, UnusableMedia
from episode.models import Clip, Settings

MOST_MEMORY = 4 << 30
MOST_SECONDS = 120
MOST_RESIDENT = 600
WHOLE = "A000.mp4"

Case = Callable[[Path], None]
CASES: dict[str, Case] = {}


class Came(NamedTuple):
    """What became of a case: ``ok``, what was done and said, a processor's seconds, MiB of the largest process."""

    ok: bool
    done: str
    said: str
    seconds: float
    memory: int


def case(name: str) -> Callable[[Case], Case]:
    """Keep a case: a function that lays its files into the footage folder that it is given."""

    def keep(function: Case) -> Case:
        CASES[name] = function
        return function

    return keep


def run(name: str, day: Path) -> Came:
    """Lay out one case and take it through the footage room."""
    footage = day / "footage"
    footage.mkdir(parents=True)
    (footage / WHOLE).write_bytes(clip("mp4"))
    CASES[name](footage)
    laid = sum(1 for _ in footage.rglob("*")) - 1
    _warm()
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        os.close(reading)
        _limit(name)
        try:
            told = _through(day, laid)
        except EpisodeError as error:
            told = {"ok": False, "done": "the day was refused", "said": str(error)}
        except BaseException as error:
            told = {"ok": False, "done": "raised", "said": f"{type(error).__name__}: {error}"}
        with os.fdopen(writing, "wb") as pipe:
            pipe.write(json.dumps(told).encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        told = json.loads(pipe.read() or b'{"ok": false, "done": "died", "said": ""}')
    _, _, used = os.wait4(child, 0)
    memory = used.ru_maxrss // 1024
    ok = told["ok"] and memory - resident() < MOST_RESIDENT
    return Came(ok, told["done"], told["said"], used.ru_utime + used.ru_stime, memory)


def resident() -> int:
    """MiB that this process has in memory, which the kernel counts to a forked child as well; 0 where unknown."""
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    except (OSError, ValueError, IndexError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE") >> 20


@functools.cache
def _warm() -> None:
    """Import what is needed while it may still be read: the case of another user cannot."""
    import encodings.idna
    import pickle

    import av
    import numpy

    from episode.footage import kept_sound, parts, sound, standins, stills, survey
    from episode.footage.tools import ffmpeg as tool

    assert all((encodings.idna, pickle, av, numpy, kept_sound, parts, sound, standins, stills, survey, tool()))


def _limit(name: str) -> None:
    from tests.campaign.bounds import held

    most = MOST_MEMORY + held()
    resource.setrlimit(resource.RLIMIT_AS, (most, most))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
    if "another user" in name and os.geteuid() == 0:
        os.setgid(65534)
        os.setuid(65534)


def _through(day: Path, laid: int) -> dict[str, object]:
    from episode.footage.stills import still
    from episode.footage.survey import survey

    clips, problems = survey(day, Settings())
    said = [f"{problem.where}: {problem.what}" for problem in problems]
    heard, refused, stills, whole = 0, len({problem.where for problem in problems}), 0, False
    short: list[str] = []
    otherwise: list[str] = []
    for one in clips:
        seconds, complaint, sum_ = _sounding(one, day / "cache")
        if (seconds, complaint, sum_) != _sounding(one, day / "cache"):
            otherwise.append(one.name)
        complained = bool(complaint)
        said += [complaint] if complaint else []
        if one.audio_tracks and seconds < min(0.8 * one.duration, one.duration - 1) and not complained:
            short.append(f"{one.name} ({seconds:.1f} of {one.duration:.1f} s)")
        taken = 0
        for at in (0.0, one.duration / 2, one.duration):
            with tempfile.TemporaryDirectory() as folder:
                try:
                    taken += still(one, at, Path(folder) / "still.jpg")
                except UnusableMedia as error:
                    said.append(f"{error.where}: {error.what}")
        if one.name == WHOLE:
            whole = seconds > 5 and taken == 3
        else:
            heard += seconds > 0
            stills += taken
    others = len(clips) - 1
    done = f"{laid} laid, {others} taken as clips ({heard} with sound, {stills} stills), {refused} told of"
    if short:
        done += f"; short without a word: {', '.join(short)}"
    if otherwise:
        done += f"; another sound when it was kept: {', '.join(otherwise)}"
    ok = whole and others + refused > 0 and not otherwise
    return {"ok": ok, "done": done, "said": " // ".join(dict.fromkeys(said))}


def _sounding(clip: Clip, cache: Path) -> tuple[float, str, int]:
    """Seconds of sound, what was complained of, and the checksum of the samples."""
    from episode.footage.kept_sound import sounding

    samples, sum_ = 0, 0
    try:
        for piece in sounding(clip, cache=cache):
            samples += piece.samples.size
            sum_ = zlib.crc32(piece.samples.tobytes(), sum_)
    except UnusableMedia as error:
        return samples / 16_000, f"{error.where}: {error.what}", sum_
    return samples / 16_000, "", sum_


# Clips to break


PICTURE = ("-f", "lavfi", "-i", "testsrc=size=160x90:rate=10:duration=6")
TONE = ("-f", "lavfi", "-i", "sine=frequency=440:duration=6:sample_rate=48000")
SMALL = ("-c:v", "mpeg4", "-q:v", "20", "-c:a", "aac", "-b:a", "32k")


def ffmpeg(target: Path, *arguments: str) -> None:
    """Make a clip with the FFmpeg in use."""
    from episode.footage.tools import ffmpeg as tool

    command = [str(tool().path), "-nostdin", "-v", "error", "-y", *arguments, f"file:{target}"]
    subprocess.run(command, check=True, stdin=subprocess.DEVNULL)


@functools.cache
def clip(ending: str, *arguments: str) -> bytes:
    """Six seconds of test picture and tone as the bytes of a file."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / f"clip.{ending}"
        ffmpeg(target, *(arguments or (*PICTURE, *TONE, *SMALL)))
        return target.read_bytes()


def boxes(data: bytes, begin: int = 0, end: int | None = None) -> Iterator[tuple[int, bytes, int]]:
    """Every box of an MP4 file: where it begins, its kind, its length (ISO 14496-12, 4.2)."""
    end = len(data) if end is None else end
    at = begin
    while at + 8 <= end:
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        if length < 8 or at + length > end:
            return
        yield at, kind, length
        if kind in {b"moov", b"trak", b"mdia", b"minf", b"stbl", b"dinf", b"edts", b"udta"}:
            yield from boxes(data, at + 8, at + length)
        at += length


def elements(data: bytes, begin: int = 0, end: int | None = None) -> Iterator[tuple[int, int, int]]:
    """Every element of a Matroska file: where it begins, its ID, where its content begins (RFC 8794)."""
    end = len(data) if end is None else end
    at = begin
    while at < end:
        width = 9 - data[at].bit_length()
        name = int.from_bytes(data[at : at + width], "big")
        sized = 9 - data[at + width].bit_length() if at + width < end else 9
        if width > 4 or sized > 8:
            return
        content = at + width + sized
        length = int.from_bytes(data[at + width : content], "big") & ((1 << 7 * sized) - 1)
        yield at, name, content
        if name in {0x18538067, 0x1549A966, 0x1654AE6B, 0xAE, 0x1F43B675, 0x1C53BB6B, 0x114D9B74, 0xE0, 0xE1}:
            yield from elements(data, content, min(end, content + length))
        at = content + length


# Broken


@case("MP4 cut at every box")
def _mp4_cut(footage: Path) -> None:
    for shape, flags in (("late", ()), ("early", ("-movflags", "+faststart"))):
        data = clip("mp4", *PICTURE, *TONE, *SMALL, *flags)
        for number, (at, kind, _) in enumerate(boxes(data)):
            for more in (0, 8):
                name = f"{shape}{number:02d}-{kind.decode('latin-1').strip()}-{more}.mp4"
                (footage / name).write_bytes(data[: at + more])


@case("MKV cut at every element")
def _mkv_cut(footage: Path) -> None:
    data = clip("mkv")
    at = [begin for begin, _, _ in elements(data)]
    for number, begin in enumerate(at[:60] + at[60::10]):
        (footage / f"cut{number:03d}.mkv").write_bytes(data[:begin])


@case("MP4 with each box zeroed")
def _mp4_zeroed(footage: Path) -> None:
    data = clip("mp4")
    for number, (at, kind, length) in enumerate(boxes(data)):
        body = bytes(length - 8)
        (footage / f"z{number:02d}-{kind.decode('latin-1').strip()}.mp4").write_bytes(
            data[: at + 8] + body + data[at + length :]
        )


@case("MP4 with each box of the wrong length")
def _mp4_lengths(footage: Path) -> None:
    data = clip("mp4")
    for number, (at, kind, _) in enumerate(boxes(data)):
        for wrong in (0, 1, 7, 2**32 - 1):
            name = f"l{number:02d}-{kind.decode('latin-1').strip()}-{wrong}.mp4"
            (footage / name).write_bytes(data[:at] + wrong.to_bytes(4, "big") + data[at + 4 :])


@case("wrong index: counts of a billion in every table")
def _index(footage: Path) -> None:
    data = clip("mp4")
    for number, (at, kind, length) in enumerate(boxes(data)):
        if kind in {b"stts", b"stsc", b"stsz", b"stco", b"stss", b"ctts", b"elst"} and length > 20:
            for where in (12, 16):
                broken = data[: at + where] + b"\x3b\x9a\xca\x00" + data[at + where + 4 :]
                (footage / f"i{number:02d}-{kind.decode()}-{where}.mp4").write_bytes(broken)


@case("zeroed ranges in the middle")
def _zeroed(footage: Path) -> None:
    for ending in ("mp4", "mkv", "mov", "ts", "avi", "wav"):
        data = clip(ending)
        third = len(data) // 3
        (footage / f"zeroed.{ending}").write_bytes(data[:third] + bytes(third) + data[2 * third :])


@case("noise in the middle")
def _noise(footage: Path) -> None:
    import random

    draw = random.Random(7)
    for ending in ("mp4", "mkv", "mov", "ts", "avi", "ogg", "mp3"):
        for number in range(3):
            data = bytearray(clip(ending, *TONE) if ending in {"ogg", "mp3"} else clip(ending))
            for _ in range(200):
                data[draw.randrange(len(data))] = draw.randrange(256)
            (footage / f"noise{number}.{ending}").write_bytes(data)


@case("time stamps that jump")
def _jumps(footage: Path) -> None:
    for gap in (3, 1000, 36_000, 300_000_000):
        jump = ("-af", f"asetpts='PTS+gte(T,3)*{gap}/TB'")
        (footage / f"gap{gap}.mkv").write_bytes(clip("mkv", *PICTURE, *TONE, *jump, *SMALL))


@case("a length of years in the header")
def _lengths(footage: Path) -> None:
    data = clip("mp4")
    for at, kind, length in boxes(data):
        if kind == b"mvhd":
            told = data[: at + 24] + b"\x7f\xff\xff\xff" + data[at + 28 :]
            (footage / "years.mp4").write_bytes(told)
            (footage / "none.mp4").write_bytes(data[: at + 8] + bytes(length - 8) + data[at + length :])


# Odd but whole


@case("odd clips: frame rates, rotations, channels, rates")
def _odd(footage: Path) -> None:
    odd = {
        "variable.mkv": (*PICTURE, *TONE, "-vf", "select='not(mod(n,3))+lt(n,9)'", "-fps_mode", "vfr", *SMALL),
        "no-sound.mp4": (*PICTURE, "-c:v", "mpeg4"),
        "surround.mp4": (*PICTURE, *TONE, "-ac", "6", *SMALL),
        "8k.wav": (*TONE, "-ar", "8000"),
        "192k.wav": (*TONE, "-ar", "192000"),
        "silent.mp4": (*PICTURE, "-f", "lavfi", "-i", "anullsrc=d=6", "-shortest", *SMALL),
        "clipped.wav": (*TONE, "-af", "volume=60dB"),
        "float.wav": (*TONE, "-af", "volume=90dB", "-c:a", "pcm_f32le"),
        "one-frame.mp4": (*PICTURE, "-frames:v", "1", "-c:v", "mpeg4"),
        "tall.mp4": ("-f", "lavfi", "-i", "testsrc=size=16x2000:rate=5:duration=2", "-c:v", "mpeg4"),
        "sixteen-tracks.mkv": (*PICTURE, *TONE, "-map", "0", *("-map", "1") * 16, *SMALL),
    }
    for name, arguments in odd.items():
        (footage / name).write_bytes(clip(name.rpartition(".")[2], *arguments))
    (footage / "plain.mp4").write_bytes(clip("mp4"))
    for turned in ("37", "90", "-90", "180"):
        target = footage / f"turned{turned}.mp4"
        ffmpeg(target, "-display_rotation", turned, "-i", str(footage / "plain.mp4"), "-c", "copy")


@case("a picture of 16,000 by 16,000")
def _huge(footage: Path) -> None:
    huge = ("-f", "lavfi", "-i", "color=size=16000x16000:rate=1:duration=1", *TONE, "-c:a", "aac")
    (footage / "grey.mkv").write_bytes(clip("mkv", *huge, "-c:v", "png", "-pix_fmt", "gray"))
    (footage / "colour.mov").write_bytes(clip("mov", *huge, "-c:v", "png", "-pix_fmt", "rgb24"))
    (footage / "jpeg.mov").write_bytes(clip("mov", *huge, "-c:v", "mjpeg", "-pix_fmt", "yuvj420p"))


@case("a picture of 16,000 by 16,000 that says it is small")
def _huge_inside(footage: Path) -> None:
    data = clip("mov", "-f", "lavfi", "-i", "color=size=16000x16000:rate=1:duration=1", *TONE, "-c:v", "mjpeg")
    said, small = (16_000).to_bytes(2, "big") * 2, (160).to_bytes(2, "big") * 2
    before, _, after = data.rpartition(said)  # in the sample's description; the picture's own stands first
    (footage / "small.mov").write_bytes(before + small + after)


@case("pictures of 7680 by 4320")
def _eight_k(footage: Path) -> None:
    large = ("-f", "lavfi", "-i", "testsrc2=size=7680x4320:rate=5:duration=1", *TONE, "-c:a", "aac")
    (footage / "h264.mp4").write_bytes(clip("mp4", *large, "-c:v", "libx264", "-preset", "ultrafast", "-threads", "1"))
    (footage / "jpeg.mov").write_bytes(clip("mov", *large, "-c:v", "mjpeg"))


# Not what they say


@case("other things named mp4")
def _named(footage: Path) -> None:
    from tests.campaign.bounds import png

    things = {
        "sound": clip("mp3", *TONE),
        "matroska": clip("mkv"),
        "text": b"the tide turned at ten past two\n" * 50,
        "empty": b"",
        "zeros": bytes(4096),
        "one-byte": b"\0",
        "picture": png(16, 16, b"x"),
        "jpeg": clip("jpg", *PICTURE, "-frames:v", "1"),
        "gif": clip("gif", *PICTURE),
        "zip": b"PK\x03\x04" + bytes(100),
        "page": b"<html><script>alert(1)</script>",
        "program": b"\x7fELF" + bytes(1000),
        "captions": b"1\n00:00:01,000 --> 00:00:02,000\nhello\n",
    }
    for name, data in things.items():
        (footage / f"{name}.mp4").write_bytes(data)


@case("playlists and scripts that lead to other files")
def _playlists(footage: Path) -> None:
    other = footage / WHOLE
    scripts = {
        "hls": f"#EXTM3U\n#EXT-X-TARGETDURATION:6\n#EXTINF:6,\n{other}\n#EXT-X-ENDLIST\n",
        "remote": "#EXTM3U\n#EXT-X-TARGETDURATION:6\n#EXTINF:6,\nhttp://127.0.0.1:9/a.ts\n#EXT-X-ENDLIST\n",
        "concat": f"ffconcat version 1.0\nfile '{other}'\n",
        "dash": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static"><Period><BaseURL>'
        f"file://{other}</BaseURL></Period></MPD>",
        "sdp": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=audio 9 RTP/AVP 0\n",
        "filter": f"movie={other}\n",
        "reference": f"[Reference]\nRef1={other}\n",
    }
    for name, text in scripts.items():
        for ending in ("mp4", "ts", "m3u8", "ffconcat", "mov"):
            (footage / f"{name}.{ending}").write_text(text)


@case("an MP4 whose data lies in another file")
def _references(footage: Path) -> None:
    (footage / "outside.mov").write_bytes(referring(clip("mov", *TONE, "-c:a", "pcm_s16le"), footage / WHOLE))


def referring(data: bytes, other: Path) -> bytes:
    """``data`` with its data references turned into addresses of ``other`` (ISO 14496-12, 8.7.2).

    The boxes keep their lengths: what made room for the address is the ``url `` entry's own flag and the ``hdlr`` after.
    """
    address = f"file://{other}".encode() + b"\0"
    entry = (12 + len(address)).to_bytes(4, "big") + b"url \0\0\0\0" + address
    dref = (16 + len(entry)).to_bytes(4, "big") + b"dref\0\0\0\0\0\0\0\x01" + entry
    for at, kind, length in reversed(list(boxes(data))):
        if kind == b"dref":
            grown = len(dref) - length
            data = data[:at] + dref + data[at + length :]
            for outer, _, size in list(boxes_around(data, at, grown)):
                data = data[:outer] + (size + grown).to_bytes(4, "big") + data[outer + 4 :]
    return data


def boxes_around(data: bytes, at: int, grown: int) -> Iterator[tuple[int, bytes, int]]:
    """Boxes that hold the one at ``at``, which has grown while they still say their old lengths."""
    begin, end = 0, len(data)
    while begin + 8 <= end:
        length, kind = int.from_bytes(data[begin : begin + 4], "big"), data[begin + 4 : begin + 8]
        if begin < at < begin + length and kind in {b"moov", b"trak", b"mdia", b"minf", b"dinf"}:
            yield begin, kind, length
            begin, end = begin + 8, begin + length + grown
        else:
            begin += max(8, length)


@case("hostile transcripts beside clips")
def _sidecars(footage: Path) -> None:
    hostile = {
        "laughs.srt": b"1\n00:00:01,000 --> 00:00:02,000\n" + b"&amp;" * 10_000,
        "null.srt": bytes(5000),
        "arrows.vtt": b"WEBVTT\n\n" + b"-->\n" * 5000,
        "backwards.srt": b"00:00:05,000 --> 00:00:01,000\nhello\n",
        "digits.srt": b"9" * 100_000 + b":00:00,000 --> 00:00:01,000\nhello\n",
        "large.txt": b"[0:01] hello\n" * 900_000,
        "utf16.srt": "1\n00:00:01,000 --> 00:00:02,000\n\u202eolleh\n".encode("utf-16"),
        "alone.txt": b"[0:01] hello there\n",
    }
    for name, data in hostile.items():
        (footage / name).write_bytes(data)
        if name != "alone.txt":
            (footage / f"{name.partition('.')[0]}.mp4").write_bytes(clip("mp4"))


# What the file system can do


@case("names")
def _names(footage: Path) -> None:
    names = [
        "line\nbreak", "quote'", 'quotes"', "pot 🏺", "-i", "--help", "-", "\u202egnorw\u202c", "שלום", "%03d", "100%", "a:b",
        "http:x", "file:x", "pipe:0", "concat:a|b", "data:x", "a;b&c|d", "$(touch x)", "`x`", "*", "?", "[a-z]", "~", " ", "..a",
        "tab\there", "\x1b[31mred", "n" * 200, "é" * 60, "CON", "a.mp4", "back\\slash", "{x}", "<b>", "\x7f", "\u200b", "\ufeff",
    ]  # fmt: skip
    for name in names:
        (footage / f"{name}.mp4").write_bytes(clip("mp4"))
    with (Path(os.fsdecode(os.fsencode(footage) + b"/\xff\xfe.mp4"))).open("wb") as file:
        file.write(clip("mp4"))


@case("links, pipes, sockets and devices")
def _links(footage: Path) -> None:
    (footage / "loop").symlink_to(footage)
    (footage / "to-itself.mp4").symlink_to(footage / "to-itself.mp4")
    (footage / "round-a").symlink_to("round-b")
    (footage / "round-b").symlink_to("round-a")
    (footage / "nowhere.mp4").symlink_to(footage / "gone.mp4")
    (footage / "outside.mp4").symlink_to("/etc/passwd")
    (footage / "device.mp4").symlink_to("/dev/zero")
    os.mkfifo(footage / "pipe.mp4")
    with socket.socket(socket.AF_UNIX) as ear, tempfile.TemporaryDirectory() as short:
        ear.bind(f"{short}/s")
        Path(f"{short}/s").rename(footage / "socket.mp4")
    if os.geteuid() == 0:
        os.mknod(footage / "zero.mp4", 0o20666, os.makedev(1, 5))


@case("what another user may not read")
def _unreadable(footage: Path) -> None:
    (footage / "secret.mp4").write_bytes(clip("mp4"))
    (footage / "secret.mp4").chmod(0)
    (footage / "secret").mkdir(mode=0)
    (footage / "secret.srt").write_text("1\n00:00:01,000 --> 00:00:02,000\nhello\n")
    (footage / "secret.srt").chmod(0)
    (footage / "told.mp4").write_bytes(clip("mp4"))
    at = footage
    while at != at.parent and os.geteuid() == 0:  # the way down to the day is for all
        if not at.stat().st_mode & 1:
            at.chmod(at.stat().st_mode | 0o055)
        at = at.parent


@case("folders forty deep")
def _deep(footage: Path) -> None:
    at = footage
    for number in range(40):
        at = at / f"card{number}"
        at.mkdir()
    (at / "deep.mp4").write_bytes(clip("mp4"))


def all_together(day: Path) -> Came:
    """`make` over the footage of every case in one day, with a log and a transcript beside the whole clip."""
    footage = day / "footage"
    for number, lay in enumerate(CASES.values()):
        part = footage / f"{number:02d}"
        part.mkdir(parents=True)
        (part / WHOLE).write_bytes(clip("mp4"))
        lay(part)
    (footage / "B000.mp4").write_bytes(clip("mp4"))
    (footage / "B000.txt").write_text("[0:01] Oh, look at this. That's a clay pipe bowl, lovely.\n")
    (day / "finds.csv").write_text("find,time,object\n1,10:00:01,clay pipe bowl\n")
    (day / "episode.toml").write_text('time_zone = "Europe/London"\ndate = 2026-05-03\nagain = false\n')
    command = [sys.executable, "-m", "episode", "make", str(day), "--model", "tiny.en", "--quiet"]
    environment = {**os.environ, "EPISODE_CACHE": str(day / "cache")}
    with tempfile.TemporaryFile() as said:
        ran = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=said, stderr=said, env=environment)
        _, status, used = os.wait4(ran.pid, 0)  # its own peak, not that of what made the clips
        ran.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        told = said.read().decode("utf-8", "replace")
    written = day / "out" / "moments.json"
    moments = written.read_text() if written.exists() else ""
    ok = ran.returncode == 3 and "Traceback" not in told and "clay pipe bowl" in moments
    done = f"status {ran.returncode}, {told.count(chr(10))} lines said"
    return Came(ok, done, told[-160:], used.ru_utime + used.ru_stime, used.ru_maxrss // 1024)


def main() -> int:
    wanted = sys.argv[1:]
    failed = 0
    print("| case | what was done with it | s | MiB | first messages |\n| --- | --- | --- | --- | --- |")
    for name in CASES:
        if wanted and not any(word in name for word in wanted):
            continue
        with tempfile.TemporaryDirectory() as folder:
            failed += _told(name, run(name, Path(folder) / "day"))
    if not wanted or "make" in wanted:
        with tempfile.TemporaryDirectory() as folder:
            failed += _told("make, all of them together", all_together(Path(folder) / "day"))
    return 1 if failed else 0


def _told(name: str, came: Came) -> bool:
    said = came.said.replace("|", "/").replace("\n", " ")
    done = came.done if came.ok else f"FAILED: {came.done}"
    print(f"| {name} | {done} | {came.seconds:.1f} | {came.memory} | {said[:160]} |", flush=True)
    return not came.ok


if __name__ == "__main__":
    sys.exit(main())
