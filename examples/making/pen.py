"""A pen with a slightly unsteady hand: smooth outlines, flat washes and soft shading."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from PIL import Image, ImageChops, ImageDraw, ImageFilter

Point = tuple[float, float]
Colour = tuple[int, int, int]


class Pen:
    """Draws on ``image`` in units of its own: ``origin`` is (0, 0) and a unit is ``scale`` pixels."""

    def __init__(self, image: Image.Image, origin: Point, scale: float, seed: int, turn: float = 0.0) -> None:
        self.image = image
        self._origin = origin
        self._scale = scale
        self._turn = math.radians(turn)
        self._hand = random.Random(seed)

    def shape(
        self,
        points: Sequence[Point],
        fill: Colour,
        ink: Colour | None = (58, 48, 42),
        *,
        smooth: bool = True,
        shade: float = 0.45,
        width: float = 2.2,
    ) -> None:
        """A closed form with light from the upper left. ``shade`` is how dark its far side gets (0 to 1)."""
        path = [self._at(p) for p in (_curve(points) if smooth else points)]
        left, top = (max(0, math.floor(min(p[axis] for p in path)) - 1) for axis in (0, 1))
        right, bottom = (min(self.image.size[axis], math.ceil(max(p[axis] for p in path)) + 2) for axis in (0, 1))
        if right <= left or bottom <= top:
            return
        mask = Image.new("L", (right - left, bottom - top), 0)
        ImageDraw.Draw(mask).polygon([(x - left, y - top) for x, y in path], fill=255)
        self.image.paste(fill, (left, top), mask)
        if shade:
            self._shade(mask, (left, top), fill, shade)
        if ink:
            self._ink([*path, path[0]], ink, width)

    def line(self, points: Sequence[Point], ink: Colour, width: float = 2.0, *, smooth: bool = True) -> None:
        self._ink([self._at(p) for p in (_curve(points, closed=False) if smooth else points)], ink, width)

    def ring(self, centre: Point, rx: float, ry: float, fill: Colour, ink: Colour | None = (58, 48, 42), **how) -> None:
        """An ellipse as an unsteady hand draws it."""
        points = [
            (
                centre[0] + rx * math.cos(a) * (1 + self._hand.uniform(-0.015, 0.015)),
                centre[1] + ry * math.sin(a) * (1 + self._hand.uniform(-0.015, 0.015)),
            )
            for a in (i * math.tau / 20 for i in range(20))
        ]
        self.shape(points, fill, ink, **how)

    def specks(self, number: int, box: tuple[float, float, float, float], ink: Colour, size: float = 1.2) -> None:
        draw = ImageDraw.Draw(self.image)
        for _ in range(number):
            x, y = self._at((self._hand.uniform(box[0], box[2]), self._hand.uniform(box[1], box[3])))
            r = size * self._scale * self._hand.uniform(0.4, 1.0)
            draw.ellipse((x - r, y - r, x + r, y + r), fill=ink)

    def _ink(self, path: list[Point], ink: Colour, width: float) -> None:
        wide = max(1, round(width * self._scale))
        ImageDraw.Draw(self.image).line(path, fill=ink, width=wide, joint="curve")

    def _shade(self, mask: Image.Image, corner: tuple[int, int], fill: Colour, shade: float) -> None:
        wide, high = mask.size
        ramp = Image.linear_gradient("L").rotate(45, Image.Resampling.BICUBIC).crop((52, 52, 204, 204))
        veil = ImageChops.multiply(ramp.resize(mask.size).point(lambda v: round(v * shade)), mask)
        inner = mask.filter(ImageFilter.GaussianBlur(max(1.0, min(mask.size) * 0.09)))
        edge = ImageChops.multiply(ImageChops.invert(inner).point(lambda v: round(v * 0.5 * shade)), mask)
        self.image.paste(tuple(round(c * 0.35) for c in fill), corner, ImageChops.lighter(veil, edge))
        light = Image.new("L", mask.size, 0)
        box = (wide * 0.18, high * 0.14, wide * 0.48, high * 0.40)
        ImageDraw.Draw(light).ellipse(box, fill=round(90 * shade))
        light = light.filter(ImageFilter.GaussianBlur(max(2.0, min(mask.size) * 0.08)))
        self.image.paste((255, 252, 244), corner, ImageChops.multiply(light, mask))

    def _at(self, point: Point) -> Point:
        x, y = point
        x, y = x * math.cos(self._turn) - y * math.sin(self._turn), x * math.sin(self._turn) + y * math.cos(self._turn)
        return self._origin[0] + x * self._scale, self._origin[1] + y * self._scale


def _curve(points: Sequence[Point], *, closed: bool = True, steps: int = 8) -> list[Point]:
    """A Catmull-Rom spline through ``points``."""
    count = len(points)
    pick = (lambda i: points[i % count]) if closed else (lambda i: points[min(max(i, 0), count - 1)])
    path = []
    for i in range(count if closed else count - 1):
        a, b, c, d = pick(i - 1), pick(i), pick(i + 1), pick(i + 2)
        for step in range(steps):
            t = step / steps
            path.append(
                tuple(
                    0.5 * (2 * q + (r - p) * t + (2 * p - 5 * q + 4 * r - s) * t**2 + (3 * q - p - 3 * r + s) * t**3)
                    for p, q, r, s in zip(a, b, c, d, strict=True)
                )
            )
    if not closed:
        path.append(tuple(points[-1]))
    return path
