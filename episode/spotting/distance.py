"""How unlike two sounds are, many pairs at once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from episode.lexicon.phones import LETTER, costs, numbers

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

EDGE = 0.5
"""A phone of the words heard before or after the name costs this part of a dropped one."""
PLURAL = 0.08
"""What a final S or Z more costs than the name has."""
BATCH = 20_000


def distances(
    heard: Sequence[Sequence[int]], names: Sequence[Sequence[int]]
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """For each pair, the weighted edit distance per phone of the name, and whether the name is in the plural.

    The name must be there whole; the words heard may begin before and end after it at a lower cost. Dynamic
    programming over all pairs of a batch together (Wagner and Fischer 1974, with free ends as Sellers 1980).
    """
    import numpy as np

    order = sorted(range(len(names)), key=lambda n: (len(names[n]), len(heard[n])))
    cost = np.zeros(len(names), dtype=np.float32)
    plural = np.zeros(len(names), dtype=np.bool_)
    for begin in range(0, len(order), BATCH):
        some = order[begin : begin + BATCH]
        cost[some], plural[some] = _batch([heard[n] for n in some], [names[n] for n in some])
    return cost, plural


def _batch(
    heard: Sequence[Sequence[int]], names: Sequence[Sequence[int]]
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    import numpy as np

    swap, drop = costs()
    said, said_length = _padded(heard)
    name, name_length = _padded(names)
    count, width = said.shape
    missing = drop[said]
    columns = np.arange(width + 1)
    row = np.concatenate(
        [np.zeros((count, 1), dtype=np.float32), np.cumsum(missing, axis=1, dtype=np.float32) * EDGE], axis=1
    )
    last = row.copy()
    for place in range(name.shape[1]):
        phone = name[:, place]
        gone = drop[phone]
        above = row + gone[:, None]
        across = row[:, :-1] + swap[phone[:, None], said]
        best = above.copy()
        best[:, 1:] = np.minimum(best[:, 1:], across)
        for column in range(1, width + 1):
            np.minimum(best[:, column], best[:, column - 1] + missing[:, column - 1], out=best[:, column])
        live = (place < name_length)[:, None]
        row = np.where(live, best, row)
        last = row
    past = np.cumsum(missing[:, ::-1], axis=1)[:, ::-1]
    ended: NDArray[np.float32] = np.zeros((count, 1), dtype=np.float32)
    past = np.concatenate([past, ended], axis=1).astype(np.float32) * np.float32(EDGE)
    # Padding has no cost, so that what is past the end of the words is nothing.
    final = np.where(columns[None, :] <= said_length[:, None], last + past, np.inf)
    at = np.argmin(final, axis=1)
    result = final[np.arange(count), at]
    hiss = np.isin(said[np.arange(count), np.maximum(said_length - 1, 0)], _HISS)
    own = np.isin(name[np.arange(count), name_length - 1], _HISS)
    short = last[np.arange(count), said_length - 1] + PLURAL
    plural = hiss & ~own & (short < result)
    result = np.where(plural, short, result)
    return (result / name_length).astype(np.float32), plural


def _padded(rows: Sequence[Sequence[int]]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    import numpy as np

    length = np.array([len(row) for row in rows], dtype=np.int64)
    grid = np.zeros((len(rows), int(length.max())), dtype=np.int64)
    for number, row in enumerate(rows):
        grid[number, : len(row)] = row
    return grid, length


_HISS = numbers(LETTER["S"] + LETTER["Z"])
