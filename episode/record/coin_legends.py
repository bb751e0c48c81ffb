"""The name and titles on an English or British coin to the reign that they belong to."""

from __future__ import annotations

import csv
import re
from functools import lru_cache

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root
from episode.record import edtf_out
from episode.record.load import load_record, name_key
from episode.record.reading import Mark
from episode.record.reigns import reigns

_NUMERALS = {"IIII": "IV", "1": "", "I": ""}
_MEMORY = "from memory"
_REMEDY = "Write what can be read, such as: legend CAROLVS II DEI GRATIA."


def read_legend(text: str) -> Mark:
    """The reign, or reigns, that a legend names; letters that the moneyers used for each other count as the same.

    Raises:
        UnusableInput: it names no sovereign that is known here.
    """
    words = _words(text)
    row, numeral = _row(words)
    if row is None:
        raise UnusableInput(
            "names no English or British sovereign" + (f" with the number {numeral}" if numeral else ""),
            where=text.strip()[:60] or "legend",
            remedy=_REMEDY,
        )
    named = [reigns()[name_key(name)] for name in row["reigns"].split(";")]
    first, last = named[0].first[0], named[-1].last[0] if named[-1].last else None
    sources = [row["source"]]
    cautions = [f"{row['note'][:1].upper()}{row['note'][1:]}."] if row["note"] else []
    for title in _titles():
        if title["reign"] == row["reigns"] and any(_has(words, said) for said in title["title"].split(";")):
            first = max(first, int(title["from"])) if title["from"] else first
            last = min(last, int(title["to"])) if title["to"] and last is not None else last
            sources.append(title["source"])
            cautions.append(f"{title['note']}.")
    if _MEMORY in sources:
        cautions.append("That this name stands so on the coins is from memory: look at the coin in a catalogue.")
    who = named[0].name if len(named) == 1 else f"one of {named[0].name} to {named[-1].name}"
    sources = [named[0].fact.source, *sources]
    shown = "; ".join(dict.fromkeys(load_record().reference(s) for s in sources if s != _MEMORY))
    return Mark(
        kind="coin legend", text=f"legend {' '.join(text.split())}", says=f"{who}: {first} to {last or 'now'}",
        from_=first, to=last, edtf=edtf_out.interval(first, last), source=shown, cautions=tuple(cautions),
    )  # fmt: skip


def _words(text: str) -> list[str]:
    folded = text.upper().replace("J", "I").replace("U", "V")
    return re.findall(r"[A-Z]+|\d+", folded)


def _row(words: list[str]) -> tuple[dict[str, str] | None, str]:
    """The longest name that is read, with its numeral."""
    best: tuple[int, int, dict[str, str]] | None = None
    for row in _legends():
        for name in row["name"].split(";"):
            parts = name.split()
            for at in range(len(words) - len(parts) + 1):
                if words[at : at + len(parts)] != parts:
                    continue
                after = words[at + len(parts)] if at + len(parts) < len(words) else ""
                numeral = _NUMERALS.get(after, after) if re.fullmatch(r"[IVX]{1,4}|\d", after) else ""
                if numeral == row["numeral"] and (best is None or len(parts) > best[0]):
                    best = (len(parts), at, row)
    if best:
        return best[2], best[2]["numeral"]
    return None, next((w for w in words if re.fullmatch(r"[IVX]{1,4}", w)), "")


def _has(words: list[str], title: str) -> bool:
    parts = title.split()
    return any(words[at : at + len(parts)] == parts for at in range(len(words)))


@lru_cache(maxsize=1)
def _legends() -> list[dict[str, str]]:
    return _table("coin_legends.csv")


@lru_cache(maxsize=1)
def _titles() -> list[dict[str, str]]:
    return _table("coin_titles.csv")


def _table(name: str) -> list[dict[str, str]]:
    path = vocab_root().joinpath("record").joinpath(name)
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
