"""Keeping exact find spots out of everything that is written.

A precision is given as figures of a grid reference: 4 is a 1 km square, 6 is 100 m, 2 is 10 km, 0 withholds
the place altogether. (Figures and squares: Portable Antiquities Scheme guidance as quoted in ``vocab/rules``;
the Ordnance Survey's national grid letters are common practice, no source.)
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable

from episode.models import Settings

WITHHELD = "[place withheld]"

_GRID_LETTERS = """
HP HT HU HW HX HY HZ NA NB NC ND NF NG NH NJ NK NL NM NN NO NR NS NT NU NW NX NY NZ OV SC SD SE SH SJ SK SM
SN SO SP SR SS ST SU SV SW SX SY SZ TA TF TG TL TM TQ TR TV
"""
_SQUARES = frozenset(_GRID_LETTERS.split())
# Two digit groups of equal length, or one group of even length, after one or two grid letters.
_GRID = re.compile(
    r"(?<![A-Za-z0-9])(?P<letters>[A-Za-z]{1,2})(?P<gap>[ \t]?)"
    r"(?:(?P<east>\d{1,5})(?P<between>[ \t,./-]{1,2})(?P<north>\d{1,5})|(?P<run>\d{2,10}))(?![A-Za-z0-9])"
)
_NUMBERED = re.compile(r"(?:\b(?:rd|reg|regd|registered|registration|patent|design|mark|pattern|number)\W{0,3})$", re.I)
# Runs of space are taken possessively: what is read here may be hostile, and two open runs side by side cost
# their length squared. A last letter that begins a word ("even", "west") is no hemisphere.
_NORTH = r"(?:\s*+(?P<ns>[NSns]))?"
_EAST = r"(?:\s*+(?P<ew>[EWew])(?![^\W\d_]))?"
_DECIMAL = re.compile(
    r"(?<![\d.])(?P<lat>[-+]?\d{1,2}\.\d{2,})°?" + _NORTH + r"(?:\s*+[,;/]\s*+|[^\S ]*+ \s*+)"
    r"(?P<lon>[-+]?\d{1,3}\.\d{2,}+)°?" + _EAST
)
_ANGLE = r"(?P<d{0}>\d{{1,3}})°\s*+(?P<m{0}>\d{{1,2}}(?:\.\d+)?)['′’](?:\s*+(?P<s{0}>\d{{1,2}}(?:\.\d+)?)[\"″”]?)?"
_SEXAGESIMAL = re.compile(
    r"(?<!\d)(?:(?P<ns1>[NS])\s*+)?" + _ANGLE.format(1) + _NORTH + r"\s*+(?:[,;/]\s*+)?"
    r"(?:(?P<ew1>[EW])\s*+)?" + _ANGLE.format(2) + _EAST
)
_THREE_WORDS = re.compile(
    r"(?:///\s?)[^\W\d_]+\.[^\W\d_]+\.[^\W\d_]+|(?<![\w./@])[a-z]{3,}\.[a-z]{3,}\.[a-z]{3,}(?![\w./])"
)
_PLUS_CODE = re.compile(r"(?<![A-Z0-9])[23456789CFGHJMPQRVWX]{4,8}\+[23456789CFGHJMPQRVWX]{2,3}(?![A-Z0-9])")
_PLACELIKE = re.compile(r"[\d.+/]")
_TRACK_URL = re.compile(r"\bgeo:\S+", re.I)


def blur_grid(text: str, figures: int) -> str:
    """``text`` (a grid reference, coordinates, or words around them) no finer than ``figures``.

    Grid references are cut, never rounded, to the south-west corner of the square allowed; latitudes and
    longitudes are set to multiples that are wider than that square; three-word and plus codes, which cannot be
    shortened honestly, are withheld.
    """
    return _blur(text, figures, prose=False)


def blur_text(text: str, settings: Settings) -> str:
    """Running text with every find spot blurred and every private place name withheld.

    Private places are matched whole, whatever their case, with hyphens and line ends standing for spaces, and with or
    without "the" before them.
    """
    blurred = _blur(text, settings.grid_figures, prose=True)
    for place in settings.private_places:
        if said := _saying(place):
            blurred = said.sub(WITHHELD, blurred)
    return blurred


@functools.lru_cache(maxsize=1024)
def _saying(place: str) -> re.Pattern[str] | None:
    """What finds a private place in text; None for a name without words."""
    words = [re.escape(word) for word in re.split(r"[\s-]+", place.strip()) if word]
    if len(words) > 1 and words[0].casefold() == "the":
        words = [rf"(?:the[\s_-]+)?{words[1]}", *words[2:]]
    return re.compile(r"(?<!\w)" + r"[\s_-]+".join(words) + r"(?!\w)", re.I) if words else None


def _blur(text: str, figures: int, *, prose: bool) -> str:
    # Cheap exit: nothing in most strings looks like a place.
    if not _PLACELIKE.search(text):
        return text
    text = _TRACK_URL.sub(lambda m: _blur(m.group()[4:].replace(";", " "), figures, prose=prose), text)
    text = _SEXAGESIMAL.sub(_sexagesimal(figures), text)
    text = _DECIMAL.sub(_decimal(figures), text)
    text = _PLUS_CODE.sub(WITHHELD, text)
    text = _THREE_WORDS.sub(WITHHELD, text)
    return _GRID.sub(_grid(figures, prose=prose), text)


def _grid(figures: int, *, prose: bool) -> Callable[[re.Match[str]], str]:
    def replace(match: re.Match[str]) -> str:
        letters = match["letters"]
        if match["run"] is not None:
            run = match["run"]
            if len(run) % 2:
                return match.group()
            east, north, between = run[: len(run) // 2], run[len(run) // 2 :], ""
        else:
            east, north, between = match["east"], match["north"], " "
            if len(east) != len(north):
                return match.group()
        keep = figures // 2
        if len(east) <= keep or not _is_square(letters, east, match, prose=prose):
            return match.group()
        if keep == 0:
            return WITHHELD
        return f"{letters}{match['gap']}{east[:keep]}{between}{north[:keep]}"

    return replace


def _is_square(letters: str, east: str, match: re.Match[str], *, prose: bool) -> bool:
    if not prose:
        return True
    if _NUMBERED.search(match.string[: match.start()]):
        return False  # "Rd No 821265" is a registered design, not a square
    if len(letters) == 1:  # Irish grid: only unmistakable forms in running text
        return letters.isupper() and letters != "I" and len(east) >= 3
    if letters.isupper():
        return letters in _SQUARES or (letters[0] in "HNOST" and letters[1] != "I" and len(east) >= 3)
    return letters.upper() in _SQUARES and len(east) >= 3 and letters.lower() not in {"no", "so", "st"}


def _decimal(figures: int) -> Callable[[re.Match[str]], str]:
    def replace(match: re.Match[str]) -> str:
        lat, lon = float(match["lat"]), float(match["lon"])
        if (match["ns"] or "").upper() == "S":
            lat = -abs(lat)
        if (match["ew"] or "").upper() == "W":
            lon = -abs(lon)
        return _coordinates(lat, lon, figures, match.group())

    return replace


def _sexagesimal(figures: int) -> Callable[[re.Match[str]], str]:
    def replace(match: re.Match[str]) -> str:
        lat = float(match["d1"]) + float(match["m1"]) / 60 + float(match["s1"] or 0) / 3600
        lon = float(match["d2"]) + float(match["m2"]) / 60 + float(match["s2"] or 0) / 3600
        if "S" in {(match[end] or "").upper() for end in ("ns", "ns1")}:
            lat = -lat
        if "W" in {(match[end] or "").upper() for end in ("ew", "ew1")}:
            lon = -lon
        return _coordinates(lat, lon, figures, match.group())

    return replace


def _coordinates(lat: float, lon: float, figures: int, original: str) -> str:
    """0.02 degree of latitude is 2.2 km, of longitude 1.1 km at 60 degrees north: wider than a 1 km square."""
    if abs(lat) > 90 or abs(lon) > 180:
        return original
    steps = {2: 0.2, 4: 0.02, 6: 0.002}
    step = steps.get(figures)
    if figures >= 8:
        return original
    if step is None:
        return WITHHELD
    decimals = {0.2: 1, 0.02: 2, 0.002: 3}[step]
    return f"{round(lat / step) * step:.{decimals}f}, {round(lon / step) * step:.{decimals}f}"
