"""The finds, drawn: each function draws one object within a box from -100 to 100."""

from __future__ import annotations

import math
from collections.abc import Callable

from pen import Pen

WHITE = (236, 232, 220)
CREAM = (232, 214, 160)
LEAD = (132, 136, 140)
COPPER = (142, 128, 82)
SILVER = (196, 198, 196)
BROWN = (146, 98, 60)
BLUE = (48, 72, 142)
GREEN = (112, 158, 134)
TILE = (182, 98, 66)
BRONZE = (120, 88, 56)
BONE = (222, 206, 168)
INK = (58, 48, 42)


def pipe_bowl(p: Pen) -> None:
    p.shape(
        [
            (-60, -72),
            (-66, -10),
            (-48, 40),
            (-20, 58),
            (-16, 80),
            (2, 82),
            (8, 64),
            (60, 62),
            (76, 52),
            (70, 30),
            (34, 18),
            (38, -30),
            (32, -80),
            (-12, -88),
        ],
        WHITE,
    )
    p.shape([(-58, -74), (-14, -88), (31, -80), (-12, -66)], (120, 104, 88), shade=0.2)
    p.line([(-62, -56), (-14, -50), (34, -62)], (170, 160, 146), 1.6)
    p.shape([(72, 52), (80, 44), (74, 32), (66, 40)], (206, 200, 188), shade=0.1)
    p.shape([(75, 45), (78, 42), (75, 38), (72, 41)], INK, None, shade=0)


def pipe_stem(p: Pen) -> None:
    p.shape([(-96, 20), (-92, 2), (88, -24), (96, -8), (92, 4), (-90, 28)], WHITE, smooth=False)
    p.shape([(88, -24), (98, -14), (94, 4), (86, -6)], (206, 200, 188), shade=0.1)
    p.ring((92, -10), 3, 4, INK, None, shade=0)


def creamware(p: Pen) -> None:
    p.shape(
        [(-88, -36), (-40, -58), (20, -62), (84, -44), (70, 6), (38, 20), (20, 62), (-22, 40), (-58, 48), (-70, 4)],
        CREAM,
        smooth=False,
    )
    p.line([(-82, -24), (-38, -44), (20, -48), (80, -30)], (196, 176, 120), 2.4)
    p.line([(-78, -12), (-36, -32), (20, -36), (77, -18)], (204, 186, 132), 1.6)
    p.shape([(70, 6), (38, 20), (20, 62), (26, 66), (44, 27), (76, 12)], (240, 230, 200), shade=0.1, smooth=False)


def musket_ball(p: Pen) -> None:
    p.ring((0, 0), 62, 60, LEAD, shade=0.8)
    p.line([(-54, -26), (-4, -6), (58, -16)], (96, 100, 106), 1.8)
    p.specks(30, (-40, -30, 44, 44), (168, 170, 170), 2.4)


def cloth_seal(p: Pen) -> None:
    p.ring((-36, 4), 52, 50, LEAD, shade=0.6)
    p.ring((40, 10), 48, 46, (146, 150, 152), shade=0.6)
    p.shape([(-2, -14), (10, -14), (12, 8), (-2, 10)], LEAD, shade=0.3)
    p.line([(-64, 20), (-54, -8), (-40, 6), (-44, -18), (-26, -26), (-14, -12), (-22, 0), (-10, 22)], (84, 88, 92), 3)
    p.line([(-50, 24), (-46, 8)], (84, 88, 92), 3)
    p.ring((42, 10), 26, 24, (146, 150, 152), (96, 100, 104), shade=0.1)
    p.line([(30, 10), (54, 10)], (96, 100, 104), 3)
    p.line([(42, -2), (42, 22)], (96, 100, 104), 3)


def pins(p: Pen) -> None:
    for x, y, angle in ((-60, 40, -28), (-30, 52, -44), (-66, 6, -8), (-40, -30, 16), (-6, 60, -70)):
        a = math.radians(angle)
        tip = (x + 130 * math.cos(a), y + 130 * math.sin(a))
        p.line([(x, y), tip], (92, 82, 50), 5, smooth=False)
        p.line([(x, y - 1), (tip[0], tip[1] - 1)], (176, 160, 106), 2, smooth=False)
        p.ring((x, y), 7, 7, COPPER, shade=0.6)


def aglet(p: Pen) -> None:
    p.shape([(-92, 14), (-90, -6), (84, -16), (92, -8), (86, 4)], COPPER, smooth=False, shade=0.7)
    p.line([(-88, 4), (84, -6)], (88, 76, 44), 1.8, smooth=False)
    p.ring((-90, 4), 4, 9, (60, 50, 34), shade=0)


