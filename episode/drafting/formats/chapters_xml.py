"""Chapters for Matroska files (``mkvmerge --chapters``, or an editor's chapter import).

Elements and their meaning: RFC 9559, section "Chapters": one edition of simple chapters; unique numbers that are not
zero; an end later than its start; a display with a title and its language. How their names are written as XML:
MKVToolNix's own form (from memory; the test has that program read it).
"""

from __future__ import annotations

import hashlib
import re
from xml.etree import ElementTree as ET

from episode.drafting.result import DayResult

NAME = "chapters.xml"

_LEAST_NS = 1_000_000
_LANGUAGES = {"en": "eng", "cy": "wel", "ga": "gle", "gd": "gla", "fr": "fre", "de": "ger", "nl": "dut", "es": "spa"}
"""ISO 639-1 to 639-2, bibliographic; others are ``und`` there and go by their BCP 47 tag (from memory)."""
_TAG = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""All but the characters of XML 1.0, production 2."""


def render(day: DayResult) -> str:
    """The file's text, times as ``hh:mm:ss.nnnnnnnnn``; the same chapters give the same unique numbers."""
    root = ET.Element("Chapters")
    edition = ET.SubElement(root, "EditionEntry")
    _put(edition, "EditionUID", _unique("edition", *(chapter.title for chapter in day.chapters)))
    tag = day.settings.language if _TAG.fullmatch(day.settings.language) else "und"
    for number, chapter in enumerate(day.chapters):
        start = round(chapter.start * 1000) * 1_000_000
        atom = ET.SubElement(edition, "ChapterAtom")
        _put(atom, "ChapterUID", _unique(str(number), str(start), chapter.title))
        _put(atom, "ChapterTimeStart", _time(start))
        _put(atom, "ChapterTimeEnd", _time(max(round(chapter.end * 1000) * 1_000_000, start + _LEAST_NS)))
        shown = ET.SubElement(atom, "ChapterDisplay")
        _put(shown, "ChapterString", _NOT_XML.sub("", chapter.title))
        _put(shown, "ChapterLanguage", _LANGUAGES.get(tag.split("-")[0].lower(), "und"))
        _put(shown, "ChapLanguageIETF", tag)
    if not day.chapters:
        root.remove(edition)  # an edition must hold a chapter
    ET.indent(root, " ")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ET.tostring(root, encoding="unicode") + "\n"


def _put(parent: ET.Element, name: str, text: str) -> None:
    ET.SubElement(parent, name).text = text


def _unique(*parts: str) -> str:
    """A number from 1 to 2^63 that depends on ``parts`` alone."""
    digest = hashlib.sha256("\0".join(parts).encode("utf-8", "replace")).digest()
    return str((int.from_bytes(digest[:8], "big") >> 1) + 1)


def _time(nanoseconds: int) -> str:
    seconds, rest = divmod(nanoseconds, 1_000_000_000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{rest:09d}"
