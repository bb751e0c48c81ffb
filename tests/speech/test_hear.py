from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

import episode.footage.kept_sound
import episode.footage.sound
from episode.errors import MissingModel, UnusableMedia
from episode.footage.sound import Piece
from episode.models import Settings, Transcript
from episode.speech import hear as under_test
from episode.speech.hear import hear
from episode.speech.recognise import Ear, HeardSegment, HeardWord

RATE = 16_000
TINY = Settings(model="tiny.en")


def plain(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalnum() or c == " ")


def said(transcript, clip=None) -> str:
    return plain(" ".join(s.text for s in transcript.segments if clip in (None, s.clip)))


class Watcher:
    def __init__(self):
        self.begun, self.advanced, self.notes, self.said = [], 0.0, [], []

    def begin(self, what, total):
        self.begun.append((what, total))

    def advance(self, amount):
        assert amount >= 0
        self.advanced += amount

    def end(self, note=""):
        self.notes.append(note)

    def say(self, text):
        self.said.append(text)


@pytest.fixture
def words_of_one(monkeypatch):
    """An ear that hears one word a second of sound, and counts how often it listened."""
    listened = []

    def listen(self, samples, *, language=None, reached=lambda _: None):
        reached(1.0)  # whoever is told to stop stops here
        listened.append(len(samples) / RATE)
        words = tuple(
            HeardWord(start=at + 0.1234, end=at + 0.9, word=f" w{at}", probability=1.2 if at else -0.1)
            for at in range(int(len(samples) / RATE))
        )
        if not words:
            return (), "en"
        segment = HeardSegment(start=0.1, end=words[-1].end, text=" ".join(w.word.strip() for w in words), words=words)
        return (segment,), "en"

    monkeypatch.setattr(Ear, "listen", listen)
    return listened


@pytest.fixture
def sound(monkeypatch):
    """Stands in for decoding: gives the pieces put into it by clip name; an error is raised where it stands."""
    given: dict[str, list] = {}

    def pieces(clip, **_):
        for piece in given[clip.name]:
            if isinstance(piece, BaseException):
                raise piece
            yield piece

    monkeypatch.setattr(episode.footage.sound, "pieces", pieces)
    monkeypatch.setattr(episode.footage.kept_sound, "sounding", pieces)
    return given


def tone(seconds: float, seed: int = 0) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, 0.01, int(seconds * RATE)).astype(np.float32)


# ------------------------------------------------------------------ with the recogniser


@pytest.mark.hears
def test_a_real_recording_is_heard_by_the_default_model(clip_of, tmp_path):
    clip = clip_of("jfk-1961.flac")
    transcript, problems = hear([clip], Settings(), cache=tmp_path)
    assert problems == ()
    assert said(transcript) == (
        "and so my fellow americans ask not what your country can do for you ask what you can do for your country"
    )
    (hearing,) = transcript.clips
    assert (hearing.how, hearing.model, hearing.language) == ("recognised", "base", "en")
    words = [word for segment in transcript.segments for word in segment.words]
    assert all(a.end <= b.start for a, b in pairwise(words))
    assert all(
        0 <= w.start <= w.end <= clip.duration and w.word == w.word.strip() and 0 < w.probability <= 1 for w in words
    )
    # where the recording becomes loud again after its four pauses: 20 ms RMS above 0.05 of full scale, measured
    after_a_pause = [w.start for a, w in pairwise(words) if w.start - a.end > 0.3]
    assert after_a_pause == [pytest.approx(at, abs=0.15) for at in (3.27, 5.38, 8.17)]


@pytest.mark.hears
def test_the_same_sound_gives_the_same_words(clip_of, tmp_path):
    clips = [clip_of("lj001-0007.flac"), clip_of("librivox-0920.flac")]
    first, _ = hear(clips, TINY, cache=tmp_path / "a")
    second, _ = hear(clips, TINY, cache=tmp_path / "b")
    again, _ = hear(clips, TINY, cache=tmp_path / "a")
    assert first == second == again
    assert "earliest book printed with movable types" in said(first)


