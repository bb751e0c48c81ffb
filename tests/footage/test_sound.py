from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from episode.errors import UnusableMedia
from episode.footage.fingerprint import file_key, sound_key
from episode.footage.sound import pieces
from tests.footage.conftest import PICTURE, TONE, VIDEO, as_clip, make_clip, run_ffmpeg


def click_track(target: Path, *, at: float, length: float = 3, delay: float = 0, codec: str = "pcm_s16le") -> Path:
    """Silence with one burst of 1 kHz, 50 ms long."""
    burst = f"sine=frequency=1000:duration={length}:sample_rate=48000,volume='between(t,{at},{at + 0.05})':eval=frame"
    run_ffmpeg(
        "-f", "lavfi", "-i", f"color=size=64x64:rate=25:duration={length + delay}",
        "-itsoffset", str(delay), "-f", "lavfi", "-i", burst, *VIDEO, "-c:a", codec, str(target),
    )  # fmt: skip
    return target


def first_loud(samples: np.ndarray, rate: int = 16000) -> float:
    return int(np.argmax(np.abs(samples) > 0.02)) / rate


def whole(path: Path, **how: object) -> np.ndarray:
    return np.concatenate([p.samples for p in pieces(as_clip(path), **how)])  # type: ignore[arg-type]


def test_pieces_touch_and_are_what_is_promised(plain_clip: Path) -> None:
    given = list(pieces(as_clip(plain_clip), seconds=0.75))
    assert [(p.index, p.start) for p in given] == [(0, 0.0), (1, 0.75), (2, 1.5)]
    assert [p.samples.size for p in given[:2]] == [12000, 12000]
    assert {p.samples.dtype for p in given} == {np.dtype("float32")}
    joined = np.concatenate([p.samples for p in given])
    assert joined.size == pytest.approx(32000, abs=1600)
    spectrum = np.abs(np.fft.rfft(joined[4000:20000]))
    assert int(np.argmax(spectrum)) == 440  # one second: bins are hertz
    assert np.array_equal(joined, whole(plain_clip, seconds=600))


@pytest.mark.parametrize("clean", [False, True])
def test_sound_is_where_it_is_on_the_clips_clock(tmp_path: Path, clean: bool) -> None:
    path = click_track(tmp_path / "click.mov", at=1.2)
    assert first_loud(whole(path, clean=clean)) == pytest.approx(1.2, abs=0.025)


def test_a_track_that_begins_late_is_preceded_by_silence(tmp_path: Path) -> None:
    path = click_track(tmp_path / "late.mov", at=1.2, delay=0.5)
    assert first_loud(whole(path)) == pytest.approx(1.7, abs=0.025)


def test_a_stretch_of_it(tmp_path: Path) -> None:
    path = click_track(tmp_path / "click.mkv", at=1.2)
    (piece,) = pieces(as_clip(path), begin=1.0, until=1.5)
    assert piece.start == 1.0
    assert piece.samples.size == 8000
    assert first_loud(piece.samples) == pytest.approx(0.2, abs=0.025)


def test_another_rate(plain_clip: Path) -> None:
    assert whole(plain_clip, rate=8000).size == pytest.approx(16000, abs=800)


def test_the_default_track_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "two.mkv"
    low, high = (["-f", "lavfi", "-i", f"sine=frequency={f}:duration=2"] for f in (300, 700))
    marks = ["-disposition:a:0", "0", "-disposition:a:1", "default"]
    run_ffmpeg(*PICTURE, *low, *high, *VIDEO, "-map", "0", "-map", "1", "-map", "2", *marks, str(path))
    spectrum = np.abs(np.fft.rfft(whole(path)[:16000]))
    assert int(np.argmax(spectrum)) == 700


def test_cleaning_takes_out_rumble_and_evens_out(tmp_path: Path) -> None:
    path = tmp_path / "rumble.wav"
    run_ffmpeg(
        "-f", "lavfi", "-i", "sine=frequency=30:duration=12", "-f", "lavfi", "-i", "sine=frequency=400:duration=12",
        "-filter_complex", "[0]volume=1[a];[1]volume=0.2[b];[a][b]amix=normalize=0", str(path),
    )  # fmt: skip
    raw, clean = (np.abs(np.fft.rfft(whole(path, clean=c)[80000:96000])) for c in (False, True))
    assert raw[30] > 4 * raw[400]
    assert clean[400] > clean[30]
    assert clean[400] > 2 * raw[400]
    assert np.array_equal(whole(path, clean=True), whole(path, clean=True))


