from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from episode.cutting.pieces import CutPiece, Traced
from episode.cutting.trace import trace
from episode.errors import UnusableInput, UnusableMedia
from episode.models import Clip
from tests.cutting.conftest import FULL, clip_of, encode, voice

Raw = tuple[dict[str, np.ndarray], list[Clip]]


def part(sound: np.ndarray, begin: float, end: float) -> np.ndarray:
    return sound[int(begin * FULL) : int(end * FULL)]


def chords(seconds: float) -> np.ndarray:
    t = np.arange(int(seconds * FULL)) / FULL
    out = np.zeros_like(t)
    for bar in range(int(seconds) + 1):
        on = (t >= bar) * np.exp(-3 * np.maximum(0, t - bar)) * (t < bar + 1)
        for note in (220, 277, 330, 440):
            out += on * np.sin(2 * np.pi * note * (1 + 0.122 * (bar % 3)) * t)
    return out.astype(np.float32)


def known(traced: Traced) -> list[CutPiece]:
    return [p for p in traced.pieces if p.clip is not None]


def check(traced: Traced, expected: list[tuple[str, float, float, float]], within: float = 0.1) -> None:
    """``expected``: clip, cut begin, cut end, clip begin."""
    found = known(traced)
    assert [p.clip for p in found] == [e[0] for e in expected]
    for piece, (_, begin, end, clip_begin) in zip(found, expected, strict=True):
        assert piece.cut_start == pytest.approx(begin, abs=within)
        assert piece.cut_end == pytest.approx(end, abs=within)
        # Times that the whole piece agrees on are much closer than its ends.
        assert piece.clip_start - piece.cut_start * piece.speed == pytest.approx(
            clip_begin - begin * piece.speed, abs=0.02
        )


def test_reordered_repeated_and_dropped_pieces_under_music_and_coding(tmp_path: Path, raw: Raw) -> None:
    sounds, clips = raw
    cut = np.concatenate(
        [
            part(sounds["b.wav"], 12, 17),
            part(sounds["a.wav"], 3, 8),
            part(sounds["b.wav"], 1, 5),
            part(sounds["b.wav"], 12, 15),
        ]
    )
    bed = chords(len(cut) / FULL)[: len(cut)]
    mixed = cut + bed / bed.std() * cut.std() * 0.4
    film = encode(
        mixed, tmp_path / "film.m4a", "-af", "volume=0.5,equalizer=f=2000:t=h:w=1000:g=5", "-c:a", "aac", "-b:a", "64k"
    )
    traced = trace(film, clips)
    check(traced, [("b.wav", 0, 5, 12), ("a.wav", 5, 10, 3), ("b.wav", 10, 14, 1), ("b.wav", 14, 17, 12)])
    assert traced.pieces[0].cut_start == 0
    assert [p.cut_start for p in traced.pieces[1:]] == [p.cut_end for p in traced.pieces[:-1]]
    assert all(p.speed == pytest.approx(1, abs=1e-3) for p in traced.pieces)
    assert trace(film, clips) == traced


def test_foreign_sound_is_from_nowhere(tmp_path: Path, raw: Raw) -> None:
    sounds, clips = raw
    cut = np.concatenate([part(sounds["a.wav"], 10, 15), voice(5, 77), chords(4), part(sounds["a.wav"], 18, 22)])
    traced = trace(encode(cut, tmp_path / "film.mp3", "-b:a", "128k"), clips)
    check(traced, [("a.wav", 0, 5, 10), ("a.wav", 14, 18, 18)], within=0.3)


def test_a_cut_of_other_footage_is_all_from_nowhere(tmp_path: Path, raw: Raw) -> None:
    traced = trace(encode(voice(15, 5), tmp_path / "film.wav"), raw[1])
    assert known(traced) == []
    assert traced.pieces[-1].cut_end == pytest.approx(15, abs=0.05)


@pytest.mark.parametrize(("filters", "stretched"), [("asetrate=16320,aresample=16000", False), ("atempo=1.02", True)])
def test_two_per_cent_faster(tmp_path: Path, raw: Raw, filters: str, stretched: bool) -> None:
    sounds, clips = raw
    film = encode(part(sounds["a.wav"], 4, 16), tmp_path / "film.wav", "-af", filters)
    (piece,) = known(trace(film, clips))
    assert piece.speed == pytest.approx(1.02, abs=0.005 if stretched else 0.001)
    middle = piece.clip_start + (5 - piece.cut_start) * piece.speed
    assert middle == pytest.approx(4 + 5 * 1.02, abs=0.06)
    assert ("stretched" in piece.flags) is stretched


