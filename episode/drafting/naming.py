"""What to call a moment in a few plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from episode.drafting.outgoing import outgoing
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
    title = moment.title.casefold()
    if title and moment.term and title != moment.term.casefold():
        return any(m.kind in _BY_THE_PIECE and title.endswith(m.term.casefold()) for m in moment.mentions)
    term = lexicon.get(moment.term) if lexicon and moment.term else None
    if term is not None:
        return term.kind in _BY_THE_PIECE
    return any(m.term == moment.term and m.kind in _BY_THE_PIECE for m in moment.mentions)
