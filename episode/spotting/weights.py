"""The fitted weights of ``vocab/spotting``, read once."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from episode.errors import UnusableInput
from episode.lexicon.resources import vocab_root


@cache
def weights(file: str) -> dict[str, Any]:
    """What a file of weights holds.

    Raises:
        UnusableInput: it is missing or damaged.
    """
    path = vocab_root() / "spotting" / file
    try:
        found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise UnusableInput(
            f"cannot be read ({error})", where=f"vocab/spotting/{file}", remedy="Install the package again."
        ) from error
    return found
