"""A person's chapters stand over the drafted ones, and what hosts would refuse of them is said."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.chapters import INTRO
from episode.drafting.decided import decided_chapters, titled_by_hand
from episode.drafting.timeline import starts, total
from episode.models import Chapter, Decision, Problem
from tests.drafting.invented import CLIPS, MOMENTS, SETTINGS, day

FOUND = day().chapters
BEGIN = starts(CLIPS)
TERMS = {m.id: m.term for m in MOMENTS}


def about(chapter: Chapter) -> dict[str, object]:
    clip = max((c for c in CLIPS if BEGIN[c.name] <= chapter.start), key=lambda c: BEGIN[c.name])
    term = TERMS[chapter.moments[0]] if chapter.moments else None
    return {"clip": clip.name, "start": chapter.start - BEGIN[clip.name], "term": term, "title": chapter.title}


def run(*decisions: Decision, found=FOUND, moments=MOMENTS) -> tuple[tuple[Chapter, ...], tuple[Problem, ...]]:
    return decided_chapters(found, decisions, moments, CLIPS, SETTINGS)


def test_no_decisions_no_change():
    assert run() == (FOUND, ())
    assert len(FOUND) > 5


def test_a_title_of_ones_own_and_the_later_wins():
    here = about(FOUND[5])
    made, problems = run(
        *(Decision(action="title", value=v, **here) for v in ("First", "A <b>seal</b> at the old hard"))
    )
    assert not problems
    assert made[5].title.startswith("A b seal /b at")
    assert "old hard" not in made[5].title
    assert made[5].decided == ("title",)
    assert [c for i, c in enumerate(made) if i != 5] == [c for i, c in enumerate(FOUND) if i != 5]


def test_a_long_title_is_kept_and_told():
    made, problems = run(Decision(action="title", value="word " * 40, **about(FOUND[5])))
    assert len(made[5].title) == 199
    assert "characters" in problems[0].what


def test_a_start_moves_its_neighbours_end():
    here = about(FOUND[6])
    made, problems = run(Decision(action="begin", value=float(here["start"]) - 12.0, **here))
    assert not problems
    assert made[6].start == made[5].end == FOUND[6].start - 12
    assert made[6].moments == FOUND[6].moments


def test_moments_go_with_the_chapter_they_lie_in():
    where = next(i for i in range(1, len(FOUND)) if about(FOUND[i])["clip"] == about(FOUND[i + 1])["clip"])
    one, two = FOUND[where : where + 2]
    joined = one.model_copy(update={"end": two.end, "moments": (*one.moments, *two.moments)})
    second = next(m for m in MOMENTS if m.id == two.moments[0])
    begin = Decision(action="begin", value=second.start - 0.5, **about(joined))
    made, _ = run(begin, found=(*FOUND[:where], joined, *FOUND[where + 2 :]))
    assert one.moments[0] in made[where - 1].moments
    assert made[where].moments[0] == second.id


def test_a_start_beyond_the_neighbours_does_not_apply():
    where = next(i for i in range(1, len(FOUND)) if about(FOUND[i])["clip"] == about(FOUND[i + 1])["clip"])
    here, following = about(FOUND[where]), about(FOUND[where + 1])
    made, problems = run(Decision(action="begin", value=float(following["start"]), line=4, **here))
    assert made == FOUND
    assert [(p.where, "after the next" in p.what) for p in problems] == [("decisions.jsonl, line 4", True)]
    made, problems = run(Decision(action="begin", value=float(here["start"]), line=5, **following))
    assert made == FOUND
    assert "before the chapter before" in problems[0].what
    made, problems = run(Decision(action="begin", value=9000.0, line=6, **here))
    assert made == FOUND
    assert "the clip ends" in problems[0].what


def test_a_chapter_made_too_short_is_told():
    here = about(FOUND[6])
    room = FOUND[6].end - FOUND[6].start
    made, problems = run(Decision(action="begin", value=float(here["start"]) + room - 3.0, **here))
    assert made[6].end - made[6].start == pytest.approx(3.0)
    assert "no chapters at all" in problems[0].what


def test_the_first_chapter_begins_at_nothing_whatever_is_decided():
    made, _ = run(Decision(action="begin", value=30.0, **about(FOUND[0])))
    assert made[0].start == 0
    assert made[0].title == (INTRO if FOUND[0].title != INTRO else "Before we begin")
    assert made[1].start == 30
    dropped, _ = run(Decision(action="drop", **about(FOUND[0])))
    assert dropped[0].start == 0
    assert dropped[0].title == FOUND[1].title


def test_a_dropped_chapter_joins_the_one_before():
    made, _ = run(Decision(action="drop", **about(FOUND[6])))
    assert len(made) == len(FOUND) - 1
    assert made[5].end == FOUND[6].end
    assert made[5].moments == (*FOUND[5].moments, *FOUND[6].moments)
    assert made[5].title == FOUND[5].title
    again, problems = run(*[Decision(action="drop", **about(FOUND[6]))] * 2)
    assert again == made
    assert "no such chapter" in problems[0].what


def test_found_again_after_a_move_a_new_title_and_shifted_times():
    here = about(FOUND[6])
    begun = Decision(action="begin", value=float(here["start"]) - 12.0, **here)
    titled = Decision(action="title", value="Mine", **{**here, "start": begun.value})
    again = Decision(action="title", value="Ours", **{**here, "start": begun.value, "title": "Mine"})
    assert run(begun, titled, again)[0][6].title == "Ours"
    # The first decision was undone: the others still mean this chapter.
    assert run(titled, again)[0][6].title == "Ours"
    shifted = tuple(c.model_copy(update={"start": c.start + 0.3 * bool(i)}) for i, c in enumerate(FOUND))
    assert run(titled, found=shifted)[0][6].title == "Mine"


def test_what_is_gone_is_listed():
    gone = Decision(action="title", clip="gone.mp4", start=3.0, title="Pin", value="x", line=9)
    other = Decision(action="drop", clip=CLIPS[2].name, start=500.0, term="nothing", title="Quite else", line=10)
    made, problems = run(gone, other)
    assert made == FOUND
    assert [p.where for p in problems] == ["decisions.jsonl, line 9", "decisions.jsonl, line 10"]


@st.composite
def some_decision(draw: st.DrawFn) -> Decision:
    fields = about(draw(st.sampled_from(FOUND)))
    action = draw(st.sampled_from(["title", "begin", "drop"]))
    if action == "title":
        fields["value"] = draw(st.text(min_size=1, max_size=120))
    if action == "begin":
        fields["value"] = draw(st.floats(0, 700))
    fields["start"] = max(0.0, float(fields["start"]) + draw(st.floats(-3, 3)))
    return Decision(action=action, **fields)


@given(st.lists(some_decision(), max_size=12))
def test_any_decisions_leave_a_whole_list(decisions: list[Decision]):
    made, _ = run(*decisions)
    assert made[0].start == 0
    assert made[-1].end == total(CLIPS)
    assert all(a.end == b.start and a.start < b.start for a, b in itertools.pairwise(made))
    assert sorted(i for c in made for i in c.moments) == sorted(i for c in FOUND for i in c.moments)
    assert all(c.title for c in made)
    assert run(*decisions)[0] == made


def test_titles_of_ones_own_go_with_their_finds_onto_a_film():
    made, _ = run(Decision(action="title", value="My best find", **about(FOUND[5])))
    film = tuple(c.model_copy(update={"start": c.start / 2, "end": c.end / 2}) for c in (FOUND[5], FOUND[3]))
    told = titled_by_hand(film, made)
    assert [c.title for c in told] == ["My best find", FOUND[3].title]
    both = FOUND[5].model_copy(update={"moments": (*FOUND[5].moments, *FOUND[3].moments)})
    assert titled_by_hand((both,), made) == (both,)  # a joined chapter is about more than the person named
