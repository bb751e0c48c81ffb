"""Clocks that share their sound: chains, contradictions, and days on which only the sound speaks."""

from datetime import timedelta

import pytest

from episode.matching.match import match
from episode.matching.ties import weave
from episode.models import Decision, StartFrom, Tie, Transcript
from tests.matching.helpers import NINE, clip, row, talk
from tests.matching.simulate import vocabulary
from tests.matching.test_match import LOG, THREE, found, run

LEXICON = vocabulary()


def clips_of(*starts):
    """One clip a camera, a, b, c ..., each beginning so many seconds after nine by its own clock."""
    return tuple(
        clip(f"{name}/1.mp4", camera=name, start=NINE + timedelta(seconds=at, milliseconds=1))
        for name, at in zip("abcdef", starts, strict=False)
    )


def tied(one, other, shift, **more):
    return Tie(clip=f"{one}/1.mp4", other=f"{other}/1.mp4", shift_s=shift, overlap_s=500.0, **more)


def matched(clips, ties, log=LOG, lines=THREE):
    transcript, mentions = talk(*lines, name="a/1.mp4")
    return match(mentions, transcript, log, clips, LEXICON, ties=ties)


def by_camera(result):
    return {clock.clip or clock.camera: clock for clock in result.clocks}


def test_a_camera_without_a_find_takes_its_clock_through_a_chain():
    # b runs an hour ahead and its clip began 10 s before a's; c is a day behind b and began 5 s after b's clip.
    clips = clips_of(0, 3590, 3595 - 86400)
    clocks = by_camera(matched(clips, (tied("a", "b", 10.0), tied("b", "c", -5.0))))
    first = clocks["a"].offset_s
    assert first == pytest.approx(12, abs=3)
    assert clocks["b"].offset_s == pytest.approx(first - 3600, abs=0.2)
    assert clocks["c"].offset_s == pytest.approx(first - 3600 + 86400, abs=0.3)
    assert clocks["c"].pairs == 0 and clocks["c"].known
    assert set(clocks["c"].tied_to) == {"a", "b"}
    assert "its sound ties it to" in clocks["c"].basis
    assert "one tie, which nothing else confirms" in clocks["c"].basis
    assert clocks["c"].error_s >= clocks["a"].error_s - 0.01


def test_the_tie_adds_its_own_error_to_the_clock_that_it_passes_on():
    rough = by_camera(matched(clips_of(0, 0), (tied("a", "b", 0.0, error_s=40.0),)))
    # Three pairs and a prior worth two: Student's 2.776 for 4 degrees of freedom, in place of 1.96.
    added = 40.0 * 2.776 / 1.96
    assert rough["b"].error_s ** 2 == pytest.approx(rough["a"].error_s ** 2 + added**2, rel=0.05)


def test_relative_drift_comes_from_the_tie():
    # a's second t is b's t * (1 + 80e-6): a's seconds are the longer ones on the log's clock.
    clocks = by_camera(matched(clips_of(0, 0), (tied("a", "b", 0.0, drift_ppm=80.0, error_s=0.002),)))
    assert clocks["a"].drift_ppm - clocks["b"].drift_ppm == pytest.approx(80, abs=15)
    # Told by nothing else, the two share it alike.
    assert clocks["a"].drift_ppm == pytest.approx(40, abs=15)


def test_a_tie_that_others_contradict_is_left_out_and_said():
    more = clip("b/2.mp4", camera="b", start=NINE + timedelta(seconds=1200, milliseconds=1))
    again = clip("a/2.mp4", camera="a", start=NINE + timedelta(seconds=1200, milliseconds=1))
    clips = (*clips_of(0, 0), again, more)
    ties = (
        tied("a", "b", 0.0),
        Tie(clip="a/2.mp4", other="b/2.mp4", shift_s=0.2, overlap_s=400),
        Tie(clip="a/2.mp4", other="b/1.mp4", shift_s=100.0, overlap_s=60),
    )
    result = matched(clips, ties)
    (problem,) = [p for p in result.problems if "this tie was left out" in p.what]
    assert problem.where == "a/2.mp4 and b/1.mp4"
    clocks = by_camera(result)
    assert clocks["a"].offset_s == pytest.approx(clocks["b"].offset_s, abs=1)


def test_a_circle_that_does_not_meet_is_opened_and_said():
    clips = clips_of(0, 0, 0)
    web = weave(
        (tied("a", "b", 0.0), tied("b", "c", 0.0), tied("c", "a", 77.0)),
        clips,
        {c.name: i for i, c in enumerate(clips)},
    )
    assert len(web.strands) == 2
    assert "77.0 s apart" in web.problems[0].what
    assert len(web.bodies(3)) == 1


