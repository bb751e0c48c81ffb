"""Mending a recogniser's tokenizer whose list of merges lost entries.

Byte-pair encoding joins symbols in the order of ``model.merges``, and each merge makes one entry of
``model.vocab``. Where the merge that makes ``Ġt`` (a space and a t) is missing, as in a widespread copy of
the multilingual file, " the", " to" and " tile" cannot be built and fall into letters that the recogniser
never saw in training. What it writes is not changed by that, but every text given to it (prompts, hints,
the sentences of a forced alignment) is.
"""

from __future__ import annotations

import json
from typing import Any


def repaired(tokenizer: bytes) -> bytes:
    """The tokenizer file with its missing merges put back; the very same bytes if none is missing.

    Only merges of two single symbols are put back: those can be told from the vocabulary alone, and their
    place in the order is that of the vocabulary's numbers.

    Raises:
        ValueError: not a tokenizer file of the byte-pair kind.
    """
    data = json.loads(tokenizer)
    try:
        vocabulary: dict[str, int] = data["model"]["vocab"]
        merges: list[Any] = data["model"]["merges"]
        made = {"".join(_pair(merge)) for merge in merges}
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError("not a byte-pair tokenizer") from error
    missing = [
        token for token in vocabulary if len(token) == 2 and token not in made and set(token) <= vocabulary.keys()
    ]
    if not missing:
        return tokenizer
    as_text = not merges or isinstance(merges[0], str)
    for token in sorted(missing, key=vocabulary.__getitem__):
        place = sum(1 for merge in merges if vocabulary.get("".join(_pair(merge)), -1) < vocabulary[token])
        merges.insert(place, f"{token[0]} {token[1]}" if as_text else [token[0], token[1]])
    return json.dumps(data, ensure_ascii=False).encode()


def _pair(merge: str | list[str]) -> list[str]:
    """The two sides of a merge, which newer files write as a list and older ones with a space between."""
    return merge.split(" ") if isinstance(merge, str) else list(merge)
