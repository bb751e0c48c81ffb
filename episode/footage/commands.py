"""FFmpeg's command lines, built in one place (the only module that knows ffmpeg-python).

Every input is an absolute path behind ``file:``, so that no name can be taken for an option, a protocol or a
pattern; only camera containers are opened, nothing but files and pipes may be reached from inside them, and no picture
is decoded that a camera would not write.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from episode.footage.containers import DEMUXERS, PROTOCOLS
from episode.footage.sizes import MOST_PIXELS
from episode.footage.tools import at_least, ffmpeg

LONGEST_GAP_S = 1800
"""Gaps in a track are filled up to here; a longer jump is a broken time stamp, and what follows it comes at once."""
SHORTEST_FRAME_S = 0.004
"""A container whose ticks are longer counts frames (240 a second are the most that cameras write)."""
_INPUT, _OUTPUT = "input of the graph", "output of the graph"
HIGH_PASS_HZ = 90
"""Below the lowest note of a speaking voice (about 85 Hz for a deep one): wind, handling, surf."""


def sound_command(
    path: Path, track: int, *, rate: int, clean: bool, begin: float = 0.0, until: float | None = None
) -> list[str]:
    """Decode one audio track to mono float32 at ``rate`` on standard output.

    Timestamps rule: a track that begins late is preceded by silence and gaps are filled, so that sample ``n``
    is ``n / rate`` seconds after the clip's beginning (plus ``begin``), but for jumps of ``LONGEST_GAP_S`` and more.
    """
    import ffmpeg as graph

    seek: dict[str, float] = {}
    if begin > 0:
        seek["ss"] = begin
    if until is not None:
        seek["t"] = max(0.0, until - begin)
    stream = graph.input(_INPUT, **_decoding(), vn=None, sn=None, dn=None, **seek)[str(track)]
    # Made small before gaps are filled: the filter holds a whole gap in memory.
    stream = stream.filter("aresample", rate).filter("aformat", sample_fmts="fltp", channel_layouts="mono")
    stream = stream.filter("aresample", **{"async": 1, "first_pts": 0})
    if clean:
        stream = stream.filter("highpass", f=HIGH_PASS_HZ)
        stream = stream.filter("dynaudnorm", f=500, g=15, p=0.9, m=12)
    out = graph.output(stream, "pipe:1", format="f32le", acodec="pcm_f32le", ac=1, ar=rate, map_metadata="-1")
    return _compiled(out, path, before=("-dts_error_threshold", str(LONGEST_GAP_S)))


def still_command(path: Path, target: Path, *, at: float, width: int, last: bool = False) -> list[str]:
    """Write the first frame at or after ``at`` to ``target`` as JPEG; with ``last``, the last frame after ``at``."""
    return [*_begun(), *_picture_from(path, at), *_still(0, target, width, last=last)]


def stills_command(path: Path, wanted: Sequence[tuple[float, Path]], *, width: int) -> list[str]:
    """Write for each second of ``wanted`` the same JPEG as ``still_command``, all by one process."""
    inputs = [part for at, _ in wanted for part in ("-threads", "1", *_picture_from(path, at))]
    stills = [part for number, (_, target) in enumerate(wanted) for part in _still(number, target, width)]
    return [*_begun(), *inputs, *stills]


def chaptered_command(
    film: Path,
    chapters: Path,
    target: Path,
    *,
    muxer: str,
    without: Sequence[str],
    title: str = "",
    own_keys: bool = False,
) -> list[str]:
    """Copy the streams of ``film`` to ``target`` with the chapters of ``chapters`` (FFmpeg metadata).

    Tags are the film's, but for those named in ``without``, which are dropped from the file and every stream;
    ``own_keys`` writes QuickTime keys instead of the usual atoms, which hold only well-known tags. Picture, sound,
    subtitles and attachments are copied; data streams (a camera's position track among them, and the text track of
    old chapters) are not.
    """
    kept = ["0:v?", "0:a?", "0:s?"] + (["0:t?"] if muxer == "matroska" else [])
    return [
        str(ffmpeg().path), "-nostdin", "-hide_banner", "-loglevel", "error",
        *_flags(_safely()), "-i", _address(film),
        "-protocol_whitelist", ",".join(PROTOCOLS), "-f", "ffmetadata", "-i", _address(chapters),
        *(part for stream in kept for part in ("-map", stream)),
        "-c", "copy", "-map_metadata", "0", "-map_chapters", "1",
        *(part for key in without for place in ("-metadata", "-metadata:s") for part in (place, f"{key}=")),
        *(("-metadata", f"title={title}") if title else ()),
        *(("-movflags", "+faststart" + "+use_metadata_tags" * own_keys) if muxer in {"mov", "mp4", "ipod"} else ()),
        "-f", muxer, "-y", _address(target),
    ]  # fmt: skip


def frames_command(
    path: Path,
    stretches: Sequence[tuple[float, float, float]],
    folder: Path,
    *,
    keyframes: bool,
    grey: tuple[int, int],
    still_width: int | None,
) -> list[str]:
    """Write frames of each stretch as small grey pictures, one byte a pixel.

    A stretch is its begin, its end and how far apart its frames are at least, in seconds; ``grey`` the width and height
    of the pictures. They lie in ``folder`` and are named by the place of their stretch and by how many microseconds
    after its begin they are shown: ``2-1500000.gray``. ``keyframes`` takes those that need no other frame to be
    decoded, and decodes nothing else; with ``still_width`` there lies beside each ``2-1500000.jpg``, the same JPEG as
    of ``still_command``, unless that might be of another frame. Without ``keyframes``, frames that no other needs are
    left out, and there are no JPEGs.
    """
    # Not ``-discard nokey``, which would save the reading too: clips with B-frames get wrong times by it.
    only = ["-skip_frame", "nokey" if keyframes else "noref"]
    if keyframes and still_width is None:
        # What smooths the edges of blocks is a part of the work that cannot be seen in small pictures.
        only += ["-skip_loop_filter", "all"]
    command = _begun()
    for begin, until, _ in stretches:
        command += ["-threads", "1", *only, "-t", f"{until - begin:.6f}", *_picture_from(path, begin)]
    for number, (begin, _, apart) in enumerate(stretches):
        named = _address(folder / str(number)).replace("%", "%%")
        chosen = f"select='isnan(prev_selected_t)+gte(t-prev_selected_t,{apart:.6f})'"
        small = f"{chosen},settb=1/1000000,scale={grey[0]}:{grey[1]},format=gray"
        raw = ["-map", f"{number}:v:0", "-vf", small, "-c:v", "rawvideo", "-threads:v", "1"]
        command += [*raw, *_as_they_come(), "-f", "image2", f"{named}-%d.gray"]
        if keyframes and still_width is not None:
            picture = _jpeg(number, still_width, before=f"{chosen},select='{_as_still(begin)}',settb=1/1000000,")
            command += [*picture, *_as_they_come(), "-f", "image2", f"{named}-%d.jpg"]
    return command


def banner_command(path: Path) -> list[str]:
    """Make FFmpeg describe a file on standard error (it then complains that no output was named)."""
    return [str(ffmpeg().path), "-nostdin", "-hide_banner", *_flags(_decoding()), "-i", _address(path)]


def _begun() -> list[str]:
    return [str(ffmpeg().path), "-nostdin", "-hide_banner", "-loglevel", "error", "-bitexact", "-filter_threads", "1"]


def _picture_from(path: Path, at: float) -> list[str]:
    return ["-an", "-sn", "-dn", "-ss", f"{at:.6f}", *_flags(_decoding()), "-i", _address(path)]


def _still(number: int, target: Path, width: int, *, last: bool = False) -> list[str]:
    """A frame of the first picture track of input ``number``, upright, as a JPEG without metadata."""
    once = [] if last else ["-frames:v", "1"]
    return [*once, *_jpeg(number, width), "-f", "image2", "-update", "1", "-y", _address(target)]


def _jpeg(number: int, width: int, *, before: str = "") -> list[str]:
    """How a still is made of a frame that has gone through the filters ``before``.

    Pixels that are not square, and an odd width, are seen to first; others are scaled at once, since FFmpeg would copy
    a whole picture of the camera's for nothing.
    """
    square = "eq(sar,1)*not(mod(iw,2))"
    upright = f"scale='if({square},min({width},iw),trunc(iw*sar/2)*2)':'if({square},-2,ih)',setsar=1"
    return [
        "-map", f"{number}:v:0", "-vf", f"{before}{upright},scale='min({width},iw)':-2",
        "-c:v", "mjpeg", "-pix_fmt", "yuvj420p", "-qscale:v", "3", "-flags:v", "+bitexact", "-threads:v", "1",
        "-map_metadata", "-1",
    ]  # fmt: skip


def _as_they_come() -> list[str]:
    """Every frame once, in a file that is named by its time in microseconds."""
    passed = "-fps_mode" if at_least((5, 1)) else "-vsync"
    return [passed, "passthrough", "-enc_time_base", "1:1000000", "-frame_pts", "1"]


def _as_still(begin: float) -> str:
    """Of which keyframes it is certain that a still taken at their second, as told from ``begin``, is the same.

    The whole picture has to lie in them, which it does not where it is refreshed bit by bit or has a second field;
    the container has to say when they are shown (those that count frames, as AVI does, leave that to be guessed);
    and once rounded to its ticks and to microseconds their second has to lie nearer to them than to the next tick.
    """
    off = f"abs({begin:.6f}/TB-round({begin:.6f}/TB))+0.000001/TB"
    return f"eq(pict_type,I)*eq(interlace_type,PROGRESSIVE)*lt(TB,{SHORTEST_FRAME_S})*lt({off},0.49)"


def _address(path: Path) -> str:
    return "file:" + os.path.abspath(path)  # noqa: PTH100 - Path.absolute keeps "..", which protocols may read otherwise


def _safely() -> dict[str, str]:
    return {"protocol_whitelist": ",".join(PROTOCOLS), "format_whitelist": ",".join(DEMUXERS)}


def _decoding() -> dict[str, str]:
    """Of whatever is decoded; opening a file decodes some of its picture, wanted or not."""
    return {**_safely(), "max_pixels": str(MOST_PIXELS)}


def _flags(options: dict[str, str]) -> list[str]:
    return [part for key, value in options.items() for part in (f"-{key}", value)]


def _compiled(out: object, path: Path, target: Path | None = None, *, before: Sequence[str] = ()) -> list[str]:
    import ffmpeg as graph

    # The library makes UTF-8 of all that it is given, which not every file's name can be.
    names = {_INPUT: _address(path), _OUTPUT: "" if target is None else _address(target)}
    arguments: list[str] = [names.get(one, one) for one in graph.compile(out, cmd=str(ffmpeg().path))]
    return [arguments[0], "-nostdin", "-hide_banner", "-loglevel", "error", "-bitexact", *before, *arguments[1:]]