def test_a_pause_taken_out_is_two_pieces(tmp_path: Path, raw: Raw) -> None:
    sounds, clips = raw
    cut = np.concatenate([part(sounds["a.wav"], 5, 9), part(sounds["a.wav"], 9.3, 14)])
    check(trace(encode(cut, tmp_path / "film.wav"), clips), [("a.wav", 0, 4, 5), ("a.wav", 4, 8.7, 9.3)])


def test_silence_is_from_nowhere_and_breaks_nothing(tmp_path: Path, raw: Raw) -> None:
    sounds, clips = raw
    cut = np.concatenate([np.zeros(3 * FULL, np.float32), part(sounds["b.wav"], 5, 9), np.zeros(3 * FULL, np.float32)])
    pieces = known(trace(encode(cut, tmp_path / "film.wav"), clips))
    assert pieces[0].clip == "b.wav"
    assert pieces[0].clip_start - pieces[0].cut_start == pytest.approx(2, abs=0.02)
    assert known(trace(encode(np.zeros(5 * FULL), tmp_path / "silence.wav"), clips)) == []


def test_a_very_short_cut(tmp_path: Path, raw: Raw) -> None:
    traced = trace(encode(part(raw[0]["a.wav"], 5, 5.3), tmp_path / "film.wav"), raw[1])
    assert traced.pieces[-1].cut_end == pytest.approx(0.3, abs=0.05)


def test_unusable_cuts_say_why(tmp_path: Path, raw: Raw) -> None:
    (tmp_path / "film.mp4").write_bytes(b"")
    with pytest.raises(UnusableMedia, match="0 bytes"):
        trace(tmp_path / "film.mp4", raw[1])
    film = encode(voice(2, 1), tmp_path / "film.wav")
    silent = clip_of(tmp_path / "a.srt", 5).model_copy(update={"audio_tracks": 0})
    with pytest.raises(UnusableInput, match="none of the clips has sound") as caught:
        trace(film, [silent])
    assert ".otio" in caught.value.remedy


def test_a_damaged_clip_is_a_problem_and_the_rest_is_used(tmp_path: Path, raw: Raw) -> None:
    sounds, clips = raw
    broken = encode(voice(40, 9), tmp_path / "broken.flac")
    clip = clip_of(broken, 40)
    broken.write_bytes(broken.read_bytes()[: broken.stat().st_size // 2])
    traced = trace(encode(part(sounds["a.wav"], 5, 9), tmp_path / "film.wav"), [clip, *clips])
    assert [p.clip for p in known(traced)] == ["a.wav"]
    assert all(p.where.startswith("broken.flac") for p in traced.problems)


def test_a_missing_camera_in_step_with_another_is_told_apart(tmp_path: Path, raw: Raw) -> None:
    sounds, clips = raw
    rng = np.random.default_rng(4)
    echo = rng.standard_normal(FULL // 8) * np.exp(-np.arange(FULL // 8) / (0.03 * FULL)) * 0.12
    echo[0] = 0.7
    other = np.convolve(sounds["a.wav"], echo)[: len(sounds["a.wav"])]
    other += rng.standard_normal(len(other)) * other.std() * 0.3
    cut = np.concatenate([part(sounds["a.wav"], 2, 9), part(other, 9, 14), part(sounds["a.wav"], 14, 21)])
    traced = trace(encode(cut, tmp_path / "film.m4a", "-c:a", "aac", "-b:a", "96k"), clips)
    assert all(p.clip == "a.wav" for p in known(traced))
    inside = [p for p in traced.pieces if p.cut_start < 9 and p.cut_end > 10]
    assert inside and all("weak" in p.flags for p in inside)
    assert traced.pieces[0].flags == () and traced.pieces[-1].flags == ()
    assert traced.pieces[0].cut_end == pytest.approx(7, abs=0.3)


def test_the_order_of_threads_changes_nothing(raw: Raw) -> None:
    from episode.cutting.propose import index_of
    from episode.cutting.samples import Sound

    rng = np.random.default_rng(1)
    listed = [Sound(str(k), (rng.standard_normal(8000 * (1 + k % 3)) * 3000).astype(np.int16)) for k in range(9)]
    first = index_of(listed)
    for _ in range(3):
        again = index_of(listed)
        assert (again.frames == first.frames).all() and (again.starts == first.starts).all()
