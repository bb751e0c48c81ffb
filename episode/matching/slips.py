"""What is wrong with camera clocks before anything is seen: how often, where, how widely."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

HOUR_S = 3600.0
DAY_S = 86400.0
_SET_BY_HAND_S = 90.0
"""How far a clock that a person set is off, by a minute hand."""

# Weight, centre, spread. The weights are estimates of the author, no source. Hours are summer time and time zones,
# halves and quarters the zones that keep them, twelve hours a morning taken for an evening, days a date set wrongly.
_SLIPS = (
    (0.62, 0.0, _SET_BY_HAND_S),
    (0.15, 0.0, 900.0),
    *((0.035, sign * HOUR_S, _SET_BY_HAND_S) for sign in (-1, 1)),
    *((0.0015, sign * hours * HOUR_S, _SET_BY_HAND_S) for hours in range(2, 15) for sign in (-1, 1)),
    *((0.0004, sign * (hours + 0.5) * HOUR_S, _SET_BY_HAND_S) for hours in range(13) for sign in (-1, 1)),
    *((0.0002, sign * hours * HOUR_S, _SET_BY_HAND_S) for hours in (5.75, 8.75, 12.75) for sign in (-1, 1)),
    *((0.005, sign * 12 * HOUR_S, _SET_BY_HAND_S) for sign in (-1, 1)),
    *((0.006, sign * DAY_S, _SET_BY_HAND_S) for sign in (-1, 1)),
    *((0.001, sign * (DAY_S + more), _SET_BY_HAND_S) for sign in (-1, 1) for more in (-HOUR_S, HOUR_S)),
    *((0.001, sign * days * DAY_S, _SET_BY_HAND_S) for days in range(2, 8) for sign in (-1, 1)),
    *((0.0002, sign * days * DAY_S, _SET_BY_HAND_S) for days in (*range(8, 32), 365, 366) for sign in (-1, 1)),
)
_WITHIN_A_DAY = 0.02
_ANYWHERE = 1e-11
"""A density a second: a clock that was never set stands at a date of its maker's."""


def log_prior(offset: ArrayLike) -> NDArray[np.float64]:
    """Log density of offsets (seconds) before anything is seen; it favours none, then whole hours, then days."""
    import numpy as np

    at = np.asarray(offset, dtype=float)[..., None]
    weight, centre, spread = np.array(_SLIPS).T
    off = np.minimum(((at - centre) / spread) ** 2, 1400.0)
    peaks = (weight * np.exp(-0.5 * off) / (spread * np.sqrt(2 * np.pi))).sum(axis=-1)
    wide = np.where(np.abs(at[..., 0]) <= DAY_S, _WITHIN_A_DAY / (2 * DAY_S), 0.0)
    found: NDArray[np.float64] = np.log(peaks + wide + _ANYWHERE)
    return found


def prior_of_tied(offset: ArrayLike, apart: tuple[float, ...]) -> NDArray[np.float64]:
    """The same for cameras that are tied: each one's clock is ``offset`` and its own of ``apart`` (seconds).

    The cameras' mistakes are taken as independent; the density is brought back to a sum of one over ``offset``.
    """
    import numpy as np

    if len(apart) < 2:
        return log_prior(np.asarray(offset, dtype=float) + sum(apart))
    centres = np.unique(np.round([c - a for _, c, _ in _SLIPS for a in apart]))
    steps = np.arange(-450.0, 451.0, 30.0)
    grid = np.unique(np.concatenate([(centres[:, None] + steps[None, :]).ravel(), np.arange(-DAY_S, DAY_S, 600.0)]))
    density = np.exp(sum((log_prior(grid + a) for a in apart), np.zeros(len(grid))))
    total = float((0.5 * (density[1:] + density[:-1]) * np.diff(grid)).sum())
    whole = sum((log_prior(np.asarray(offset, dtype=float) + a) for a in apart), np.zeros(np.shape(offset)))
    return np.asarray(whole - np.log(max(total, 1e-300)), dtype=np.float64)


def slip(offset: float) -> str:
    """What a clock that is so far off was probably set to, in words; nothing where it is no usual mistake."""
    size = abs(offset)
    way = "behind" if offset > 0 else "ahead"
    days, rest = round(size / DAY_S), size % DAY_S
    off_day = min(rest, DAY_S - rest)
    if days and off_day <= 300.0:
        return f"its date is {'a day' if days == 1 else f'{days} days'} {way}"
    if abs(size - 12 * HOUR_S) <= 300.0:
        return f"it is twelve hours {way}: morning and evening were taken for each other"
    halves = round(size / (HOUR_S / 2))
    if 1 <= halves <= 28 and abs(size - halves * HOUR_S / 2) <= 300.0:
        hours = "an hour" if halves == 2 else "half an hour" if halves == 1 else f"{halves / 2:g} hours"
        return f"it is {hours} {way}: {'summer time or ' if halves == 2 else ''}another time zone"
    return ""
