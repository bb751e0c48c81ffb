from collections import Counter
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from episode.matching.match import match
from episode.matching.naming import naming_second
from episode.matching.times import row_times
from episode.matching.wall import epoch
from episode.models import (
    Decision,
    How,
    Kind,
    LogEntry,
    Mention,
    Segment,
    Stance,
    StartFrom,
    Transcript,
    Word,
)
from tests.matching.helpers import NINE, clip, row, talk
from tests.matching.simulate import CLEAN, MESSY, simulate, vocabulary

LEXICON = vocabulary()
FINDS = {Stance.FOUND, Stance.UNSURE, Stance.EARLIER}


def found(at, term, stance="found", kind="object"):
    return at, f"Here's a {term}.", (term, term, kind, stance)


def run(lines, log, decisions=(), clips=None):
    transcript, mentions = talk(*lines)
    return match(mentions, transcript, log, clips or (clip(),), LEXICON, decisions)


THREE = (found(60, "pin"), found(180, "thimble"), found(300, "cloth seal"))
LOG = (row("1", "pin", 1.2, 2), row("2", "thimble", 3.2, 3), row("3", "bale seal", 5.2, 4))


def test_finds_are_paired_and_say_why():
    matched = run(THREE, LOG)
    assert [m.find for m in matched.moments] == ["1", "2", "3"]
    assert all(m.confidence > 0.9 for m in matched.moments)
    assert "the same object" in matched.moments[2].why[0]
    assert matched.unlogged == () and matched.unfilmed == ()
    (clock,) = matched.clocks
    assert clock.pairs == 3 and abs(clock.offset_s - 12) < 3
    assert "steady lag" in clock.basis


def test_what_is_not_logged_and_what_is_not_filmed_is_listed():
    matched = run((*THREE, found(400, "loom weight")), (*LOG, row("4", "torpedo bottle", 30, 5)))
    assert matched.unlogged == (matched.moments[3].id,)
    assert matched.unfilmed == ("4",)


@pytest.mark.parametrize("offset", [3600, -3600, 86400])
def test_a_camera_in_another_time(offset):
    matched = run(THREE, LOG, clips=(clip(start=NINE - timedelta(seconds=offset)),))
    assert [m.find for m in matched.moments] == ["1", "2", "3"]
    assert abs(matched.clocks[0].offset_s - offset - 12) < 4
    assert abs((matched.moments[0].at - NINE).total_seconds() - 72) < 4


def test_no_times_and_no_log_leave_the_clock_alone_and_say_so():
    timeless = run(THREE, [entry.model_copy(update={"time": None}) for entry in LOG])
    assert [m.find for m in timeless.moments] == ["1", "2", "3"]
    assert timeless.clocks[0].offset_s == 0 and "no times" in timeless.clocks[0].basis
    bare = run(THREE, ())
    assert bare.clocks[0].pairs == 0 and "no log" in bare.clocks[0].basis
    assert bare.unlogged == ()  # without a log nothing is missing from it


def test_a_guess_is_paired_by_time_and_material_though_the_log_calls_it_something_else():
    lines = (*THREE, (420, "Could it be a comb? It's bone.", ("comb", "comb", "object", "unsure")))
    matched = run(lines, (*LOG, row("4", "handle??", 7.2, 5, material="bone")))
    assert matched.moments[3].find == "4"


def test_one_row_for_a_handful_takes_several_moments_and_nothing_unlike():
    lines = (found(60, "pin"), found(90, "pin"), found(120, "aglet"), found(300, "thimble"))
    matched = run(lines, (row("1", "5 x pins", 2.0, 2), row("2", "thimble", 5.2, 3)))
    assert [m.find for m in matched.moments] == ["1", "1", None, "2"]


def test_a_find_filmed_by_two_cameras_has_one_row():
    a, ours = talk(*THREE)
    b, theirs = talk(*((at + 4, text, *named) for at, text, *named in THREE), name="hat/b.mp4")
    clips = (clip(), clip("hat/b.mp4", camera="hat"))
    matched = match((*ours, *theirs), Transcript(segments=(*a.segments, *b.segments)), LOG, clips, LEXICON)
    assert Counter(m.find for m in matched.moments) == {"1": 2, "2": 2, "3": 2}
    assert matched.unlogged == ()


