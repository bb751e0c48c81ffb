"""Clocks from pairs, pairs from clocks, round after round until both stand still."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, prod
from typing import TYPE_CHECKING

from episode.matching.clocks import FIRST_SPREAD_S, Sight, Timing, measure, unknown_clock
from episode.matching.doubts import Candidate, Doubt, doubt
from episode.matching.meaning import Meaning
from episode.matching.pairing import Pair, Pairing, Table
from episode.matching.slips import log_prior, prior_of_tied
from episode.matching.ties import Strand, Web, disowned, weave, without
from episode.matching.times import MIDDLE_S, PAIR_GAP_S, RowTimes, time_evidence
from episode.matching.voting import Mode, Votes
from episode.matching.wall import epoch
from episode.models import Clip, Problem, StartFrom, Tie

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_ROUNDS = 8
_TRY_WITHIN = 14.0
"""Offsets this much less likely (nats) than the best vote are not tried."""
_LOOK_AGAIN = 2
_BETTER = 1.0
_HAND = 30.0
_APART_S = 120.0
_SPLIT_GAIN = 2.0
_SPLIT_PRIOR = {True: -3.0, False: -12.0}
_SPLIT_PAIRS = {True: 2, False: 4}
_LEAST_CHANCE = 0.3
_BY_HAND = 3.0
_BY_ITSELF = 0.9
"""How sure a pair can be of itself: the clock that it sets cannot confirm it. The author's, no source."""
_FAR_S = 4e9
_WRONG_TIE = {True: -3.5, False: -9.0}
"""Log odds that all ties of two cameras are wrong: with one tie, with several that agree. The author's, no source."""


@dataclass(frozen=True)
class _Grounds:
    """What a clock was measured on: each pair's probability, rows written in batches apart; see ``Rounds._late``."""

    firm: list[float]
    late: float


