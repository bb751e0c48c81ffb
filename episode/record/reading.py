"""What a mark or a measurement says, with what it rests on."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from episode.models import Value, Year


class Mark(Value):
    """A mark read as inclusive years; ``None`` for an open end. ``says`` is the result in one sentence.

    ``cautions`` say what the years do not mean, and where tables disagree.
    """

    kind: Literal[
        "registered number",
        "registration diamond",
        "pipe stem bores",
        "regnal year",
        "mean ceramic date",
        "patent number",
        "coin legend",
        "hallmark",
    ]
    text: str
    says: str
    from_: Year | None = Field(alias="from")
    to: Year | None
    edtf: str
    source: str
    cautions: tuple[str, ...] = ()

    def lines(self) -> list[str]:
        """The reading for a person: result, source, cautions."""
        return [f"{self.says}  (EDTF {self.edtf})", f"  source: {self.source}", *(f"  {c}" for c in self.cautions)]
