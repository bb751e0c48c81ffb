"""Make the example day again: clips, log's photograph, track and gold.

python make.py            everything, into the day folder beside this one
python make.py --gold     the gold alone (nothing is drawn or encoded)
"""

from __future__ import annotations

import json
import re
import sys
from datetime import UTC, timedelta
from itertools import pairwise
from pathlib import Path

from film import film
from gold import camera_start, gold, true_start
from phone import photographs
from pictures import frames
from pronounced import PRONOUNCED
from script import CLIPS
from sound import mix
from timeline import Timeline, lay_out
from voice import Voice

HERE = Path(__file__).parent
DAY = HERE.parent / "2026-05-03-skelby-sands"
SEED = 17
NAME_ONLY = {"hand/MH_20260503_104627.mp4"}
"""Clips whose creation time was lost on the way, as happens: their names still tell it."""
WALKED = (
    ("09:31:00", 53.695010, 0.649120), ("09:37:00", 53.695155, 0.650946), ("09:50:00", 53.695737, 0.653104),
    ("09:58:30", 53.695507, 0.655362), ("10:08:00", 53.695420, 0.655900), ("10:20:00", 53.694356, 0.658622),
    ("10:33:00", 53.694600, 0.656900), ("10:44:00", 53.694919, 0.649416),
)  # fmt: skip
"""Where the day walked: a square of open sea, so that nobody's foreshore is dug over."""


def main() -> None:
    voice = Voice(PRONOUNCED)
    timelines = [lay_out(clip, voice, SEED + number) for number, clip in enumerate(CLIPS)]
    if "--gold" not in sys.argv[1:]:
        for number, timeline in enumerate(timelines):
            name = timeline.script.file
            clock = None if name in NAME_ONLY else camera_start(timeline)
            sound = mix(timeline, SEED + number)
            film(DAY / "footage" / name, frames(timeline, SEED + number), sound, timeline.script.camera, clock)
            print(f"{name}: {timeline.duration:.1f} s, {(DAY / 'footage' / name).stat().st_size / 1e6:.2f} MB")
        photographs(DAY / "photos")
    (DAY / "track.gpx").write_text(_track(timelines[0]), encoding="utf-8")
    starts_from = {c.file: "file name" if c.file in NAME_ONLY else "creation time" for c in CLIPS}
    text = json.dumps(gold(timelines, starts_from), ensure_ascii=False, indent=1)
    (HERE / "gold.json").write_text(_short_rows(text) + "\n", encoding="utf-8")


def _track(first: Timeline) -> str:
    """A GPX 1.1 track through ``WALKED``, a point every 30 s, times in UTC."""
    midnight = true_start(first).replace(hour=0, minute=0, second=0)
    places = [(_seconds(clock), lat, lon) for clock, lat, lon in WALKED]
    points = []
    for now in range(places[0][0], places[-1][0] + 1, 30):
        (a, lat_a, lon_a), (b, lat_b, lon_b) = next((p, q) for p, q in pairwise(places) if p[0] <= now <= q[0])
        share = (now - a) / (b - a)
        utc = (midnight + timedelta(seconds=now)).astimezone(UTC)
        points.append(
            f'   <trkpt lat="{lat_a + share * (lat_b - lat_a):.6f}" lon="{lon_a + share * (lon_b - lon_a):.6f}">'
            f"<time>{utc:%Y-%m-%dT%H:%M:%SZ}</time></trkpt>\n"
        )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="skelby-sands example" xmlns="http://www.topografix.com/GPX/1/1">\n'
        " <trk>\n  <name>Skelby Sands, invented</name>\n  <trkseg>\n"
        + "".join(points)
        + "  </trkseg>\n </trk>\n</gpx>\n"
    )


def _seconds(clock: str) -> int:
    hours, minutes, seconds = (int(part) for part in clock.split(":"))
    return hours * 3600 + minutes * 60 + seconds


def _short_rows(text: str) -> str:
    """One word a line instead of five: [start, end, word]."""
    return re.sub(r'\[\s+([\d.]+),\s+([\d.]+),\s+("[^"]+")\s+\]', r"[\1, \2, \3]", text)


if __name__ == "__main__":
    main()
