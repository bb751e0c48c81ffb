"""Each action goes through the whole job on a small day and changes what it should; undone, all is as before."""

from __future__ import annotations

import json
import random
import shutil
from pathlib import Path

import pytest

from episode.day.deciding import add_decision
from episode.day.decisions import read_decisions
from episode.day.undoing import next_undo
from episode.drafting.result import DayResult
from episode.make import Options, Spotted, concluded, make, prepared
from episode.models import Chapter, Decision, Moment
from tests.test_broken import LOG, TALK, silent_clip  # noqa: F401 - a fixture

MORE = "\n[0:56] I'll put a link below to the tide tables.\n"


@pytest.fixture(scope="module")
def spotted(tmp_path_factory: pytest.TempPathFactory, silent_clip: Path, cache: Path) -> Spotted:  # noqa: F811
    folder = tmp_path_factory.mktemp("small") / "2026-05-03-small"
    _small(folder, silent_clip)
    return prepared(folder)


@pytest.fixture(scope="module")
def plain(spotted: Spotted) -> DayResult:
    return concluded(spotted, (), ()).result


def _small(folder: Path, clip: Path) -> None:
    (folder / "footage").mkdir(parents=True)
    shutil.copy(clip, folder / "footage")
    text = TALK.replace("that's lead.", "that's lead. It was made in 1645.") + MORE
    (folder / "footage" / "A001.txt").write_text(text)
    (folder / "finds.csv").write_text(LOG)
    (folder / "episode.toml").write_text('title = "Small"\ntime_zone = "Europe/London"\nlisten_again = false\n')


def about(m: Moment) -> dict[str, object]:
    return {"clip": m.clip, "start": m.start, "end": m.end, "term": m.term, "quote": m.mentions[0].quote}


def chapter(c: Chapter, result: DayResult) -> dict[str, object]:
    first = next((m for m in result.moments if m.id in c.moments), None)
    return {"clip": "A001.mp4", "start": c.start, "title": c.title, "term": first.term if first else None}


def every(result: DayResult) -> dict[str, Decision]:
    """One decision of each action about the small day."""
    bowl, ball, thimble = (m for m in result.moments if m.find)
    claim = next(c for c in result.claims if c.from_ == 1645)
    said = {"clip": claim.clip, "start": claim.start, "quote": claim.quote, "kind": claim.kind, "term": claim.about}
    owed = result.promises[0]
    promised = {"clip": owed.clip, "start": owed.start, "quote": owed.quote, "kind": owed.kind}
    last = chapter(result.chapters[-1], result)
    values: dict[str, dict[str, object]] = {
        "accept": about(bowl),
        "reject": about(bowl),
        "rename": {**about(thimble), "value": "finger ring"},
        "stance": {**about(ball), "value": "earlier"},
        "pair": {**about(thimble), "value": None},
        "split": {**about(bowl), "value": (bowl.start + bowl.end) / 2},
        "join": {**about(bowl), "value": ball.start},
        "move": {**about(bowl), "new_end": bowl.end + 1},
        "add": {"clip": bowl.clip, "start": 45.0, "end": 48.0, "value": "bone comb"},
        "still": {**about(bowl), "value": 12.0},
        "reference": {**said, "value": "Guide, p. 4"},
        "reword": {**said, "value": "perhaps of the Civil War"},
        "strike": said,
        "correct": {**said, "value": "Lead balls cannot be dated by eye."},
        "kept": {**promised, "value": "in the pinned comment"},
        "title": {**last, "value": "A title of my own"},
        "begin": {**last, "value": last["start"] + 1.0},
        "drop": last,
    }  # fmt: skip
    return {action: Decision(action=action, **fields) for action, fields in values.items()}


ACTIONS = (
    "accept", "reject", "rename", "stance", "pair", "split", "join", "move", "add", "still", "reference", "reword",
    "strike", "correct", "kept", "title", "begin", "drop",
)  # fmt: skip


def changed(result: DayResult) -> str:
    return result.model_dump_json(include={"matched", "claims", "promises", "chapters", "corrections", "description"})


@pytest.mark.parametrize("action", ACTIONS)
def test_each_action_and_its_undoing(tmp_path: Path, spotted: Spotted, plain: DayResult, action: str):
    line = add_decision(tmp_path, every(plain)[action])
    done = concluded(spotted, read_decisions(tmp_path)[0], ()).result
    assert changed(done) != changed(plain)
    assert not [p for p in done.problems if "decisions.jsonl" in p.where]
    shaped = {a for item in (*done.moments, *done.claims, *done.promises, *done.chapters) for a in item.decided}
    assert shaped == {action}
    assert concluded(spotted, read_decisions(tmp_path)[0], ()).result == done
    undo = add_decision(tmp_path, Decision(action="undo", value=line.id))
    assert concluded(spotted, read_decisions(tmp_path)[0], ()).result == plain
    add_decision(tmp_path, Decision(action="undo", value=undo.id))
    assert concluded(spotted, read_decisions(tmp_path)[0], ()).result == done


@pytest.mark.parametrize("seed", range(4))
def test_any_sequence_loses_no_mention_and_undoing_all_gives_the_day_back(
    tmp_path: Path, spotted: Spotted, plain: DayResult, seed: int
):
    rng = random.Random(seed)
    known = [*every(plain).values()]
    for decision in rng.choices(known, k=12):
        add_decision(tmp_path, decision)
    written = read_decisions(tmp_path)[0]
    done = concluded(spotted, written, ()).result
    assert concluded(spotted, written, ()).result == done
    kept = sorted(m.model_dump_json() for moment in done.moments for m in moment.mentions)
    assert kept == sorted(m.model_dump_json() for m in spotted.made.mentions)
    while (last := next_undo(read_decisions(tmp_path)[0])) is not None:
        add_decision(tmp_path, Decision(action="undo", value=last.id))
    assert concluded(spotted, read_decisions(tmp_path)[0], ()).result == plain


def test_it_all_reaches_the_files(tmp_path: Path, silent_clip: Path, cache: Path, plain: DayResult):  # noqa: F811
    folder = tmp_path / "2026-05-03-small"
    _small(folder, silent_clip)
    for action in ("rename", "accept", "add", "title", "reword", "kept"):
        add_decision(folder, every(plain)[action])
    before = (folder / "decisions.jsonl").read_bytes()
    make(folder, Options())
    out = folder / "out"
    moments = json.loads((out / "moments.json").read_text())["moments"]
    assert {m["term"] for m in moments} >= {"finger ring", "bone comb"}
    assert {a for m in moments for a in m["decided"]} == {"rename", "accept", "add"}
    assert "A title of my own" in (out / "chapters.txt").read_text()
    assert "perhaps of the Civil War" in (out / "description.txt").read_text()
    assert json.loads((out / "promises.json").read_text())["promises"][0]["by"] == "in the pinned comment"
    assert (folder / "decisions.jsonl").read_bytes() == before
