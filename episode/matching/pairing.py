"""Pair finds with log rows under given clocks: in order, then what is left over out of order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import takewhile
from math import exp, isnan
from typing import TYPE_CHECKING

from episode.matching.kinship import Kinship
from episode.matching.order import Evidence, align_in_order
from episode.models import Clip, Moment, Stance, StartFrom

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Log odds that must be overcome before a find and a row are held to be one: most finds reach the log, fewer of
# those shown from another day, fewest of those that are only a material. Estimates of the author, no source.
_AGAINST = {Stance.FOUND: 1.5, Stance.UNSURE: 1.8, Stance.EARLIER: 3.0}
_AGAINST_NAMELESS = 3.0
_FURTHER_OF_HANDFUL = 1.0
_OUT_OF_ORDER_ODDS = 1.5
_ALIKE = 0.6
"""Names this like are needed where neither the order nor a row of its own speaks for a pair."""
_NEVER = -60.0
_SAME_SHOW_S = 45.0
_MOST_CERTAIN = 0.99


@dataclass(frozen=True)
class Find:
    """A moment that may have a log row."""

    moment: Moment
    clip: Clip | None
    camera_at: float
    """When it was named, camera seconds since 1970; nan where the clip's time is unknown."""
    named: bool
    """Whether an object or ware is named, and not only a material."""


@dataclass(frozen=True)
class Pair:
    """A find and a log row. ``second`` is the probability of the find's next best row, ``other`` its index."""

    find: int
    row: int
    confidence: float
    by_hand: bool = False
    in_order: bool = True
    shared_with: int | None = None
    second: float = 0.0
    other: int | None = None


@dataclass
class Pairing:
    """All pairs of one round, and how well the day fits as a whole (log of a sum, see ``order``)."""

    pairs: list[Pair] = field(default_factory=list)
    evidence: float = 0.0