def thimble(p: Pen) -> None:
    p.shape(
        [(-70, 46), (-46, -28), (-14, -52), (24, -48), (50, -22), (74, 36), (66, 52), (4, 44), (-60, 58)],
        COPPER,
        shade=0.65,
    )
    p.line([(-66, 40), (2, 30), (70, 36)], (92, 82, 50), 2.4)
    for row in range(5):
        for dot in range(9 - row):
            x = -46 + dot * 12 + row * 7
            p.ring((x + 4 * (row % 2), 18 - row * 15 + abs(dot - 4) * 1.5), 2.6, 2.4, (86, 76, 46), None, shade=0)
    p.shape([(-30, -38), (10, -20), (36, -34), (14, -46)], (104, 92, 58), shade=0.3)


def sixpence(p: Pen) -> None:
    p.shape([(-62, -32), (-20, -66), (36, -60), (66, -18), (60, 34), (18, 66), (-36, 58), (-68, 18)], SILVER, shade=0.4)
    p.ring((0, 0), 50, 48, SILVER, (120, 122, 124), shade=0.05, width=1.4)
    p.shape(
        [
            (-22, 40),
            (-26, 18),
            (-32, 4),
            (-24, -4),
            (-24, -24),
            (-6, -38),
            (12, -32),
            (16, -12),
            (10, 6),
            (16, 24),
            (24, 42),
        ],
        (164, 166, 168),
        (96, 98, 102),
        shade=0.3,
        width=1.8,
    )
    p.line([(-22, -28), (-18, -38), (-8, -34), (0, -42), (8, -34), (16, -36)], (96, 98, 102), 2)
    p.ring((30, -8), 8, 8, (170, 172, 174), (96, 98, 102), shade=0.2, width=1.6)
    p.line([(-28, 42), (-8, 34), (24, 44)], (96, 98, 102), 2)
    for i in range(26):
        a = i * math.tau / 26
        p.line(
            [(54 * math.cos(a), 52 * math.sin(a)), (59 * math.cos(a + 0.05), 57 * math.sin(a + 0.05))],
            (118, 120, 122),
            2,
        )


def bellarmine(p: Pen) -> None:
    p.shape(
        [(-70, -62), (-10, -86), (62, -66), (84, -4), (58, 70), (-14, 86), (-66, 58), (-86, 0)],
        BROWN,
        smooth=False,
        shade=0.5,
    )
    p.specks(220, (-62, -56, 60, 62), (108, 66, 38), 2.4)
    p.ring((-4, -6), 44, 54, (164, 116, 74), (92, 58, 34), shade=0.4)
    for x in (-22, 14):
        p.ring((x, -26), 8, 5, (224, 190, 140), (70, 42, 26), shade=0)
        p.ring((x, -26), 3, 3, (50, 32, 22), None, shade=0)
        p.line([(x - 11, -38), (x, -43), (x + 11, -38)], (80, 50, 30), 3)
    p.shape([(-8, -28), (0, -28), (6, -4), (-14, -4)], (176, 128, 84), (92, 58, 34), shade=0.3)
    p.line([(-20, 8), (-4, 12), (12, 8)], (70, 42, 26), 4)
    for i in range(9):
        x = -36 + i * 8
        p.line([(x + 4, 16), (x, 32), (x + 5, 46 - abs(i - 4) * 3)], (92, 58, 34), 2.6)


def westerwald(p: Pen) -> None:
    p.shape(
        [(-84, -40), (-10, -66), (70, -46), (88, 16), (22, 60), (-56, 50)], (178, 180, 182), smooth=False, shade=0.4
    )
    for x, y in ((-40, -10), (10, -20), (46, 8), (-10, 24)):
        for i in range(6):
            a = i * math.tau / 6
            p.ring((x + 13 * math.cos(a), y + 13 * math.sin(a)), 6, 6, BLUE, (30, 44, 92), shade=0.2, width=1.2)
        p.ring((x, y), 5, 5, (150, 152, 156), (30, 44, 92), shade=0, width=1.2)
    p.line([(-78, -26), (-10, -50), (70, -32)], BLUE, 5)


def peg_tile(p: Pen) -> None:
    p.shape([(-80, -58), (66, -66), (78, 30), (30, 62), (-10, 46), (-74, 66)], TILE, smooth=False, shade=0.4)
    p.specks(120, (-66, -50, 60, 40), (140, 70, 46), 2.6)
    p.ring((-20, -34), 12, 12, (72, 50, 40), shade=0.2)


def codd_bottle(p: Pen) -> None:
    p.shape(
        [
            (-30, -90),
            (30, -90),
            (32, -66),
            (24, -58),
            (26, -36),
            (14, -26),
            (28, -12),
            (44, 14),
            (60, 44),
            (54, 84),
            (20, 70),
            (-6, 88),
            (-34, 72),
            (-58, 82),
            (-58, 40),
            (-42, 12),
            (-28, -12),
            (-14, -26),
            (-26, -36),
            (-24, -58),
            (-32, -66),
        ],
        GREEN,
        (44, 78, 62),
        smooth=False,
        shade=0.5,
    )
    p.line([(-30, -80), (30, -80)], (72, 112, 92), 2.6)
    p.ring((2, -46), 15, 14, (150, 196, 176), (44, 78, 62), shade=0.6)
    p.line([(-36, 30), (-30, 60)], (190, 222, 206), 5)
    for row, y in enumerate((28, 46)):
        for i in range(6):
            x = -24 + i * 10
            p.line([(x, y), (x, y + 10), (x + 5, y + (2 if (i + row) % 2 else 10))], (72, 116, 96), 2.2, smooth=False)


