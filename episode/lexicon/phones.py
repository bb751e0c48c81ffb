"""The sounds of English as single letters, and how readily one is heard as another.

Phones are those of ARPAbet without stress, as in the Carnegie Mellon Pronouncing Dictionary; a word's sound
is a string with one letter a phone. Costs follow articulatory features (place, manner and voice of
consonants, height and backness of vowels; the chart of the International Phonetic Association), with what
recognisers of British field speech confuse made cheap: R and schwa come and go, voicing wavers, T, D and H drop.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

PHONES = tuple(
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH".split()
)
LETTER = dict(zip(PHONES, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklm", strict=True))
PHONE = {letter: phone for phone, letter in LETTER.items()}

_VOWELS = {
    # height (0 open, 3 close) and backness (0 front, 2 back); of a diphthong the middle of its way
    "IY": (3.0, 0.0), "IH": (2.5, 0.3), "EY": (2.3, 0.1), "EH": (1.5, 0.2), "AE": (0.7, 0.3), "AH": (1.2, 1.1),
    "ER": (1.5, 1.0), "AA": (0.0, 1.6), "AO": (1.0, 2.0), "OW": (1.8, 1.8), "UH": (2.5, 1.7), "UW": (3.0, 1.8),
    "AY": (1.2, 0.7), "AW": (1.0, 1.4), "OY": (1.7, 1.2),
}  # fmt: skip
_CONSONANTS = {
    # place (lips 0 to glottis 5), manner, voiced
    "P": (0.0, "stop", 0), "B": (0.0, "stop", 1), "T": (2.0, "stop", 0), "D": (2.0, "stop", 1), "K": (4.0, "stop", 0),
    "G": (4.0, "stop", 1), "F": (0.5, "fric", 0), "V": (0.5, "fric", 1), "TH": (1.5, "fric", 0),
    "DH": (1.5, "fric", 1), "S": (2.0, "sib", 0), "Z": (2.0, "sib", 1), "SH": (2.7, "sib", 0), "ZH": (2.7, "sib", 1),
    "CH": (2.7, "affr", 0), "JH": (2.7, "affr", 1), "HH": (5.0, "fric", 0), "M": (0.0, "nasal", 1),
    "N": (2.0, "nasal", 1), "NG": (4.0, "nasal", 1), "L": (2.2, "glide", 1), "R": (2.4, "glide", 1),
    "W": (0.3, "glide", 1), "Y": (3.0, "glide", 1),
}  # fmt: skip
_MANNERS = {
    frozenset(("stop", "fric")): 0.45, frozenset(("stop", "affr")): 0.4, frozenset(("stop", "sib")): 0.65,
    frozenset(("sib", "affr")): 0.25, frozenset(("sib", "fric")): 0.4, frozenset(("affr", "fric")): 0.5,
    frozenset(("stop", "nasal")): 0.5, frozenset(("nasal", "glide")): 0.55, frozenset(("stop", "glide")): 0.6,
    frozenset(("fric", "glide")): 0.6,
}  # fmt: skip
_PAIRS = {
    ("ER", "AH"): 0.1, ("ER", "R"): 0.35, ("F", "TH"): 0.15, ("V", "DH"): 0.2, ("T", "D"): 0.15, ("AA", "AO"): 0.15,
    ("AA", "AH"): 0.25, ("ER", "AA"): 0.35, ("M", "N"): 0.25, ("N", "NG"): 0.2, ("UW", "W"): 0.4, ("IY", "Y"): 0.4,
    ("R", "L"): 0.35, ("R", "W"): 0.3, ("L", "W"): 0.35, ("L", "OW"): 0.4, ("L", "UH"): 0.4, ("R", "AH"): 0.45,
    ("DH", "D"): 0.25, ("TH", "T"): 0.3, ("TH", "S"): 0.3, ("AO", "L"): 0.6, ("B", "V"): 0.3,
}  # fmt: skip
_DROPPED = {"AH": 0.3, "HH": 0.3, "R": 0.3, "T": 0.4, "D": 0.4, "ER": 0.45, "Y": 0.4, "S": 0.9, "SH": 0.9, "CH": 0.9}
_DROPPED_VOWEL = 0.5
_DROPPED_CONSONANT = 0.65
_APART = 1.0
_COARSE = {
    "P": "p", "B": "p", "F": "f", "V": "f", "TH": "t", "DH": "t", "T": "t", "D": "t", "K": "k", "G": "k", "S": "s",
    "Z": "s", "SH": "s", "ZH": "s", "CH": "s", "JH": "s", "M": "m", "N": "m", "NG": "m", "L": "l", "R": "", "W": "w",
    "Y": "", "HH": "",
}  # fmt: skip


@cache
def costs() -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """What it costs to hear one phone as another, and to miss or add one: shapes (40, 40) and (40,).

    Number 0 is no phone; ``numbers`` gives the others. 0 is the same sound, 1 is as unlike as can be.
    """
    import numpy as np

    swap = np.full((len(PHONES) + 1, len(PHONES) + 1), _APART, dtype=np.float32)
    drop = np.full(len(PHONES) + 1, _DROPPED_CONSONANT, dtype=np.float32)
    drop[0] = 0.0
    for first, a in enumerate(PHONES, start=1):
        drop[first] = _DROPPED.get(a, _DROPPED_VOWEL if a in _VOWELS else _DROPPED_CONSONANT)
        for second, b in enumerate(PHONES, start=1):
            swap[first, second] = 0.0 if a == b else _swap(a, b)
    return swap, drop


@cache
def skeleton(sound: str) -> str:
    """The consonants of a sound in seven classes that are seldom confused, doubles made one; R and H left out."""
    classes = [_COARSE.get(PHONE[letter], "") for letter in sound]
    return "".join(c for place, c in enumerate(classes) if c and (place == 0 or classes[place - 1] != c))


def numbers(sound: str) -> list[int]:
    """The phones of a sound as places in ``costs``."""
    return [_NUMBER[letter] for letter in sound]


_NUMBER = {letter: number for number, letter in enumerate(PHONE, start=1)}


def _swap(a: str, b: str) -> float:
    pair = _PAIRS.get((a, b), _PAIRS.get((b, a)))
    if pair is not None:
        return pair
    if a in _VOWELS and b in _VOWELS:
        (high, back), (other_high, other_back) = _VOWELS[a], _VOWELS[b]
        far = ((high - other_high) ** 2 + (back - other_back) ** 2) ** 0.5
        return float(min(0.6, 0.1 + 0.2 * far))
    if a in _CONSONANTS and b in _CONSONANTS:
        (place, manner, voice), (other_place, other_manner, other_voice) = _CONSONANTS[a], _CONSONANTS[b]
        ways = 0.0 if manner == other_manner else _MANNERS.get(frozenset((manner, other_manner)), 0.8)
        return float(min(_APART, 0.1 + ways + 0.18 * min(3.0, abs(place - other_place)) + 0.1 * (voice != other_voice)))
    return _APART
