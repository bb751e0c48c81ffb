"""A find's title in the person's style, with only what the record supports."""

from __future__ import annotations

import string

from episode.drafting.checked import supported_date, supported_maker
from episode.drafting.host_rules import host_rules
from episode.models import Claim, Moment

_LOOSE = " ,;:·|/–—-"
_CLOSING = ")]"


def find_title(name: str, moment: Moment, claims: tuple[Claim, ...], style: str) -> str:
    """The name with supported maker and date and its log number as ``style`` (``title_style``) has them.

    A field without a value goes with the words before it. Where the title is longer than hosts show, the maker
    goes first, then the date.
    """
    values = {
        "name": name,
        "maker": _bare(supported_maker(moment, claims), name),
        "date": _bare(supported_date(moment, claims), name),
        "number": moment.find or "",
    }
    for without in ((), ("maker",), ("date",), ("maker", "date")):
        title = _filled(style, {**values, **dict.fromkeys(without, "")})
        if len(title) <= host_rules().title_shown:
            return title
    return name


def _bare(detail: str, name: str) -> str:
    detail = detail.removeprefix("the ")
    return "" if detail.casefold() == name.casefold() else detail


def _filled(style: str, values: dict[str, str]) -> str:
    title, dropped = "", False
    for words, field, _, _ in string.Formatter().parse(style):
        opened = words[1:] if dropped and words and words[0] in _CLOSING else words
        value = values[field] if field else ""
        dropped = bool(field) and not value
        if not dropped:
            title += opened + value
    return title.strip(_LOOSE)
