"""WGS 84 latitude and longitude to the British National Grid, good to about 5 m.

Method and constants: Ordnance Survey, "A guide to coordinate systems in Great Britain": the seven-parameter
transformation ETRS89 to OSGB36 (section 6.6), ellipsoids and projection (annex A), formulae (annexes B and C).
"""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, radians, sin, sqrt, tan

_GRS80 = (6378137.0, 6356752.3141)
_AIRY = (6377563.396, 6356256.909)
_SHIFT = (-446.448, 125.157, -542.060)
_TURN = tuple(radians(seconds / 3600) for seconds in (-0.1502, -0.2470, -0.8421))
_SCALE = 20.4894e-6
_F0, _LAT0, _LON0, _E0, _N0 = 0.9996012717, radians(49), radians(-2), 400000.0, -100000.0

_LETTERS = "ABCDEFGHJKLMNOPQRSTUVWXYZ"  # no I


def national_grid(lat: float, lon: float) -> tuple[float, float] | None:
    """Easting and northing in metres, or None where the grid is not what people use (outside Great Britain)."""
    if not in_great_britain(lat, lon):
        return None
    return project(*to_osgb36(lat, lon))


def in_great_britain(lat: float, lon: float) -> bool:
    """Whether a position is in Great Britain or the sea off it: roughly, by lines drawn down the middle of the sea.

    (Common practice, no source; Ireland and the Continent have grids of their own.)
    """
    if not (49.7 <= lat <= 61.0 and -8.8 <= lon <= 2.0):
        return False
    continent = (lat < 50.2 and lon > -3.0) or (lat < 51.0 and lon > 1.2) or (lat < 51.4 and lon > 1.5)
    edge = -5.9 if lat >= 54.9 else -5.35 if lat >= 54.0 else -5.5
    ireland = 51.2 < lat < 55.45 and lon < edge
    return not (continent or ireland)


def grid_square(easting: float, northing: float, figures: int) -> str:
    """The reference of the square of ``figures`` figures that holds a point, cut and never rounded: ``TG 51 13``.

    Raises:
        ValueError: the point is off the lettered grid, or ``figures`` is odd or out of 2 to 10.
    """
    if figures not in {2, 4, 6, 8, 10}:
        raise ValueError("2, 4, 6, 8 or 10 figures")
    column, row = int(easting // 100_000), int(northing // 100_000)
    if not (0 <= column <= 6 and 0 <= row <= 12):
        raise ValueError("off the National Grid")
    first = _LETTERS[(19 - row) - (19 - row) % 5 + (column + 10) // 5]
    second = _LETTERS[(19 - row) * 5 % 25 + column % 5]
    size = 10 ** (5 - figures // 2)
    east, north = int(easting % 100_000) // size, int(northing % 100_000) // size
    return f"{first}{second} {east:0{figures // 2}d} {north:0{figures // 2}d}"


def from_square(letters: str, east: str, north: str) -> tuple[float, float] | None:
    """The south-west corner of a lettered reference in metres, or None where the letters are off the grid."""
    if len(letters) != 2 or "I" in letters.upper() or len(east) != len(north):
        return None
    first, second = (_LETTERS.index(letter) for letter in letters.upper())
    column = (first - 2) % 5 * 5 + second % 5
    row = 19 - first // 5 * 5 - second // 5
    if not (0 <= column <= 6 and 0 <= row <= 12):
        return None
    size = 10 ** (5 - len(east))
    return column * 100_000 + int(east) * size, row * 100_000 + int(north) * size


def to_osgb36(lat: float, lon: float) -> tuple[float, float]:
    """WGS 84 degrees to OSGB36 degrees (height 0)."""
    a, b = _GRS80
    phi, lam = radians(lat), radians(lon)
    nu = a / sqrt(1 - (1 - b * b / (a * a)) * sin(phi) ** 2)
    x, y, z = nu * cos(phi) * cos(lam), nu * cos(phi) * sin(lam), b * b / (a * a) * nu * sin(phi)
    x, y, z = helmert(x, y, z)
    a, b = _AIRY
    e2 = 1 - b * b / (a * a)
    p = hypot(x, y)
    phi = atan2(z, p * (1 - e2))
    for _ in range(8):
        phi = atan2(z + e2 * a / sqrt(1 - e2 * sin(phi) ** 2) * sin(phi), p)
    return degrees(phi), degrees(atan2(y, x))


def helmert(x: float, y: float, z: float) -> tuple[float, float, float]:
    """Geocentric metres in ETRS89 to the same in OSGB36."""
    (tx, ty, tz), (rx, ry, rz), k = _SHIFT, _TURN, 1 + _SCALE
    return tx + k * x - rz * y + ry * z, ty + rz * x + k * y - rx * z, tz - ry * x + rx * y + k * z


def project(lat: float, lon: float) -> tuple[float, float]:
    """OSGB36 degrees to easting and northing in metres (the guide's annex C.1; names as there)."""
    a, b = _AIRY
    phi, lam = radians(lat), radians(lon) - _LON0
    e2, n = 1 - b * b / (a * a), (a - b) / (a + b)
    nu = a * _F0 / sqrt(1 - e2 * sin(phi) ** 2)
    rho = a * _F0 * (1 - e2) * (1 - e2 * sin(phi) ** 2) ** -1.5
    eta2 = nu / rho - 1
    less, more = phi - _LAT0, phi + _LAT0
    m = b * _F0 * (
        (1 + n + 1.25 * n**2 + 1.25 * n**3) * less
        - (3 * n + 3 * n**2 + 21 / 8 * n**3) * sin(less) * cos(more)
        + (15 / 8 * n**2 + 15 / 8 * n**3) * sin(2 * less) * cos(2 * more)
        - 35 / 24 * n**3 * sin(3 * less) * cos(3 * more)
    )  # fmt: skip
    c, t2 = cos(phi), tan(phi) ** 2
    i, ii = m + _N0, nu / 2 * sin(phi) * c
    iii = nu / 24 * sin(phi) * c**3 * (5 - t2 + 9 * eta2)
    iiia = nu / 720 * sin(phi) * c**5 * (61 - 58 * t2 + t2 * t2)
    iv, v = nu * c, nu / 6 * c**3 * (nu / rho - t2)
    vi = nu / 120 * c**5 * (5 - 18 * t2 + t2 * t2 + 14 * eta2 - 58 * t2 * eta2)
    return _E0 + iv * lam + v * lam**3 + vi * lam**5, i + ii * lam**2 + iii * lam**4 + iiia * lam**6
