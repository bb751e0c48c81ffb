"""What a person decided stands over what is computed, finds its moment again, and loses no mention."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.matching.kinship import Kinship
from episode.matching.match import match
from episode.matching.named_by_hand import as_named
from episode.models import Decision, Matched, Mention, Moment, Stance, Transcript
from tests.matching.helpers import NINE, clip, row, talk
from tests.matching.simulate import CLEAN, simulate, vocabulary

LEXICON = vocabulary()
SAID = (
    (10, "Right, good morning from the shore."),
    (60, "Look at this, it's a cloth seal.", ("cloth seal", "cloth seal", "object", "found")),
    (120, "And here's a thimble lovely.", ("thimble", "thimble", "object", "found")),
    (122.5, "Another one, a musket ball there.", ("musket ball", "musket ball", "object", "found")),
    (180, "Is that a buckle maybe?", ("buckle", "buckle", "object", "unsure")),
    (300, "Pins were made by the thousand.", ("pins", "pin", "object", "aside")),
)
CLIPS = (clip(), clip("cam/b.mp4", start=NINE.replace(hour=10)))
LOG = (
    row("1", "cloth seal", 1.2, 2),
    row("2", "thimble", 2.2, 3),
    row("3", "musket ball", 2.3, 4),
    row("4", "buckle", 3.2, 5),
)


def run(*decisions: Decision, said: Sequence[tuple] = SAID, log=LOG) -> Matched:
    transcript, mentions = talk(*said)
    return match(mentions, transcript, log, CLIPS, LEXICON, decisions)


def about(moment: Moment) -> dict[str, object]:
    quote = moment.mentions[0].quote if moment.mentions else None
    return {"clip": moment.clip, "start": moment.start, "end": moment.end, "term": moment.term, "quote": quote}


def named(matched: Matched, term: str) -> Moment:
    return next(m for m in matched.moments if m.term == term or m.title == term)


def all_mentions(matched: Matched) -> list[Mention]:
    return sorted((m for moment in matched.moments for m in moment.mentions), key=lambda m: (m.clip, m.start, m.term))


BASE = run()


def test_the_day_without_decisions():
    assert [(m.term, m.find) for m in BASE.moments] == [
        ("cloth seal", "1"),
        ("thimble", "2"),
        ("musket ball", "3"),
        ("buckle", "4"),
        ("pin", None),
    ]
    assert all(m.decided == () for m in BASE.moments)


def test_accepted_is_marked_and_changes_nothing_else():
    seal = BASE.moments[0]
    done = run(Decision(action="accept", **about(seal)))
    assert done.moments[0] == seal.model_copy(update={"decided": ("accept",)})
    assert done.moments[1:] == BASE.moments[1:]


def test_renamed_to_a_term_to_another_name_and_to_free_words():
    buckle = about(BASE.moments[3])
    done = named(run(Decision(action="rename", value="Loom Weight", **buckle)), "loom weight")
    assert (done.term, done.title, done.was, done.stance) == ("loom weight", "loom weight", "buckle", Stance.FOUND)
    free = named(run(Decision(action="rename", value="horse brass", **buckle)), "horse brass")
    assert (free.term, free.was) == (None, "buckle")
    kept = named(run(Decision(action="rename", value="buckle with a face", **buckle)), "buckle")
    assert (kept.title, kept.was) == ("buckle with a face", None)


def test_a_new_name_is_what_is_paired_and_what_claims_are_about():
    log = (*LOG[:3], row("4", "loom weight", 3.2, 5), row("9", "buckle", 9, 6))
    done = run(Decision(action="rename", value="loom weight", **about(BASE.moments[3])), log=log)
    assert named(done, "loom weight").find == "4"
    told = as_named(all_mentions(done), done.moments, Kinship(LEXICON))
    assert [m.term for m in told if 179 < m.start < 190] == ["loom weight"]
    free = run(Decision(action="rename", value="horse brass", **about(BASE.moments[3])))
    assert not [m for m in as_named(all_mentions(free), free.moments, Kinship(LEXICON)) if 179 < m.start < 190]


def test_split_parts_are_paired_each_and_joining_them_gives_the_old_moment():
    both = run(Decision(action="join", value=BASE.moments[2].start, **about(BASE.moments[1])))
    joined = next(m for m in both.moments if "join" in m.decided)
    assert len(both.moments) == 4
    assert {m.term for m in joined.mentions} == {"thimble", "musket ball"}
    assert (joined.start, joined.end) == (BASE.moments[1].start, BASE.moments[2].end)
    at = BASE.moments[2].mentions[0].start - 0.1
    again = run(
        Decision(action="join", value=BASE.moments[2].start, **about(BASE.moments[1])),
        Decision(action="split", value=at, **about(joined)),
    )
    assert [(m.term, m.find) for m in again.moments] == [(m.term, m.find) for m in BASE.moments]
    assert len({m.id for m in again.moments}) == 5


def test_a_part_without_words_can_be_named_and_paired():
    seal = BASE.moments[0]
    end = seal.end
    decisions = [
        Decision(action="split", value=end - 0.2, **about(seal)),
        Decision(action="rename", clip=seal.clip, start=end - 0.2, end=end, value="loom weight"),
    ]
    log = (LOG[0], row("5", "loom weight", 1.25, 6), *LOG[1:])
    done = run(*decisions, log=log)
    assert named(done, "loom weight").find == "5"
    assert named(done, "loom weight").mentions == ()


def test_moved_within_the_clip_only():
    seal = about(BASE.moments[0])
    done = run(Decision(action="move", new_start=40.0, new_end=9000.0, **seal)).moments[0]
    assert (done.start, done.end) == (40.0, 600.0)
    assert (BASE.moments[0].at - done.at).total_seconds() == pytest.approx(BASE.moments[0].start - 40.0)
    wrong = run(Decision(action="move", new_start=700.0, line=3, **seal))
    assert wrong.moments == BASE.moments
    assert "ends at 600.0 s" in wrong.problems[0].what


def test_an_added_find_is_paired_and_anchors_its_clock():
    add = Decision(action="add", id="x1", clip="cam/b.mp4", start=30.0, end=40.0, value="loom weight")
    log = (*LOG, row("5", "loom weight", 61.5, 6))
    done = run(add, Decision(action="pair", clip="cam/b.mp4", start=30.0, term="loom weight", value="5"), log=log)
    found = done.moments[-1]
    assert (found.clip, found.term, found.find, found.stance) == ("cam/b.mp4", "loom weight", "5", Stance.FOUND)
    assert found.decided == ("add", "pair")
    unnamed = run(add.model_copy(update={"value": None, "stance": "unsure"})).moments[-1]
    assert (unnamed.term, unnamed.title, unnamed.stance) == (None, "", Stance.UNSURE)
    assert unnamed.id == found.id


def test_what_was_added_and_is_spotted_today_is_not_there_twice():
    spotted = BASE.moments[0]
    done = run(Decision(action="add", clip=spotted.clip, start=58.0, end=64.0, value="cloth seal"))
    assert len(done.moments) == len(BASE.moments)
    assert done.moments[0].decided == ("add",)


def test_a_still_of_its_own():
    done = run(Decision(action="still", value=61.0, **about(BASE.moments[0])))
    assert done.moments[0].still_at == 61.0
    assert run(Decision(action="still", value=601.0, **about(BASE.moments[0]))).problems


def test_of_two_decisions_the_later_wins_and_accepting_ends_a_rejection():
    seal = about(BASE.moments[0])
    rejected = run(Decision(action="accept", **seal), Decision(action="reject", **seal)).moments[0]
    assert (rejected.stance, rejected.find, rejected.decided) == (Stance.ASIDE, None, ("accept", "reject"))
    accepted = run(Decision(action="reject", **seal), Decision(action="accept", **seal)).moments[0]
    assert (accepted.stance, accepted.find, accepted.decided) == (Stance.FOUND, "1", ("accept",))
    named_last = [Decision(action="rename", value=v, **seal) for v in ("pin", "loom weight")]
    assert run(*named_last).moments[0].term == "loom weight"
    repaired = [Decision(action="pair", value=v, **seal) for v in ("4", "1")]
    assert run(*repaired).moments[0].find == "1"


def test_a_rejected_moment_does_not_come_back_in_other_groups():
    thimble, ball = BASE.moments[1], BASE.moments[2]
    joined = Decision(
        action="reject", clip=thimble.clip, start=thimble.start, end=ball.end, term="thimble",
        quote=thimble.mentions[0].quote,
    )  # fmt: skip
    assert [m.stance for m in run(joined).moments[1:3]] == [Stance.ASIDE, Stance.ASIDE]
    alone = run(Decision(action="reject", **about(thimble)))
    assert [m.stance for m in alone.moments[1:3]] == [Stance.ASIDE, Stance.FOUND]


def test_a_rejected_naming_that_is_part_of_another_moment_today_leaves_it():
    said = [*SAID]
    said[1] = (60, "It's a cloth seal or a thimble perhaps.", SAID[1][2], ("thimble", "thimble", "object", "unsure"))
    whole = run(said=said).moments[0]
    assert {m.term for m in whole.mentions} == {"cloth seal", "thimble"}
    reject = Decision(action="reject", clip="cam/a.mp4", start=61.2, end=62.5, term="thimble")
    done = run(reject, said=said)
    assert [(m.term, m.stance.value, m.find) for m in done.moments[:2]] == [
        ("cloth seal", "found", "1"),
        ("thimble", "aside", None),
    ]


DECISIONS = (
    Decision(action="rename", value="loom weight", **about(BASE.moments[3])),
    Decision(action="stance", value="earlier", **about(BASE.moments[0])),
    Decision(action="pair", value=None, **about(BASE.moments[1])),
    Decision(action="reject", **about(BASE.moments[2])),
)


@pytest.mark.parametrize("shift", [-0.3, 0.3])
def test_times_that_shifted_a_little(shift: float):
    done = run(*DECISIONS, said=[(at + shift, *rest) for at, *rest in SAID])
    assert not done.problems
    assert [(m.term, m.find, m.stance.value, m.decided) for m in done.moments] == [
        (m.term, m.find, m.stance.value, m.decided) for m in run(*DECISIONS).moments
    ]


def test_words_that_another_recogniser_heard():
    heard = {
        60: (60.2, "look at this its a cloth seal", ("cloth seal", "cloth seal", "object", "found")),
        120: (119.8, "and here is a thimble love lee", ("thimble", "thimble", "object", "found")),
        180: (180.1, "is that a buckle may be", ("buckle", "buckle", "object", "unsure")),
    }
    done = run(*DECISIONS, said=[heard.get(line[0], line) for line in SAID])
    assert not done.problems
    assert [m.decided for m in done.moments] == [("stance",), ("pair",), ("reject",), ("rename",), ()]


def test_a_vocabulary_that_calls_it_something_else():
    other = {60: (60, "Look at this, it's a cloth seal.", ("cloth seal", "loom weight", "object", "found"))}
    done = run(DECISIONS[1], said=[other.get(line[0], line) for line in SAID])
    assert (done.moments[0].term, done.moments[0].decided) == ("loom weight", ("stance",))


def test_words_far_from_where_they_were_are_found_and_the_same_words_twice_are_not():
    far = [(line[0] + 70, *line[1:]) for line in SAID]
    assert run(DECISIONS[1], said=far).moments[0].decided == ("stance",)
    twice = [*far, (130 + 130, *SAID[1][1:])]
    done = run(DECISIONS[1].model_copy(update={"start": 195.0, "line": 7}), said=twice)
    assert [p.where for p in done.problems] == ["decisions.jsonl, line 7"]
    assert "more than one" in done.problems[0].what


def test_another_thing_at_its_place_is_not_what_was_meant():
    other = {60: (60, "So the boots are wet and here's a buckle.", ("buckle", "buckle", "object", "found"))}
    done = run(DECISIONS[1].model_copy(update={"line": 2}), said=[other.get(line[0], line) for line in SAID])
    assert all(m.decided == () for m in done.moments)
    assert [p.where for p in done.problems] == ["decisions.jsonl, line 2"]


DAY = simulate(11, CLEAN)
PLAIN = match(DAY.mentions, DAY.transcript, DAY.log, DAY.clips, DAY.lexicon)
TERMS = [t.term for t in DAY.lexicon.terms][:8] if hasattr(DAY.lexicon, "terms") else ["pin", "buckle"]


@st.composite
def some_decision(draw: st.DrawFn) -> Decision:
    moment = draw(st.sampled_from(PLAIN.moments))
    fields = about(moment)
    for name in draw(st.sets(st.sampled_from(["term", "quote", "end"]), max_size=3)):
        fields[name] = None
    fields["start"] = max(0.0, moment.start + draw(st.floats(-4, 4)))
    action = draw(
        st.sampled_from(["accept", "reject", "rename", "stance", "pair", "split", "join", "move", "add", "still"])
    )
    second = st.floats(0, 4000)
    if action in {"split", "still", "join"}:
        near = st.floats(moment.start - 5, moment.end + 60).map(lambda v: max(0.0, v))
        fields["value"] = draw(near | second)
    elif action == "move":
        fields["new_start"] = draw(st.none() | second)
        fields["new_end"] = draw(st.none() | second)
    elif action == "stance":
        fields["value"] = draw(st.sampled_from([s.value for s in Stance]) | st.just("buried"))
    elif action == "pair":
        fields["value"] = draw(st.none() | st.sampled_from([e.find for e in DAY.log]) | st.just("none such"))
    elif action in {"rename", "add"}:
        fields["value"] = draw(st.sampled_from(TERMS) | st.text(max_size=12))
        fields["end"] = fields["start"] + draw(st.floats(-1, 30))
    return Decision(action=action, **fields)


@settings(max_examples=40)
@given(st.lists(some_decision(), max_size=12))
def test_any_decisions_in_any_order(decisions: list[Decision]):
    def again() -> Matched:
        return match(DAY.mentions, DAY.transcript, DAY.log, DAY.clips, DAY.lexicon, decisions)

    done = again()
    key = lambda m: m.model_dump_json()  # noqa: E731
    assert sorted(all_mentions(done), key=key) == sorted(DAY.mentions, key=key)
    assert len({m.id for m in done.moments}) == len(done.moments)
    assert all(m.start <= m.end for m in done.moments)
    place = {c.name: i for i, c in enumerate(DAY.clips)}
    order = [(place[m.clip], m.start) for m in done.moments]
    assert order == sorted(order)
    assert not any(m.find for m in done.moments if m.decided[-1:] == ("reject",))
    assert again() == done


def test_no_words_at_all():
    empty = match((), Transcript(), LOG, CLIPS, LEXICON, DECISIONS)
    assert len(empty.problems) >= len(DECISIONS)
    added = match((), Transcript(), LOG, CLIPS, LEXICON, [Decision(action="add", clip="cam/a.mp4", start=1.0, end=9.0)])
    assert len(added.moments) == 1
