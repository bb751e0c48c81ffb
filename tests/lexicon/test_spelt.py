"""The sounds kept for the vocabulary's words are those that the network gives."""

from __future__ import annotations

import csv
import lzma
import sys

from episode.lexicon import sounds as said
from episode.lexicon.letters import spelt_sounds
from episode.lexicon.packs import load_lexicon
from episode.lexicon.phones import PHONE
from episode.lexicon.resources import vocab_root
from episode.models import How
from episode.spotting.names import Names


def unknown_words() -> list[str]:
    """Words of the vocabulary's names that no table tells the sound of."""
    names = Names(load_lexicon().names()).listed
    words = {word for tokens, _, how in names if how is not How.MISHEARING for word in tokens}
    return sorted(word for word in words if said._known(word) is None)


def test_the_sounds_kept_are_those_of_the_vocabulary_by_the_network():
    words = unknown_words()
    assert list(said.spelt()) == words, "run `make spelt`"
    assert said.spelt() == spelt_sounds(words), "run `make spelt`"


def test_they_count_as_read_from_the_letters():
    word = unknown_words()[0]
    assert said.sounds_from([word]) == {word: (spelt_sounds([word])[word], "letters")}


def test_the_dictionary_is_read_whole():
    text = lzma.decompress((vocab_root() / "sounds" / "cmudict.txt.xz").read_bytes()).decode()
    assert said.dictionary() == dict(line.split(" ") for line in text.splitlines())
    assert [PHONE[letter] for letter in said.dictionary()["pipe"]] == ["P", "AY", "P"]


def write() -> None:
    """Write the table anew, on standard output."""
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["word", "sound"])
    out.writerows(sorted(spelt_sounds(unknown_words()).items()))


if __name__ == "__main__":
    write()
