"""What the cameras see: a shore to walk along, a find in the mud, a find in the hand."""

from __future__ import annotations

import math
import random
import zlib
from collections.abc import Iterator
from functools import lru_cache

from objects import OBJECTS, tray
from pen import Pen
from PIL import Image, ImageDraw, ImageFilter
from timeline import FRAMES_A_SECOND, Placed, Timeline

WIDE, HIGH = 640, 360
ROOM = 32
"""Pixels of picture beyond the frame on each side, for a camera that is never quite still."""
FINE = 2
"""Drawn this many times larger, then reduced, so that edges are soft."""
MUD = {"channel": (118, 104, 86), "jetty": (106, 98, 84), "sea wall": (122, 110, 90), "car park": (134, 130, 122)}
SKY = {"channel": (176, 196, 212), "jetty": (196, 204, 206), "sea wall": (164, 186, 206), "car park": (206, 210, 208)}


def frames(timeline: Timeline, seed: int) -> Iterator[Image.Image]:
    """The clip's pictures, one after another, ``FRAMES_A_SECOND`` of them."""
    for number in range(round(timeline.duration * FRAMES_A_SECOND)):
        now = number / FRAMES_A_SECOND
        shown = _shown(timeline, now)
        picture = _picture(timeline.script.shore, shown.say.shows if shown else None, bool(shown and shown.say.near))
        yield _look(picture, now, seed, walking=any(a <= now < a + s for a, s in timeline.walks))


def photograph(shows: str, shore: str) -> Image.Image:
    """A still of one find close up, as a phone would take it."""
    return _picture(shore, shows, True).crop((ROOM + 140, ROOM, ROOM + 140 + HIGH, ROOM + HIGH)).resize((240, 240))


def _shown(timeline: Timeline, now: float) -> Placed | None:
    """The sentence whose object is on screen: from a breath before it is said until the next walk."""
    latest = None
    for placed in timeline.placed:
        if placed.start - 0.25 > now:
            break
        latest = placed
    if latest is None or not latest.say.shows:
        return None
    walked = any(begin >= latest.end - 0.01 and begin <= now for begin, _ in timeline.walks)
    return None if walked else latest


def _look(picture: Image.Image, now: float, seed: int, *, walking: bool) -> Image.Image:
    """The frame out of the larger picture: whole pixels, so that a codec finds the movement."""
    sway = 26 if walking else 5
    x = ROOM + round(sway * math.sin(now * (0.9 if walking else 0.31) + seed))
    y = ROOM + round(0.4 * sway * math.sin(now * (2.6 if walking else 0.47) + 2 * seed))
    return picture.crop((x, y, x + WIDE, y + HIGH))


