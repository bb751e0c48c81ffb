"""How an unknown word is said, from its letters: a small network, run in numpy.

Encoder and decoder of one gated recurrent layer each (Cho and others 2014); the weights and where they come
from are told in ``vocab/sounds/README.md``. A few thousand words take a second.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any

from episode.lexicon.resources import vocab_root

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LONGEST_WORD = 30
LONGEST_SOUND = 24
BATCH = 512
_UNKNOWN, _END, _FIRST = 1, 2, 3
_SAY, _STOP = 2, 3


def spelt_sounds(words: Iterable[str]) -> dict[str, str]:
    """The sound of each word, as a letter a phone. Words are lower case; other letters than a to z are passed over."""
    listed = sorted(set(words), key=lambda word: (len(word), word))
    found: dict[str, str] = {}
    for begin in range(0, len(listed), BATCH):
        some = listed[begin : begin + BATCH]
        found.update(zip(some, _read(some), strict=True))
    return found


def _read(words: list[str]) -> list[str]:
    import numpy as np

    net = _network()
    spelt = [[_FIRST + ord(c) - 97 for c in word[:LONGEST_WORD] if "a" <= c <= "z"] for word in words]
    steps = max(len(letters) for letters in spelt) + 1
    hidden = np.zeros((len(words), net["enc_w_hh"].shape[1]), dtype=np.float32)
    for step in range(steps):
        live = np.array([step <= len(letters) for letters in spelt])
        now = [letters[step] if step < len(letters) else _END for letters in spelt]
        following = _gru(net["enc_emb"][now], hidden, net, "enc")
        hidden = np.where(live[:, None], following, hidden)
    said = [""] * len(words)
    last = np.full(len(words), _SAY)
    open_ = np.ones(len(words), dtype=bool)
    for _ in range(LONGEST_SOUND):
        hidden = _gru(net["dec_emb"][last], hidden, net, "dec")
        last = np.argmax(hidden @ net["fc_w"].T + net["fc_b"], axis=1)
        open_ &= last != _STOP
        if not open_.any():
            break
        for place in np.flatnonzero(open_):
            said[place] += str(net["phones"][last[place]])
    return said


def _gru(given: NDArray[np.float32], hidden: NDArray[np.float32], net: dict[str, Any], part: str) -> Any:
    import numpy as np

    inward = given @ net[f"{part}_w_ih"].T + net[f"{part}_b_ih"]
    onward = hidden @ net[f"{part}_w_hh"].T + net[f"{part}_b_hh"]
    width = hidden.shape[1]
    gates = 1 / (1 + np.exp(-(inward[:, : 2 * width] + onward[:, : 2 * width])))
    reset, keep = gates[:, :width], gates[:, width:]
    fresh = np.tanh(inward[:, 2 * width :] + reset * onward[:, 2 * width :])
    return (1 - keep) * fresh + keep * hidden


@cache
def _network() -> dict[str, Any]:
    import numpy as np

    kept = np.load(io.BytesIO((vocab_root() / "sounds" / "letters.npz").read_bytes()), allow_pickle=False)
    net: dict[str, Any] = {"phones": kept["phones"]}
    for name in kept:
        if name.endswith("_scale") or name == "phones":
            continue
        scale = kept.get(f"{name}_scale", 1.0)
        net[name] = kept[name].astype(np.float32) * scale
    return net
