"""Which camera recorded a clip: clips of one camera share a clock."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import PurePosixPath

UNNAMED = "camera"

_PREFIX = re.compile(r"^([^\W\d_]+(?:[-_ ][^\W\d_](?=[-_ ]?\d))?)[-_ ]?\d")


def camera_of(name: str, make: str | None, model: str | None, named: Mapping[str, str]) -> str:
    """The camera's name: as the settings map it, else make and model, else the sub-folder, else the name's letters.

    ``named`` maps a folder, or the beginning of a path or of a file name, to a camera, whether upper or lower case;
    the longest that fits wins.
    """
    path = PurePosixPath(name)
    whole, own = name.casefold(), path.name.casefold()
    fitting = [
        key
        for key in named
        if (sought := key.strip().strip("/").casefold()) and (whole.startswith(sought) or own.startswith(sought))
    ]
    if fitting:
        return named[max(fitting, key=len)]
    if make or model:
        if make and model and not model.casefold().startswith(make.casefold()):
            return f"{make} {model}"
        return model or make or UNNAMED
    if len(path.parts) > 1:
        return path.parts[0]
    prefix = _PREFIX.match(path.name)
    return prefix[1] if prefix else UNNAMED
