"""A contact sheet: every find of the day by its still, with its number, name and date."""

from __future__ import annotations

import io
import zlib
from collections.abc import Mapping
from typing import TYPE_CHECKING

from episode.drafting.checked import supported_date
from episode.drafting.finds import finds
from episode.drafting.outgoing import one_line, outgoing
from episode.drafting.result import DayResult

if TYPE_CHECKING:
    from PIL import Image, ImageDraw, ImageFont

NAME = "contact-sheet.png"
ACROSS = 4
MOST = 60
WIDE, HIGH, FOOT, GAP, HEAD = 440, 248, 78, 22, 110
PAPER, INK, SOFT, BLANK = (238, 241, 238), (21, 35, 42), (77, 95, 102), (213, 226, 228)


def contact_sheet(day: DayResult, stills: Mapping[str, bytes]) -> bytes | None:
    """The sheet as PNG, at most 60 finds in programme order, or None where nothing was found.

    ``stills`` are JPEG files by moment id; a find without one gets an empty frame. Nothing but pixels is in it.
    """
    from PIL import Image, ImageDraw

    shown = finds(day)[:MOST]
    if not shown:
        return None
    across = min(ACROSS, len(shown))
    rows = -(-len(shown) // across)
    size = (GAP + across * (WIDE + GAP), HEAD + rows * (HIGH + FOOT + GAP))
    sheet = Image.new("RGB", size, PAPER)
    pen = ImageDraw.Draw(sheet)
    title = outgoing(day.settings.title, day.settings) or "A day's finds"
    _write(pen, (GAP, 22), title, 40, INK, size[0] - 2 * GAP)
    where = outgoing(day.settings.place, day.settings)
    when = f"{day.filmed:%d.%m.%Y}" if day.filmed else ""
    _write(pen, (GAP, 70), ", ".join(part for part in (where, when) if part), 22, SOFT, size[0] - 2 * GAP)
    for place, find in enumerate(shown):
        x = GAP + place % across * (WIDE + GAP)
        y = HEAD + place // across * (HIGH + FOOT + GAP)
        picture = next((p for m in find.moments if (p := _picture(stills.get(m.id)))), None)
        if picture:
            sheet.paste(picture, (x, y))
        else:
            pen.rectangle((x, y, x + WIDE - 1, y + HIGH - 1), fill=BLANK)
            _write(pen, (x + 16, y + HIGH // 2 - 12), "no still", 20, SOFT, WIDE - 32)
        number = one_line(find.moments[0].find or "")
        if number:
            _number(pen, x, y, number)
        name = find.name if not find.unknown else (f"{find.name}?" if find.name else "unidentified")
        _write(pen, (x, y + HIGH + 8), name[:1].upper() + name[1:], 26, INK, WIDE)
        dates = next((d for m in find.moments if (d := supported_date(m, day.claims))), "")
        _write(pen, (x, y + HIGH + 42), dates or ("found another day" if find.earlier else ""), 21, SOFT, WIDE)
    out = io.BytesIO()
    # Of photographs runs make as small a file as the search for repeats does, in a tenth of the time.
    sheet.save(out, "PNG", compress_type=zlib.Z_RLE)
    return out.getvalue()


def _picture(data: bytes | None) -> Image.Image | None:
    """A still cut to the frame's shape."""
    from PIL import Image, ImageOps

    if not data:
        return None
    try:
        with Image.open(io.BytesIO(data), formats=["JPEG"]) as still:
            return ImageOps.fit(still.convert("RGB"), (WIDE, HIGH), Image.Resampling.HAMMING)
    except (OSError, ValueError, Image.DecompressionBombError):
        return None


def _number(pen: ImageDraw.ImageDraw, x: int, y: int, number: str) -> None:
    words, font = _fitted(pen, number, 26, 120)
    wide = int(pen.textlength(words, font=font)) + 28
    pen.rounded_rectangle((x - 8, y - 8, x - 8 + wide, y + 32), radius=8, fill=PAPER, outline=INK, width=2)
    pen.text((x + 6, y - 3), words, font=font, fill=INK)


def _write(
    pen: ImageDraw.ImageDraw, at: tuple[int, int], words: str, size: int, ink: tuple[int, int, int], room: int
) -> None:
    told, font = _fitted(pen, words, size, room)
    pen.text(at, told, font=font, fill=ink)


def _fitted(
    pen: ImageDraw.ImageDraw, words: str, size: int, room: int
) -> tuple[str, ImageFont.FreeTypeFont | ImageFont.ImageFont]:
    """``words`` cut to ``room`` pixels, with an ellipsis where something went."""
    from PIL import ImageFont

    font = ImageFont.load_default(size)
    if pen.textlength(words, font=font) <= room:
        return words, font
    while words and pen.textlength(words + "…", font=font) > room:
        words = words[:-1]
    return words.rstrip() + "…", font
