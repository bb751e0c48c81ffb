"""The example day against its own gold: what was planted is in the media, in the log and in the vocabulary.

The day is invented and so is its gold; these checks say that the two agree, not that the software is right.
"""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from episode.day.log import read_log
from episode.day.photos import read_photos
from episode.day.settings import read_settings
from episode.footage.sound import pieces
from episode.footage.survey import survey
from episode.lexicon.packs import load_lexicon
from episode.models import Clip, LogEntry, Settings
from episode.record.dates import read_dates
from tests.conftest import EXAMPLE, ROOT

MAKING = ROOT / "examples" / "making"
RATE = 16000
WORD = re.compile(r"[A-Za-z]+(?:['-][A-Za-z]+)*")


@pytest.fixture(scope="module")
def gold() -> dict:
    return json.loads((MAKING / "gold.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def day_settings() -> Settings:
    return read_settings(EXAMPLE)


@pytest.fixture(scope="module")
def clips(day_settings: Settings) -> dict[str, Clip]:
    found, problems = survey(EXAMPLE, day_settings)
    assert problems == ()
    return {clip.name: clip for clip in found}


@pytest.fixture(scope="module")
def log(day_settings: Settings) -> dict[str, LogEntry]:
    rows, _ = read_log(EXAMPLE, day_settings)
    return {row.find: row for row in rows}


@pytest.fixture(scope="module")
def sounds(clips: dict[str, Clip]) -> dict[str, np.ndarray]:
    return {name: np.concatenate([piece.samples for piece in pieces(clip)]) for name, clip in clips.items()}


def size(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def test_it_is_small_enough_to_come_along():
    assert size(EXAMPLE / "footage") <= 4_000_000
    assert size(MAKING / "noise") <= 1_000_000


def test_clips_last_as_long_as_the_gold_says_five_to_eight_minutes_in_all(gold: dict, clips: dict[str, Clip]):
    told = {clip["clip"]: clip["duration"] for clip in gold["clips"]}
    assert {name: clip.duration for name, clip in clips.items()} == pytest.approx(told, abs=0.1)
    assert 300 <= sum(told.values()) <= 480


def test_clips_begin_when_their_camera_believed(gold: dict, clips: dict[str, Clip]):
    for told in gold["clips"]:
        clip = clips[told["clip"]]
        assert clip.start == datetime.fromisoformat(told["camera_start"])
        assert clip.start_from == told["start_from"]
        assert clip.camera == told["camera"]
        assert clip.start + timedelta(seconds=told["offset_s"]) == datetime.fromisoformat(told["start"])


def test_cameras_disagree_with_the_log_in_opposite_directions(gold: dict):
    offsets = {clip["camera"]: clip["offset_s"] for clip in gold["clips"]}
    assert len(offsets) == 2
    assert min(offsets.values()) < 0 < 3600 < max(offsets.values())


def test_sentences_and_words_follow_one_another_within_their_clip(gold: dict):
    lengths = {clip["clip"]: clip["duration"] for clip in gold["clips"]}
    for before, after in pairwise(gold["said"]):
        if before["clip"] == after["clip"]:
            assert after["start"] - before["end"] >= 0.2, after["text"]
    for said in gold["said"]:
        assert [word for _, _, word in said["words"]] == WORD.findall(said["text"])
        assert said["words"][0][0] == said["start"]
        assert said["words"][-1][1] == said["end"] <= lengths[said["clip"]]
        for (_, end, _), (start, _, _) in pairwise(said["words"]):
            assert end <= start


def test_the_voice_is_heard_where_the_gold_says_and_not_in_between(gold: dict, sounds: dict[str, np.ndarray]):
    for name, sound in sounds.items():
        said = [s for s in gold["said"] if s["clip"] == name]
        talk = [loudness(sound, s["start"], s["end"]) for s in said]
        quiet = [loudness(sound, a["end"] + 0.05, b["start"] - 0.05) for a, b in pairwise(said)]
        assert min(talk) > 2 * np.median(quiet), name


def test_every_sentence_begins_within_a_tenth_of_a_second_of_its_gold(gold: dict, sounds: dict[str, np.ndarray]):
    late = []
    for said in gold["said"]:
        sound = sounds[said["clip"]]
        before = loudness(sound, said["start"] - 0.2, said["start"] - 0.05)
        steps = [loudness(sound, said["start"] - 0.1 + i / 100, said["start"] - 0.09 + i / 100) for i in range(40)]
        risen = next(i for i, step in enumerate(steps) if step > max(3 * before, 0.1 * max(steps)))
        late.append(risen / 100 - 0.1)
    assert np.median(np.abs(late)) < 0.05
    assert np.quantile(np.abs(late), 0.9) < 0.1


def loudness(sound: np.ndarray, start: float, end: float) -> float:
    return float(np.sqrt(np.mean(np.square(sound[max(0, round(start * RATE)) : round(end * RATE)]))))


def test_mentions_are_the_words_said_then_and_counted_once_a_sentence(gold: dict):
    counted = set()
    for mention in gold["mentions"]:
        said = sentence_at(gold, mention)
        words = [word for start, end, word in said["words"] if start >= mention["start"] and end <= mention["end"]]
        assert [word.removesuffix("'s") for word in words] == WORD.findall(mention["heard"])
        key = (said["clip"], said["start"], mention["term"])
        assert key not in counted
        counted.add(key)


def test_every_mention_is_a_name_of_its_term_in_the_vocabulary(gold: dict):
    lexicon = load_lexicon(None, ())
    for mention in gold["mentions"]:
        term = lexicon.get(mention["term"])
        assert term is not None, mention["term"]
        assert term.kind == mention["kind"]
        heard = mention["heard"].casefold()
        assert {lexicon.named(heard), lexicon.named(heard.removesuffix("s"))} & {term}, mention["heard"]


def test_every_stance_occurs(gold: dict):
    stances = {mention["stance"] for mention in gold["mentions"]}
    assert stances == {"found", "earlier", "recap", "absent", "hoped", "compared", "unsure", "aside"}


def test_log_is_the_filmed_finds_and_the_unfilmed_ones(gold: dict, log: dict[str, LogEntry]):
    filmed = [find["find"] for find in gold["finds"]]
    assert len(filmed) == len(set(filmed))
    assert set(filmed) | set(gold["unfilmed"]) == set(log)
    assert not set(filmed) & set(gold["unfilmed"])
    assert gold["unlogged"]
    assert gold["earlier"]


def test_log_times_are_the_minutes_in_which_things_were_shown(gold: dict, log: dict[str, LogEntry]):
    starts = {clip["clip"]: datetime.fromisoformat(clip["start"]) for clip in gold["clips"]}
    for find in gold["finds"]:
        time = log[find["find"]].time
        if time is not None:
            shown = starts[find["clip"]] + timedelta(seconds=find["named"])
            assert abs(time - shown) <= timedelta(seconds=60), find
    assert [row.find for row in log.values() if row.time is None] == ["11"]


def test_finds_are_named_while_they_are_shown(gold: dict):
    for find in [*gold["finds"], *gold["unlogged"], *gold["earlier"]]:
        assert find["start"] <= find["named"] < find["end"]
        sentence_at(gold, {"clip": find["clip"], "start": find["named"], "end": find["named"]})


def test_planted_claims_are_said_as_dated_and_carry_their_source(gold: dict):
    verdicts = [claim["verdict"] for claim in gold["claims"]]
    assert verdicts.count("contradicted") == 2
    assert verdicts.count("imprecise") == 1
    for claim in gold["claims"]:
        said = sentence_at(gold, claim)
        assert said["text"] == claim["quote"]
        assert claim["words"] in said["text"]
        if claim["verdict"] in ("contradicted", "imprecise", "supported"):
            assert claim["why"]
            assert claim["source"]
        if claim["kind"] == "date" and claim["verdict"]:
            spans = read_dates(claim["words"], filmed=datetime(2026, 5, 3).date())
            assert (claim["from"], claim["to"]) in {(span.from_, span.to) for span in spans}


def test_promises_of_several_kinds_are_made_in_so_many_words(gold: dict):
    assert {promise["kind"] for promise in gold["promises"]} >= {"link", "detail", "question", "thanks", "sponsor"}
    for promise in gold["promises"]:
        assert sentence_at(gold, promise)["text"] == promise["quote"]


def test_chapters_rise_and_each_find_has_one(gold: dict):
    starts = [chapter["start"] for chapter in gold["chapters"]]
    assert starts[0] == 0
    assert starts == sorted(set(starts))
    assert {c["find"] for c in gold["chapters"] if c["find"]} == {find["find"] for find in gold["finds"]}


def test_the_walk_covers_the_filming_and_lies_in_the_sea(gold: dict):
    import gpxpy

    with (EXAMPLE / "track.gpx").open(encoding="utf-8") as file:
        points = gpxpy.parse(file).tracks[0].segments[0].points
    starts = [datetime.fromisoformat(clip["start"]) for clip in gold["clips"]]
    assert points[0].time <= min(starts)
    assert all(before.time < after.time for before, after in pairwise(points))
    assert all(53.6 < point.latitude < 53.8 and 0.6 < point.longitude < 0.7 for point in points)
    assert points[-1].time >= max(starts) - timedelta(minutes=1)


def test_photographs_that_the_log_names_are_there_and_tell_when_and_where(log: dict[str, LogEntry]):
    photos, problems = read_photos(EXAMPLE, tuple(log.values()), read_settings(EXAMPLE))
    assert problems == ()
    assert photos.missing == photos.unnamed == ()
    told = [photo for named in photos.by_row.values() for photo in named]
    assert len(told) == 2
    # The same square of open sea as the walk's.
    assert all(53.6 < (p.lat or 0) < 53.8 and 0.6 < (p.lon or 0) < 0.7 for p in told)
    day = read_settings(EXAMPLE).date
    assert all(p.at is not None and p.at.date() == day and p.clock == "GPS" for p in told)


def sentence_at(gold: dict, span: dict) -> dict:
    found = [
        said
        for said in gold["said"]
        if said["clip"] == span["clip"] and said["start"] <= span["start"] and span["end"] <= said["end"]
    ]
    assert len(found) == 1, span
    return found[0]
