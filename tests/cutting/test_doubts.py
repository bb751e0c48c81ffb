from __future__ import annotations

import pytest

from episode.cutting.doubts import without_chance, without_lonely, without_slivers
from episode.cutting.pieces import LOOK, CutPiece
from episode.cutting.segment import Run
from episode.cutting.tracks import Track

PLAIN = Track(0, 5.0, 1.0, 1.0, 0, 60, 900)
FAST = Track(0, 40.0, 1.02, 1.02, 0, 60, 60)
OTHER = Track(1, 70.0, 1.0, 1.0, 0, 60, 60)
TRACKS = [PLAIN, FAST, OTHER]


def told(runs: list[Run]) -> list[tuple[float, float, int]]:
    return [(r.begin, r.end, r.track) for r in runs]


def test_a_short_piece_at_a_speed_of_its_own_is_chance() -> None:
    runs = [Run(0, 10, 0, 0.8), Run(10, 12, 1, 0.8), Run(12, 20, 0, 0.8)]
    assert told(without_chance(runs, TRACKS)) == [(0, 10, 0), (10, 12, -1), (12, 20, 0)]


def test_the_speed_of_a_good_part_of_the_film_is_believed() -> None:
    runs = [Run(0, 10, 1, 0.8), Run(10, 12, 0, 0.8), Run(12, 13, 1, 0.8)]
    assert told(without_chance(runs, TRACKS)) == told(runs)


def test_a_faint_piece_beside_foreign_sound_is_chance_and_one_between_pieces_is_not() -> None:
    faint = [Run(0, 10, 0, 0.8), Run(10, 12, 2, 0.15), Run(12, 20, -1)]
    assert told(without_chance(faint, TRACKS)) == [(0, 10, 0), (10, 20, -1)]
    between = [Run(0, 10, 0, 0.8), Run(10, 12, 2, 0.15), Run(12, 20, 0, 0.8)]
    assert told(without_chance(between, TRACKS)) == told(between)


def test_a_long_piece_is_believed_however_faint() -> None:
    runs = [Run(0, 10, -1), Run(10, 14.5, 2, 0.08), Run(14.5, 20, -1)]
    assert told(without_chance(runs, TRACKS)) == told(runs)


def test_slivers_and_lonely_pieces() -> None:
    slivers = [Run(0, 10, 0, 0.8), Run(10, 10.4, -1), Run(10.4, 20, 2, 0.8)]
    assert told(without_slivers(slivers)) == [(0, 10.2, 0), (10.2, 20, 2)]
    lonely = [Run(0, 10, -1), Run(10, 10.3, 0, 0.8), Run(10.3, 20, -1)]
    assert told(without_lonely(lonely)) == [(0, 20, -1)]


def test_a_weak_part_of_one_track_stays_apart() -> None:
    runs = [Run(0, 10, 0, 0.8), Run(10, 14, 0, 0.3), Run(14, 20, 0, 0.8)]
    assert told(without_slivers(without_chance(runs, TRACKS))) == told(runs)


@pytest.mark.parametrize("flag", LOOK)
def test_every_flag_has_words(flag: str) -> None:
    piece = CutPiece(cut_start=0, cut_end=1, clip="a", flags=(flag, "short"))  # type: ignore[arg-type]
    assert len(LOOK[flag]) > 20  # type: ignore[index]
    assert piece.look() == f"{LOOK[flag]}; {LOOK['short']}"  # type: ignore[index]
