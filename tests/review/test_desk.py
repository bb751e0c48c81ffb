"""Deciding on the page: what is written, what is shown at once, and what two pages see."""

from __future__ import annotations

import json
import threading
import time

import pytest

from episode.claims.decided import decided
from episode.day.decisions import read_decisions
from episode.review.asking import Asked, Refused, asked, seconds
from episode.review.desk import Desk
from episode.review.keys import chapter_key, claim_key, moment_key, promise_key
from tests.drafting.invented import day as invented
from tests.drafting.invented import film_day

DAY = invented()


class Worked:
    """Stands for the run behind the desk: remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[int] = []
        self.written = 0

    def work(self, decisions):
        self.asked.append(len(decisions))
        return invented()

    def write(self, day):
        self.written += 1
        return day


@pytest.fixture
def worked():
    return Worked()


@pytest.fixture
def desk(tmp_path, worked):
    made = Desk(tmp_path, invented(), work=worked.work, write=worked.write)
    yield made
    made.close()


def lines(folder):
    return [json.loads(line) for line in (folder / "decisions.jsonl").read_text(encoding="utf-8").splitlines()]


def paired():
    return next(m for m in DAY.moments if m.find)


def test_a_decision_is_a_line_that_names_its_subject_by_content(desk, tmp_path):
    moment = paired()
    desk.decide(Asked(action="accept", key=moment_key(moment)))
    (line,) = lines(tmp_path)
    assert line["action"] == "accept"
    assert (line["clip"], line["start"], line["term"]) == (moment.clip, moment.start, moment.term)
    assert line["quote"] == moment.mentions[0].quote
    assert line["id"] and line["at"]


@pytest.mark.parametrize(
    ("action", "more", "expected"),
    [
        ("reject", {}, {}),
        ("rename", {"value": "  toggle,   bone "}, {"value": "toggle, bone"}),
        ("stance", {"value": "unsure"}, {"value": "unsure"}),
        ("pair", {"value": ""}, {"value": None}),
        ("still", {"value": "1:40"}, {"value": 100.0}),
        ("move", {"start": "1:35", "end": "105,5"}, {"new_start": 95.0, "new_end": 105.5}),
    ],
)
def test_what_is_asked_of_a_moment(desk, tmp_path, action, more, expected):
    desk.decide(Asked(action=action, key=moment_key(paired()), **more))
    (line,) = lines(tmp_path)
    assert line["action"] == action
    assert {name: line.get(name) for name in expected} == expected


def test_splitting_joining_and_adding(desk, tmp_path):
    moment = max((m for m in DAY.moments), key=lambda m: m.end - m.start)
    middle = (moment.start + moment.end) / 2
    desk.decide(Asked(action="split", key=moment_key(moment), value=f"{middle:.1f}"))
    same = [m for m in DAY.moments if m.clip == moment.clip and m.id != moment.id]
    desk.decide(Asked(action="join", key=moment_key(moment), value=moment_key(same[0])))
    desk.decide(Asked(action="add", key=moment_key(moment), value="nail", start="3:20", end="3:25"))
    split, join, add = lines(tmp_path)
    assert split["value"] == pytest.approx(middle, abs=0.06)
    assert join["value"] == same[0].start
    assert (add["clip"], add["start"], add["end"], add["value"], add["stance"]) == (
        moment.clip,
        200,
        205,
        "nail",
        "found",
    )


def test_claims_promises_and_chapters(desk, tmp_path):
    claim, promise, chapter = DAY.claims[0], DAY.promises[0], DAY.chapters[2]
    desk.decide(Asked(action="reference", key=claim_key(claim), value="Oswald 1975, p. 37"))
    desk.decide(Asked(action="strike", key=claim_key(claim), value="yes"))
    desk.decide(Asked(action="kept", key=promise_key(promise), value="in the pinned comment"))
    desk.decide(Asked(action="title", key=chapter_key(chapter), value="The pins"))
    reference, strike, kept, title = lines(tmp_path)
    assert (reference["quote"], reference["kind"], reference["value"]) == (
        claim.quote,
        claim.kind,
        "Oswald 1975, p. 37",
    )
    assert strike["value"] is True
    assert (kept["quote"], kept["value"]) == (promise.quote, "in the pinned comment")
    assert (title["title"], title["value"]) == (chapter.title, "The pins")
    assert title["clip"] in {c.name for c in DAY.clips}


@pytest.mark.parametrize(
    "ask",
    [
        {"action": "accept", "key": "m-0000000000000000"},
        {"action": "stance", "value": "lovely"},
        {"action": "pair", "value": "no such find"},
        {"action": "rename", "value": "   "},
        {"action": "move", "start": "9:99:x", "end": "3"},
        {"action": "move", "start": "10", "end": "3"},
        {"action": "move", "start": "10", "end": "99999"},
        {"action": "split", "value": "0"},
        {"action": "still", "value": "99999"},
        {"action": "join", "value": "m-0000000000000000"},
        {"action": "make tea"},
    ],
)
def test_what_cannot_be_is_refused_before_anything_is_written(desk, tmp_path, ask):
    with pytest.raises(Refused):
        desk.decide(Asked(**{"key": moment_key(paired()), **ask}))
    assert not (tmp_path / "decisions.jsonl").exists()


def test_it_shows_at_once_on_its_sheet_and_in_the_list(desk):
    moment = paired()
    before = desk.since(0)["version"]
    desk.decide(Asked(action="accept", key=moment_key(moment)))
    shown = desk.since(before)
    assert "looked at, right" in shown["parts"][moment_key(moment)]
    assert "right" in shown["parts"]["history"]
    assert set(shown["parts"]) == {moment_key(moment), "history"}
    assert shown["working"]


def test_what_only_the_film_says_is_decided_as_what_the_clips_say(tmp_path):
    day = film_day()
    claim, promise = day.film.claims[0], day.film.promises[0]

    def work(decisions):
        claims, promises, _ = decided(day.film.found_claims, day.film.found_promises, decisions)
        return day.model_copy(update={"film": day.film.model_copy(update={"claims": claims, "promises": promises})})

    desk = Desk(tmp_path, day, work=work, write=lambda day: day)
    try:
        for action, value, shown in (
            ("reference", "GB 3070 of 1870", "Your reference: <cite>GB 3070 of 1870"),
            ("reword", "patented in 1870", "In your words: patented in 1870"),
            ("strike", "yes", "Struck from the description."),
            ("strike", "no", "patented in 1870"),
        ):
            before = desk.since(0)["version"]
            desk.decide(Asked(action=action, key=claim_key(claim), value=value))
            assert shown in desk.since(before)["parts"]["film"]
        before = desk.since(0)["version"]
        desk.decide(Asked(action="kept", key=promise_key(promise), value="the card at the end"))
        assert "Kept by “the card at the end”" in desk.since(before)["parts"]["promises"]
    finally:
        desk.close()
    found = lines(tmp_path)
    assert {(x["clip"], x["start"]) for x in found} == {("film.mp4", 61.0)}
    assert [x["value"] for x in found] == ["GB 3070 of 1870", "patented in 1870", True, False, "the card at the end"]


def test_what_was_said_in_general_shows_at_once(tmp_path):
    claim = DAY.claims[0].model_copy(update={"moment": None})
    day = DAY.model_copy(update={"claims": (claim, *DAY.claims[1:])})
    desk = Desk(tmp_path, day, work=lambda _: day, write=lambda day: day)
    before = desk.since(0)["version"]
    desk.decide(Asked(action="reference", key=claim_key(claim), value="Oswald 1975"))
    assert "Oswald 1975" in desk.since(before)["parts"]["general"]
    desk.close()


def test_a_chapters_title_shows_at_once(desk):
    before = desk.since(0)["version"]
    desk.decide(Asked(action="title", key=chapter_key(DAY.chapters[2]), value="My best pins"))
    assert "My best pins" in desk.since(before)["parts"]["chapters"]


def test_the_run_behind_gets_all_decisions_and_its_results_are_written(desk, worked):
    for action in ("accept", "reject", "accept"):
        desk.decide(Asked(action=action, key=moment_key(paired())))
    until(lambda: worked.asked and worked.asked[-1] == 3 and not desk.since(0)["working"])
    until(lambda: worked.written >= 1 and not desk.since(0)["unwritten"])


def test_a_line_that_another_program_adds_is_seen(desk, worked, tmp_path):
    line = {
        "action": "reject",
        "clip": paired().clip,
        "start": paired().start,
        "id": "f" * 32,
        "at": "2026-05-03T20:00:00Z",
    }
    with (tmp_path / "decisions.jsonl").open("a", encoding="utf-8") as file:
        file.write(json.dumps(line) + "\n")
    until(lambda: worked.asked == [1] and "not a find" in desk.since(0)["parts"]["history"])


def test_two_pages_deciding_at_once_lose_nothing(desk, tmp_path):
    keys = [moment_key(m) for m in DAY.moments[:8]]

    def decide(which):
        for key in keys:
            desk.decide(Asked(action=which, key=key))

    both = [threading.Thread(target=decide, args=(which,)) for which in ("accept", "reject")]
    for thread in both:
        thread.start()
    for thread in both:
        thread.join()
    decisions, problems = read_decisions(tmp_path)
    assert len(decisions) == 16 and not problems
    assert len({d.id for d in decisions}) == 16


def test_undoing_and_doing_again(desk, tmp_path):
    made, _ = desk.decide(Asked(action="accept", key=moment_key(paired())))
    assert desk.undo_last() == made.id
    undo, _ = desk.decide(Asked(action="undo", value=made.id))
    assert "do again" in desk.since(0)["parts"]["history"] and desk.undo_last() is None
    desk.decide(Asked(action="undo", value=undo.id))
    assert desk.undo_last() == made.id


def test_what_goes_wrong_behind_is_said_and_the_desk_goes_on(tmp_path):
    def broken(_):
        raise ValueError("a stage fell over")

    desk = Desk(tmp_path, invented(), work=broken, write=lambda day: day)
    try:
        desk.decide(Asked(action="accept", key=moment_key(paired())))
        until(lambda: "a stage fell over" in desk.since(0)["trouble"])
        desk.decide(Asked(action="reject", key=moment_key(paired())))
        assert len(read_decisions(tmp_path)[0]) == 2
    finally:
        desk.close()


def test_a_write_that_fails_is_said_and_tried_again(tmp_path, worked):
    tries = []

    def write(day):
        tries.append(day)
        if len(tries) == 1:
            raise RuntimeError("the disk sulked")
        return day

    desk = Desk(tmp_path, invented(), work=worked.work, write=write)
    try:
        desk.decide(Asked(action="accept", key=moment_key(paired())))
        until(lambda: "the disk sulked" in desk.since(0)["trouble"])
        until(lambda: len(tries) == 2 and not desk.since(0)["unwritten"])
    finally:
        desk.close()


@pytest.mark.parametrize(
    ("text", "expected"), [("83.5", 83.5), ("1:23.5", 83.5), ("1:23,5", 83.5), ("0:01:23.5", 83.5), (" 7 ", 7.0)]
)
def test_times_as_people_write_them(text, expected):
    assert seconds(text, "from") == expected


@pytest.mark.parametrize("text", ["", "soon", "-1", "1:2:3:4", "nan", "1e9", "½", "1:"])
def test_what_is_no_time(text):
    with pytest.raises(Refused):
        seconds(text, "from")


def test_a_request_with_a_field_too_many_is_refused():
    with pytest.raises(Refused):
        asked(b'{"action": "accept", "key": "m-1", "clip": "elsewhere.mp4"}')


def until(true, longest=10.0):
    end = time.monotonic() + longest
    while not true():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.02)
