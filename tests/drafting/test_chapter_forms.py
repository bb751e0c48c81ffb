"""Chapters as other programs take them: Matroska XML by MKVToolNix and FFmpeg, podcast JSON by a schema of its spec."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.formats import chapters_podcast, chapters_xml
from episode.footage.tools import ffmpeg
from episode.models import Chapter
from tests.drafting.invented import SETTINGS, day

AWKWARD = (
    Chapter(start=0, end=59.9996, title="Setting out; <a=b> #1 \\ back"),
    Chapter(start=59.9996, end=3599.2, title="Pins & needles -- the 1st"),
    Chapter(start=3599.2, end=3700, title="Über-Fundstück: „Münze“ 硬币"),
)
CHAPTERS = st.lists(
    st.builds(lambda s, n, t: Chapter(start=s, end=s + n, title=t), st.floats(0, 9e4), st.floats(0, 9e3), st.text()),
    max_size=6,
)

# Written from the field list of Podcastindex-org/podcast-namespace, chapters/jsonChapters.md (version 1.2, 2021-04-15).
PODCAST = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "required": ["version", "chapters"],
    "additionalProperties": False,
    "properties": {
        "version": {"const": "1.2.0"},
        **{k: {"type": "string"} for k in ("author", "title", "podcastName", "description", "fileName")},
        "waypoints": {"type": "boolean"},
        "chapters": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["startTime"],
                "additionalProperties": False,
                "properties": {
                    "startTime": {"type": "number", "minimum": 0},
                    "endTime": {"type": "number", "minimum": 0},
                    **{k: {"type": "string"} for k in ("title", "img", "url")},
                    "toc": {"type": "boolean"},
                    "location": {
                        "type": "object",
                        "required": ["name", "geo"],
                        "properties": {k: {"type": "string"} for k in ("name", "geo", "osm")},
                    },
                },
            },
        },
    },
}

needs_mkvtoolnix = pytest.mark.skipif(
    not (shutil.which("mkvmerge") and shutil.which("mkvextract")), reason="mkvtoolnix is not installed"
)


def ran(*command: object) -> str:
    return subprocess.run(
        [str(part) for part in command], check=True, capture_output=True, timeout=120, text=True
    ).stdout


@needs_mkvtoolnix
def test_mkvtoolnix_puts_the_xml_into_a_film_and_gives_it_back(tmp_path: Path):
    import av

    given_xml, bare, film, back = (tmp_path / n for n in ("chapters.xml", "bare.mka", "film.mka", "back.xml"))
    given_xml.write_text(chapters_xml.render(day(chapters=AWKWARD)), encoding="utf-8")
    ran(
        ffmpeg().path, "-v", "error", "-f", "lavfi", "-i", "anullsrc=r=8000:cl=mono", "-t", 3700, "-c:a", "pcm_u8", bare
    )
    ran("mkvmerge", "--quiet", "-o", film, "--chapters", given_xml, bare)
    ran("mkvextract", film, "chapters", back)
    atoms = ET.parse(back).getroot().findall("EditionEntry/ChapterAtom")
    assert [a.findtext("ChapterDisplay/ChapterString") for a in atoms] == [c.title for c in AWKWARD]
    assert [a.findtext("ChapterTimeStart") for a in atoms] == [
        "00:00:00.000000000", "00:01:00.000000000", "00:59:59.200000000",
    ]  # fmt: skip
    assert [a.findtext("ChapterTimeEnd") for a in atoms][-1] == "01:01:40.000000000"
    sent = ET.fromstring(given_xml.read_text(encoding="utf-8")).findall("EditionEntry/ChapterAtom")
    assert [a.findtext("ChapterUID") for a in atoms] == [a.findtext("ChapterUID") for a in sent]
    assert {a.findtext("ChapterDisplay/ChapLanguageIETF") for a in atoms} == {"en"}
    with av.open(str(film)) as container:  # FFmpeg's libraries, as a second reader
        assert [c["metadata"]["title"] for c in container.chapters()] == [c.title for c in AWKWARD]


@needs_mkvtoolnix
@pytest.mark.parametrize("language", ["en", "cy", "nb", "english!", ""])
def test_mkvtoolnix_takes_any_language(tmp_path: Path, language: str):
    settings = SETTINGS.model_copy(update={"language": language})
    path, words = tmp_path / "chapters.xml", tmp_path / "words.srt"
    path.write_text(chapters_xml.render(day(chapters=AWKWARD, settings=settings)), encoding="utf-8")
    words.write_text("1\n00:00:00,000 --> 00:00:02,000\nMorning\n", encoding="utf-8")
    ran("mkvmerge", "--quiet", "-o", tmp_path / "out.mks", "--chapters", path, words)


@given(CHAPTERS)
def test_the_xml_is_whole_and_keeps_to_rfc_9559(chapters: list[Chapter]):
    # RFC 9559, sections 5.1.7.1: UIDs are unique and not 0; an end is strictly later than its start.
    atoms = ET.fromstring(chapters_xml.render(day(chapters=tuple(chapters)))).findall("EditionEntry/ChapterAtom")
    numbers = [int(a.findtext("ChapterUID") or 0) for a in atoms]
    assert len(numbers) == len(chapters) == len(set(numbers)) and all(0 < n < 2**64 for n in numbers)
    assert all((a.findtext("ChapterTimeStart") or "") < (a.findtext("ChapterTimeEnd") or "") for a in atoms)


@given(CHAPTERS)
def test_the_podcast_form_matches_its_specification(chapters: list[Chapter]):
    shape = json.loads(chapters_podcast.render(day(chapters=tuple(chapters))))
    jsonschema.Draft202012Validator(PODCAST).validate(shape)
    starts = [c["startTime"] for c in shape["chapters"]]
    assert starts == sorted(starts) and len(starts) == len(chapters)  # the specification asks for rising starts


def test_the_podcast_form_says_whose_chapters_they_are():
    shape = json.loads(chapters_podcast.render(day(chapters=AWKWARD, cut="final.mp4")))
    jsonschema.Draft202012Validator(PODCAST).validate(shape)
    assert shape["title"] == "Morning ebb at Skelby Sands" and shape["author"] == "Ada Marsh"
    assert shape["fileName"] == "final.mp4"
    assert shape["chapters"][1] == {"startTime": 60.0, "title": "Pins & needles -- the 1st", "endTime": 3599.2}
