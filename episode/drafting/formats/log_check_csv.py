"""What to look at in the find log, as a list to work through in a spreadsheet (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
import io

from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.stamps import stamp
from episode.sheets import safe_cell

NAME = "log_check.csv"
COLUMNS = ("kind", "row", "find", "clip", "time", "what", "todo")


def render(day: DayResult) -> str:
    """Header and one row a thing, lines ended by CR LF; ``time`` is in the clip, ``row`` in the log's file."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for finding in day.log_check:
        cells = (
            finding.kind,
            finding.row,
            outgoing(finding.find or "", day.settings),
            outgoing(finding.clip or "", day.settings),
            None if finding.start is None else stamp(finding.start),
            outgoing(finding.what, day.settings),
            finding.todo,
        )
        writer.writerow([safe_cell(cell) for cell in cells])
    return text.getvalue()
