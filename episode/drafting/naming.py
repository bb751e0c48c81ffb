"""What to call a moment in a few plain words."""

from __future__ import annotations

import csv
import functools
from typing import TYPE_CHECKING

from episode.drafting.outgoing import outgoing
from episode.lexicon.resources import vocab_root
from episode.models import Kind, LogEntry, Moment, Settings, Stance

if TYPE_CHECKING:
    from episode.lexicon.book import Lexicon

_BY_THE_PIECE = frozenset({Kind.WARE, Kind.MATERIAL})


def name_of(moment: Moment, settings: Settings, entry: LogEntry | None = None) -> str:
    """The moment's own title, else its term, else its log entry's object, else an empty string; blurred."""
    name = moment.title or moment.term or (entry.object if entry else "")
    return outgoing(name, settings).rstrip("?.!,;: ")


def is_unknown(moment: Moment) -> bool:
    """Whether nobody could say what it is: only guesses, or shown without a name."""
    return moment.stance is Stance.UNSURE or (moment.stance is Stance.FOUND and not (moment.term or moment.title))


def is_mass(moment: Moment, lexicon: Lexicon | None = None) -> bool:
    """Whether its name is counted by the piece (a ware or a material: "two pieces of creamware")."""
    if moment.term in by_the_piece() and moment.title.casefold() in ("", (moment.term or "").casefold()):
        return True
    title = moment.title.casefold()
    if title and moment.term and title != moment.term.casefold():
        return any(m.kind in _BY_THE_PIECE and title.endswith(m.term.casefold()) for m in moment.mentions)
    term = lexicon.get(moment.term) if lexicon and moment.term else None
    if term is not None:
        return term.kind in _BY_THE_PIECE
    return any(m.term == moment.term and m.kind in _BY_THE_PIECE for m in moment.mentions)


@functools.cache
def by_the_piece() -> frozenset[str]:
    """Terms that are kept as objects and yet have no number of their own, from ``vocab/rules/by_the_piece.csv``."""
    text = vocab_root().joinpath("rules", "by_the_piece.csv").read_text(encoding="utf-8-sig")
    return frozenset(row["term"] for row in csv.DictReader(text.splitlines()))
