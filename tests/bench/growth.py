"""Time and memory of a whole day, by its length.

    python tests/bench/narration/say.py OUT dev aside               speak the narration (see there)
    python -m tests.bench.growth OUT                                10 minutes, 1 hour, 6 hours
    python -m tests.bench.growth OUT --minutes 10,60,360,1440 --model tiny.en --chart growth.svg
    python -m tests.bench.growth OUT --minutes 360 --one-clip       all of it in one clip
    python -m tests.bench.growth OUT --days FOLDER                  days are made there, or were
    python -m tests.bench.growth OUT --days FOLDER --heard          what was heard of them before is kept

The day: clips of 15 minutes from two cameras (or one clip), with a small picture and the sound of
``hearing_speed.py``, twelve different ones in turn, each a little louder or softer than the one before, so that no
stretch was heard before; a log
with a row a minute. A process for each: ``hear`` (footage looked through, all of it heard); ``make`` (listening again
and everything else); ``make`` once more without results and landmarks (the rest: all but what the recogniser does, and
the difference is listening again); ``make`` with nothing changed; ``make`` with one clip added. Memory is the peak of
the largest process. No two cameras ever have the same sound.
"""

from __future__ import annotations

import argparse
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import imageio_ffmpeg

from tests.bench.hearing_speed import field

ROOT = Path(__file__).parents[2]
MORNING = datetime(2026, 5, 3, 7, 0, tzinfo=UTC)
CLIP_MINUTES = 15
SOUNDS = 12
"""A multiple of three: of the clips that have the same sound all are one camera's."""
THINGS = ("pipe bowl", "thimble", "musket ball", "dress pin", "jetton", "button", "loom weight", "marble")


def main() -> None:
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("out", type=Path)
    told.add_argument("--minutes", default="10,60,360")
    told.add_argument("--model", default="base")
    told.add_argument("--one-clip", action="store_true")
    told.add_argument("--chart", type=Path)
    told.add_argument("--days", type=Path)
    told.add_argument("--heard", action="store_true")
    given = told.parse_args()
    if given.heard and not given.days:
        told.error("--heard needs the --days that were heard")
    print(
        f"{'minutes':>8}{'hear s':>9}{'again s':>9}{'rest s':>8}{'of hear':>9}{'same s':>8}{'+1 clip':>9}"
        f"{'hear MiB':>9}{'make MiB':>9}{'out MB':>8}"
    )
    rows = []
    with tempfile.TemporaryDirectory() as scratch:
        maker = Maker(given.out, given.days or Path(scratch))
        for minutes in (int(text) for text in given.minutes.split(",")):
            rows.append(measured(maker, minutes, given))
    if given.chart:
        given.chart.write_text(chart(rows), encoding="utf-8")


def measured(maker: Maker, minutes: int, given: argparse.Namespace) -> tuple[int, float, float, float]:
    day = maker.day(minutes, one_clip=given.one_clip)
    cache = day.parent / f"{day.name}-cache"
    model = given.model
    hear = whole = first = second = math.nan
    if not given.heard:
        for old in (cache, day / "out"):
            shutil.rmtree(old, ignore_errors=True)
        hear, first = run(["hear", day, "--model", model], cache)
        whole, second = run(["make", day, "--model", model], cache)
    for made_before in (cache / "runs", cache / "landmarks", day / "out"):
        shutil.rmtree(made_before, ignore_errors=True)
    rest, third = run(["make", day, "--model", model], cache)
    same, _ = run(["make", day, "--model", model], cache)
    size = sum(p.stat().st_size for p in (day / "out").rglob("*") if p.is_file()) / 1e6
    maker.clip(day, "hand/added.mp4", MORNING + timedelta(minutes=minutes + 5), 1, 0, gain=0.61)
    added, _ = run(["make", day, "--model", model], cache)
    (day / "footage" / "hand" / "added.mp4").unlink()
    made = third if given.heard else max(second, third)
    print(
        f"{minutes:>8}{hear:>9.1f}{whole - rest:>9.1f}{rest:>8.1f}{rest / hear:>9.1%}{same:>8.2f}{added:>9.1f}"
        f"{first:>9.0f}{made:>9.0f}{size:>8.1f}",
        flush=True,
    )
    return minutes, hear + whole - rest, rest, max(made, first)


def run(command: list[object], cache: Path) -> tuple[float, float]:
    """Wall seconds and peak MiB of a command that must go well."""
    env = {**os.environ, "EPISODE_CACHE": str(cache), "PYTHONPATH": str(ROOT)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)  # a package that was installed has its bytecode
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "episode", *(str(part) for part in command), "--quiet"],
        env=env,
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
    )
    said = process.stderr.read() if process.stderr else ""
    _, status, usage = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) != 0:
        raise SystemExit(f"{command}: {said[-2000:]}")
    return time.perf_counter() - begun, usage.ru_maxrss / 1024


