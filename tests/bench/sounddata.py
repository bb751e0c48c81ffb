"""Makes the two data files of ``vocab/sounds`` from the published ones.

    python tests/bench/sounddata.py cmudict CMUDICT.DICT       -> vocab/sounds/cmudict.txt.xz
    python tests/bench/sounddata.py letters CHECKPOINT.NPZ     -> vocab/sounds/letters.npz, and how well it reads

The first is the Carnegie Mellon Pronouncing Dictionary (its first pronunciation a word, stress left out, a
letter a phone, apostrophes left out). The second are the weights of a small letter-to-sound network published
under Apache-2.0 (encoder and decoder of one GRU layer each, 256 wide, trained on the same dictionary), kept
in 8 bits with one scale a row.
"""

from __future__ import annotations

import lzma
import random
import re
import sys
from pathlib import Path

import numpy as np

from episode.lexicon.phones import LETTER, PHONES

TO = Path(__file__).parents[2] / "vocab" / "sounds"
STRESSED = "AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW".split()


def main() -> None:
    what, path = sys.argv[1], Path(sys.argv[2])
    if what == "cmudict":
        cmudict(path)
    else:
        letters(path)


def cmudict(path: Path) -> None:
    words: dict[str, str] = {}
    for line in path.read_text("utf-8").splitlines():
        word, *phones = line.split("#")[0].split()
        key = word.replace("'", "")
        if not re.fullmatch(r"[a-z][a-z']*", word) or ("'" in word and key in words):
            continue
        words[key] = "".join(LETTER[re.sub(r"\d", "", phone)] for phone in phones)
    text = "".join(f"{word} {phones}\n" for word, phones in sorted(words.items()))
    (TO / "cmudict.txt.xz").write_bytes(lzma.compress(text.encode(), preset=9 | lzma.PRESET_EXTREME))
    print(len(words), "words")


def letters(path: Path) -> None:
    given = np.load(path)
    known = ["", "", "", ""]  # padding, unknown, begin, end
    for phone in sorted(PHONES):
        # The published list gives each vowel in three stresses, and one "UW" without.
        forms = [phone + stress for stress in "012"] if phone in STRESSED else [phone]
        known += (["UW"] if phone == "UW" else []) + forms
    kept: dict[str, np.ndarray] = {"phones": np.array([LETTER.get(p.rstrip("012"), "") for p in known])}
    for name in given:
        weights = given[name]
        if weights.ndim == 1:
            kept[name] = weights.astype(np.float16)
            continue
        scale = np.abs(weights).max(axis=1, keepdims=True) / 127
        kept[name] = np.round(weights / scale).astype(np.int8)
        kept[name + "_scale"] = scale.astype(np.float32)
    np.savez_compressed(TO / "letters.npz", **kept)
    from episode.lexicon.letters import spelt_sounds
    from episode.lexicon.sounds import dictionary

    sample = random.Random(1).sample(sorted(dictionary().items()), 2000)
    read = spelt_sounds([word for word, _ in sample])
    right = sum(read[word] == phones for word, phones in sample)
    from rapidfuzz.distance import Levenshtein

    wrong = sum(Levenshtein.distance(read[word], phones) for word, phones in sample)
    total = sum(len(phones) for _, phones in sample)
    print(f"{right / len(sample):.3f} of 2,000 dictionary words right, {wrong / total:.3f} phones wrong")


if __name__ == "__main__":
    main()