def pearlware(p: Pen) -> None:
    p.shape(
        [(-82, -50), (-6, -72), (74, -48), (86, 18), (30, 32), (10, 70), (-48, 54), (-70, 20)],
        (230, 236, 238),
        smooth=False,
        shade=0.3,
    )
    p.line([(-72, 16), (-30, -8), (16, -8), (60, 14)], BLUE, 4)
    p.line([(-72, 28), (-34, 2), (16, 2), (60, 24)], BLUE, 2)
    for x in (-42, -14, 14, 42):
        p.line([(x, 0), (x, 22)], BLUE, 2.4)
    for x, y in ((-46, -34), (-36, -42), (-28, -32), (34, -36), (44, -28), (52, -38), (24, -30)):
        p.ring((x, y), 8, 6, (88, 112, 178), BLUE, shade=0.2, width=1.2)
    for x in (-6, 8):
        p.line([(x, -10), (x + 1, -22)], BLUE, 3.4)
        p.ring((x + 1, -27), 3.4, 3.4, BLUE, None, shade=0)
    p.line([(-30, 44), (-6, 38), (14, 46)], (88, 112, 178), 2.4)


def buckle(p: Pen) -> None:
    p.shape([(-86, -46), (0, -58), (86, -46), (94, 0), (86, 46), (0, 56), (-86, 46), (-94, 0)], COPPER, shade=0.6)
    p.shape(
        [(-64, -28), (0, -38), (64, -28), (68, 0), (64, 28), (0, 36), (-64, 28), (-68, 0)], (104, 96, 84), shade=0.1
    )
    p.line([(0, -50), (0, 50)], (80, 70, 44), 5)
    for i in range(22):
        a = i * math.tau / 22
        p.ring((79 * math.cos(a), 46 * math.sin(a)), 4.4, 4.4, (188, 172, 116), (92, 82, 50), shade=0.3, width=1)


def penny(p: Pen) -> None:
    p.ring((0, 0), 78, 76, BRONZE, shade=0.5)
    p.ring((0, 0), 70, 68, BRONZE, (84, 58, 34), shade=0.05, width=1.4)
    p.shape(
        [
            (-24, 50),
            (-20, 26),
            (-30, 14),
            (-26, 4),
            (-32, -6),
            (-22, -14),
            (-22, -32),
            (-2, -44),
            (20, -36),
            (40, -34),
            (44, -18),
            (28, -10),
            (22, 10),
            (26, 30),
            (34, 50),
        ],
        (148, 112, 74),
        (74, 50, 30),
        shade=0.35,
        width=1.8,
    )
    p.line([(-18, -30), (6, -26), (30, -28)], (74, 50, 30), 2.2)
    for i in range(40):
        a = i * math.tau / 40
        p.line([(71 * math.cos(a), 69 * math.sin(a)), (75 * math.cos(a), 73 * math.sin(a))], (84, 58, 34), 2)


def bone_handle(p: Pen) -> None:
    p.shape(
        [(-98, 22), (-94, 4), (-20, -6), (30, -16), (80, -30), (98, -22), (96, -6), (44, 6), (-20, 14), (-88, 32)],
        BONE,
        shade=0.5,
    )
    p.line([(-80, 16), (-20, 4), (40, -6)], (186, 168, 126), 1.8)
    p.line([(-60, 22), (0, 8), (60, -6)], (196, 180, 140), 1.4)
    p.shape([(-98, 22), (-94, 4), (-88, 10), (-90, 28)], (200, 182, 140), shade=0.2)


def tray(p: Pen) -> None:
    """Everything of the day, laid out on a towel; drawn by the pictures, which know the layout."""
    p.shape([(-190, -104), (188, -108), (196, 104), (-194, 108)], (124, 146, 156), smooth=False, shade=0.25)


OBJECTS: dict[str, Callable[[Pen], None]] = {
    "pipe bowl": pipe_bowl,
    "pipe stem": pipe_stem,
    "creamware": creamware,
    "musket ball": musket_ball,
    "cloth seal": cloth_seal,
    "pins": pins,
    "aglet": aglet,
    "thimble": thimble,
    "sixpence": sixpence,
    "bellarmine": bellarmine,
    "westerwald": westerwald,
    "peg tile": peg_tile,
    "codd bottle": codd_bottle,
    "pearlware": pearlware,
    "buckle": buckle,
    "penny": penny,
    "bone handle": bone_handle,
}
