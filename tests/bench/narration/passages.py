"""Narration with its gold in the text: reading the marked passages, and checking the marks.

    python tests/bench/narration/passages.py FILE     counts, and every name that stands unmarked

A passage is a run of lines, one sentence a line; a blank line ends it; ``#`` begins a remark. A naming is marked
``[words|stance]`` where the vocabulary knows the words, ``[words|term|stance]`` where it does not (plurals,
"another one"), with the stance that a viewer would give it; ``?`` for the stance where people may differ. A
passage without a mark is talk without finds.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from episode.lexicon.book import Lexicon
from episode.lexicon.packs import load_lexicon
from episode.models import Stance

_MARK = re.compile(r"\[([^\[\]|]+)(?:\|([^\[\]|]+))?\|([a-z?]+)\]")


@dataclass(frozen=True)
class Naming:
    """Words said that name a term; ``stance`` is None where people may differ."""

    words: str
    term: str
    stance: Stance | None


@dataclass(frozen=True)
class Line:
    """One sentence as spoken, and what it names."""

    text: str
    namings: tuple[Naming, ...]


def passages(path: Path, lexicon: Lexicon) -> list[list[Line]]:
    """The passages of a file.

    Raises:
        ValueError: a mark is broken, names no term or no stance; says which line.
    """
    found: list[list[Line]] = [[]]
    for number, raw in enumerate(path.read_text("utf-8").splitlines(), start=1):
        text = raw.strip()
        if text.startswith("#"):
            continue
        if not text:
            found.append([])
            continue
        namings = []
        for words, term, stance in _MARK.findall(text):
            known = lexicon.get(term) if term else lexicon.named(words)
            if known is None:
                raise ValueError(f"{path.name}, line {number}: no term is named {term or words!r}")
            if stance != "?" and stance not in list(Stance):
                raise ValueError(f"{path.name}, line {number}: {stance!r} is no stance")
            namings.append(Naming(words, known.term, None if stance == "?" else Stance(stance)))
        plain = _MARK.sub(r"\1", text)
        if set(plain) & set("[]|"):
            raise ValueError(f"{path.name}, line {number}: a mark is broken")
        found[-1].append(Line(plain, tuple(namings)))
    return [lines for lines in found if lines]


def main() -> None:
    lexicon = load_lexicon()
    path = Path(sys.argv[1])
    told = passages(path, lexicon)
    names = {name.casefold() for name, _, _ in lexicon.names()}
    words = marks = 0
    stances: Counter[str] = Counter()
    for lines in told:
        for line in lines:
            words += len(line.text.split())
            marks += len(line.namings)
            stances.update(str(n.stance) for n in line.namings)
            pieces = re.findall(r"[\w'-]+", line.text.casefold())
            own = " ".join(n.words.casefold() for n in line.namings)
            for length in range(5, 0, -1):
                for at in range(len(pieces) - length + 1):
                    some = " ".join(pieces[at : at + length])
                    if (some in names or some.rstrip("s") in names) and some not in own:
                        print(f"unmarked: {some!r} in {line.text!r}")
    print(f"{len(told)} passages, {words} words (about {words / 150:.1f} min), {marks} marks, {dict(stances)}")


if __name__ == "__main__":
    main()
