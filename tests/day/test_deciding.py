"""A decision is one line on the disk or none, whoever else writes, and undoing loses nothing."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day import deciding
from episode.day.actions import ACTIONS
from episode.day.deciding import add_decision
from episode.day.decisions import parse, read_decisions
from episode.day.undoing import current, lost_undos, next_redo, next_undo
from episode.errors import CannotWrite, UnusableInput
from episode.models import Decision

HERE = {"clip": "a.mp4", "start": 10.0, "end": 20.0, "term": "pin"}
GOOD: dict[str, dict[str, object]] = {
    "accept": HERE,
    "reject": HERE,
    "rename": {**HERE, "value": "dress pin"},
    "stance": {**HERE, "value": "earlier"},
    "pair": {**HERE, "value": None},
    "split": {**HERE, "value": 15.0},
    "join": {**HERE, "value": 30.0},
    "move": {**HERE, "new_start": 9.0},
    "add": {**HERE, "value": "thimble", "stance": "unsure"},
    "still": {**HERE, "value": 12.5},
    "reference": {**HERE, "quote": "It is Tudor.", "value": "Museum guide, p. 4"},
    "reword": {**HERE, "quote": "It is Tudor.", "value": "perhaps Tudor"},
    "strike": {**HERE, "quote": "It is Tudor.", "value": True},
    "correct": {**HERE, "quote": "It is Tudor.", "value": "It is Stuart."},
    "kept": {**HERE, "quote": "Link below.", "value": "in the pinned comment"},
    "title": {**HERE, "title": "Pin", "value": "Two pins"},
    "begin": {**HERE, "title": "Pin", "value": 8.0},
    "drop": {**HERE, "title": "Pin"},
}  # fmt: skip
BAD: list[tuple[str, dict[str, object], str]] = [
    ("accept", {"term": "pin"}, "which one is meant"),
    ("title", {"quote": "x", "value": "y"}, "which place is meant"),
    ("rename", {**HERE, "value": " "}, "needs words"),
    ("stance", {**HERE, "value": "buried"}, "is no stance"),
    ("split", {**HERE, "value": 25.0}, "not inside"),
    ("split", {**HERE, "value": "half"}, "no second"),
    ("split", {**HERE, "value": True}, "no second"),
    ("join", {**HERE, "value": 10.0}, "with itself"),
    ("move", HERE, "needs `new_start`"),
    ("move", {**HERE, "new_start": 20.0, "new_end": 19.0}, "must end after"),
    ("add", {"clip": "a.mp4", "start": 3.0}, "needs an `end`"),
    ("add", {**HERE, "stance": "buried"}, "is no stance"),
    ("still", {**HERE, "value": -1.0}, "no second"),
    ("strike", {**HERE, "value": "perhaps"}, "neither true nor false"),
    ("accept", {**HERE, "start": -1.0}, "before the clip"),
    ("accept", {**HERE, "at": "yesterday"}, "no ISO 8601"),
    ("rename", {**HERE, "value": "x" * 5000}, "more than 4000"),
    ("undo", {}, "needs words"),
]  # fmt: skip


@pytest.mark.parametrize("action", [*GOOD])
def test_each_action_is_written_and_read_back(tmp_path: Path, action: str):
    added = add_decision(tmp_path, Decision(action=action, **GOOD[action]))
    decisions, problems = read_decisions(tmp_path)
    assert not problems
    assert decisions == (added,)
    assert added.line == 1
    assert len(added.id) == 32
    assert added.at.endswith("+00:00")


def test_no_action_is_left_out_here():
    assert {*GOOD, "undo"} == set(ACTIONS)


@pytest.mark.parametrize(("action", "fields", "words"), BAD)
def test_a_bad_value_is_refused_with_words_and_not_written(tmp_path: Path, action: str, fields: dict, words: str):
    with pytest.raises(UnusableInput, match=words):
        add_decision(tmp_path, Decision(action=action, **fields))
    assert not (tmp_path / "decisions.jsonl").exists()


def test_what_a_newer_version_wrote_is_kept_and_told(tmp_path: Path):
    path = tmp_path / "decisions.jsonl"
    text = (
        '{"action": "sing", "clip": "a.mp4"}\n{"action": "accept", "clip": "a.mp4", "start": 1, "mood": "glad"}\n'
        '{"action": "split", "clip": "a.mp4", "start": 1, "value": NaN}\n'
    )
    path.write_text(text)
    add_decision(tmp_path, Decision(action="reject", **HERE))
    assert path.read_text().startswith(text)
    decisions, problems = read_decisions(tmp_path)
    assert [(d.action, d.line) for d in decisions] == [("accept", 2), ("reject", 4)]
    assert [p.where for p in problems] == [f"decisions.jsonl, line {n}" for n in (1, 2, 3)]
    assert "“sing”" in problems[0].what
    assert "`mood`" in problems[1].what


def test_old_lines_without_an_id_can_be_undone(tmp_path: Path):
    (tmp_path / "decisions.jsonl").write_text('{"action": "pair", "clip": "a.mp4", "start": 3.5, "value": 7}\n')
    (old,), _ = read_decisions(tmp_path)
    assert old.value == 7
    assert old.id.startswith("line:1:")
    add_decision(tmp_path, Decision(action="undo", value=old.id))
    decisions, problems = read_decisions(tmp_path)
    assert (current(decisions), problems, lost_undos(decisions)) == ((), (), ())


def test_undo_and_redo_as_far_back_as_there_is(tmp_path: Path):
    def undo() -> None:
        line = next_undo(read_decisions(tmp_path)[0])
        assert line
        add_decision(tmp_path, Decision(action="undo", value=line.id))

    def redo() -> None:
        line = next_redo(read_decisions(tmp_path)[0])
        assert line
        add_decision(tmp_path, Decision(action="undo", value=line.id))

    def names() -> list[object]:
        return [d.value for d in current(read_decisions(tmp_path)[0])]

    for name in ("one", "two", "three"):
        add_decision(tmp_path, Decision(action="rename", value=name, **HERE))
    undo(), undo()
    assert names() == ["one"]
    redo()
    assert names() == ["one", "two"]
    redo()
    assert names() == ["one", "two", "three"]
    assert next_redo(read_decisions(tmp_path)[0]) is None
    undo(), undo(), undo()
    assert names() == []
    assert next_undo(read_decisions(tmp_path)[0]) is None
    redo()
    add_decision(tmp_path, Decision(action="rename", value="four", **HERE))
    assert names() == ["one", "four"]
    assert next_redo(read_decisions(tmp_path)[0]) is None


def test_an_undo_must_name_what_is_in_force(tmp_path: Path):
    line = add_decision(tmp_path, Decision(action="accept", **HERE))
    with pytest.raises(UnusableInput, match="no line with the id"):
        add_decision(tmp_path, Decision(action="undo", value="zz"))
    add_decision(tmp_path, Decision(action="undo", value=line.id))
    with pytest.raises(UnusableInput, match="undone already"):
        add_decision(tmp_path, Decision(action="undo", value=line.id))


def test_a_repeated_request_is_one_line(tmp_path: Path):
    first = add_decision(tmp_path, Decision(action="accept", id="0f" * 16, **HERE))
    assert add_decision(tmp_path, Decision(action="accept", id="0f" * 16, **HERE)) == first
    assert len(read_decisions(tmp_path)[0]) == 1


def test_a_full_disk_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    add_decision(tmp_path, Decision(action="accept", **HERE))
    before = (tmp_path / "decisions.jsonl").read_bytes()
    write, calls = os.write, []

    def short(handle: int, data: bytes) -> int:
        calls.append(data)
        if len(calls) > 1:
            raise OSError(28, "No space left on device")
        return write(handle, data[:20])

    with monkeypatch.context() as patched:
        patched.setattr(deciding.os, "write", short)
        with pytest.raises(CannotWrite, match="No space left"):
            add_decision(tmp_path, Decision(action="reject", **HERE))
    assert (tmp_path / "decisions.jsonl").read_bytes() == before


@pytest.mark.parametrize("target", ["notes.txt", "gone.jsonl"])
def test_a_link_to_something_else_is_refused(tmp_path: Path, target: str):
    (tmp_path / "notes.txt").write_text("mine")
    (tmp_path / "day").mkdir()
    (tmp_path / "day" / "decisions.jsonl").symlink_to(tmp_path / target)
    with pytest.raises(CannotWrite, match="is a link"):
        add_decision(tmp_path / "day", Decision(action="accept", **HERE))
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_a_link_to_decisions_kept_elsewhere_is_followed(tmp_path: Path):
    (tmp_path / "kept.jsonl").write_text("")
    (tmp_path / "day").mkdir()
    (tmp_path / "day" / "decisions.jsonl").symlink_to(tmp_path / "kept.jsonl")
    add_decision(tmp_path / "day", Decision(action="accept", **HERE))
    assert len((tmp_path / "kept.jsonl").read_text().splitlines()) == 1
    assert (tmp_path / "day" / "decisions.jsonl").is_symlink()


def test_a_pipe_in_its_place_hangs_nobody(tmp_path: Path):
    os.mkfifo(tmp_path / "decisions.jsonl")
    with pytest.raises(UnusableInput, match="no plain file"):
        read_decisions(tmp_path)
    with pytest.raises(CannotWrite, match="no plain file"):
        add_decision(tmp_path, Decision(action="accept", **HERE))


WRITER = """
import sys
from pathlib import Path
from episode.day.deciding import add_decision
from episode.models import Decision
for n in range(int(sys.argv[2])):
    add_decision(Path(sys.argv[1]), Decision(action="rename", clip="a.mp4", start=float(n), value=sys.argv[3] + str(n)))
    print(n, flush=True)
