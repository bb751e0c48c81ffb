"""Captions against published guidelines (vocab/rules/caption_rules.csv, with its sources), by readers not our own."""

from __future__ import annotations

import html
import itertools
import re

import pysubs2
import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.caption_rules import caption_rules
from episode.drafting.captioning import Caption, _laid_out, _reach, _Said, captions, captions_by_clip, to_srt, to_vtt
from episode.drafting.formats import captions_srt, captions_vtt
from episode.models import Segment, Settings, Transcript, Word
from tests.drafting.invented import CLIPS, SETTINGS, clip, day, transcript

ONE = (clip("a.mp4", 0, 5000),)
NO_SETTINGS = Settings()


def said(*words: tuple[float, float, str]) -> Transcript:
    made = tuple(Word(start=a, end=b, word=w, probability=1) for a, b, w in words)
    text = " ".join(w.word for w in made)
    return Transcript(segments=(Segment(clip="a.mp4", start=made[0].start, end=made[-1].end, text=text, words=made),))


def spoken(text: str, each: float = 0.4, at: float = 1.0) -> Transcript:
    return said(*[(at + i * each, at + (i + 1) * each, w) for i, w in enumerate(text.split())])


def made(words: Transcript) -> list[Caption]:
    return list(captions(words, ONE, NO_SETTINGS))


def test_the_figures_are_those_of_the_guidelines():
    # BBC Subtitle Guidelines 3.1, 3.3, 4.1, 5.2; DCMP B.4; Enhancing Audio Description, Duration. See the table.
    rules = caption_rules()
    assert (rules.line_length, rules.lines, rules.speed, rules.hang_s) == (37, 2, 180, 1.5)
    assert (rules.fastest, rules.shortest_s, rules.longest_s) == (225, 1, 7)


WORD = st.text("abcdefghijklmnopqrstuvwxyzäé’", min_size=1, max_size=14)
TOLD = st.lists(
    st.tuples(
        st.one_of(st.just(0.0), st.floats(0, 0.4), st.floats(0, 12)),
        st.floats(0.05, 1.2),
        WORD,
        st.sampled_from(["", "", "", ",", ".", "?"]),
    ),
    min_size=1,
    max_size=70,
)


@given(TOLD)
def test_captions_keep_to_the_guidelines_whatever_is_said(told: list[tuple[float, float, str, str]]):
    rules, at, words = caption_rules(), 0.0, []
    for pause, length, word, mark in told:
        at += pause
        words.append((at, at + length, word + mark))
        at += length
    found = made(said(*words))
    assert [w for c in found for line in c.lines for w in line.split()] == [w for _, _, w in words]  # nothing lost
    index = 0
    for number, one in enumerate(found):
        count = sum(len(line.split()) for line in one.lines)
        first, last = words[index], words[index + count - 1]
        index += count
        assert 1 <= len(one.lines) <= rules.lines and all(0 < len(line) <= rules.line_length for line in one.lines)
        assert abs(one.start - first[0]) < 0.01, "a caption comes with its words"
        assert one.end >= last[1] - 0.01 and one.end <= last[1] + rules.hang_s + 0.01
        length = one.end - one.start
        assert length <= rules.longest_s + 0.01
        following = found[number + 1].start if number + 1 < len(found) else float("inf")
        assert one.end <= following
        # Shorter or faster only where the next caption or the end of the hang leaves no room.
        full = one.end >= following - 0.01 or one.end >= last[1] + rules.hang_s - 0.01
        assert full or length >= rules.shortest_s - 0.01
        assert full or length >= count * 60 / rules.speed - 0.01 or length >= rules.longest_s - 0.01
        # No gap that only flickers, where staying so long does not break the limits above.
        gap = following - one.end
        closable = following <= last[1] + rules.hang_s - 0.01 and following - one.start <= rules.longest_s - 0.01
        assert gap == 0 or gap >= rules.close_s - 0.01 or not closable


@given(TOLD)
def test_pysubs2_and_webvtt_py_read_the_same_captions(told: list[tuple[float, float, str, str]]):
    at, words = 0.0, []
    for pause, length, word, mark in told:
        words.append((at + pause, at + pause + length, word + mark))
        at += pause + length
    found = made(said(*words))
    srt = pysubs2.SSAFile.from_string(to_srt(found), format_="srt")
    assert [(e.start, e.end, e.plaintext) for e in srt] == [
        (round(c.start * 1000), round(c.end * 1000), "\n".join(c.lines)) for c in found
    ]
    vtt = webvtt.from_string(to_vtt(found))
    assert [c.text for c in vtt] == ["\n".join(c.lines) for c in found]
    assert [seconds(c.start) for c in vtt] == [c.start for c in found]
    assert [seconds(c.end) for c in vtt] == [c.end for c in found]


