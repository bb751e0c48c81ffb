from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser

import pytest

from episode.drafting.description import draft
from episode.models import Caution, Clip, LogFinding, Problem
from episode.review.page import page
from tests.drafting.invented import CLAIMS, CLIPS, LOG, MOMENTS, PROMISES, SETTINGS, day, film_day

WICKED = "<img src=x onerror=alert(1)>'\"&{{7*7}}<script>alert(2)</script>"


def whole(**changes):
    made = day(**changes)
    written = draft(made)
    stills = {m.id: f"stills/{m.id}.jpg" for m in made.moments}
    return made.model_copy(update={"description": written.text, "promises": written.promises, "stills": stills})


class _Reader(HTMLParser):
    """Collects elements, their attributes and the text, as a browser would meet them."""

    VOID = frozenset({"meta", "img", "input", "br", "link", "hr"})

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag, f"</{tag}> closes another element"

    def handle_data(self, data):
        if self.open and self.open[-1] not in {"style", "script"}:
            self.text.append(data)

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]

    def words(self):
        return " ".join(" ".join(self.text).split())


@pytest.fixture(scope="module")
def read():
    return _Reader(page(whole()))


def test_elements_are_closed_and_ids_are_unique(read):
    assert read.open == []
    ids = [a["id"] for _, a in read.elements if "id" in a]
    assert len(ids) == len(set(ids))


def test_every_moment_claim_and_promise_is_there(read):
    ids = {a.get("id") for _, a in read.elements}
    assert {m.id for m in MOMENTS} <= ids
    assert {c.id for c in CLAIMS} <= ids
    for promise in PROMISES:
        assert promise.quote in read.words()


def test_local_links_lead_somewhere(read):
    ids = {a.get("id") for _, a in read.elements}
    for a in read.all("a"):
        if a["href"].startswith("#"):
            assert a["href"][1:] in ids, a["href"]


def test_a_verdict_is_said_in_words_and_sign(read):
    assert all(f"{word} " in read.words() for word in ("supported", "contradicted", "imprecise", "unreferenced"))
    assert {u["href"] for u in read.all("use")} == {
        "#mark-supported", "#mark-contradicted", "#mark-imprecise", "#mark-unreferenced",
    }  # fmt: skip


def test_the_claim_stands_inside_its_sentence():
    text = page(whole())
    assert 'early one, <span class="said">about 1640 to 1670</span> going by the little barrel shape.' in text


def test_confidence_is_given_in_words_and_as_a_number(read):
    assert "sure (0.90)" in read.words()
    assert "doubtful (0.55)" in read.words()


def test_a_films_own_words_claims_chapters_and_description_are_shown():
    words = _Reader(page(film_day())).words()
    assert "said at 1:01 of the film" in words and "Of the film alone." in words and "Short, of the film." in words
    assert "Of the raw clips alone." not in words
    assert words.count("Codd took out his patent in 1872") == 3  # as a claim, as a promise, and among every word


def test_film_and_log_are_compared(read):
    words = read.words()
    assert "Filmed and not in the log transfer-printed ware" in words
    assert "In the log and not filmed 14 oyster shell with hole" in words


def test_what_is_left_is_counted_as_the_checklist_counts(read):
    from episode.drafting.checklist import checklist

    total = sum(item.count for item in checklist(whole()))
    assert f"{total} left before publishing" in read.words()


def test_clips_are_reached_by_relative_address_and_second(read):
    addresses = [a["href"] for a in read.all("a")]
    assert "../footage/hand/C0001.MP4#t=94.0" in addresses
    assert all(a.startswith(("#", "../footage/")) for a in addresses)


def test_nothing_is_fetched_from_anywhere_else(read):
    for tag, attributes in read.elements:
        for name in ("src", "srcset", "data", "action", "poster"):
            value = attributes.get(name)
            assert value is None or value.startswith("stills/"), (tag, value)
    assert read.all("link") == []


def test_policy_names_the_style_and_the_script_by_hash():
    text = page(whole())
    policy = next(a["content"] for a in _Reader(text).all("meta") if a.get("http-equiv") == "Content-Security-Policy")
    for tag in ("style", "script"):
        body = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.S).group(1)
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy and "default-src 'none'" in policy