@pytest.mark.hears
def test_silence_and_noise_give_no_words(clip_of, sound, tmp_path):
    clip = clip_of("quiet.wav", path=Path(__file__), duration=40)
    sound[clip.name] = [Piece(0, 0.0, np.zeros(20 * RATE, dtype=np.float32)), Piece(1, 20.0, tone(20))]
    for language in ("en", "auto"):
        transcript, problems = hear([clip], Settings(language=language), cache=tmp_path)
        assert transcript.segments == ()
        assert problems == ()
        assert transcript.clips[0].how == "recognised"


@pytest.mark.hears
def test_the_language_is_found_when_asked(clip_of, tmp_path):
    transcript, _ = hear([clip_of("jfk-1961.flac")], Settings(language="auto"), cache=tmp_path)
    assert transcript.clips[0].language == "en"
    assert "fellow americans" in said(transcript)


@pytest.mark.hears
def test_killed_in_the_middle_and_run_again(clip_of, tmp_path, monkeypatch):
    """kill -9 after the first stretch was kept; the second run hears only what is left, to the same words."""
    names = ["lj001-0001.flac", "jfk-1961.flac", "librivox-0890.flac"]
    script = (
        "import sys, datetime as d; from pathlib import Path; from episode.models import *\n"
        "import episode.speech.hear as h; h.LONGEST_S = 9.0\n"
        f"clips = [Clip(name=n, path=Path({str(clip_of(names[0]).path.parent)!r}) / n, duration=60, camera='A', "
        "start=d.datetime(2026, 5, 3, tzinfo=d.UTC), start_from='file name', audio_tracks=1) for n in sys.argv[2:]]\n"
        "t, p = h.hear(clips, Settings(model='tiny.en'), cache=Path(sys.argv[1])); print(t.model_dump_json())\n"
    )

    def start(cache: Path) -> subprocess.Popen:
        command = [sys.executable, "-c", script, str(cache), *names]
        return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=os.environ)

    def kept(cache: Path) -> dict[Path, int]:
        return {path: path.stat().st_mtime_ns for path in (cache / "heard").rglob("[!.]*.json")}

    stopped = start(tmp_path / "stopped")
    end = time.monotonic() + 60
    while not kept(tmp_path / "stopped") and time.monotonic() < end:
        time.sleep(0.01)
    stopped.send_signal(signal.SIGKILL)
    stopped.communicate()
    before = kept(tmp_path / "stopped")
    second = start(tmp_path / "stopped").communicate(timeout=120)[0]
    monkeypatch.setattr(under_test, "LONGEST_S", 9.0)
    whole, _ = hear([clip_of(name, duration=60) for name in names], TINY, cache=tmp_path / "whole")
    after = kept(tmp_path / "stopped")
    assert 0 < len(before) < len(after) == len(kept(tmp_path / "whole"))
    assert before.items() <= after.items(), "a finished stretch was heard again"
    assert whole.segments
    assert Transcript.model_validate_json(second) == whole


@pytest.mark.hears
def test_a_language_that_the_weights_do_not_know_is_refused(clip_of, tmp_path):
    from episode.errors import UnusableInput

    with pytest.raises(UnusableInput, match="does not know the language 'fr'"):
        hear([clip_of("librivox-0880.flac")], Settings(model="tiny.en", language="fr"), cache=tmp_path)


# ------------------------------------------------------------------ without it