def test_a_clip_with_a_broken_date_gets_a_clock_of_its_own():
    a, ours = talk(*THREE)
    lines = (found(50, "musket ball"), found(200, "spoon"), found(320, "die"), found(500, "torpedo bottle"))
    b, theirs = talk(*lines, name="cam/b.mp4")
    log = (
        *LOG,
        row("4", "musket ball", 61, 5),
        row("5", "spoon", 63.5, 6),
        row("6", "gaming die", 65.5, 7),
        row("7", "torpedo bottle", 68.5, 8),
    )
    late = clip("cam/b.mp4", start=NINE + timedelta(days=40), start_from=StartFrom.MODIFIED)
    matched = match((*ours, *theirs), Transcript(segments=(*a.segments, *b.segments)), log, (clip(), late), LEXICON)
    assert [m.find for m in matched.moments] == ["1", "2", "3", "4", "5", "6", "7"]
    own = [c for c in matched.clocks if c.clip == "cam/b.mp4"]
    assert len(own) == 1
    assert abs(own[0].offset_s - (3600 - 40 * 86400)) < 40


def test_swapped_rows_are_paired_and_flagged():
    log = [entry.model_copy(update={"time": None}) for entry in (LOG[1], LOG[0], LOG[2])]
    matched = run(THREE, log)
    assert [m.find for m in matched.moments] == ["1", "2", "3"]
    assert any("out of the log's order" in m.why for m in matched.moments)


def test_what_a_person_decided_is_kept_and_what_no_longer_fits_is_listed():
    decisions = (
        Decision(action="pair", clip="cam/a.mp4", start=61.5, value="3"),
        Decision(action="pair", clip="cam/a.mp4", start=181, value=None),
        Decision(action="reject", clip="cam/a.mp4", quote="Here's a cloth seal."),
        Decision(action="pair", clip="gone.mp4", start=5.0, value="1", line=4),
        Decision(action="pair", clip="cam/a.mp4", start=61.5, value="99", line=5),
        Decision(action="kept", clip="gone.mp4", start=5.0),
    )
    matched = run(THREE, LOG, decisions)
    assert [m.find for m in matched.moments] == ["3", None, None]
    assert matched.moments[0].confidence == 1.0 and "paired by hand" in matched.moments[0].why
    assert matched.moments[2].stance is Stance.ASIDE
    assert [p.where for p in matched.problems] == ["decisions.jsonl, line 4", "decisions.jsonl, line 5"]


def test_a_person_may_say_what_stance_a_moment_has():
    decision = Decision(action="stance", clip="cam/a.mp4", start=60, value="earlier")
    assert run(THREE, LOG, (decision,)).moments[0].stance is Stance.EARLIER
    wrong = Decision(action="stance", clip="cam/a.mp4", start=60, value="buried")
    assert "no stance" in run(THREE, LOG, (wrong,)).problems[0].what


def test_doubled_and_missing_numbers_are_said():
    log = (*LOG, row("3", "penny", 8, 5), row("6", "die", 9, 6))
    said = [p.what for p in run(THREE, log).problems]
    assert any("stands for 2 rows" in what for what in said)
    assert any("without 4, 5" in what for what in said)


def test_the_same_input_gives_the_same_result():
    day = simulate(3, MESSY)
    once, again = (match(day.mentions, day.transcript, day.log, day.clips, day.lexicon) for _ in range(2))
    assert once.model_dump_json() == again.model_dump_json()


@pytest.mark.parametrize("plan", [CLEAN, MESSY], ids=["clean", "messy"])
def test_simulated_days_hold_together(plan):
    right = true = 0
    for seed in range(900, 904):
        day = simulate(seed, plan)
        matched = match(day.mentions, day.transcript, day.log, day.clips, day.lexicon)
        kept = Counter(m for moment in matched.moments for m in moment.mentions)
        assert kept == Counter(day.mentions)
        check_order(matched, day.log, day.clips)
        by_find = [(m.find, {(x.clip, x.start) for x in m.mentions}) for m in matched.moments if m.find]
        right += sum(any(f == find and naming in said for f, said in by_find) for naming, find in day.truth.items())
        true += len(day.truth)
    assert right / true > (0.95 if plan is CLEAN else 0.75)


