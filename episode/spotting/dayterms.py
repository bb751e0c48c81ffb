"""Terms that only this day has: objects, makers and places of its log and settings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from rapidfuzz import fuzz, process

from episode.lexicon.book import Lexicon
from episode.models import Kind, LogEntry, Settings, Term
from episode.spotting.everyday import zipf
from episode.spotting.names import plurals
from episode.spotting.stream import name_tokens

MOST_WORDS = 5
MOST_TERMS = 500
SHORTEST_LETTERS = 4
ORDINARY_ZIPF = 3.5
SHORTEST_SLIP = 5
SLIP = 84
"""A word of the log this like a known name (rapidfuzz ratio) is a misspelling of it, not a name of its own."""

_EMPTY = frozenset(
    "unknown unidentified tbc tbd na none nil misc miscellaneous various mixed other object thing find item "
    "unsure query todo test yes no see photo ask".split()
)
_HEDGES = re.compile(
    r"\b(?:possible|possibly|probable|probably|poss|prob|maybe|perhaps|likely|part of|fragment of|piece of|bit of)\b\.?",
    re.I,
)
_FIRM = re.compile(r"\s*(?:ltd|limited|inc|son|sons|bros|brothers|co|company|jr|jnr|sr|snr|&|and)\b", re.I)
_LEAD = re.compile(r"^(?:an?|the|some|\d+|one|two|three|four|five|six|several|few|pair of|x\d+|\d+x)\s+", re.I)


def day_terms(log: Sequence[LogEntry], settings: Settings, lexicon: Lexicon) -> tuple[Term, ...]:
    """What the log and the settings name that no term already does, for the caller to add to the lexicon.

    A cell becomes a term when it reads like a name: at most five words, letters rather than figures, not a
    question, a note or a placeholder, and not one common word. The order is the log's; each comes once.
    """
    found: dict[str, Term] = {}
    single = [name.casefold() for name, _, _ in lexicon.names() if " " not in name]
    for text, kind in _cells(log, settings):
        name = _name(text)
        tokens = name_tokens(name)
        key = " ".join(tokens)
        if "://" in text or not tokens or key in found or not _is_name(tokens, name):
            continue
        if _known(name, tokens, lexicon, single):
            continue
        label = name if kind in (Kind.MAKER, Kind.PLACE) else name.lower()
        found[key] = Term(term=label, kind=kind, also=_also(label), pack="day")
        if len(found) >= MOST_TERMS:
            break
    return tuple(found.values())


def expected(settings: Settings) -> tuple[str, ...]:
    """What the settings name, for the spotting to expect as it expects what the log names."""
    return tuple(text for text, _ in _cells((), settings))


def _also(label: str) -> tuple[str, ...]:
    """An ampersand or a plus is written and said as "and"."""
    said = re.sub(r"\s*[&+]\s*", " and ", label).strip()
    return (said,) if said != label else ()


def _cells(log: Sequence[LogEntry], settings: Settings) -> Iterable[tuple[str, Kind]]:
    for entry in log:
        for piece in () if "://" in entry.object else re.split(r"[;/]|\s\+\s", entry.object):
            yield piece, Kind.OBJECT
        for piece in re.split(r"[;/]", entry.maker):
            # "Wrenfield, Thesselmouth": who, then where.
            maker, _, place = piece.partition(",")
            yield maker, Kind.MAKER
            if not _FIRM.match(place):
                yield place, Kind.PLACE
        yield entry.place, Kind.PLACE
    for piece in settings.place.split(","):
        yield piece, Kind.PLACE
    for link in settings.links:
        # Only proper names: "mineral water makers" is what a link is about, not a name of the day.
        for text in link.about:
            if text.strip()[:1].isupper() and sum(word[:1].isupper() for word in text.split()) > 1:
                yield text, Kind.MAKER


def _name(text: str) -> str:
    plain = re.sub(r"\([^)]*\)|\[[^]]*\]", " ", text)
    plain = _HEDGES.sub(" ", plain)
    plain = re.sub(r"\s+", " ", plain.split(",")[0].split(" - ")[0]).strip(" .:;!\"'“”‘’*#")
    return _LEAD.sub("", plain).strip()


def _is_name(tokens: tuple[str, ...], name: str) -> bool:
    letters = sum(c.isalpha() for c in name)
    if "?" in name or len(tokens) > MOST_WORDS or letters < SHORTEST_LETTERS:
        return False
    if letters < 0.7 * sum(not c.isspace() for c in name) or re.search(r"https?:|www\.|@|[<>{}=\\|]|^[+\-=@]", name):
        return False
    if any(token in _EMPTY for token in tokens) or any(len(token) > 24 for token in tokens):
        return False
    # Only common words make no name of their own: "nice thing", "blue and white".
    return any(zipf(token) < ORDINARY_ZIPF for token in tokens) or (
        len(tokens) > 1 and name[:1].isupper() and name.istitle()
    )


def _known(name: str, tokens: tuple[str, ...], lexicon: Lexicon, single: Sequence[str]) -> bool:
    if lexicon.named(name) or lexicon.named(" ".join(tokens)):
        return True
    if any(lexicon.named(" ".join(form)) for form in plurals(tokens)):
        return True
    return all(_nearly_known(token, lexicon, single) for token in tokens)


def _nearly_known(token: str, lexicon: Lexicon, single: Sequence[str]) -> bool:
    """Whether the word is a name, an ordinary word, or a slip of the pen for a name ("creamwear", "bukle")."""
    if lexicon.named(token) or zipf(token) >= ORDINARY_ZIPF:
        return True
    if len(token) < SHORTEST_SLIP:
        return False
    return process.extractOne(token, single, scorer=fuzz.ratio, score_cutoff=SLIP) is not None
