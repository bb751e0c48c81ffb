"""Which finds may fall under the tests of the Treasure Act 1996 and the orders of 2002 and 2023.

Section 1(1)(a): objects, and two or more coins of one find, at least 300 years old and at least a tenth
precious metal; ten or more other coins. Order of 2002: prehistoric metal other than coins, two or more, or partly precious.
Order of 2023, in force on 30 July 2023: at least 200 years old, any part metal, of exceptional importance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from episode.claims.caution_rules import words_of

OLD_YEARS, LATER_YEARS = 300, 200
PRECIOUS_COINS, BASE_COINS, PREHISTORIC = 2, 10, 2


@dataclass(frozen=True)
class Find:
    """An object found: its names and materials (as name keys), and between which years it may lie."""

    find: str
    moment: str
    names: tuple[str, ...]
    materials: frozenset[str]
    period: str
    earliest: int | None
    latest: int | None

    def joined(self, other: Find) -> Find:
        """Two moments of one find as one."""
        starts = [y for y in (self.earliest, other.earliest) if y is not None]
        ends = [y for y in (self.latest, other.latest) if y is not None]
        return replace(
            self,
            names=(*self.names, *other.names),
            materials=self.materials | other.materials,
            earliest=min(starts, default=None),
            latest=max(ends, default=None),
        )


def treasure_cases(finds: Sequence[Find], year: int) -> dict[str, list[Find]]:
    """The finds under each case that has enough of them; a find stands in the strongest case only."""
    precious = [f for f in finds if _precious(f) and _may_be_older(f, year, OLD_YEARS)]
    coins = [f for f in precious if _coin(f)]
    objects = [f for f in precious if not _coin(f)]
    base = [f for f in finds if _coin(f) and not _precious(f) and _known_older(f, year, OLD_YEARS)]
    prehistoric = [f for f in finds if _prehistoric(f) and _metal(f) and not _coin(f)]
    cases = {
        "precious object": [f for f in objects if f.latest is not None or f.earliest is not None],
        "precious object of unknown age": [f for f in objects if f.latest is None and f.earliest is None],
        "precious coins": coins if len(coins) >= PRECIOUS_COINS else [],
        "one precious coin": coins if len(coins) == 1 else [],
        "base coins": base if len(base) >= BASE_COINS else [],
        "prehistoric metal": prehistoric
        if len(prehistoric) >= PREHISTORIC or any(_precious(f) for f in prehistoric)
        else [],
    }
    taken = {id(f) for found in cases.values() for f in found}
    cases["old metal"] = [
        f for f in finds if id(f) not in taken and _metal(f) and _known_older(f, year, LATER_YEARS) and not _coin(f)
    ]
    return cases


def _precious(find: Find) -> bool:
    return any(_has(m, "precious") for m in find.materials) or any(n in words_of("precious terms") for n in find.names)


def _has(words: str, name: str) -> bool:
    padded = f" {words} "
    return any(f" {w} " in padded for w in words_of(name))


def _coin(find: Find) -> bool:
    return any(_has(name, "coins") for name in find.names)


def _metal(find: Find) -> bool:
    return any(_has(m, "metal") for m in find.materials) or _precious(find)


def _prehistoric(find: Find) -> bool:
    return _has(find.period, "prehistoric") or (find.latest is not None and find.latest < 43)


def _may_be_older(find: Find, year: int, age: int) -> bool:
    """Not known to be younger."""
    limit = year - age
    return find.earliest is None or find.earliest <= limit


def _known_older(find: Find, year: int, age: int) -> bool:
    """Some year it may be of is that old."""
    known = find.earliest if find.earliest is not None else find.latest
    return known is not None and known <= year - age
