"""Sound is decoded once and kept; whatever happens to what is kept, what is given is what a decoding gives."""

from __future__ import annotations

import os
from collections import namedtuple
from collections.abc import Iterator
from pathlib import Path

import pytest

from episode.errors import UnusableMedia
from episode.footage import kept_sound
from episode.footage.kept_sound import sounding
from episode.footage.sound import Piece, pieces
from episode.models import Clip
from tests.footage.conftest import as_clip, run_ffmpeg


@pytest.fixture
def long_clip(tmp_path: Path) -> Clip:
    """Two minutes and a half of a rising tone: every moment of it is unlike every other."""
    path = tmp_path / "long.mka"
    tone = "aevalsrc=0.4*sin(2*PI*t*(200+3*t)):s=16000:d=150"
    run_ffmpeg("-f", "lavfi", "-i", tone, "-c:a", "pcm_s16le", str(path))
    return as_clip(path)


def sound(given: Iterator[Piece]) -> tuple[list[tuple[int, float, int]], bytes]:
    found = list(given)
    return [(p.index, p.start, p.samples.size) for p in found], b"".join(p.samples.tobytes() for p in found)


def held(cache: Path) -> list[Path]:
    return sorted(path for path in cache.rglob("*") if path.is_file())


def undecodable(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object, **__: object) -> Iterator[Piece]:
        raise AssertionError("it was decoded again")

    monkeypatch.setattr(kept_sound, "pieces", refused)


@pytest.mark.parametrize("clean", [False, True])
def test_it_is_decoded_once_and_the_same_ever_after(
    long_clip: Clip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, clean: bool
) -> None:
    cache = tmp_path / "cache"
    truth = sound(pieces(long_clip, seconds=60, clean=clean))
    assert sound(sounding(long_clip, cache=cache, clean=clean)) == truth
    undecodable(monkeypatch)
    assert sound(sounding(long_clip, cache=cache, clean=clean)) == truth
    with pytest.raises(AssertionError):  # cleaned sound is another
        list(sounding(long_clip, cache=cache, clean=not clean))


@pytest.mark.parametrize("damage", ["cut", "cut in the list", "flipped", "flipped late", "emptied", "other format"])
def test_damage_is_decoded_again_and_mended(long_clip: Clip, tmp_path: Path, damage: str) -> None:
    cache = tmp_path / "cache"
    truth = sound(sounding(long_clip, cache=cache))
    (path,) = held(cache)
    whole = path.read_bytes()
    broken = bytearray(whole)
    if damage == "cut":
        del broken[len(broken) // 2 :]
    elif damage == "cut in the list":
        del broken[-40:]
    elif damage == "emptied":
        broken.clear()
    elif damage == "other format":
        broken = bytearray(whole.replace(b"episode-sound/1", b"episode-sound/9"))
    else:
        broken[100 if damage == "flipped" else 70 * 64_000] ^= 0xFF
    path.write_bytes(broken)
    assert sound(sounding(long_clip, cache=cache)) == truth
    sound(sounding(long_clip, cache=cache))  # what was damaged late is kept by the run after
    assert held(cache) == [path]
    assert path.read_bytes() == whole


def test_another_recording_in_its_place_is_not_taken_for_it(long_clip: Clip, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    before = sound(sounding(long_clip, cache=cache))
    state = long_clip.path.stat()
    data = bytearray(long_clip.path.read_bytes())
    middle = len(data) // 3
    data[middle : middle + 4000] = bytes(4000)  # in no sample of the bytes: the time of the change tells
    long_clip.path.write_bytes(data)
    os.utime(long_clip.path, ns=(state.st_atime_ns, state.st_mtime_ns))
    after = sound(sounding(long_clip, cache=cache))
    assert after != before
    assert after == sound(pieces(long_clip, seconds=60))


def test_what_breaks_off_is_said_every_time(long_clip: Clip, tmp_path: Path) -> None:
    data = long_clip.path.read_bytes()
    long_clip.path.write_bytes(data[: len(data) * 2 // 3])
    for _ in range(2):
        source, given = sounding(long_clip, cache=tmp_path / "cache"), 0
        with pytest.raises(UnusableMedia):
            for _piece in source:
                given += 1
        assert given
    assert held(tmp_path / "cache") == []


def test_a_caller_who_stops_leaves_nothing(long_clip: Clip, tmp_path: Path) -> None:
    source = sounding(long_clip, cache=tmp_path / "cache")
    next(source)
    source.close()  # type: ignore[attr-defined]
    assert held(tmp_path / "cache") == []


def test_a_disk_that_is_nearly_full_keeps_nothing(
    long_clip: Clip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = namedtuple("room", "total used free")
    monkeypatch.setattr(kept_sound.shutil, "disk_usage", lambda _: room(1 << 40, 0, kept_sound.LEAST_FREE))
    assert sound(sounding(long_clip, cache=tmp_path / "cache")) == sound(pieces(long_clip, seconds=60))
    assert held(tmp_path / "cache") == []


def test_a_clip_that_goes_on_for_longer_than_it_says_is_not_kept(long_clip: Clip, tmp_path: Path) -> None:
    told = long_clip.model_copy(update={"duration": 1.0})
    assert sound(sounding(told, cache=tmp_path / "cache")) == sound(sounding(long_clip, cache=None))
    assert not held(tmp_path / "cache")


def test_a_folder_that_cannot_be_written_costs_nothing(long_clip: Clip, tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file where a folder should be")
    assert sound(sounding(long_clip, cache=tmp_path / "cache")) == sound(pieces(long_clip, seconds=60))


def test_the_oldest_goes_where_there_is_enough(
    long_clip: Clip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = tmp_path / "cache"
    monkeypatch.setattr(kept_sound, "MOST_BYTES", 15_000_000)  # one of 9.6 MB, not two
    sound(sounding(long_clip, cache=cache))
    (first,) = held(cache)
    os.utime(long_clip.path, (0, 0))  # another clip, as far as anyone can tell
    sound(sounding(long_clip, cache=cache))
    (second,) = held(cache)
    assert second != first