@lru_cache(maxsize=64)
def _picture(shore: str, shows: str | None, near: bool) -> Image.Image:
    seed = zlib.crc32(f"{shore}/{shows}".encode())
    size = ((WIDE + 2 * ROOM) * FINE, (HIGH + 2 * ROOM) * FINE)
    if shows == "tray":
        image = _tray(size, shore, seed)
    elif shows and near:
        image = _in_hand(size, shore, shows, seed)
    elif shows:
        image = _in_mud(size, shore, shows, seed)
    else:
        image = _shore(size, shore, seed)
    return image.resize((size[0] // FINE, size[1] // FINE), Image.Resampling.LANCZOS)


def _shore(size: tuple[int, int], shore: str, seed: int) -> Image.Image:
    wide, high = size
    horizon = round(high * 0.36)
    image = Image.new("RGB", size, MUD[shore])
    draw = ImageDraw.Draw(image)
    sky = SKY[shore]
    for y in range(horizon):
        pale = y / horizon
        draw.line((0, y, wide, y), fill=tuple(round(c + (238 - c) * pale * 0.7) for c in sky))
    pen, hand = Pen(image, (0, 0), 1, seed), random.Random(seed)
    for _ in range(5):
        x, y = hand.uniform(0, wide), hand.uniform(0.05, 0.25) * high
        w = hand.uniform(90, 220)
        pen.shape(
            [(x - w, y), (x - w / 2, y - 22), (x, y - 14), (x + w / 2, y - 26), (x + w, y), (x, y + 10)],
            (232, 236, 238),
            None,
            shade=0.08,
        )
    hills = [(0, horizon), *((x, horizon - hand.uniform(8, 34)) for x in range(0, wide + 1, 120)), (wide, horizon)]
    draw.polygon(hills, fill=(128, 142, 132))
    water = round(high * 0.13)
    for y in range(water):
        shine = 0.5 + 0.5 * math.sin(y * 0.5)
        draw.line(
            (0, horizon + y, wide, horizon + y),
            fill=(round(112 + 16 * shine), round(132 + 14 * shine), round(142 + 12 * shine)),
        )
    edge = [
        (0, horizon + water),
        *((x, horizon + water + 10 * math.sin(x / 140 + seed % 7)) for x in range(0, wide + 1, 40)),
    ]
    draw.polygon([*edge, (wide, high), (0, high)], fill=MUD[shore])
    draw.line(edge[1:], fill=(206, 210, 204), width=4)
    _ground(pen, hand, size, horizon + water + 20, MUD[shore])
    _landmark(pen, shore, wide, horizon, high)
    return image


def _landmark(pen: Pen, shore: str, wide: int, horizon: int, high: int) -> None:
    if shore == "jetty":
        for i in range(7):
            x, y = wide * 0.58 + i * 62, horizon + 36 + i * 13
            pen.shape([(x, y - 66), (x + 14, y - 68), (x + 16, y + 60), (x - 2, y + 62)], (78, 68, 58), smooth=False)
        pen.shape(
            [
                (wide * 0.55, horizon - 34),
                (wide + 40, horizon + 36),
                (wide + 40, horizon + 62),
                (wide * 0.55, horizon - 14),
            ],
            (96, 84, 70),
            smooth=False,
        )
    elif shore == "sea wall":
        pen.shape(
            [(-20, horizon - 120), (wide * 0.34, horizon + 8), (wide * 0.38, horizon + 60), (-20, high * 0.72)],
            (138, 134, 126),
            smooth=False,
        )
        for i in range(1, 6):
            pen.line(
                [(-20, horizon - 120 + i * 62), (wide * 0.35, horizon + 8 + i * 9)], (104, 100, 94), 3, smooth=False
            )
    elif shore == "car park":
        pen.shape(
            [
                (wide * 0.6, horizon + 130),
                (wide * 0.61, horizon + 40),
                (wide * 0.68, horizon - 40),
                (wide * 0.9, horizon - 40),
                (wide * 0.96, horizon + 40),
                (wide * 0.98, horizon + 130),
            ],
            (112, 58, 52),
            smooth=False,
        )
        pen.shape(
            [
                (wide * 0.65, horizon + 30),
                (wide * 0.69, horizon - 24),
                (wide * 0.88, horizon - 24),
                (wide * 0.93, horizon + 30),
            ],
            (164, 184, 192),
            smooth=False,
        )
        for x in (0.67, 0.91):
            pen.ring((wide * x, horizon + 132), 44, 44, (50, 50, 52))
    else:
        pen.shape(
            [
                (wide * 0.66, horizon + 40),
                (wide * 0.7, horizon + 62),
                (wide * 0.84, horizon + 62),
                (wide * 0.9, horizon + 36),
            ],
            (88, 74, 70),
            smooth=False,
        )
        pen.line([(wide * 0.76, horizon + 40), (wide * 0.78, horizon - 92)], (80, 72, 64), 5, smooth=False)


def _ground(pen: Pen, hand: random.Random, size: tuple[int, int], top: int, mud: tuple[int, int, int]) -> None:
    """Pebbles, weed and wet patches, larger the nearer they lie."""
    wide, high = size
    for _ in range(26):
        depth = hand.random() ** 0.7
        x, y, r = hand.uniform(0, wide), top + depth * (high - top), 20 + 90 * depth
        tone = hand.uniform(0.86, 1.1)
        pen.ring((x, y), r, r * 0.22, tuple(round(c * tone) for c in mud), None, shade=0.1)
    for _ in range(90):
        depth = hand.random()
        x, y, r = hand.uniform(0, wide), top + depth * (high - top), 3 + 16 * depth * hand.uniform(0.5, 1)
        grey = hand.randint(78, 168)
        pen.ring((x, y), r, r * 0.62, (grey, grey - 6, grey - 16), (70, 62, 54), shade=0.4, width=1.4)


def _in_mud(size: tuple[int, int], shore: str, shows: str, seed: int) -> Image.Image:
    wide, high = size
    image = Image.new("RGB", size, MUD[shore])
    hand = random.Random(seed)
    pen = Pen(image, (0, 0), 1, seed)
    for _ in range(34):
        tone = hand.uniform(0.84, 1.12)
        pen.ring(
            (hand.uniform(0, wide), hand.uniform(0, high)),
            hand.uniform(60, 220),
            hand.uniform(24, 80),
            tuple(min(255, round(c * tone)) for c in MUD[shore]),
            None,
            shade=0.1,
        )
    for _ in range(46):
        grey, r = hand.randint(84, 170), hand.uniform(8, 36)
        pen.ring((hand.uniform(0, wide), hand.uniform(0, high)), r, r * 0.72, (grey, grey - 6, grey - 14), shade=0.45)
    pen.ring((wide * 0.5, high * 0.53), 190, 116, tuple(round(c * 0.72) for c in MUD[shore]), None, shade=0.2)
    OBJECTS[shows](Pen(image, (wide * 0.5, high * 0.5), 1.5, seed, turn=24))
    pen.shape(
        [
            (wide * 0.34, high * 0.64),
            (wide * 0.44, high * 0.605),
            (wide * 0.52, high * 0.63),
            (wide * 0.62, high * 0.6),
            (wide * 0.68, high * 0.67),
            (wide * 0.5, high * 0.73),
        ],
        MUD[shore],
        None,
        shade=0.2,
    )
    return image


def _in_hand(size: tuple[int, int], shore: str, shows: str, seed: int) -> Image.Image:
    wide, high = size
    image = _in_mud(size, shore, shows, seed).filter(ImageFilter.GaussianBlur(18))
    glove = (66, 96, 118)
    pen = Pen(image, (wide * 0.5, high * 0.5), 1, seed)
    pen.shape(
        [
            (-150, 560),
            (-230, 300),
            (-300, 130),
            (-270, 40),
            (-120, 90),
            (40, 60),
            (220, 40),
            (300, 90),
            (290, 220),
            (190, 340),
            (170, 560),
        ],
        glove,
        shade=0.5,
        width=4,
    )
    for x, lean in ((-250, -40), (-140, -16), (-20, 6), (104, 30)):
        pen.shape(
            [
                (x - 52, 110),
                (x - 54 + lean, -20),
                (x - 30 + lean, -74),
                (x + 22 + lean, -76),
                (x + 50 + lean, -16),
                (x + 56, 110),
            ],
            glove,
            shade=0.45,
            width=4,
        )
    OBJECTS[shows](Pen(image, (wide * 0.49, high * 0.42), 3.0, seed, turn=-6))
    pen.shape(
        [(250, 330), (330, 210), (330, 90), (268, 40), (196, 96), (168, 190), (176, 320)], glove, shade=0.5, width=4
    )
    return image


def _tray(size: tuple[int, int], shore: str, seed: int) -> Image.Image:
    image = Image.new("RGB", size, (88, 78, 70))
    wide, high = size
    tray(Pen(image, (wide * 0.5, high * 0.5), 3.1, seed))
    laid = ("pipe bowl", "musket ball", "cloth seal", "thimble", "bellarmine", "codd bottle", "sixpence", "penny")
    for place, shows in enumerate(laid):
        x = wide * (0.2 + 0.2 * (place % 4))
        y = high * (0.33 if place < 4 else 0.67)
        OBJECTS[shows](Pen(image, (x, y), 0.95, seed + place, turn=(place * 37) % 30 - 15))
    return image
