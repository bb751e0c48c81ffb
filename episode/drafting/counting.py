"""Things counted in words: "two pins", "three pieces of creamware", "a pipe bowl, a pin and a token"."""

from __future__ import annotations

import functools
import sys
from collections.abc import Iterable, Sequence
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import inflect


def counted(number: int, name: str, *, mass: bool = False) -> str:
    """``number`` things called ``name``, in words: "a pin", "two pins"; ``mass`` names ("creamware") by the piece."""
    words = _words()
    if mass:
        piece = "a piece" if number == 1 else f"{number_in_words(number)} pieces"
        return f"{piece} of {name}"
    if number == 1:
        return name if words.singular_noun(name) and not name.endswith("ss") else str(words.a(name))
    return f"{number_in_words(number)} {plural(name)}"


def series(parts: Sequence[str]) -> str:
    """A list as it is read aloud: "a, b and c"."""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1] if parts else ""


def plural(name: str) -> str:
    """More than one of ``name``; "piece of glass" gives "pieces of glass"."""
    head, of, rest = name.partition(" of ")
    words = _words()
    many = words.singular_noun(head) and not head.endswith("ss")
    return (head if many else str(words.plural_noun(head) or head)) + of + rest


def number_in_words(number: int) -> str:
    """Numbers up to a hundred in words, digits above."""
    return str(_words().number_to_words(str(number))) if 0 <= number <= 100 else f"{number:,}"


def ordinal_in_words(number: int) -> str:
    """first, second, third, ..."""
    engine = _words()
    return str(engine.ordinal(number_in_words(number)))


def tally(names: Iterable[tuple[str, bool]]) -> list[str]:
    """Each distinct ``(name, mass)`` counted in words, in the order in which they first came."""
    counts: dict[tuple[str, bool], int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    return [counted(count, name, mass=mass) for (name, mass), count in counts.items()]


@functools.cache
def _words() -> inflect.engine:
    # The library checks every argument of its own calls: rewriting its code for that takes over a second, and to
    # load the checker alone takes as long as all the rest. It is given one that checks nothing.
    lenient = ModuleType("typeguard")
    lenient.typechecked = _unchecked  # type: ignore[attr-defined]
    strict = sys.modules.get("typeguard")
    sys.modules["typeguard"] = lenient
    try:
        import inflect
    finally:
        if strict is None:
            del sys.modules["typeguard"]
        else:
            sys.modules["typeguard"] = strict
    return inflect.engine()


def _unchecked(target: Any = None, **_: object) -> Any:
    return target if target is not None else _unchecked