def test_no_sound_gives_no_piece(tmp_path: Path) -> None:
    path = tmp_path / "silent.mp4"
    run_ffmpeg(*PICTURE, *VIDEO, str(path))
    assert list(pieces(as_clip(path))) == []


def test_a_clip_that_breaks_off_gives_what_there_is_and_then_says_so(tmp_path: Path) -> None:
    path = tmp_path / "broken.mp4"
    run_ffmpeg(
        "-f", "lavfi", "-i", "sine=frequency=440:duration=60", "-c:a", "aac", "-movflags", "faststart", str(path)
    )
    clip = as_clip(path)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    given = []
    with pytest.raises(UnusableMedia, match="only up to 0:") as caught:
        given.extend(iter_into(given, pieces(clip, seconds=5)))
    assert 20 < sum(p.samples.size for p in given) / 16000 < 40
    assert "broken.mp4 at 0:" in caught.value.where


def iter_into(kept: list, source) -> list:
    for piece in source:
        kept.append(piece)
    return []


def test_a_clip_whose_middle_is_gone_is_told_of_though_ffmpeg_says_nothing(tmp_path: Path) -> None:
    path = tmp_path / "gap.avi"
    long = ("-stream_loop", "3", "-i", str(make_clip(tmp_path / "short.mp4")))
    run_ffmpeg(*long, *VIDEO, "-c:a", "aac", "-b:a", "32k", str(path))
    data = path.read_bytes()
    third = len(data) // 3
    path.write_bytes(data[:third] + bytes(third) + data[2 * third :])
    with pytest.raises(UnusableMedia, match=r"only up to 0:0\d \(the file counts more\)"):
        list(pieces(as_clip(path)))


def test_gaps_that_add_up_to_days_are_not_decoded_to_their_end(tmp_path, monkeypatch) -> None:
    path = tmp_path / "gaps.mka"
    run_ffmpeg("-f", "lavfi", "-i", "sine=duration=2", "-af", "asetpts=PTS*600", "-c:a", "pcm_s16le", str(path))
    clip = as_clip(path).model_copy(update={"duration": 2.0})  # what a container says may be wrong
    assert sum(len(piece.samples) for piece in pieces(clip)) > 1000 * 16000
    monkeypatch.setattr("episode.footage.sound.MOST_SECONDS", 100.0)
    given = []
    with pytest.raises(UnusableMedia, match=r"only up to 2:00 \(it goes on for days"):
        given.extend(pieces(clip, seconds=60))
    assert sum(len(piece.samples) for piece in given) == 120 * 16000


def test_stopping_half_way_leaves_no_process(plain_clip: Path) -> None:
    source = pieces(as_clip(plain_clip), seconds=0.1)
    next(source)
    source.close()  # type: ignore[attr-defined]
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)


@pytest.mark.parametrize("name", ["-odd.mp4", "a 'b' \"c\".mp4", "line\nbreak.mp4", "pot 🏺 %d.mp4", "data:x.mp4"])
def test_odd_names(tmp_path: Path, plain_clip: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(plain_clip.read_bytes())
    assert whole(path).size > 30000


def test_keys_are_of_the_content(tmp_path: Path, plain_clip: Path) -> None:
    copy, other = tmp_path / "copy.mp4", tmp_path / "other.mp4"
    data = plain_clip.read_bytes()
    copy.write_bytes(data)
    other.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    assert file_key(copy) == file_key(plain_clip) != file_key(other)
    big = tmp_path / "big.bin"
    big.write_bytes(bytes(13 << 20))
    before = file_key(big)
    with big.open("ab") as file:
        file.write(b"1")
    assert file_key(big) != before
    wav, flac = tmp_path / "a.wav", tmp_path / "a.flac"
    run_ffmpeg(*TONE, str(wav))
    run_ffmpeg("-i", str(wav), str(flac))
    assert sound_key(whole(wav)) == sound_key(whole(flac)) != sound_key(whole(wav)[1:])
