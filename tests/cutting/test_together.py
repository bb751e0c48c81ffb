"""Two cameras that heard the same talk. Truth is made: one sound, two microphones, a known shift and a known drift."""

from __future__ import annotations

import numpy as np
import pytest

from episode.cutting.samples import RATE, Sound
from episode.cutting.together import tie_of, together
from tests.cutting.conftest import FULL, clip_of, encode, voice


def sound(samples, name):
    return Sound(name, np.clip(np.rint(samples * 20_000), -32768, 32767).astype(np.int16))


def heard(samples, seed, *, echo=0.3, noise=0.02):
    """Another microphone: an echo, noise and a level of its own."""
    rng = np.random.default_rng(seed)
    late = np.zeros_like(samples)
    late[90:] = samples[:-90] * echo
    return (samples + late + rng.standard_normal(len(samples)) * noise) * rng.uniform(0.3, 0.9)


def at_eight(seconds, seed):
    return voice(seconds, seed)[:: FULL // RATE].astype(np.float64)


def test_the_shift_is_found_to_a_few_milliseconds():
    talk = at_eight(90, 1)
    one, two = heard(talk[: 60 * RATE], 2), heard(talk[20 * RATE :], 3)
    tie = tie_of(sound(one, "one"), sound(two, "two"))
    assert tie is not None
    assert abs(tie.shift_s + 20) < 0.005  # a goal of 20 ms
    assert abs(tie.shift_s + 20) <= tie.error_s
    assert tie.overlap_s == pytest.approx(40, abs=0.2)


def test_a_clock_that_runs_otherwise_is_told():
    talk = at_eight(240, 4)
    ppm = 80
    where = np.arange(int(len(talk) / (1 + ppm * 1e-6))) * (1 + ppm * 1e-6)
    two = np.interp(where, np.arange(len(talk)), talk)
    tie = tie_of(sound(heard(talk, 5), "one"), sound(heard(two, 6), "two"))
    assert tie is not None
    assert tie.drift_ppm == pytest.approx(-ppm, abs=3)


def test_what_shares_nothing_is_not_tied():
    assert tie_of(sound(heard(at_eight(60, 7), 1), "one"), sound(heard(at_eight(60, 8), 2), "two")) is None


def test_the_same_music_below_other_talk_does_not_tie():
    rng = np.random.default_rng(9)
    t = np.arange(60 * RATE) / RATE
    bed = sum(
        np.sin(2 * np.pi * f * t + rng.uniform(0, 6)) * (np.sin(t * g) > 0)
        for f, g in ((440, 1.3), (660, 2.1), (523, 0.7))
    )
    one, two = at_eight(60, 10), at_eight(60, 11)
    bed = bed / bed.std() * one.std() * 0.5
    assert tie_of(sound(heard(one + bed, 1), "one"), sound(heard(two + bed, 2), "two")) is None


@pytest.mark.parametrize("length", [0.0, 0.5, 6.0])
def test_too_short_to_know(length):
    talk = at_eight(40, 12)
    one, two = talk[: int((20 + length) * RATE)], talk[20 * RATE :]
    if length == 0:
        two = two[:0]
    assert tie_of(sound(one, "one"), sound(two, "two")) is None


def test_silence_and_digital_nothing():
    nothing = np.zeros(30 * RATE)
    assert tie_of(sound(nothing, "one"), sound(nothing, "two")) is None


def test_clips_of_two_cameras_and_a_copy_from_the_cache(tmp_path):
    talk = voice(60, 20)
    a = encode(talk[: 40 * FULL], tmp_path / "a.m4a", "-c:a", "aac", "-b:a", "96k")
    b = encode(talk[15 * FULL :], tmp_path / "b.m4a", "-c:a", "aac", "-b:a", "48k")
    clips = [clip_of(a, 40.0), clip_of(b, 45.0).model_copy(update={"camera": "hand"})]
    ties, problems = together(clips, cache=tmp_path / "cache")
    assert not problems and len(ties) == 1
    assert ties[0].shift_s == pytest.approx(-15, abs=0.02)
    kept = sorted((tmp_path / "cache" / "landmarks").iterdir())
    assert len(kept) == 2
    whole = np.load(kept[1])
    assert len(whole[0])
    kept[0].write_bytes(b"cut short")
    for row in (0, 1):  # a hash that there is not, a frame hours after the clip's end
        np.save(kept[1], np.where([[row == 0], [row == 1]], np.uint32(2**32 - 1), whole))
        assert together(clips, cache=tmp_path / "cache") == (ties, problems)
        assert (np.load(kept[1]) == whole).all()
    one_camera = [clip.model_copy(update={"camera": "camera"}) for clip in clips]
    assert together(one_camera) == ((), ())
    copy = [clips[0], clips[0].model_copy(update={"name": "copy.m4a", "camera": "hand"})]
    ties, problems = together(copy)
    assert not ties and "very same sound" in problems[0].what
