"""How published rules turn "early", "circa" and their like into years. The rules are data; they disagree."""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root

DEFAULT = "historic-england"


@dataclass
class Convention:
    """One set of rules.

    ``century`` and ``decade`` map a part (``early``, ``second half`` ...) to its first and last year inside
    the unit: 1 to 100 in a century, 0 to 9 in a decade. ``circa`` is the half-width in years of "about 1780".
    ``bound`` gives the years beside the one named that "before" and "after" take in; ``None`` is open.
    ``counts_later_acts`` is whether a catalogue's "cast 1958" widens the years of a thing of 1928.
    ``rules`` names the source of each.
    """

    name: str
    century: dict[str, tuple[int, int]] = field(default_factory=dict)
    decade: dict[str, tuple[int, int]] = field(default_factory=dict)
    circa: int = 0
    bound: dict[str, tuple[int | None, int | None]] = field(
        default_factory=lambda: {"before": (None, 0), "after": (0, None)}
    )
    counts_later_acts: bool = True
    rules: dict[str, str] = field(default_factory=dict)


@lru_cache(maxsize=1)
def conventions() -> dict[str, Convention]:
    """Every convention of ``vocab/record/date_rules.csv`` by name.

    A part that a convention does not fix is taken from ``common`` (halves, quarters, parts of a decade).

    Raises:
        UnusableInput: the file is missing or a row has no usable numbers.
    """
    path = vocab_root().joinpath("record").joinpath("date_rules.csv")
    try:
        rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    except OSError as error:
        raise UnusableInput(
            "the date rules cannot be read", where=str(path), remedy="Install the package again."
        ) from error
    found: dict[str, Convention] = {}
    for number, row in enumerate(rows, start=2):
        convention = found.setdefault(row["convention"], Convention(row["convention"]))
        try:
            _add(convention, row)
        except (ValueError, AttributeError) as error:
            raise UnusableInput("from and to must be whole numbers", where=f"{path}, row {number}") from error
        convention.rules[f"{row['unit']} {row['part']}"] = row["source"]
    common = found.pop("common", Convention("common"))
    for convention in found.values():
        for unit in ("century", "decade"):
            for part, years in getattr(common, unit).items():
                getattr(convention, unit).setdefault(part, years)
    return found


def _add(convention: Convention, row: dict[str, str]) -> None:
    """One row put into its convention; only "before" and "after" may be open, that is blank, at an end."""
    unit, part = row["unit"], row["part"]
    if unit == "bound":
        convention.bound[part] = (int(row["from"]) if row["from"] else None, int(row["to"]) if row["to"] else None)
    elif unit == "act":
        convention.counts_later_acts = int(row["to"]) > 0
    elif unit == "year":
        convention.circa = int(row["to"])
    else:
        getattr(convention, unit)[part] = (int(row["from"]), int(row["to"]))


def convention_named(name: str) -> Convention:
    """The convention of that name.

    Raises:
        UnusableInput: there is none; the message lists those there are.
    """
    known = conventions()
    try:
        return known[name]
    except KeyError:
        raise UnusableInput(
            f"there is no date convention called “{name}”", remedy="Choose one of: " + ", ".join(sorted(known)) + "."
        ) from None
