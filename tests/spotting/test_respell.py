"""The trade's spelling in the transcript: what is written, what is kept, and that no word heard is ever lost."""

import io
import itertools

import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from episode.lexicon.book import Lexicon
from episode.models import How, Mention, Settings, Stance, Term, Transcript
from episode.speech.respelt import respelt
from episode.speech.subtitles import read_transcript, write_vtt
from episode.speech.withheld import withhold
from episode.spotting.respell import respell
from episode.spotting.spot import spot
from tests.spotting.saying import join, lexicon, say, term

WORDS = lexicon(
    term("Bartmann", also=("Bellarmine stoneware",)),
    term("tessera", also=("token (lead)", "tesserae"), heard_as=("tess her a",)),
    term("maker's stamp", "feature"),
    term("River Thessel", "place"),
)


def heard(transcript: Transcript, words: str, name: str, *, how=How.NEAR_SPELLING, score=0.9, nth=0) -> Mention:
    """A mention of ``name`` in exactly these words, wherever they stand."""
    for segment in transcript.segments:
        listed = [w.word for w in segment.words]
        places = [i for i in range(len(listed)) if " ".join(listed[i : i + len(words.split())]) == words]
        if places:
            own = segment.words[places[nth] : places[nth] + len(words.split())]
            found = WORDS.get(name)
            assert found
            return Mention(
                clip=segment.clip, start=own[0].start, end=own[-1].end, heard=words.strip('.,?!"“”'), term=name,
                kind=found.kind, how=how, score=score, stance=Stance.FOUND,
            )  # fmt: skip
    raise AssertionError(words)


def texts(transcript: Transcript) -> list[str]:
    return [segment.text for segment in transcript.segments]


def as_heard(transcript: Transcript) -> list[str]:
    """The recogniser's words, read back as the format says."""
    listed = [w.word if w.as_heard is None else w.as_heard for s in transcript.segments for w in s.words]
    return " ".join(listed).split()


def words_of(transcript: Transcript) -> list[str]:
    return [w.word for s in transcript.segments for w in s.words]


def written(line: str, words: str, name: str, how=How.NEAR_SPELLING) -> str:
    said = say(line)
    found = respell(said, [heard(said, words, name, how=how)], WORDS, least=0.8)
    assert as_heard(found) == words_of(said)
    assert [s.text for s in found.segments] == [" ".join(words_of(found))]
    return found.segments[0].text


@pytest.mark.parametrize(
    ("line", "words", "name", "expected"),
    [
        ("It's a cod bottle, look.", "cod bottle,", "Codd bottle", "It's a Codd bottle, look."),
        ("Two cod bottles. Here.", "cod bottles.", "Codd bottle", "Two Codd bottles. Here."),
        ("The cod bottle's neck.", "cod bottle's", "Codd bottle", "The Codd bottle's neck."),
        ("A hypocostile there.", "hypocostile", "hypocaust tile", "A hypocaust tile there."),
        ("Some hypocostiles there.", "hypocostiles", "hypocaust tile", "Some hypocaust tiles there."),
        ("Hypocostile, that.", "Hypocostile,", "hypocaust tile", "Hypocaust tile, that."),
        ("It is western old stoneware.", "western old stoneware.", "Westerwald stoneware",
         "It is Westerwald stoneware."),
        ("Here “Bell Armin” again", "“Bell Armin”", "bellarmine jar", "Here “bellarmine” again"),
        ("a bell armin jar", "bell armin jar", "bellarmine jar", "a bellarmine jar"),
        ("a bell ar mean jar of it", "bell ar mean", "bellarmine jar", "a bellarmine jar of it"),
        ("THE COD BOTTLE OVER THERE", "COD BOTTLE", "Codd bottle", "THE CODD BOTTLE OVER THERE"),
        ("a half-cod bottle", "half-cod bottle", "Codd bottle", "a half-Codd bottle"),
        ("one tess her a now", "tess her a", "tessera", "one tessera now"),
        ("the makers' stampe is clear", "makers' stampe", "maker's stamp", "the maker's stamp is clear"),
        ("by the river tessel now", "river tessel", "River Thessel", "by the River Thessel now"),
        ("western old stoneware jug", "western old", "Westerwald stoneware", "Westerwald stoneware jug"),
    ],
)  # fmt: skip
def test_what_is_written(line: str, words: str, name: str, expected: str) -> None:
    assert written(line, words, name) == expected


