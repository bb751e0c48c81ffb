"""Time and memory of a still a moment, by how a camera writes: size, codec and how often a keyframe comes.

    python -m tests.bench.stills OUT            3840 by 2160 at 50 frames a second, 70 to 80 Mbit/s
    python -m tests.bench.stills OUT --small    1920 by 1080 at 25, for a quick look

The clips are of twelve seconds, made once and kept in OUT: a picture full of detail that is panned, with grain. Of each
the stills of six moments are taken as ``episode make`` takes them. Processor time is FFmpeg's; memory is the peak of
the largest of its processes.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from episode.drafting.result import DayResult
from episode.footage.probe import probe
from episode.models import Clip, Matched, Moment, Settings, Stance, StartFrom
from episode.progress import Quiet
from episode.showing import with_stills
from tests.footage.conftest import run_ffmpeg

MOMENTS = ((1.7, 9.0), (3.3, 9.0), (4.9, 12.0), (5.6, 8.1), (2.2, 3.0), (6.4, 11.0))
"""Second of the naming and end of each."""
SECONDS = 12


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("out", type=Path)
    told.add_argument("--small", action="store_true")
    given = told.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    print(f"{'clip':24}{'wall s':>8}{'cpu s':>8}{'MiB':>6}")
    for codec, every_s in (("h264", 1), ("h265", 1), ("h264", 5)):
        wall, spent, peak = measured(made(given.out, codec, every_s, small=given.small))
        print(f"{codec + f', keyframe in {every_s} s':24}{wall:>8.2f}{spent:>8.2f}{peak:>6.0f}", flush=True)


def made(out: Path, codec: str, every_s: int, *, small: bool) -> Path:
    """The clip, made unless it is there."""
    wide, high, rate, rate_k = (1920, 1080, 25, 20_000) if small else (3840, 2160, 50, 75_000)
    path = out / f"{high}-{codec}-{every_s}.mp4"
    if path.exists():
        return path
    every, buffer = every_s * rate, rate_k // 5
    picture = (
        f"color=gray:s={wide + 560}x{high + 560}:d={1 / rate}:r={rate},format=yuv420p,noise=alls=90:allf=u,"
        f"gblur=sigma=2.2,eq=contrast=4,loop=loop=-1:size=1,"
        f"crop={wide}:{high}:x='270+200*sin(n/70)':y='200+150*cos(n/90)',noise=alls=3:allf=t+u"
    )
    if codec == "h264":
        coded = ["-c:v", "libx264", "-preset", "superfast", "-bf", "2", "-sc_threshold", "0", "-g", f"{every}"]
        coded += ["-keyint_min", f"{every}", "-b:v", f"{rate_k}k", "-maxrate", f"{rate_k}k", "-bufsize", f"{buffer}k"]
    else:
        told = (
            f"keyint={every}:min-keyint={every}:scenecut=0:bitrate={rate_k}:vbv-maxrate={rate_k}:vbv-bufsize={buffer}"
        )
        coded = ["-c:v", "libx265", "-preset", "ultrafast", "-x265-params", f"log-level=none:{told}", "-tag:v", "hvc1"]
    part = path.with_suffix(".part.mp4")
    run_ffmpeg("-f", "lavfi", "-i", picture, "-t", f"{SECONDS}", *coded, "-pix_fmt", "yuv420p", str(part))
    part.rename(path)
    return path


def measured(path: Path) -> tuple[float, float, float]:
    """Wall seconds and processor seconds a moment, and MiB."""
    known = probe(path)
    clip = Clip(
        name=path.name, path=path.absolute(), duration=known.duration, start=datetime(2026, 5, 3, 9, tzinfo=UTC),
        start_from=StartFrom.CREATION, camera="camera", width=known.width, height=known.height, has_video=True,
    )  # fmt: skip
    moments = tuple(
        Moment(
            id=f"{at}", clip=clip.name, start=at, end=end, at=clip.start, term=None, stance=Stance.FOUND, still_at=at
        )
        for at, end in MOMENTS
    )
    day = DayResult(settings=Settings(), clips=(clip,), matched=Matched(moments=moments))
    before, begun = spent(), time.perf_counter()
    with tempfile.TemporaryDirectory() as out:
        if len(with_stills(day, Path(out), Quiet()).stills) != len(MOMENTS):
            raise SystemExit(f"{path}: not every still could be taken")
    wall, used = time.perf_counter() - begun, spent() - before
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return wall / len(MOMENTS), used / len(MOMENTS), peak


def spent() -> float:
    """Processor seconds of the processes that have ended."""
    told = resource.getrusage(resource.RUSAGE_CHILDREN)
    return told.ru_utime + told.ru_stime


if __name__ == "__main__":
    main()