class Table:
    """The finds, the rows in their order, and what does not change from round to round."""

    def __init__(
        self,
        finds: Sequence[Find],
        row_order: Sequence[int],
        handfuls: Sequence[int],
        by_hand: dict[int, int | None],
        kin: Kinship,
        likeness: NDArray[np.float64],
    ) -> None:
        """``likeness`` as in ``Meaning``."""
        import numpy as np

        self.finds, self.by_hand, self._kin = finds, by_hand, kin
        self._evidence = Evidence()
        self._alike = np.nan_to_num(likeness, nan=0.0) >= _ALIKE
        taken = [row for row in by_hand.values() if row is not None]
        self.slots: list[tuple[int, int]] = []
        """Row index and 0, 1, ... for each thing of a handful, in the log's order."""
        for row in row_order:
            free = handfuls[row] - taken.count(row)
            self.slots.extend((row, copy) for copy in range(max(0, free)))

    def pair(self, weights: NDArray[np.float64], named_at: NDArray[np.float64]) -> Pairing:
        """Pair under the given evidence (``weights[i, row]``) and times on the log's clock."""
        import numpy as np

        leaders, followers = self._leaders(named_at)
        odds = self._odds(weights, leaders)
        ordered = align_in_order(odds)
        pairs = [Pair(i, row, 1.0, by_hand=True) for i, row in sorted(self.by_hand.items()) if row is not None]
        by_row = np.zeros((len(leaders), weights.shape[1]))
        for slot, (row, _) in enumerate(self.slots):
            by_row[:, row] += ordered.posterior[:, slot]
        for place, slot in ordered.pairs:
            pairs.append(self._scored(leaders[place], self.slots[slot][0], by_row[place]))
        pairs += self._out_of_order(odds, leaders, {p for p, _ in ordered.pairs}, {s for _, s in ordered.pairs})
        held = {pair.find: pair for pair in pairs}
        for follower, leader in sorted(followers.items()):
            if leader in held and follower not in self.by_hand:
                lead = held[leader]
                pairs.append(Pair(follower, lead.row, round(0.85 * lead.confidence, 3), shared_with=leader))
        return Pairing(sorted(pairs, key=lambda p: p.find), ordered.evidence)

    def evidence(self, weights: NDArray[np.float64], named_at: NDArray[np.float64]) -> float:
        """How well the day fits as a whole under these weights."""
        return self._evidence.of(self._odds(weights, self._leaders(named_at)[0]))

    def _leaders(self, named_at: NDArray[np.float64]) -> tuple[list[int], dict[int, int]]:
        """Finds in order of corrected time; those that only show again what another clip shows follow it."""
        import numpy as np

        last = float(np.nanmax(named_at)) if np.isfinite(named_at).any() else 0.0
        times = np.where(np.isnan(named_at), last + 2 * _SAME_SHOW_S, named_at).tolist()
        ranks = sorted(range(len(self.finds)), key=lambda i: (times[i], i))
        leaders: list[int] = []
        followers: dict[int, int] = {}
        for i in ranks:
            near = takewhile(lambda other: times[i] - times[other] <= _SAME_SHOW_S, reversed(leaders))  # noqa: B023
            known = not isnan(named_at[i])
            leader = next((o for o in near if known and self._same_show(self.finds[o], self.finds[i])), None)
            if leader is None:
                leaders.append(i)
            else:
                followers[i] = leader
        return [i for i in leaders if i not in self.by_hand], followers

    def _same_show(self, one: Find, other: Find) -> bool:
        if one.clip is None or other.clip is None or one.clip.name == other.clip.name:
            return False
        two_cameras = one.clip.camera != other.clip.camera
        if not two_cameras and other.clip.start_from is not StartFrom.PREVIOUS:
            return False
        a, b = one.moment.term, other.moment.term
        return a is not None and b is not None and self._kin.related(a, b)

    def _odds(self, weights: NDArray[np.float64], leaders: Sequence[int]) -> NDArray[np.float64]:
        import numpy as np

        rows = [row for row, _ in self.slots]
        further = np.array([_FURTHER_OF_HANDFUL * min(copy, 1) for _, copy in self.slots])
        against = np.array([self._against(self.finds[i]) for i in leaders])
        if not rows or not leaders:
            return np.zeros((len(leaders), len(rows)))
        odds: NDArray[np.float64] = weights[leaders][:, rows] - against[:, None]
        if not further.any():
            return odds
        odds -= further
        return np.where((further[None, :] > 0) & ~self._alike[np.ix_(leaders, rows)], _NEVER, odds)

    def _against(self, find: Find) -> float:
        return _AGAINST.get(find.moment.stance, 3.0) if find.named else _AGAINST_NAMELESS

    def _scored(self, find: int, row: int, chances: NDArray[np.float64]) -> Pair:
        import numpy as np

        others = np.array(chances)
        others[row] = 0.0
        other = int(others.argmax()) if len(others) else 0
        second = float(others[other])
        return Pair(
            find,
            row,
            round(min(_MOST_CERTAIN, float(chances[row])), 3),
            second=round(min(1.0, second), 3),
            other=other if second > 0.05 else None,
        )

    def _out_of_order(
        self, odds: NDArray[np.float64], leaders: Sequence[int], placed: set[int], used: set[int]
    ) -> list[Pair]:
        """Assign what order left over where the evidence is strong of itself (rows swapped or written in batches)."""
        import numpy as np

        places = [p for p in range(len(leaders)) if p not in placed]
        slots = [s for s in range(len(self.slots)) if s not in used]
        if not places or not slots:
            return []
        alike = self._alike[np.ix_([leaders[p] for p in places], [self.slots[s][0] for s in slots])]
        left = np.where(alike, odds[np.ix_(places, slots)], _NEVER)
        if not (left >= _OUT_OF_ORDER_ODDS).any():
            return []
        found = []
        for a, b in _assigned(np.maximum(left, 0.0)):
            value = float(left[a, b])
            if value < _OUT_OF_ORDER_ODDS:
                continue
            rivals = float(np.exp(np.minimum(left[a], 50.0)).sum() + np.exp(np.minimum(left[:, b], 50.0)).sum())
            chance = exp(min(value, 50.0)) / (exp(_OUT_OF_ORDER_ODDS / 2) + rivals - exp(min(value, 50.0)))
            row = self.slots[slots[b]][0]
            found.append(Pair(leaders[places[a]], row, round(0.85 * min(1.0, chance), 3), in_order=False))
        return found


def _assigned(gains: NDArray[np.float64]) -> list[tuple[int, int]]:
    """The pairs of rows and columns, each in one pair, with the greatest sum of gains (none below nought).

    Where no choice depends on another, as on most days, every find or row just takes the best that it can have; the
    solver, which takes longer to load than to run, is left for the rest.
    """
    import numpy as np

    worth = gains > 0
    contested = worth & (worth.sum(axis=1, keepdims=True) > 1) & (worth.sum(axis=0, keepdims=True) > 1)
    best = worth & (gains == gains.max(axis=1, keepdims=True)) & (gains == gains.max(axis=0, keepdims=True))
    if contested.any() or max(best.sum(axis=0).max(), best.sum(axis=1).max()) > 1:
        from scipy.optimize import linear_sum_assignment

        ours, theirs = linear_sum_assignment(gains, maximize=True)
    else:
        ours, theirs = np.nonzero(best)
    return list(zip(ours.tolist(), theirs.tolist(), strict=True))