def test_words_alike_keep_their_times_and_the_others_share_theirs() -> None:
    said = say("A western old stoneware jug.", probability=0.4)
    found = respell(said, [heard(said, "western old stoneware", "Westerwald stoneware")], WORDS, least=0.8)
    a, westerwald, stoneware, jug = found.segments[0].words
    old = said.segments[0].words
    assert (a, stoneware, jug) == (old[0], old[3], old[4])
    assert (westerwald.start, westerwald.end) == (old[1].start, old[2].end)
    assert (westerwald.word, westerwald.as_heard, westerwald.probability) == ("Westerwald", "western old", 0.4)


def test_one_word_heard_for_two_is_kept_by_the_first() -> None:
    said = say("A hypocostile.")
    found = respell(said, [heard(said, "hypocostile.", "hypocaust tile")], WORDS, least=0.8)
    _, first, second = found.segments[0].words
    assert (first.word, first.as_heard) == ("hypocaust", "hypocostile.")
    assert (second.word, second.as_heard) == ("tile.", "")
    assert first.end == second.start
    assert second.end == said.segments[0].words[1].end


def test_only_what_is_told_by_its_sound_sure_enough_and_not_refused_is_replaced() -> None:
    said = say("A cod bottle.")
    one = heard(said, "cod bottle.", "Codd bottle", score=0.79)
    assert respell(said, [one], WORDS, least=0.8) is said
    assert texts(respell(said, [one], WORDS, least=0.79)) == ["A Codd bottle."]
    assert respell(said, [one], WORDS, least=0.5, refused={one}) is said
    for how in (How.WRITTEN, How.OTHER_NAME):
        assert respell(said, [one.model_copy(update={"how": how, "score": 1.0})], WORDS, least=0.5) is said


def test_the_same_words_again_in_the_sentence_are_written_alike_and_elsewhere_are_left() -> None:
    said = say("The cod bottle, a cod bottle.", "A cod bottle.")
    found = respell(said, [heard(said, "cod bottle,", "Codd bottle")], WORDS, least=0.8)
    assert texts(found) == ["The Codd bottle, a Codd bottle.", "A cod bottle."]


def test_a_name_over_two_segments_and_clips_with_like_times() -> None:
    said = join(
        say("a lovely western", clip="a"), say("old stoneware jug", clip="a", start=0.9), say("western", clip="b")
    )
    one = heard(say("western old stoneware"), "western old stoneware", "Westerwald stoneware")
    words = [*said.segments[0].words, *said.segments[1].words]
    one = one.model_copy(update={"clip": "a", "start": words[2].start, "end": words[4].end})
    found = respell(said, [one], WORDS, least=0.8)
    assert texts(found) == ["a lovely Westerwald", "stoneware jug", "western"]
    assert as_heard(found) == words_of(said)
    for segment in found.segments:
        assert segment.start <= segment.words[0].start
        assert segment.words[-1].end <= segment.end
    assert found.segments[1].start == found.segments[1].words[0].start


def test_a_mention_whose_words_are_gone_changes_nothing() -> None:
    said = say("A cod bottle.")
    one = heard(said, "cod bottle.", "Codd bottle")
    other = say("A [place withheld].")
    assert respell(other, [one], WORDS, least=0.8) == other


def test_what_spotting_gives_can_be_written(words: Lexicon) -> None:
    said = say("It's got two pinches, so it's a cod bottle.", "And this is western old stoneware, a shirt of it.")
    found = respell(said, spot(said, words), words, least=0.1)
    assert texts(found) == [
        "It's got two pinches, so it's a Codd bottle.",
        "And this is Westerwald stoneware, a shirt of it.",
    ]
    assert [(r.heard, r.written) for r in respelt(found)] == [("cod", "Codd"), ("western old", "Westerwald")]
    assert spot(said, words) == spot(said, words)


NAMES = ["Codd bottle", "hypocaust tile", "bellarmine jar", "tessera", "penknife", "maker's stamp", "River Thessel"]
spoken = st.lists(
    st.one_of(
        st.sampled_from(
            "a cod bottle bottles' hypocostile, Bell armin jar. tess her — half-cod-bottle's “pen knife” ’s".split()
        ),
        st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Z", "C"]), min_size=1, max_size=8),
    ),
    min_size=1,
    max_size=14,
)