"""


def test_two_programs_at_once_lose_nothing(tmp_path: Path):
    running = [
        subprocess.Popen([sys.executable, "-c", WRITER, tmp_path, "200", name], stdout=subprocess.DEVNULL)
        for name in ("x", "y")
    ]
    assert [program.wait(timeout=120) for program in running] == [0, 0]
    decisions, problems = read_decisions(tmp_path)
    assert not problems
    assert sorted(str(d.value) for d in decisions) == sorted(f"{name}{n}" for name in "xy" for n in range(200))
    for name in "xy":
        mine = [d.start for d in decisions if str(d.value).startswith(name)]
        assert mine == sorted(mine)


def test_a_program_killed_while_it_adds_leaves_a_readable_file(tmp_path: Path):
    for wait in (0.0, 0.01, 0.03):
        program = subprocess.Popen(
            [sys.executable, "-c", WRITER, tmp_path, "100000", "k"], stdout=subprocess.PIPE, text=True
        )
        assert program.stdout
        said = program.stdout.readline()
        time.sleep(wait)
        program.send_signal(signal.SIGKILL)
        said += program.stdout.read()
        program.wait(timeout=30)
        program.stdout.close()
        told = len(said.splitlines())
        before = len(read_decisions(tmp_path)[0])
        assert before >= told
    add_decision(tmp_path, Decision(action="accept", **HERE))
    decisions, problems = read_decisions(tmp_path)
    assert decisions[-1].action == "accept"
    assert len(problems) <= 3


@pytest.mark.parametrize("cut", range(1, 40, 3))
def test_a_line_cut_short_is_ended_and_spoils_only_itself(tmp_path: Path, cut: int):
    add_decision(tmp_path, Decision(action="accept", **HERE))
    path = tmp_path / "decisions.jsonl"
    whole = path.read_bytes()
    path.write_bytes(whole + whole[:cut])
    added = add_decision(tmp_path, Decision(action="reject", **HERE))
    decisions, problems = read_decisions(tmp_path)
    assert [d.action for d in decisions] == ["accept", "reject"]
    assert added.line == decisions[-1].line == 3
    assert [p.where for p in problems] == ["decisions.jsonl, line 2"]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)
LINES = st.lists(
    st.fixed_dictionaries(
        {"action": st.sampled_from([*ACTIONS, "sing"]) | JSON},
        optional={name: JSON for name in Decision.model_fields if name not in {"action", "line"}},
    ),
    max_size=6,
)


@given(LINES)
def test_any_line_is_a_decision_or_a_problem_and_never_an_exception(lines: list[dict]):
    decisions, problems = parse("\n".join(json.dumps(line) for line in lines).encode())
    assert len({d.line for d in decisions} | {p.where for p in problems}) >= len(decisions)
    unread = {p.where for p in problems if p.level == "warning"}
    assert len(decisions) + len(unread) == len(lines)
    current(decisions), lost_undos(decisions), next_undo(decisions), next_redo(decisions)
