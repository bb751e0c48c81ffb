"""Names and runs of words as points in a space where what sounds alike lies close together.

A phone is a vector whose inner products with the others are one less what they cost to confuse (the leading
eigenvectors of that matrix, as in classical scaling, Torgerson 1952). A run of phones is laid on a few slots
from its beginning to its end with weights that fall off like a bell, so that a phone more or less moves its
neighbours only a little. Names are shelved by the nearest of some centres (an inverted file: Sivic and
Zisserman 2003) and only the nearest shelves are searched, so that the cost grows like the root of the vocabulary.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from episode.lexicon.phones import costs

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PARTS = 16
"""Numbers kept of a phone's vector."""
SLOTS = 6
BELL = 0.75
"""Width of the bell in slots."""
LENGTH = 0.15
"""What a natural logarithm's difference in the number of phones counts beside a slot's squared distance."""
SHELVES_SEARCHED = 10
NEIGHBOURS = 16
"""How many names lie within reach of a name of middling place; reaches follow from it, so crowding costs nothing."""
SAMPLED = 512
ROUNDS = 8
LONGEST = 40
FARTHEST = 0.3
"""Squared distance beyond which nothing is alike, however few names there are."""
CHUNK = 4096


def points(sounds: Sequence[Sequence[int]]) -> NDArray[np.float32]:
    """A row a sound (phones as ``episode.lexicon.phones.numbers`` gives them, none empty), ``SLOTS * PARTS + 1`` wide.

    The squared distance of two rows is the mean over the slots of the squared distance of their phones, and
    ``LENGTH`` times the squared difference of the logarithms of their lengths.
    """
    import numpy as np

    lengths = np.array([min(len(sound), LONGEST) for sound in sounds], dtype=np.int64)
    rows = np.zeros((len(sounds), SLOTS * PARTS + 1), dtype=np.float32)
    vectors = _phones()
    for length in np.unique(lengths):
        mine = np.flatnonzero(lengths == length)
        bell = _bell(int(length))
        for begin in range(0, len(mine), CHUNK):
            some = mine[begin : begin + CHUNK]
            phones = np.array([sounds[n][:LONGEST] for n in some.tolist()], dtype=np.int64)
            rows[some, :-1] = np.einsum("sl,nlp->nsp", bell, vectors[phones], optimize=True).reshape(len(some), -1)
    rows[:, :-1] /= np.float32(SLOTS**0.5)
    rows[:, -1] = np.sqrt(LENGTH) * np.log(np.maximum(lengths, 1))
    return rows


class Shelves:
    """Points that can be asked for those near others; the same points give the same answers."""

    def __init__(self, rows: NDArray[np.float32]) -> None:
        import numpy as np

        self._rows = rows
        count = max(1, round(1.5 * len(rows) ** 0.5))
        self._centres, self._shelf = _centred(rows, count)
        order = np.argsort(self._shelf, kind="stable")
        self._order = order
        self._starts = np.searchsorted(self._shelf[order], np.arange(len(self._centres) + 1))
        self._sorted = np.ascontiguousarray(rows[order])
        self._squares = (self._sorted**2).sum(axis=1)
        self.reach = _reaches(rows)
        """By number of phones, the squared distance within which a name has ``NEIGHBOURS`` others."""

    def near(
        self, asked: NDArray[np.float32], within: NDArray[np.float32]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float32]]:
        """Which asked row, which point and their squared distance, wherever that is at most the row's ``within``."""
        import numpy as np

        if not len(asked) or not len(self._rows):
            return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, np.float32)
        squares = (asked**2).sum(axis=1)
        searched = min(SHELVES_SEARCHED, len(self._centres))
        found: list[tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float32]]] = []
        nearest = np.concatenate(
            [_nearest(asked[begin : begin + CHUNK], self._centres, searched) for begin in range(0, len(asked), CHUNK)]
        )
        flat = nearest.ravel()
        by_shelf = np.argsort(flat, kind="stable")
        bounds = np.searchsorted(flat[by_shelf], np.arange(len(self._centres) + 1))
        for shelf in range(len(self._centres)):
            begin, end = self._starts[shelf], self._starts[shelf + 1]
            which = by_shelf[bounds[shelf] : bounds[shelf + 1]] // searched
            if begin == end or not len(which):
                continue
            for at in range(0, len(which), CHUNK):
                some = which[at : at + CHUNK]
                away = asked[some] @ self._sorted[begin:end].T
                away *= -2
                away += self._squares[begin:end]
                away += squares[some, None]
                row, column = np.nonzero(away <= within[some, None])
                found.append((some[row], self._order[begin + column], np.maximum(away[row, column], 0)))
        if not found:
            return np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, np.float32)
        which, point, away = (np.concatenate(part) for part in zip(*found, strict=True))
        order = np.lexsort((point, which))
        return which[order], point[order], away[order]