def check_order(matched, log, clips):
    """Pairs that are not flagged rise together in corrected time and in the log."""
    starts = {c.name: c for c in clips}
    place = {j: k for k, j in enumerate(row_times(log).order)}
    index = {entry.find: j for j, entry in enumerate(log)}
    if len(index) < len(log):
        return
    clock = {c.clip or c.camera: c for c in matched.clocks}
    seen = []
    for moment in matched.moments:
        told = " ".join(moment.why)
        if moment.find is None or "out of the log's order" in told or "the same find as" in told or "by hand" in told:
            continue
        c = starts[moment.clip]
        k = clock.get(c.name) or clock[c.camera]
        first = min(epoch(x.start) for x in clips if x.camera == c.camera)
        camera = epoch(c.start) + naming_second(moment.mentions, moment.term)
        drift = k.drift_ppm * 1e-6 * (camera - first)
        seen.append((camera + k.offset_s + drift, place[index[moment.find]]))
    seen.sort()
    places = [p for _, p in seen]
    assert places == sorted(places)


TERMS = [(t.term, t.kind) for t in LEXICON.terms] + [("no such thing", Kind.OBJECT), ("silver", Kind.MATERIAL)]
SECONDS = st.one_of(st.floats(0, 700), st.sampled_from([0.0, 10.0, 10.5, 1e12, float("inf")]))
CLIPS = ("cam/a.mp4", "hat/b.mp4", "nowhere.mp4")


@st.composite
def a_mention(draw):
    term, kind = draw(st.sampled_from(TERMS))
    start = draw(SECONDS)
    return Mention(
        clip=draw(st.sampled_from(CLIPS)),
        start=start,
        end=draw(st.one_of(st.just(start), st.just(start + 1), SECONDS)),
        heard=draw(st.sampled_from([term, "", "💥"])),
        term=term,
        kind=kind,
        how=draw(st.sampled_from(How)),
        score=draw(st.floats(0, 1)),
        stance=draw(st.sampled_from(Stance)),
        quote=draw(st.sampled_from(["", "hang on what's this", "no it's a pin"])),
    )


@st.composite
def an_entry(draw):
    return LogEntry(
        find=draw(st.sampled_from(["1", "2", "3", "7a", "", "  "])),
        row=draw(st.integers(1, 60)),
        time=draw(st.none() | st.datetimes(timezones=st.just(NINE.tzinfo)) | st.just(NINE) | st.datetimes()),
        object=draw(
            st.sampled_from(["pin", "5 x pins", "?", "", "bowl, pipe", "pinn", "((", "0"]) | st.text(max_size=12)
        ),
        material=draw(st.sampled_from(["", "lead", "bone?"])),
        maker=draw(st.sampled_from(["", "Orme"])),
        notes=draw(st.text(max_size=12)),
    )


@st.composite
def a_segment(draw):
    start = draw(st.floats(0, 700))
    words = draw(st.lists(st.sampled_from(["hang", "on", "pin.", "no", "lead", "", "💥", "here's"]), max_size=8))
    timed = tuple(Word(start=start + i, end=start + i + 0.5, word=w, probability=0.5) for i, w in enumerate(words))
    return Segment(clip=draw(st.sampled_from(CLIPS)), start=start, end=start + 8, text=" ".join(words), words=timed)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(a_mention(), max_size=9),
    st.lists(an_entry(), max_size=7),
    st.lists(a_segment(), max_size=6),
    st.sampled_from([0, 1, 2]),
    st.sampled_from(StartFrom),
)
def test_anything_goes_in_and_nothing_is_lost(mentions, log, segments, clip_count, start_from):
    clips = (clip(), clip("hat/b.mp4", camera="hat", start_from=start_from, start=NINE + timedelta(minutes=2)))
    matched = match(mentions, Transcript(segments=tuple(segments)), log, clips[:clip_count], LEXICON)
    kept = Counter(m for moment in matched.moments for m in moment.mentions)
    assert kept == Counter(mentions)
    ids = [m.id for m in matched.moments]
    assert len(set(ids)) == len(ids)
    known = [c.name for c in clips[:clip_count]]
    keys = [(known.index(m.clip), m.start) for m in matched.moments if m.clip in known]
    assert keys == sorted(keys)
    assert all(m.start <= m.end for m in matched.moments)
    assert {m.find for m in matched.moments} <= {e.find.strip() for e in log} | {None}
    finite = all(m.start < 1e9 for m in mentions)
    if finite and clip_count == 2:
        check_order(matched, log, clips)
