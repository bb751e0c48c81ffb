"""Listening again tells the words that were said from words that only look alike, on a real recording.

President Kennedy's inaugural address, 1961 (public domain; see ``tests/data/speech/``).
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from episode.models import Clip, StartFrom
from episode.speech.again import Again
from episode.speech.recognise import Ear
from episode.spotting.listening import Question

FILE = Path(__file__).parents[1] / "data" / "speech" / "jfk-1961.flac"
SAID = "And so, my fellow Americans, ask not what your country can do for you."
START = datetime(2026, 5, 3, 9, tzinfo=UTC)


def clip(**more: object) -> Clip:
    values = {"name": "a.flac", "path": FILE, "duration": 11.0, "start": START, "start_from": StartFrom.NAME}
    return Clip.model_validate({**values, "camera": "a", "audio_tracks": 1, **more})


def ask(heard: str, instead: str) -> Question:
    return Question("a.flac", 0.0, 8.0, heard, instead)


@pytest.mark.hears
def test_what_was_said_is_likelier_than_what_was_not(cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    wrong = SAID.replace("fellow Americans", "yellow pelicans")
    questions = [ask(SAID, wrong), ask(wrong, SAID)]
    ear = Ear("base")
    first = Again([clip()], ear, cache=tmp_path)(questions)
    assert first[0] is not None and first[0] < -8
    assert first[1] == pytest.approx(-first[0], abs=0.01)
    monkeypatch.setattr(Again, "_ratios", lambda *_: pytest.fail("the sound was asked again"))
    assert Again([clip()], ear, cache=tmp_path)(questions) == first


def test_where_there_is_no_sound_there_is_no_answer(tmp_path: Path):
    questions = [ask("a", "b")]
    for silent in (clip(audio_tracks=0), clip(transcript=Path("a.srt")), clip(name="b.flac")):
        assert Again([silent], Ear("base"), cache=tmp_path)(questions) == [None]


@pytest.mark.hears
def test_a_question_beyond_the_end_of_the_sound_has_no_answer(cache: Path, tmp_path: Path):
    """A clip may be replaced by a shorter one once its words are known."""
    within, beyond = Question("a.flac", 9.0, 10.5, "you", "ewe"), Question("a.flac", 12.0, 14.0, "you", "ewe")
    among = Question("a.flac", 10.0, 14.5, "you", "ewe")
    one, other, two = Again([clip()], Ear("tiny.en"), cache=tmp_path)([within, among, beyond])
    assert one is not None and other is not None
    assert two is None
