"""Marks and measurements that published tables turn into years."""

from __future__ import annotations

import re

from episode.record.ceramic_mean import read_ceramics
from episode.record.coin_legends import read_legend
from episode.record.diamond import read_diamond
from episode.record.hallmarks import read_hallmark
from episode.record.patent_numbers import read_patent
from episode.record.pipe_bores import read_bores
from episode.record.rd_numbers import read_rd_number
from episode.record.reading import Mark
from episode.record.regnal import read_regnal

_RD = re.compile(
    r"^\s*(?:rd|r\.?d\.?|regd?|registered)\.?\s*(?:no|number|design(?: no| number)?)?\.?\s*:?\s*(?P<rest>.*)$", re.I
)
_DIAMOND = re.compile(
    r"^\s*(?:registration |registry |kite |design )?(?:diamond|kite|lozenge)\s*(?:mark)?\s*:?\s*(?P<rest>.*)$", re.I
)
_PIPES = re.compile(r"^\s*(?:clay )?(?:pipe stems?|pipe bores?|pipes?|bores?|stems?)\s*:?\s*(?P<rest>\d.*)$", re.I)
_CERAMICS = re.compile(r"^\s*(?:mean ceramic(?: date)?|mcd|ceramics|sherds)\s*:?\s+(?P<rest>.*[:=]\s*\d.*)$", re.I)
_PATENT = re.compile(
    r"^\s*(?:british |english |uk |gb )?pat(?:ent|\.)?(?: number| numbers| no\.?| num)?\.?\s*:?\s*(?P<rest>\d.*)$", re.I
)
_LEGEND = re.compile(r"^\s*(?:coin )?(?:legend|inscription)\s*:?\s+(?P<rest>.*)$", re.I)
_HALLMARK = re.compile(r"^\s*(?:silver )?(?:hallmark|assay(?: office)?|date letter)\s*:?\s+(?P<rest>.*)$", re.I)
_READERS = (
    (_RD, read_rd_number),
    (_DIAMOND, read_diamond),
    (_PIPES, read_bores),
    (_CERAMICS, read_ceramics),
    (_PATENT, read_patent),
    (_LEGEND, read_legend),
    (_HALLMARK, read_hallmark),
)
LONGEST = 500


def read_mark(text: str) -> Mark | None:
    """A mark as years, or ``None`` where the text is no mark that is known here.

    ``Rd 821265`` (a registered design number, 1884 to 1965); ``diamond Q B 23 class IV`` (a registration
    diamond: year letter, month letter, day; ``series 1`` or ``series 2`` where the layout tells);
    ``pipes 4:22 5:42 6:6`` (stem bores in 64ths of an inch, and how many of each); ``12 Elizabeth I`` (a regnal
    year); ``ceramics creamware:21, pearlware:17`` (South's mean); ``patent 10811/97``; ``legend CAROLVS II DEI
    GRATIA`` (a coin's); ``hallmark London c 1776``.

    Raises:
        UnusableInput: it is such a mark, and cannot be one: a number of no year, a letter of no month.
    """
    text = text[:LONGEST]
    for pattern, reader in _READERS:
        match = pattern.match(text)
        if match and (re.search(r"\d|\b[a-z]\b", match.group("rest"), re.I) or pattern in (_LEGEND, _HALLMARK)):
            return reader(match.group("rest"))
    return read_regnal(text)