class Rounds:
    """The search for clocks and pairs that fit each other."""

    def __init__(
        self, table: Table, meaning: Meaning, rows: RowTimes, clips: Sequence[Clip], ties: Sequence[Tie] = ()
    ) -> None:
        """Clocks are one a camera, in the order of the clips; clips that ties tell to be off get their own."""
        import numpy as np

        self._table, self._rows, self._clips, self._ties = table, rows, clips, ties
        self._evidence = np.array(meaning.evidence)
        for find, row in table.by_hand.items():
            self._evidence[find, :] = -_HAND
            if row is not None:
                self._evidence[find, row] = _HAND
        first: dict[str, float] = {}
        for clip in clips:
            first[clip.camera] = min(first.get(clip.camera, float("inf")), epoch(clip.start))
        self.timings = [unknown_clock(name, None, at, "") for name, at in first.items()]
        cameras = list(first)
        self._group_of = {clip.name: cameras.index(clip.camera) for clip in clips}
        self.groups = [-1 if find.clip is None else self._group_of[find.clip.name] for find in table.finds]
        self.camera_at: NDArray[np.float64] = np.array([find.camera_at for find in table.finds], dtype=float)
        self.problems: list[Problem] = []
        nowhere = np.full(len(table.finds), np.nan)
        self._placed = (nowhere, nowhere)
        """Times on the log's clock and their doubts that ``_in_time`` was worked out for."""
        self._in_time: NDArray[np.float64] = np.zeros(self._evidence.shape)
        self._fits: dict[tuple[tuple[tuple[float | None, ...], ...], tuple[int, ...]], float] = {}
        self._votes: dict[tuple[tuple[int, ...], tuple[float, ...], tuple[float, ...]], Votes] = {}
        self.doubts: dict[int, Doubt] = {}
        self._grounds: dict[int, _Grounds] = {}
        self.web = weave(ties, clips, self._group_of)
        for clip in clips:
            if clip.name in self.web.alone:
                self._own_clock(clip)
        if self.web.alone:
            self.web = weave(ties, clips, self._group_of)
        self._bodies = self.web.bodies(len(self.timings))

    def settle(self) -> Pairing:
        """Choose each camera's offset, split off clips with a date of their own, and refine to a fixed point."""
        import numpy as np

        self.problems += self.web.problems
        for body in self._in_turn():
            self._choose(body)
        if np.isnan(self._rows.when).all():
            self._untimed()
            return self._table.pair(*self._now())
        self._test_strands()
        pairing = self._refine()
        if self._split_clips(pairing):
            pairing = self._refine()
        for _ in range(_LOOK_AGAIN):
            if not self._reconsider():
                break
            pairing = self._refine()
        self._say_doubts()
        return pairing

    def named_at(self) -> NDArray[np.float64]:
        """The finds' times on the log's clock."""
        import numpy as np

        known = zip(self.groups, self.camera_at.tolist(), strict=True)
        return np.array([self.timings[g].on_log(at) if g >= 0 else float("nan") for g, at in known], dtype=float)

    def body_of(self, group: int) -> dict[int, float]:
        """The clocks that a clock is tied to, itself included."""
        return next(body for body in self._bodies if group in body)

    def _own_clock(self, clip: Clip) -> int:
        self.timings.append(unknown_clock(clip.camera, clip.name, epoch(clip.start), ""))
        self._group_of[clip.name] = len(self.timings) - 1
        for i, find in enumerate(self._table.finds):
            if find.clip is not None and find.clip.name == clip.name:
                self.groups[i] = len(self.timings) - 1
        return len(self.timings) - 1

    def _in_turn(self) -> list[dict[int, float]]:
        """Bodies with the most finds first: what they take, others need not explain."""
        return sorted(self._bodies, key=lambda body: (-sum(self.groups.count(g) for g in body), min(body)))

    def _now(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        import numpy as np

        named = self.named_at()
        doubts = [float(np.hypot(t.spread, min(t.clock.error_s or 0.0, 600.0) / 2)) for t in self.timings]
        spread = np.array([doubts[g] if g >= 0 else FIRST_SPREAD_S for g in self.groups], dtype=float)
        if not len(named) or not len(self._rows.when):
            return self._evidence, named
        # While one clock is tried, the finds of the others stay where they are.
        moved = np.flatnonzero((named != self._placed[0]) | (spread != self._placed[1]))
        self._in_time[moved] = time_evidence(named[moved], self._rows, spread[moved])
        self._placed = (named, spread)
        return self._evidence + self._in_time, named

    def _fit(self) -> float:
        """How well the whole day fits under the clocks of the moment; what a person paired must fit as well."""
        clocks = ((t.clock.offset_s, t.clock.drift_ppm, t.clock.error_s, t.reference, t.spread) for t in self.timings)
        state = (tuple(clocks), tuple(self.groups))
        if state not in self._fits:
            weights, named = self._now()
            by_hand = [(find, row) for find, row in self._table.by_hand.items() if row is not None]
            self._fits[state] = self._table.evidence(weights, named) + sum(
                float(weights[find, row] - self._evidence[find, row]) for find, row in by_hand
            )
        return self._fits[state]

    def _members(self, groups: Sequence[int]) -> list[int]:
        members = [i for i, g in enumerate(self.groups) if g in groups and not _isnan(self.camera_at[i])]
        trusted = [i for i in members if not self._doubtful(i)]
        return trusted or members

    def _doubtful(self, find: int) -> bool:
        clip = self._table.finds[find].clip
        return clip is not None and clip.start_from is StartFrom.MODIFIED

    def _modes(self, body: dict[int, float], members: Sequence[int], extra: Sequence[float] = ()) -> list[Mode]:
        shift = tuple(body.get(self.groups[i], 0.0) for i in members)
        asked = (tuple(members), shift, tuple(body.values()))
        if asked not in self._votes:
            self._votes[asked] = self._vote(*asked)
        return self._votes[asked].modes(extra)

    def _vote(self, members: tuple[int, ...], shift: tuple[float, ...], apart: tuple[float, ...]) -> Votes:
        import numpy as np

        return Votes(
            self.camera_at[list(members)] + np.array(shift, dtype=float),
            self._rows.when,
            self._evidence[list(members)],
            span=self._rows.span,
            share=len(members) / max(1, len(self.groups)),
            apart=apart,
        )

    def _choose(self, body: dict[int, float]) -> float:
        """Try the likeliest offsets on the whole alignment and keep the best; gives how well it fits."""
        tried: list[tuple[float, float]] = []
        proposals = self._modes(body, self._members(list(body)))
        for mode in proposals:
            if mode.score < proposals[0].score - _TRY_WITHIN:
                continue
            self._set_offset(body, mode.offset)
            tried.append((self._fit() + mode.prior, mode.offset))
        tried.sort(key=lambda t: (-t[0], abs(t[1]), t[1]))
        self._set_offset(body, tried[0][1])
        return tried[0][0]

    def _set_offset(self, body: dict[int, float], offset: float) -> None:
        for g, shift in body.items():
            clock = self.timings[g].clock.model_copy(
                update={"offset_s": offset + shift, "drift_ppm": 0.0, "error_s": None}
            )
            self.timings[g] = Timing(clock, self.timings[g].reference)

    def _test_strands(self) -> None:
        """Cut a strand where the log speaks clearly against it: a tie of sound may be a mistake too."""
        for strand in self.web.strands:
            if not any(self.groups.count(g) for g in (strand.one, strand.other)):
                continue
            body = self.body_of(strand.one)
            cut = without(self.web, strand)
            parts = [part for part in cut.bodies(len(self.timings)) if strand.one in part or strand.other in part]
            if len(parts) < 2 or not all(self._members(list(part)) for part in parts):
                continue
            self._test(strand, cut, body, parts)

    def _test(self, strand: Strand, cut: Web, body: dict[int, float], parts: list[dict[int, float]]) -> None:
        kept = list(self.timings)
        here = self._fit() + float(log_prior([kept[g].clock.offset_s for g in body]).sum())
        for part in sorted(parts, key=lambda p: -len(self._members(list(p)))):
            self._choose(part)
        apart = self._fit() + float(log_prior([self.timings[g].clock.offset_s for g in body]).sum())
        one, other = (self.timings[g].clock.offset_s for g in (strand.one, strand.other))
        gap = other - one - strand.apart
        if abs(gap) > _APART_S / 2 and apart + _WRONG_TIE[len(strand.ties) == 1] > here:
            self.problems.append(disowned(strand, gap))
            self.web = cut
            self._bodies = cut.bodies(len(self.timings))
        else:
            self.timings[:] = kept

    def _refine(self) -> Pairing:
        """Measure clocks and pair again, until the pairs stay the same."""
        seen: set[tuple[tuple[int, int], ...]] = set()
        pairing = self._table.pair(*self._now())
        for _ in range(MOST_ROUNDS):
            state = tuple((pair.find, pair.row) for pair in pairing.pairs)
            self._measure(pairing)
            pairing = self._table.pair(*self._now())
            if state in seen:
                break
            seen.add(state)
        return pairing

    def _measure(self, pairing: Pairing) -> None:
        sights: list[Sight] = []
        root = {g: min(body) for body in self._bodies for g in body}
        # Finds of one row were logged at one instant: together they tell no more than one.
        crowd = Counter((pair.row, root.get(self.groups[pair.find])) for pair in pairing.pairs)
        for group in range(len(self.timings)):
            usable = [
                pair
                for pair in pairing.pairs
                if self.groups[pair.find] == group
                and pair.confidence >= _LEAST_CHANCE
                and not _isnan(self._rows.when[pair.row])
                and not _isnan(self.camera_at[pair.find])
            ]
            firm = [pair for pair in usable if not self._rows.batch[pair.row] or pair.by_hand]
            lone = [pair for pair in firm if pair.by_hand or not self._rows.close[pair.row]]
            self._grounds[group] = _Grounds(
                [1.0 if pair.by_hand else min(pair.confidence, _BY_ITSELF) for pair in lone], self._late(usable)
            )
            firm = firm or usable
            sights += [
                Sight(
                    group,
                    float(self.camera_at[pair.find]),
                    float(self._rows.when[pair.row]),
                    (_BY_HAND if pair.by_hand else pair.confidence) / crowd[pair.row, root[group]],
                )
                for pair in firm
            ]
        self.timings[:] = measure(self.timings, sights, [link for s in self.web.strands for link in s.links])
        seen = {sight.clock for sight in sights}
        for body in self._bodies:
            if not seen & set(body):
                self._set_offset(body, self._modes(body, [])[0].offset)

    def _late(self, pairs: Sequence[Pair]) -> float:
        """How long before its row was written a find of a batch may have been named, at most."""
        import numpy as np

        known = np.sort(self._rows.when[~np.isnan(self._rows.when)])
        late = 0.0
        for pair in pairs:
            at = float(self._rows.when[pair.row])
            before = known[known < at - PAIR_GAP_S]
            since = float(self._rows.since[pair.row]) if self._rows.batch[pair.row] else float("nan")
            since = since if not _isnan(since) else float(before[-1]) if before.size else at - 3600.0
            late = max(late, at - since)
        return late

    def _untimed(self) -> None:
        """Clocks on a day whose log gives no times: only ties and habit speak."""
        links = [link for s in self.web.strands for link in s.links]
        if links:
            self.timings[:] = measure(self.timings, [], links)

    def _split_clips(self, pairing: Pairing) -> bool:
        """Give a clip its own clock where its finds fit the log only at another offset than its camera's."""
        split = False
        fitting = {p.find for p in pairing.pairs if p.in_order and not _isnan(self._rows.when[p.row])}
        for clip in self._clips:
            group = self._group_of[clip.name]
            inside = [i for i, f in enumerate(self._table.finds) if f.clip is not None and f.clip.name == clip.name]
            inside = [i for i in inside if not _isnan(self.camera_at[i])]
            others = [i for i, g in enumerate(self.groups) if g == group and i not in inside]
            if inside and 2 * len(fitting.intersection(inside)) >= len(inside):
                continue
            if others and inside and len(inside) >= _SPLIT_PAIRS[self._doubtful(inside[0])]:
                split |= self._try_split(clip, inside)
        return split

    def _try_split(self, clip: Clip, inside: list[int]) -> bool:
        doubtful = self._doubtful(inside[0])
        group = self._group_of[clip.name]
        here = self.timings[group].clock
        weights, named = self._now()
        before = self._table.evidence(weights, named)
        kept, kept_groups = list(self.groups), dict(self._group_of)
        fresh = self._own_clock(clip)
        own = {fresh: 0.0}
        best: tuple[float, float] | None = None
        votes = self._modes(own, inside, extra=(here.offset_s,))
        as_is = max((v.score - v.prior for v in votes if abs(v.offset - here.offset_s) <= _APART_S), default=-_FAR_S)
        for mode in votes:
            if abs(mode.offset - here.offset_s) <= _APART_S or mode.score - mode.prior < as_is + _SPLIT_GAIN:
                continue
            self._set_offset(own, mode.offset)
            gain = self._table.evidence(*self._now()) - before + _SPLIT_PRIOR[doubtful]
            # Next to its camera's clock, a whole hour or day is as odd as anything; far-off dates are the rule.
            gain += 0.5 * float(log_prior(mode.offset - here.offset_s) - log_prior(0.0)) if not doubtful else 0.0
            if best is None or gain > best[0]:
                best = (gain, mode.offset)
        if best is not None and best[0] > _SPLIT_GAIN:
            self._set_offset(own, best[1])
            pairs = [p for p in self._table.pair(*self._now()).pairs if p.find in inside and p.in_order]
            if len(pairs) >= _SPLIT_PAIRS[doubtful]:
                self.web = weave(self._ties, self._clips, self._group_of)
                self._bodies = self.web.bodies(len(self.timings))
                return True
        self.groups[:] = kept
        self._group_of = kept_groups
        self.timings.pop()
        return False

    def _candidates(self, body: dict[int, float]) -> tuple[list[Candidate], float]:
        """The body's offsets as it stands and where else votes gather, each tried on the whole day; and none at all.

        All are tried with the spread of first doubt, so that the chosen one has no advantage from being precise.
        """
        root = min(body)
        kept = list(self.timings)
        chosen = kept[root].clock.offset_s - body[root]
        found: list[Candidate] = []
        for mode in self._modes(body, self._members(list(body)), extra=(chosen,)):
            self._set_offset(body, mode.offset)
            found.append(Candidate(mode.offset, self._fit() + mode.prior))
        if not any(abs(c.offset - chosen) < 1.0 for c in found):
            self._set_offset(body, chosen)
            found.append(Candidate(chosen, self._fit() + float(prior_of_tied(chosen, tuple(body.values())))))
        self._set_offset(body, _FAR_S)
        nowhere = self._fit()
        self.timings[:] = kept
        return found, nowhere

    def _reconsider(self) -> bool:
        """Move a body to a better offset, now that the others stand where they belong."""
        moved = False
        for body in self._in_turn():
            if not self._members(list(body)):
                continue
            found, _ = self._candidates(body)
            chosen = self.timings[min(body)].clock.offset_s
            best = max(found, key=lambda c: (c.score, -abs(c.offset)))
            near = max((c.score for c in found if abs(c.offset - chosen) <= _APART_S / 2), default=-_FAR_S)
            if abs(best.offset - chosen) > _APART_S / 2 and best.score > near + _BETTER:
                self._set_offset(body, best.offset)
                moved = True
        return moved

    def _say_doubts(self) -> None:
        """Widen the intervals where other offsets, or none that the log knows, are likely too."""
        for body in self._bodies:
            members = self._members(list(body))
            root = min(body)
            clock = self.timings[root].clock
            if not members or clock.error_s is None:
                continue
            found, nowhere = self._candidates(body)
            grounds = [self._grounds[g] for g in body]
            wrong = prod(1.0 - chance for ground in grounds for chance in ground.firm)
            if wrong < 1.0:
                here = doubt(clock.offset_s, clock.error_s, found, nowhere, chance=1.0 - wrong)
            else:
                # Rows that were written later in one go only say before when their finds were named.
                late = clock.error_s + max(ground.late for ground in grounds)
                here = replace(doubt(clock.offset_s, late, found, nowhere), sure=0.0)
            for g in body:
                self.doubts[g] = here
                mine = self.timings[g].clock
                if mine.error_s is not None:
                    wide = max(mine.error_s, here.error_s)
                    # Minutes are taken as cut off; rounded ones would lie half a minute earlier.
                    wide = hypot(wide, MIDDLE_S) if self._rows.minutes else wide
                    self.timings[g] = replace(
                        self.timings[g], clock=mine.model_copy(update={"error_s": round(wide, 2)})
                    )


def _isnan(value: float) -> bool:
    return bool(value != value)  # noqa: PLR0124 - the definition of nan