@given(spoken, st.data())
def test_no_word_heard_is_ever_lost(line, data):
    said = say(" ".join(line))
    listed = said.segments[0].words
    mentions = []
    for _ in range(data.draw(st.integers(1, 3))):
        first = data.draw(st.integers(0, len(listed) - 1))
        last = data.draw(st.integers(first + 1, min(len(listed), first + 5)))
        own = listed[first:last]
        name = data.draw(st.sampled_from(NAMES))
        mentions.append(
            Mention(
                clip="a.mp4", start=own[0].start, end=own[-1].end, heard=" ".join(w.word for w in own), term=name,
                kind="object", how=How.NEAR_SPELLING, score=data.draw(st.sampled_from([0.8, 0.9])), stance="found",
            )
        )  # fmt: skip
    found = respell(said, mentions, WORDS, least=0.8)
    assert as_heard(found) == words_of(said)
    whole = [w for s in found.segments for w in s.words]
    assert all(w.start <= w.end for w in whole)
    assert all(a.start <= b.start + 0.001 for a, b in itertools.pairwise(whole))
    assert respell(said, mentions, WORDS, least=0.8) == found
    captions = list(webvtt.from_buffer(io.StringIO(write_vtt(found))))
    assert "".join("".join(c.text.split()) for c in captions) or not whole


def test_marks_in_webvtt_and_clean_words_back(tmp_path) -> None:
    """Class spans and comments after WebVTT (W3C, 4 April 2019), sections 4.1 and 4.2.2, by two readers."""
    said = say("A hypocostile & a <cod bottle> here.", "Then a bell armin jar.")
    mentions = [
        heard(said, "hypocostile", "hypocaust tile"),
        heard(said, "bell armin jar.", "bellarmine jar"),
    ]
    found = respell(said, mentions, WORDS, least=0.8)
    text = write_vtt(found, {"a.mp4": 60.0})
    assert text.startswith(
        "WEBVTT\n\nNOTE\nCorrected: the trade's spelling for the words heard.\n"
        "00:01:00.300 heard “hypocostile”, written “hypocaust tile”\n"
        "00:01:03.300 heard “bell armin”, written “bellarmine”\n\n1\n"
    )
    assert "A <c.corrected>hypocaust tile</c> &amp; a &lt;cod bottle&gt; here." in text
    assert "Then a <c.corrected>bellarmine</c> jar." in text
    assert [c.text for c in webvtt.from_buffer(io.StringIO(text))][-1] == "Then a bellarmine jar."
    path = tmp_path / "a.vtt"
    path.write_text(text, encoding="utf-8")
    again = read_transcript(path, "a", None)
    assert [s.text for s in again] == ["A hypocaust tile & a <cod bottle> here.", "Then a bellarmine jar."]
    assert {w.probability for s in again for w in s.words} == {1.0}
    assert "NOTE" not in write_vtt(said)


def test_an_arrow_in_the_words_heard_does_not_end_the_comment(tmp_path) -> None:
    said = say("A cod--> bottle.")
    own = said.segments[0].words
    one = heard(say("A cod bottle."), "cod bottle.", "Codd bottle").model_copy(update={"heard": "cod--> bottle"})
    assert own[1].word == "cod-->"
    found = respell(said, [one], WORDS, least=0.8)
    path = tmp_path / "a.vtt"
    path.write_text(write_vtt(found), encoding="utf-8")
    assert [s.text for s in read_transcript(path, "a", None)] == ["A Codd bottle."]


def test_a_term_without_names_to_write_is_written_by_its_label() -> None:
    said = say("A festival jug.")
    one = heard(said, "festival", "Westerwald stoneware")
    lexicon = Lexicon([Term(term="Westerwald stoneware", kind="ware")])
    assert texts(respell(said, [one], lexicon, least=0.8)) == ["A Westerwald stoneware jug."]


def test_a_private_place_that_a_correction_writes_is_withheld_with_what_was_heard() -> None:
    said = say("Down by the river tessel now.")
    found = respell(said, [heard(said, "river tessel", "River Thessel")], WORDS, least=0.8)
    told = withhold(found, Settings(private_places=("River Thessel",)))
    assert "Thessel" not in told.segments[0].text
    assert all(word.as_heard is None for word in told.segments[0].words)
