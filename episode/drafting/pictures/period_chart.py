"""A chart of the day's finds by their dates, as SVG: what was checked is drawn full, what was only said is open."""

from __future__ import annotations

import math
from dataclasses import dataclass
from xml.sax.saxutils import escape

from episode.drafting.checked import claims_about, dates_the_find, said_years
from episode.drafting.finds import Find, finds
from episode.drafting.outgoing import outgoing
from episode.drafting.result import DayResult
from episode.drafting.years import say_years
from episode.models import Verdict

NAME = "periods.svg"
WIDE, LEFT, RIGHT, TOP, ROW = 1000.0, 250.0, 965.0, 84.0, 26.0
MOST = 80
_STEPS = (10_000, 1000, 500, 100, 50, 20, 10)
_APART = 66.0
_STYLE = """
svg { font: 14px "Gill Sans", "Source Sans 3", "Noto Sans", sans-serif; background: #eef1ee; color: #15232a; }
text { fill: currentColor; } .soft { fill: #4d5f66; } .grid { stroke: #b2c8cc; stroke-width: 1; }
.bar { fill: #1d4f9e; } .open { fill: none; stroke: #1d4f9e; stroke-width: 2; stroke-dasharray: 5 3; }
.head { font: 500 22px "Iowan Old Style", Palatino, "Palatino Linotype", serif; }
@media (prefers-color-scheme: dark) { svg { background: #0f181b; color: #e4ebe8; } .soft { fill: #a2b2b5; }
.grid { stroke: #26414a; } .bar { fill: #96bcff; } .open { stroke: #96bcff; } }
"""


@dataclass(frozen=True)
class _Line:
    name: str
    first: int
    last: int
    checked: bool
    says: str


def period_chart(day: DayResult) -> str | None:
    """The chart, oldest find first, or None where no find has a date.

    The axis is logarithmic in years before filming, so that the last two centuries have as much room as the
    twenty before them. A contradicted date is not drawn.
    """
    year = day.filmed.year if day.filmed else 2000
    lines = sorted(
        (line for find in finds(day) if (line := _line(find, day))), key=lambda line: (line.first, line.last, line.name)
    )[:MOST]
    if not lines:
        return None
    lines = [_Line(line.name, line.first, min(line.last, year), line.checked, line.says) for line in lines]
    across = _Across(year, min(line.first for line in lines), max(line.last for line in lines))
    high = TOP + len(lines) * ROW + 46
    title = escape(outgoing(day.settings.title, day.settings) or "A day's finds")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE:.0f} {high:.0f}" role="img" '
        'aria-labelledby="periods-t periods-d">',
        f'<title id="periods-t">{title}: finds by date</title>',
        f'<desc id="periods-d">{escape("; ".join(f"{line.name}, {line.says}" for line in lines))}</desc>',
        f"<style>{_STYLE}</style>",
        f'<text class="head" x="20" y="34">{title}</text>',
        '<text class="soft" x="20" y="56">Full: borne out by the record. Dashed: said or logged, not referenced yet.</text>',
    ]
    foot = TOP + len(lines) * ROW + 8
    for x, label in across.ticks():
        parts.append(f'<path class="grid" d="M{x:.1f} {TOP - 10:.1f}V{foot:.1f}"/>')
        parts.append(f'<text class="soft" x="{x:.1f}" y="{foot + 18:.1f}" text-anchor="middle">{escape(label)}</text>')
    for number, line in enumerate(lines):
        y = TOP + number * ROW
        x, end = across(line.first), across(line.last)
        name = line.name if len(line.name) <= 30 else line.name[:29].rstrip() + "…"
        parts.append(f'<text x="20" y="{y + 15:.1f}">{escape(name)}</text>')
        parts.append(
            f'<rect class="{"bar" if line.checked else "open"}" x="{x:.1f}" y="{y + 3:.1f}" rx="2" '
            f'width="{max(end - x, 7):.1f}" height="14"><title>{escape(f"{line.name}, {line.says}")}</title></rect>'
        )
    parts.append("</svg>")
    return "\n".join(parts) + "\n"


class _Across:
    """Years to places, by the logarithm of the years before filming."""

    def __init__(self, year: int, first: int, last: int) -> None:
        self.year = year
        self.most = math.log(max(year - first, 10) * 1.12)
        self.least = math.log(max((year - last) * 0.85, 3.0))
        if self.most - self.least < 0.7:
            self.most = self.least + 0.7

    def __call__(self, year: int) -> float:
        ago = math.log(max(self.year - year, 1))
        share = (self.most - min(max(ago, self.least), self.most)) / (self.most - self.least)
        return LEFT + share * (RIGHT - LEFT)

    def ticks(self) -> list[tuple[float, str]]:
        """Round years, the roundest first, as many as there is room for."""
        oldest, youngest = self.year - math.exp(self.most), self.year - math.exp(self.least)
        found: dict[int, float] = {}
        for step in _STEPS:
            if (youngest - oldest) / step > 200:
                continue
            for year in range(math.ceil(oldest / step) * step, math.floor(youngest / step) * step + 1, step):
                x = self(year)
                if all(abs(x - other) >= _APART for other in found.values()):
                    found[year] = x
        return [(x, say_years(year, year)) for year, x in sorted(found.items())]


def _line(find: Find, day: DayResult) -> _Line | None:
    if find.unknown or not find.name:
        return None
    dated = [
        c
        for c in claims_about(find.moments, day.claims)
        if dates_the_find(c) and c.verdict is not Verdict.CONTRADICTED and c.from_ is not None and c.to is not None
    ]
    sure = [c for c in dated if c.verdict is Verdict.SUPPORTED or c.reference]
    hedge = day.settings.unverified == "hedge"
    claims = sure or (dated if hedge else [])
    if claims:
        best = min(claims, key=lambda c: ((c.to or 0) - (c.from_ or 0), c.start))
        return _Line(find.name, best.from_ or 0, best.to or 0, bool(sure), said_years(best))
    entry = find.entry
    contradicted = any(dates_the_find(c) for c in claims_about(find.moments, day.claims) if c not in dated)
    if hedge and not contradicted and entry and entry.from_ is not None and entry.to is not None:
        return _Line(find.name, entry.from_, entry.to, False, say_years(entry.from_, entry.to) + ", as logged")
    return None