def test_there_are_no_inline_styles_or_handlers(read):
    for tag, attributes in read.elements:
        assert "style" not in attributes, tag
        assert not [name for name in attributes if name.startswith("on")], tag


def test_whatever_comes_in_is_text():
    from datetime import timedelta

    wicked_clip = Clip(**{**CLIPS[0].model_dump(), "path": CLIPS[0].path, "name": WICKED, "camera": WICKED})
    moment = MOMENTS[0].model_copy(update={"clip": WICKED, "title": WICKED, "find": WICKED, "why": (WICKED,)})
    texts = dict.fromkeys(("object", "material", "period", "maker", "place", "notes", "grid", "find"), WICKED)
    result = whole(
        settings=SETTINGS.model_copy(update=dict.fromkeys(("title", "place", "presenter"), WICKED)),
        clips=(wicked_clip,),
        log=(LOG[0].model_copy(update={**texts, "time": CLIPS[0].start + timedelta(minutes=1)}),),
        matched=day().matched.model_copy(update={"moments": (moment,), "unlogged": (), "unfilmed": (WICKED,)}),
        claims=(CLAIMS[0].model_copy(update={"quote": WICKED, "note": WICKED, "reference": WICKED, "clip": WICKED}),),
        promises=(PROMISES[0].model_copy(update={"text": WICKED, "quote": WICKED, "clip": WICKED}),),
        cautions=(Caution(kind="tide", text=WICKED, finds=(WICKED,), source=WICKED),),
        problems=(Problem(where=WICKED, what=WICKED, remedy=WICKED),),
        transcript=day().transcript.model_copy(
            update={"segments": (day().transcript.segments[0].model_copy(update={"clip": WICKED, "text": WICKED}),)}
        ),
    )
    text = page(result)
    reader = _Reader(text)
    assert all(a.get("src") != "x" for a in reader.all("img"))
    assert len(reader.all("script")) == 1
    assert "49" not in re.findall(r"&amp;(.{0,3})&lt;script", text)
    assert "{{7*7}}" in text


@pytest.mark.parametrize("path", ["../../etc/passwd", "/etc/passwd", "stills/../../x.jpg", "\\\\host\\x.jpg"])
def test_a_still_never_leads_out_of_its_folder(path):
    result = whole().model_copy(update={"stills": {"m001": path}})
    assert path not in page(result)


def test_what_to_look_at_in_the_log_is_listed_escaped_and_private():
    found = LogFinding(kind="photo not named", row=3, what=f"{WICKED} TA 4512 1234", todo="Look.")
    text = page(whole(log_check=(found, found.model_copy(update={"kind": "filmed, not logged", "what": "elsewhere"}))))
    assert 'id="log-check"' in text
    assert "row 3" in text
    assert WICKED not in text
    assert "1234" not in text
    assert "elsewhere" not in text  # the list above it has those
    assert 'id="log-check"' not in page(whole())


def test_private_places_stay_private():
    text = page(whole(settings=SETTINGS.model_copy(update={"private_places": ("the gully", "the old hard")})))
    assert "the gully" not in text.lower() and "the old hard" not in text.lower()
    assert "4123" not in text and "TZ 41 08" in text


def test_landmarks_headings_and_labels(read):
    tags = [tag for tag, _ in read.elements]
    assert tags.count("main") == 1 and tags.count("h1") == 1
    assert all(a.get("aria-labelledby") for a in read.all("section"))
    labelled = {a["for"] for a in read.all("label") if "for" in a}
    assert "search" in labelled
    assert read.all("html")[0]["lang"] == "en-GB"
    assert all(i.get("alt") for i in read.all("img"))


def test_an_empty_day_still_makes_a_page():
    from episode.drafting.result import DayResult

    reader = _Reader(page(DayResult()))
    assert "Nothing left before publishing" in reader.words()


def test_the_same_day_gives_the_same_bytes():
    assert page(whole()) == page(whole())