@cache
def _phones() -> NDArray[np.float32]:
    """Shape (40, PARTS): row 0 is no phone; a phone that is often dropped is a shorter vector."""
    import numpy as np

    swap, drop = costs()
    alike = 1.0 - (swap[1:, 1:] + swap[1:, 1:].T).astype(np.float64) / 2
    values, vectors = np.linalg.eigh(alike)
    leading = np.argsort(-values, kind="stable")[:PARTS]
    laid = vectors[:, leading] * np.sqrt(np.maximum(values[leading], 0.0))
    laid *= np.sqrt(drop[1:, None].astype(np.float64) / float(drop.max()))
    return np.vstack([np.zeros((1, PARTS)), laid]).astype(np.float32)


@cache
def _bell(length: int) -> NDArray[np.float32]:
    import numpy as np

    phones = (np.arange(length) + 0.5) / length
    slots = (np.arange(SLOTS) + 0.5) / SLOTS
    weight = np.exp(-((phones[None, :] - slots[:, None]) ** 2) / (2 * (BELL / SLOTS) ** 2))
    scaled: NDArray[np.float32] = (weight / weight.sum(axis=1, keepdims=True)).astype(np.float32)
    return scaled


def _reaches(rows: NDArray[np.float32]) -> NDArray[np.float32]:
    """Shape (LONGEST + 1,): longer names lie closer together, since more of their phones are alike on average."""
    import numpy as np

    some = rows[np.unique(np.linspace(0, len(rows) - 1, min(SAMPLED, len(rows))).astype(np.int64))]
    away = (some**2).sum(axis=1)[:, None] + (rows**2).sum(axis=1)[None, :] - 2 * (some @ rows.T)
    rank = min(NEIGHBOURS, len(rows) - 1)
    radius = np.partition(away, rank, axis=1)[:, rank]
    lengths = np.exp(some[:, -1] / np.sqrt(LENGTH))
    # A straight line through logarithms: few names of one length are known, their trend is.
    across = np.log(lengths) - np.log(lengths).mean()
    tall = np.log(np.maximum(radius, 1e-3))
    slope = float((across * tall).sum() / max(float((across**2).sum()), 1e-9))
    every = np.log(np.maximum(np.arange(LONGEST + 1), 1)) - np.log(lengths).mean()
    reaches: NDArray[np.float32] = np.minimum(np.exp(tall.mean() + slope * every), FARTHEST).astype(np.float32)
    return reaches


def _centred(rows: NDArray[np.float32], count: int) -> tuple[NDArray[np.float32], NDArray[np.int64]]:
    """Centres by a few rounds of Lloyd's algorithm from evenly spaced rows, and each row's nearest."""
    import numpy as np

    if not len(rows):
        return np.zeros((1, rows.shape[1]), np.float32), np.zeros(0, np.int64)
    spread = np.lexsort(rows.T[::-1])
    centres = rows[spread[np.linspace(0, len(rows) - 1, count).astype(np.int64)]].copy()
    shelf = np.zeros(len(rows), np.int64)
    for _ in range(ROUNDS):
        shelf = np.concatenate([_nearest(rows[at : at + CHUNK], centres, 1)[:, 0] for at in range(0, len(rows), CHUNK)])
        held = np.bincount(shelf, minlength=count)
        order = np.argsort(shelf, kind="stable")
        filled = np.flatnonzero(held)
        starts = np.cumsum(held)[filled] - held[filled]
        centres[filled] = np.add.reduceat(rows[order], starts, axis=0) / held[filled, None]
    return centres, shelf


def _nearest(asked: NDArray[np.float32], centres: NDArray[np.float32], count: int) -> NDArray[np.int64]:
    import numpy as np

    away = (centres**2).sum(axis=1)[None, :] - 2 * (asked @ centres.T)
    if count == 1:
        nearest: NDArray[np.int64] = np.argmin(away, axis=1)[:, None]
        return nearest
    if count >= len(centres):
        return np.broadcast_to(np.arange(len(centres)), away.shape)
    return np.argpartition(away, count - 1, axis=1)[:, :count]
