"""Names as written, other names, mishearings: forms, borders, the longest name."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.models import How, LogEntry, Segment, Transcript, Word
from episode.spotting.spot import spot
from tests.spotting.saying import TERMS, join, lexicon, say, term


def named(words, *lines, **more):
    return [m.term for m in spot(say(*lines, **more), words)]


@pytest.mark.parametrize(
    "line",
    [
        "Here's a pipe bowl.",
        "Here's a pipe-bowl.",
        "Here's a pipebowl.",
        "here's another PIPE BOWL",
        "Here are two pipe bowls!",
        "The pipe bowl's edge is worn.",
        "Here’s a pipe–bowl, look.",
        "Here's the bowl of a clay pipe.",
    ],
)
def test_a_name_matches_in_all_its_written_forms(words, line):
    assert named(words, line) == ["pipe bowl"]


@pytest.mark.parametrize(
    ("line", "terms"),
    [
        ("Here's a thimbleful of mud.", []),
        ("She'll love this.", []),
        ("Look, a pen knife.", ["penknife"]),
        ("Look, three pieces of eight.", ["piece of eight"]),
        ("There's a makers mark on it.", ["maker's mark"]),
        ("There's a maker’s mark on it.", ["maker's mark"]),
        ("A clay, pipe and all.", []),
        ("Look at the bell, arming the door.", ["bell"]),
    ],
)
def test_word_borders_and_heads(words, line, terms):
    assert named(words, line) == terms


def test_accents_and_case_do_not_matter():
    words = lexicon(term("épée pommel"))
    assert named(words, "It's an EPEE pommel.") == named(words, "It's an épée pommel.") == ["épée pommel"]


def test_the_longest_name_wins_and_a_compound_is_its_head(words):
    # The file contract: "clay pipe bowl" is one mention of pipe bowl, none of clay pipe.
    assert named(words, "It's a clay pipe bowl.") == ["pipe bowl"]
    bare = [t for t in TERMS if t.term != "pipe bowl"]
    assert named(type(words)([*bare, term("pipe bowl")]), "It's a clay pipe bowl.") == ["pipe bowl"]
    assert named(words, "It's a clay pipe.") == ["clay pipe"]


def test_one_mention_per_sentence_and_term(words):
    assert named(words, "A thimble, look, a lovely thimble.", "And a thimble.") == ["thimble", "thimble"]


def test_a_guess_confirmed_in_the_same_sentence_is_found(words):
    (mention,) = spot(say("could be a coin, yes, this is a coin"), words)
    assert mention.stance == "found"


def test_a_false_full_stop_does_not_hide_a_name(words):
    (mention,) = spot(say("This is a musket.", "Ball of some size.", pause=0.1), words)
    assert (mention.term, mention.heard) == ("musket ball", "musket. Ball")
    assert named(words, "This is a musket.", "Ball of some size.", pause=1.5) == []


def test_how_it_was_named(words):
    how = {m.term: m.how for m in spot(say("A Codd bottle, look, and a bale seal."), words)}
    assert how == {"Codd bottle": How.WRITTEN, "cloth seal": How.OTHER_NAME}
    (misheard,) = spot(say("Look, a cod bottle."), words)
    assert (misheard.term, misheard.how) == ("Codd bottle", How.MISHEARING)


def test_times_words_and_quote_are_the_sentences_own(words):
    (mention,) = spot(say("Right then.", "Oh look, a pipe bowl here."), words)
    assert mention.heard == "pipe bowl"
    assert mention.quote == "Oh look, a pipe bowl here."
    assert (mention.start, mention.end) == pytest.approx((2.1, 2.65))


def test_clips_stay_in_their_order(words):
    day = join(say("A thimble.", clip="b.mp4", start=5), say("A coin.", "A thimble.", clip="a.mp4"))
    assert [(m.clip, m.term) for m in spot(day, words)] == [
        ("b.mp4", "thimble"),
        ("a.mp4", "coin"),
        ("a.mp4", "thimble"),
    ]


def test_the_log_raises_belief_and_makes_nothing(words):
    said = say("Here is a button.", "And a musket ball.")
    without = {m.term: m.score for m in spot(said, words)}
    log = (LogEntry(find="1", row=2, object="Musket balls"), LogEntry(find="2", row=3, object="thimble"))
    with_log = {m.term: m.score for m in spot(said, words, log)}
    assert set(with_log) == set(without) == {"button", "musket ball"}
    assert with_log["musket ball"] > without["musket ball"]
    assert with_log["button"] == without["button"]


def test_an_unsure_recogniser_lowers_belief(words):
    sure, unsure = (spot(say("A musket ball.", probability=p), words)[0].score for p in (1.0, 0.3))
    assert sure > unsure


TALK = st.text(alphabet=st.characters(blacklist_categories=["Cs"]), max_size=60) | st.lists(
    st.sampled_from(
        [
            "a",
            "the",
            "no",
            "not",
            "pipe",
            "bowl",
            "clay",
            "thimble",
            "button...",
            "it's",
            "cloth",
            "seal",
            "could",
            "be",
            "like",
            "pin",
            "Pin?",
            "?",
            ",",
            ".",
            "was",
            "were",
            "last",
            "week",
            "codd",
            "bottles",
            "bell",
            "armin",
            "jar",
            "stone",
            "ware",
            "so",
            "today",
            "we've",
            "had",
            "Bowl’s",
            "--",
            "|",
            "<0o>",
            "here's",
        ]
    ),
    max_size=30,
).map(" ".join)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(TALK, st.floats(0, 3)), max_size=5))
def test_any_talk_gives_ordered_unique_mentions_inside_their_segments(parts):
    words = lexicon()
    at, segments = 0.0, []
    for text, pause in parts:
        spoken = []
        for piece in text.split():
            spoken.append(Word(start=at, end=at + 0.2, word=piece, probability=0.5))
            at += 0.25
        if spoken:
            segments.append(Segment(clip="c", start=spoken[0].start, end=at, text=text, words=tuple(spoken)))
        at += pause
    said = Transcript(segments=tuple(segments))
    mentions = spot(said, words)
    assert mentions == spot(said, words)
    assert [m.start for m in mentions] == sorted(m.start for m in mentions)
    assert len({(m.start, m.term) for m in mentions}) == len(mentions)
    for mention in mentions:
        assert mention.start <= mention.end <= at
        assert any(s.start <= mention.start <= s.end for s in segments)
        assert mention.heard


def test_nothing_said_and_nothing_known(words):
    assert spot(Transcript(), words) == ()
    assert spot(say("A thimble."), type(words)([])) == ()
