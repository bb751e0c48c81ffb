"""What all values share."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Year = int
Day = date
"""A calendar day, under a name that no field hides."""
Seconds = Annotated[float, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]


class Value(BaseModel):
    """Base of everything that crosses a room: immutable, strict about names, ``from`` as an alias."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Problem(Value):
    """Something wrong with the input that did not stop the work.

    ``where`` names the file, row, clip or time; ``remedy`` says what to do about it.
    """

    where: str
    what: str
    remedy: str = ""
    level: Literal["note", "warning", "error"] = "warning"
