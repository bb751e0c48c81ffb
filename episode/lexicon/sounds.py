"""How words are said: the trade's own pronunciations, a dictionary, two known words in one, or the letters."""

from __future__ import annotations

import csv
import lzma
from collections.abc import Iterable
from functools import cache

from episode.errors import UnusableInput
from episode.lexicon.letters import spelt_sounds
from episode.lexicon.phones import LETTER
from episode.lexicon.resources import vocab_root

SHORTEST_PART = 4
"""Letters of each known word that an unknown one may be made of."""
SHORTEST_PHONES = 2
COMMONEST_ZIPF = 3.2
"""wordfreq's scale; rarer parts are mostly chance ("antoni nianus")."""

_DIGITS = "zero one two three four five six seven eight nine".split()


def sounds(words: Iterable[str]) -> dict[str, str]:
    """The sound of each word as a string with a letter a phone (``episode.lexicon.phones``).

    Words are folded tokens (lower case, no accents, apostrophes only in contractions). What has no letters
    is read digit by digit, or has no sound.
    """
    return {word: sound for word, (sound, _) in sounds_from(words).items()}


def sounds_from(words: Iterable[str]) -> dict[str, tuple[str, str]]:
    """As ``sounds``, each with where it comes from.

    That is ``trade`` (the trade's own table), ``dictionary``, the two known words (``river + bed``), ``figures``
    or ``letters``; a plural of a word in a table is from that table.
    """
    found: dict[str, tuple[str, str]] = {}
    unknown: list[str] = []
    for word in dict.fromkeys(words):
        known = _known(word) or _spelt(word)
        if known is None:
            unknown.append(word)
        else:
            found[word] = known
    found.update({word: (sound, "letters") for word, sound in spelt_sounds(unknown).items()})
    return found


def _known(word: str) -> tuple[str, str] | None:
    plain = word.replace("'", "")
    if plain.isdigit():
        return "".join(dictionary()[_DIGITS[int(digit)]] for digit in plain if digit.isascii()), "figures"
    if not any("a" <= letter <= "z" for letter in plain):
        return "", "letters"
    for stem, ending in ((plain, ""), *(((plain[:-1], "s"),) if plain.endswith("s") else ())):
        for origin, table in (("trade", trade()), ("dictionary", dictionary())):
            sound = table.get(stem)
            if sound:
                return sound + (_S.get(sound[-1], LETTER["Z"]) if ending else ""), origin
    return _in_two(plain)


def _in_two(word: str) -> tuple[str, str] | None:
    """The sound of two common words written as one; of several ways, the one whose rarer word is the commonest."""
    from wordfreq import zipf_frequency

    best: tuple[float, str, str] = (COMMONEST_ZIPF, "", "")
    for cut in range(SHORTEST_PART, len(word) - SHORTEST_PART + 1):
        parts = (word[:cut], word[cut:])
        left, right = (trade().get(part) or dictionary().get(part) for part in parts)
        if left and right and min(len(left), len(right)) >= SHORTEST_PHONES:
            best = max(best, (min(zipf_frequency(part, "en") for part in parts), left + right, " + ".join(parts)))
    return (best[1], best[2]) if best[1] else None


def _spelt(word: str) -> tuple[str, str] | None:
    sound = spelt().get(word)
    return (sound, "letters") if sound is not None else None


_S = {LETTER[phone]: LETTER["S"] for phone in ("P", "T", "K", "F", "TH")}


@cache
def dictionary() -> dict[str, str]:
    """Word to sound, from the Carnegie Mellon Pronouncing Dictionary.

    Raises:
        UnusableInput: the file is missing or damaged.
    """
    path = vocab_root() / "sounds" / "cmudict.txt.xz"
    try:
        text = lzma.decompress(path.read_bytes()).decode("utf-8")
    except (OSError, lzma.LZMAError, UnicodeDecodeError) as error:
        raise UnusableInput(
            f"cannot be read ({error})", where="vocab/sounds/cmudict.txt.xz", remedy="Install the package again."
        ) from error
    parts = text.split()
    return dict(zip(parts[::2], parts[1::2], strict=True))


@cache
def spelt() -> dict[str, str]:
    """Word to sound, for the vocabulary's words that only the letters tell of.

    What the network (``episode.lexicon.letters``) says of them, kept because it takes half a second to say it.
    """
    text = (vocab_root() / "sounds" / "spelt.csv").read_text(encoding="utf-8")
    return {row["word"]: row["sound"] for row in csv.DictReader(text.splitlines())}


@cache
def trade() -> dict[str, str]:
    """Word to sound, for words of the trade that the dictionary lacks or says otherwise.

    Raises:
        UnusableInput: a row names no phone of ARPAbet.
    """
    text = (vocab_root() / "sounds" / "trade.csv").read_text(encoding="utf-8-sig")
    found: dict[str, str] = {}
    for number, row in enumerate(csv.DictReader(text.splitlines()), start=2):
        phones = (row.get("phones") or "").split()
        if not phones or any(phone not in LETTER for phone in phones):
            raise UnusableInput(
                f"{row.get('phones')!r} are no phones",
                where=f"vocab/sounds/trade.csv, row {number}",
                remedy="Write ARPAbet without stress, a space between phones: T AE G.",
            )
        found[(row.get("word") or "").strip()] = "".join(LETTER[phone] for phone in phones)
    return found
