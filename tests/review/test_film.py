"""The picture of the edit: well-formed, self-contained, escaped, private."""

from __future__ import annotations

import re
from pathlib import Path
from xml.dom import minidom

import pytest

from episode.cutting.pieces import CutPiece, Traced
from episode.cutting.retime import retime
from episode.drafting.result import DayResult, Film
from episode.models import Settings
from episode.review.film import Picture, film_picture
from episode.review.page import page
from tests.cutting.conftest import clip_of
from tests.cutting.test_retime import moment
from tests.drafting.invented import day

WICKED = "<script>alert(1)</script>&\"']]>.mp4"


def drawn(count: int = 3, name: str = "a.mp4", settings: Settings | None = None) -> tuple[DayResult, Picture]:
    clips = (clip_of(Path("/x") / "one", 300), clip_of(Path("/x") / "two", 200), clip_of(Path("/x") / "three", 30))
    clips = tuple(c.model_copy(update={"name": n}) for c, n in zip(clips, (name, "b.mp4", "unused.mp4"), strict=True))
    pieces = []
    for k in range(count):
        clip = (name, "b.mp4", None)[k % 3]
        flags = ("weak",) if k % 3 == 1 else ()
        pieces.append(CutPiece(cut_start=5 * k, cut_end=5 * k + 5, clip=clip, clip_start=(7 * k) % 150, flags=flags))
    traced = Traced(cut="film.mp4", duration=5 * count, how="sound", pieces=tuple(pieces))
    moments = (moment("m1", name, 0, 5, find="1"), moment("m2", "b.mp4", 190, 199, find="2"))
    made = day(clips=clips, **({"settings": settings} if settings else {}))
    made = made.model_copy(update={"matched": made.matched.model_copy(update={"moments": moments})})
    return made, film_picture(made, traced, retime(traced, moments=moments))


@pytest.mark.parametrize("count", [1, 3, 60, 400])
def test_it_is_a_whole_and_reachable_picture(count: int) -> None:
    _, picture = drawn(count)
    svg = minidom.parseString(picture.whole).documentElement
    assert svg.getAttribute("role") == "img"
    title, desc = svg.getAttribute("aria-labelledby").split()
    text = {e.getAttribute("id"): e.firstChild.data for e in svg.childNodes if e.nodeName in {"title", "desc"}}
    assert text[title] == "Where film.mp4 came from"
    assert f"{count - count // 3} pieces" in text[desc]
    assert "prefers-color-scheme: dark" in picture.whole
    rest = picture.whole.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert "http" not in rest
    assert set(re.findall(r"url\(([^)]*)\)", rest)) <= {"#film-hatch"}
    bars = [e for e in svg.getElementsByTagName("rect") if float(e.getAttribute("x") or 0) > 1200]
    assert bars == []


def test_what_to_look_at_is_told_by_more_than_colour() -> None:
    _, picture = drawn(3)
    svg = minidom.parseString(picture.whole)
    groups = {c.getAttribute("class"): c for c in reversed(svg.getElementsByTagName("g"))}
    assert "look: sounds far less like this clip" in groups["flag"].toxml()
    assert ">!</text>" in groups["flag"].toxml()
    assert "cut out" in groups["find lost"].toxml()
    assert [r for r in svg.getElementsByTagName("rect") if r.getAttribute("fill") == "url(#film-hatch)"]


def test_names_are_only_text_and_private_places_are_not_told() -> None:
    settings = Settings(private_places=("the old gully",))
    made, picture = drawn(3, name=WICKED, settings=settings)
    minidom.parseString(picture.whole)
    assert "<script" not in picture.whole
    private = drawn(3, name="the old gully.mp4", settings=settings)[1]
    assert "gully" not in private.whole
    told = page(made.model_copy(update={"film": Film(name="film.mp4", picture=picture.inline)}))
    assert 'class="film"' in told
    assert "<script>alert" not in told
    assert "<style>\n.film" not in told  # the page's own style, which its policy names, has it


def test_a_claim_that_was_cut_out_says_so_on_the_page() -> None:
    made = day()
    gone = made.claims[0]
    told = page(made.model_copy(update={"film": Film(name="film.mp4", gone=frozenset({gone.id}))}))
    assert "not said in the finished film" in told