def test_the_log_outweighs_a_single_tie_that_it_clearly_contradicts():
    lines = [found(60 + 70 * n, name) for n, name in enumerate(("pin", "thimble", "cloth seal", "marble", "spoon"))]
    theirs = [found(40 + 70 * n, name) for n, name in enumerate(("comb", "die", "knife", "jetton", "sixpence"))]
    a, ours = talk(*lines, name="a/1.mp4")
    b, others = talk(*theirs, name="b/1.mp4")
    log = [row(str(n), line[2][1], (line[0] + 10) / 60, n + 1) for n, line in enumerate(lines, start=1)]
    log += [row(str(n), line[2][1], (line[0] + 2410) / 60, n + 1) for n, line in enumerate(theirs, start=6)]
    result = match(
        (*ours, *others),
        Transcript(segments=(*a.segments, *b.segments)),
        log,
        clips_of(0, 2400),
        LEXICON,
        ties=(tied("a", "b", 250.0),),
    )
    assert any("apart from what the log says" in p.what for p in result.problems)
    assert [m.find for m in result.moments] == [str(n) for n in range(1, 11)]


def test_a_clip_with_only_a_modification_time_gets_its_clock_by_sound():
    later = clip("b/2.mp4", camera="b", start=NINE + timedelta(days=40), start_from=StartFrom.MODIFIED)
    ties = (tied("a", "b", 0.0), Tie(clip="a/1.mp4", other="b/2.mp4", shift_s=-30.0, overlap_s=300))
    clocks = by_camera(matched((*clips_of(0, 0), later), ties))
    # a's second 30 is the clip's second 0: it began at nine and thirty seconds, not forty days on.
    assert clocks["b/2.mp4"].offset_s == pytest.approx(clocks["a"].offset_s + 30 - 40 * 86400, abs=2)


def test_without_a_log_the_camera_that_is_off_by_habit_is_set_to_the_other():
    clocks = by_camera(matched(clips_of(0, 3600), (tied("a", "b", 0.0),), log=()))
    assert {round(clock.offset_s) for clock in clocks.values()} in ({0, -3600}, {0, 3600})
    assert clocks["b"].offset_s - clocks["a"].offset_s == pytest.approx(-3600, abs=1)
    assert not clocks["a"].known and clocks["a"].error_s is None


PHOTOS = {2: NINE + timedelta(minutes=1.2), 3: NINE + timedelta(minutes=3.2), 4: NINE + timedelta(minutes=5.2)}


def photographed(log, photos, **more):
    transcript, mentions = talk(*THREE)
    ahead = clip(start=NINE + timedelta(hours=1))
    return match(mentions, transcript, log, (ahead,), LEXICON, row_times=photos, **more)


def test_rows_without_a_time_take_that_of_their_photograph():
    bare = [entry.model_copy(update={"time": None}) for entry in LOG]
    result = photographed(bare, PHOTOS)
    assert [m.find for m in result.moments] == ["1", "2", "3"]
    assert result.clocks[0].offset_s == pytest.approx(12 - 3600, abs=3)
    assert "an hour ahead" in result.clocks[0].basis


def test_a_photograph_far_from_its_row_is_said_and_the_row_believed():
    result = photographed(LOG, PHOTOS | {3: NINE + timedelta(hours=9)})
    (problem,) = result.problems
    assert problem.where == "find log, row 3" and "8.9 hours after" in problem.what
    assert result.clocks[0].offset_s == pytest.approx(12 - 3600, abs=3)


def test_one_correction_moves_the_other_pairs_and_the_clock():
    """Two rounds of the same four finds: by themselves either fits, and a person's word on one settles all."""
    names = ("pin", "button", "nail", "pipe stem")
    lines = [found(60 + 100 * n, name) for n, name in enumerate(names)]
    log = [row(str(n), name, 1 + 100 * (n - 1) / 60, n + 1) for n, name in enumerate(names, start=1)]
    log += [row(str(n), name, 61 + 100 * (n - 5) / 60, n + 1) for n, name in enumerate(names, start=5)]
    before = run(lines, log)
    assert [m.find for m in before.moments] == ["1", "2", "3", "4"]
    after = run(lines, log, (Decision(action="pair", clip="cam/a.mp4", start=161, value="6"),))
    assert [m.find for m in after.moments] == ["5", "6", "7", "8"]
    assert after.clocks[0].offset_s == pytest.approx(3600, abs=20)