def test_long_sound_is_heard_in_stretches_and_only_once(clip_of, sound, words_of_one, tmp_path, monkeypatch):
    monkeypatch.setattr(under_test, "LONGEST_S", 10.0)
    clip = clip_of("long.wav", path=Path(__file__), duration=35.0)
    sound[clip.name] = [Piece(i, 7.0 * i, tone(7, i)) for i in range(5)]
    watcher = Watcher()
    first, problems = hear([clip], TINY, cache=tmp_path, progress=watcher)
    assert problems == ()
    assert len(words_of_one) >= 4
    assert sum(words_of_one) == pytest.approx(35)
    assert watcher.begun == [("hearing long.wav (1 of 1)", 35.0)]
    assert watcher.advanced == pytest.approx(35)
    assert watcher.notes == ["done"]
    words = [w for s in first.segments for w in s.words]
    assert all(w.start == round(w.start, 2) and w.end == round(w.end, 2) for w in words)
    assert {w.probability for w in words} <= {0.0, 1.0}
    count = len(words_of_one)
    sound[clip.name] = [AssertionError("decoded again")]
    again, _ = hear([clip], TINY, cache=tmp_path)
    assert again == first
    assert len(words_of_one) == count


def test_a_stop_keeps_the_finished_stretches(clip_of, sound, words_of_one, tmp_path, monkeypatch):
    monkeypatch.setattr(under_test, "LONGEST_S", 5.0)
    clip = clip_of("long.wav", path=Path(__file__), duration=20.0)
    sound[clip.name] = [Piece(0, 0.0, tone(12)), KeyboardInterrupt()]
    with pytest.raises(KeyboardInterrupt):
        hear([clip], TINY, cache=tmp_path)
    heard = sum(words_of_one)
    assert heard > 0
    words_of_one.clear()
    sound[clip.name] = [Piece(0, 0.0, tone(12)), Piece(1, 12.0, tone(8, 1))]
    watcher = Watcher()
    hear([clip], TINY, cache=tmp_path, progress=watcher)
    assert sum(words_of_one) == pytest.approx(20 - heard)
    # What was at work when the stop came may be kept without being counted as heard before.
    assert 20 - heard - 0.01 <= watcher.begun[0][1] <= 20
    assert watcher.advanced == pytest.approx(watcher.begun[0][1], abs=0.01)


def test_other_options_and_a_changed_file_are_heard_anew(clip_of, sound, words_of_one, tmp_path):
    path = tmp_path / "a.wav"
    path.write_bytes(b"one")
    clip = clip_of("a.wav", path=path, duration=3)
    sound[clip.name] = [Piece(0, 0.0, tone(3))]
    cache = tmp_path / "cache"
    hear([clip], TINY, cache=cache)
    hear([clip], Settings(model="base"), cache=cache)
    hear([clip], Settings(model="base", language="auto"), cache=cache)
    assert len(words_of_one) == 3
    path.write_bytes(b"two")
    sound[clip.name] = [Piece(0, 0.0, tone(3, 9))]
    hear([clip], TINY, cache=cache)
    assert len(words_of_one) == 4


@pytest.mark.parametrize("damage", [b"", b"{", b'{"format": "episode-heard/0"}', b"\xff\xfe", b"[1]"])
def test_damaged_cache_files_count_as_absent(clip_of, sound, words_of_one, tmp_path, damage):
    clip = clip_of("a.wav", path=Path(__file__), duration=3)
    sound[clip.name] = [Piece(0, 0.0, tone(3))]
    first, _ = hear([clip], TINY, cache=tmp_path)
    for path in tmp_path.rglob("*.json"):
        path.write_bytes(damage)
    again, problems = hear([clip], TINY, cache=tmp_path)
    assert again == first
    assert problems == ()
    assert len(words_of_one) == 2


def test_sound_that_breaks_off_keeps_what_was_heard(clip_of, sound, words_of_one, tmp_path):
    clips = [clip_of(name, path=Path(__file__), duration=20) for name in ("broken.mp4", "fine.mp4")]
    error = UnusableMedia("the file ends too early", remedy="Copy it again.")
    sound["broken.mp4"] = [Piece(0, 0.0, tone(6)), error]
    sound["fine.mp4"] = [Piece(0, 0.0, tone(4, 1))]
    transcript, problems = hear(clips, TINY, cache=tmp_path)
    assert [h.how for h in transcript.clips] == ["recognised", "recognised"]
    assert {s.clip for s in transcript.segments} == {"broken.mp4", "fine.mp4"}
    (problem,) = problems
    assert problem.level == "error"
    assert problem.where == "broken.mp4"
    assert "0:06" in problem.what and "the file ends too early" in problem.what
    assert problem.remedy == "Copy it again."