class Maker:
    """Makes days from some stretches of sound and one of picture."""

    def __init__(self, out: Path, scratch: Path) -> None:
        self.out, self.scratch = out, scratch
        scratch.mkdir(exist_ok=True)
        self.picture = scratch / "picture.mp4"
        if self.picture.is_file():
            return
        seconds = CLIP_MINUTES * 60
        ffmpeg("-f", "lavfi", "-i", f"testsrc2=s=640x360:r=10:d={seconds}", "-c:v", "libx264", "-preset", "ultrafast",
               "-g", "20", "-pix_fmt", "yuv420p", self.picture)  # fmt: skip

    def day(self, minutes: int, *, one_clip: bool) -> Path:
        day = self.scratch / f"day-{minutes}{'-in-one' * one_clip}"
        if day.is_dir():
            return day
        (day / "footage").mkdir(parents=True)
        (day / "episode.toml").write_text('title = "A day at Skelby Sands"\nplace = "Skelby Sands"\n', encoding="utf-8")
        parts = [(at, min(CLIP_MINUTES, minutes - at)) for at in range(0, minutes, CLIP_MINUTES)]
        if one_clip:
            pieces = []
            for number, (at, length) in enumerate(parts):
                name = f"part{number:03}.mp4"
                self.clip(day, name, MORNING + timedelta(minutes=at), length, number, gain=0.7 + 0.002 * number)
                pieces.append(day / "footage" / name)
            listed = self.scratch / "parts.txt"
            listed.write_text("".join(f"file '{piece}'\n" for piece in pieces), encoding="utf-8")
            ffmpeg(
                "-f", "concat", "-safe", "0", "-i", listed, "-c", "copy", *made(MORNING), day / "footage" / "whole.mp4"
            )
            for piece in pieces:
                piece.unlink()
        else:
            for number, (at, length) in enumerate(parts):
                name = f"{'hand' if number % 3 else 'head'}/C{number:04}.mp4"
                self.clip(day, name, MORNING + timedelta(minutes=at), length, number, gain=0.7 + 0.002 * number)
        rows = [
            f"{n + 1},{MORNING + timedelta(minutes=n, seconds=30):%H:%M:%S},{THINGS[n % 8]}" for n in range(minutes)
        ]
        (day / "finds.csv").write_text("find,time,object\n" + "\n".join(rows) + "\n", encoding="utf-8")
        return day

    def clip(self, day: Path, name: str, start: datetime, minutes: int, number: int, *, gain: float) -> None:
        sound = self.scratch / f"sound-{number % SOUNDS}.wav"
        if not sound.is_file():
            field(self.out, sound, minutes=CLIP_MINUTES, seed=2 + number % SOUNDS)
        target = day / "footage" / name
        target.parent.mkdir(exist_ok=True)
        ffmpeg("-i", self.picture, "-i", sound, "-t", str(minutes * 60), "-map", "0:v", "-map", "1:a", "-c:v", "copy",
               "-c:a", "aac", "-b:a", "96k", "-af", f"volume={gain}", *made(start), target)  # fmt: skip


def made(start: datetime) -> list[str]:
    return ["-metadata", f"creation_time={start:%Y-%m-%dT%H:%M:%SZ}"]


def ffmpeg(*arguments: object) -> None:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-y", *(str(part) for part in arguments)]
    subprocess.run(command, check=True, stdin=subprocess.DEVNULL)


def chart(rows: list[tuple[int, float, float, float]]) -> str:
    """Hours across; hearing and the rest (minutes) and memory (MiB) up, as SVG."""
    width, height, left, low = 640, 300, 60, 250
    longest, most = max(r[0] for r in rows), max(r[1] for r in rows)
    top = max(1200.0, *(r[3] for r in rows))

    def points(values: list[float], largest: float) -> str:
        return " ".join(
            f"{left + (width - 2 * left) * r[0] / longest:.0f},{low - 200 * v / largest:.0f}"
            for r, v in zip(rows, values, strict=True)
        )

    lines = [
        ("#1b6e8c", "", [r[1] for r in rows], most, f"hearing, to {most / 60:.1f} min"),
        ("#b0532a", "6 3", [r[2] for r in rows], most, "the rest, same scale"),
        ("#555555", "2 3", [r[3] for r in rows], top, f"peak memory, to {top:.0f} MiB"),
    ]
    drawn = [
        f'<polyline fill="none" stroke="{colour}" stroke-width="2" stroke-dasharray="{dash}" points="{points(v, most_)}"/>'
        f'<text x="{left}" y="{18 + 16 * number}" fill="{colour}" font-size="13">{words}</text>'
        for number, (colour, dash, v, most_, words) in enumerate(lines)
    ]
    places = [left + (width - 2 * left) * r[0] / longest for r in rows]
    told = [n for n in range(len(rows)) if n == len(rows) - 1 or places[n + 1] - places[n] > 40]
    ticks = [f'<text x="{places[n]:.0f}" y="{low + 18}" font-size="12">{rows[n][0] / 60:.3g} h</text>' for n in told]
    axis = f'<path d="M{left} {low}H{width - left}M{left} {low}V50" stroke="#999" fill="none"/>'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif">'
    return "\n".join([head, axis, *drawn, *ticks, "</svg>", ""])


if __name__ == "__main__":
    main()
