"""Work that several places ask for and that is done once."""

from __future__ import annotations

import functools
from collections import deque
from collections.abc import Callable
from typing import ParamSpec, TypeVar

Asked = ParamSpec("Asked")
Got = TypeVar("Got")

_MOST = 2
"""Results remembered a function: those of a day and of its film."""


def once_for_the_same(work: Callable[Asked, Got]) -> Callable[Asked, Got]:
    """Remember what ``work`` gave for the very same objects, for the last two of them.

    For values that never change: objects are told by identity, since comparing a day's transcript or hashing it costs
    as much as the work. A remembered result keeps what it was made from, so that no other object takes its identity.
    """
    done: deque[tuple[tuple[object, ...], Got]] = deque(maxlen=_MOST)

    @functools.wraps(work)
    def remembering(*args: Asked.args, **kwargs: Asked.kwargs) -> Got:
        asked = (*args, *kwargs, *kwargs.values())
        for known, got in tuple(done):
            if len(known) == len(asked) and all(a is b for a, b in zip(known, asked, strict=True)):
                return got
        got = work(*args, **kwargs)
        done.append((asked, got))
        return got

    return remembering