def test_a_clip_that_fails_at_once_is_reported_and_the_rest_goes_on(clip_of, sound, words_of_one, tmp_path):
    clips = [clip_of(name, path=Path(__file__), duration=4) for name in ("bad.mp4", "fine.mp4")]
    sound["bad.mp4"] = [UnusableMedia("is no film")]
    sound["fine.mp4"] = [Piece(0, 0.0, tone(4))]
    missing = clip_of("gone.mp4", path=tmp_path / "gone.mp4")
    silent = clip_of("silent.mp4", path=Path(__file__), audio_tracks=0)
    transcript, problems = hear([*clips, missing, silent], TINY, cache=tmp_path)
    assert [h.how for h in transcript.clips] == ["failed", "recognised", "failed", "no sound"]
    assert [p.where for p in problems] == ["bad.mp4", "gone.mp4"]


def test_a_recogniser_that_fails_on_one_clip_does_not_end_the_day(clip_of, sound, tmp_path, monkeypatch):
    def listen(*_, **__):
        raise RuntimeError("out of memory")

    monkeypatch.setattr(Ear, "listen", listen)
    clip = clip_of("a.mp4", path=Path(__file__), duration=4)
    sound["a.mp4"] = [Piece(0, 0.0, tone(4))]
    transcript, problems = hear([clip], TINY, cache=tmp_path)
    assert transcript.clips[0].how == "failed"
    assert "out of memory" in problems[0].what


def test_a_transcript_file_stands_in_and_needs_no_model(clip_of, tmp_path):
    path = tmp_path / "a.srt"
    path.write_text("1\n00:00:01,000 --> 00:00:02,000\nA pipe stem\n")
    bad = tmp_path / "b.vtt"
    bad.write_text("WEBVTT\n\n00:09 --> 00:02\nx\n")
    clips = [clip_of("a.mp4", transcript=path), clip_of("b.mp4", transcript=bad)]
    transcript, problems = hear(clips, Settings(model="no-such-model"), cache=tmp_path)
    assert [h.how for h in transcript.clips] == ["transcript file", "failed"]
    assert [w.word for w in transcript.segments[0].words] == ["A", "pipe", "stem"]
    assert "line 3" in problems[0].where


def test_missing_weights_stop_the_run(clip_of, tmp_path):
    with pytest.raises(MissingModel):
        hear([clip_of("jfk-1961.flac")], Settings(model="no-such-model"), cache=tmp_path)


def test_a_cache_that_cannot_be_written_costs_no_words(clip_of, sound, words_of_one, tmp_path):
    (tmp_path / "cache").write_text("a file stands where the folder should be")
    clip = clip_of("a.mp4", path=Path(__file__), duration=4)
    sound["a.mp4"] = [Piece(0, 0.0, tone(4))]
    transcript, problems = hear([clip], TINY, cache=tmp_path / "cache")
    assert transcript.segments
    assert "could not be kept" in problems[0].what


def test_words_never_leave_the_clip(clip_of, sound, words_of_one, tmp_path):
    clip = clip_of("a.mp4", path=Path(__file__), duration=2.5)
    sound["a.mp4"] = [Piece(0, 0.0, tone(6))]
    transcript, _ = hear([clip], TINY, cache=tmp_path)
    assert all(w.end <= 2.5 for s in transcript.segments for w in s.words)


def test_the_manifest_lists_every_recording(recordings):
    folder = Path(__file__).parent.parent / "data"
    assert set(recordings) == {path.name for path in (folder / "speech").glob("*.flac")}
    with (folder / "noise" / "manifest.csv").open(encoding="utf-8") as handle:
        assert {row["file"] for row in csv.DictReader(handle)} == {p.name for p in (folder / "noise").glob("*.flac")}
    assert all(row["licence"] and row["source"] for row in recordings.values())