def seconds(stamp: str) -> float:
    hours, minutes, rest = stamp.split(":")
    return round(int(hours) * 3600 + int(minutes) * 60 + float(rest), 3)


@pytest.mark.parametrize(
    "text",
    [
        "--> 00:00:01.000",
        "<i>wares</i> & <b>",
        "{\\an8}pipe",
        "NOTE\n\nSTYLE",
        "WEBVTT",
        "a\r\n\r\n2\r\n00:00",
        "\u202eabc",
    ],
)
def test_hostile_words_stay_inside_their_caption(text: str):
    found = made(said((1, 2, "Look"), (2, 3, text), (3, 4, "there.")))
    vtt, srt = to_vtt(found), to_srt(found)
    assert len(webvtt.from_string(vtt).captions) == len(pysubs2.SSAFile.from_string(srt, format_="srt")) == len(found)
    told = " ".join(html.unescape(c.text) for c in webvtt.from_string(vtt)).split()
    assert told[0] == "Look" and told[-1] == "there."
    assert len(re.findall("-->", vtt)) == len(re.findall("-->", srt)) == len(found)


def test_a_break_falls_at_punctuation_or_before_a_conjunction():
    long = "We walked along the whole of the shore this morning, and the tide had left a great deal of pottery."
    assert next(c.lines for c in made(spoken(long)))[-1].endswith("morning,")
    (two,) = made(spoken("It was lying in the mud beside the chain."))
    assert two.lines == ("It was lying in the mud", "beside the chain.") or two.lines[1].startswith(("in", "beside"))


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=37), min_size=1, max_size=24), st.sampled_from([1, 2]))
def test_how_far_a_caption_can_go_is_what_fits_its_lines(words: list[str], lines: int):
    rules = caption_rules().model_copy(update={"lines": lines})
    reach = _reach([_Said(0, 0, word, last=False) for word in words], rules)
    for start, end in itertools.combinations(range(len(words) + 1), 2):
        fits = _laid_out(tuple(words[start:end]), rules.line_length, rules.lines) is not None
        assert fits == (end <= reach[start])


def test_no_line_ends_with_an_article_where_it_can_be_helped():
    for text in ("Here in the mud is the rim of a big jar.", "That is one of the oldest things I have found here."):
        for one in made(spoken(text)):
            assert not re.search(r"\b(a|an|the|of)$", one.lines[0]), one.lines


def test_no_word_stands_alone_at_the_end_of_a_sentence():
    found = made(spoken("This is what is left of a really quite remarkable seventeenth century jug handle, sadly."))
    assert all(sum(len(line.split()) for line in c.lines) > 1 for c in found)


def test_captions_have_the_trades_spelling_and_no_private_place():
    respelt = transcript().model_copy(
        update={"segments": tuple(s.model_copy(update={"words": tuple(
            w.model_copy(update={"word": "Bellarmine,", "as_heard": "bell army,"}) if w.word == "Bellarmine" else w
            for w in s.words
        )}) for s in transcript().segments)}
    )  # fmt: skip
    for render in (captions_vtt.render, captions_srt.render):
        text = render(day(respelt=respelt))
        assert "Bellarmine," in text and "old hard" not in text and "[place withheld]" in text


def test_each_clip_begins_where_the_last_ended_and_alone_at_nought():
    whole = captions(transcript(), CLIPS, SETTINGS)
    second = captions_by_clip(transcript(), CLIPS, SETTINGS)[CLIPS[1].name]
    assert second[0].start == 22
    same = next(c for c in whole if c.lines == second[0].lines)
    assert same.start == pytest.approx(22 + CLIPS[0].duration)
    assert all(a.end <= b.start for a, b in itertools.pairwise(whole))


def test_nothing_said_gives_files_that_are_empty_and_whole():
    assert to_vtt(()) == "WEBVTT\n" and to_srt(()) == ""
    assert captions(Transcript(), (), NO_SETTINGS) == ()


def test_the_hour_is_kept_and_two_words_at_the_same_second_do_not_overlap():
    found = made(said((3700, 3700, "Look"), (3700, 3700, "here."), (3703, 3703.5, "There.")))
    assert all(a.end <= b.start for a, b in itertools.pairwise(found))
    assert "01:01:40,000 -->" in to_srt(found)
