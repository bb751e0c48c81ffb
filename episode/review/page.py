"""The review page: one HTML file that holds all it needs and opens without a server.

Everything that comes from the day is text and is escaped. A strict Content-Security-Policy names the style and the
script by their hashes, so that nothing else runs even if something slipped through.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from importlib.resources import files

from episode.drafting.result import DayResult
from episode.review.parts import finds, parts, render
from episode.review.view import view


def page(day: DayResult) -> str:
    """The whole page as HTML, for reading; stills are named relatively, from ``stills/`` beside it."""
    shown = view(day)
    return assembled(shown.title, parts(shown), finds(shown))


def assembled(
    title: str, part: Mapping[str, str], sheets: Mapping[str, str], *, live: int = 0, terms: Sequence[str] = ()
) -> str:
    """The page made of its parts. ``live`` is the state's number where a server stands behind it, else 0;
    ``terms`` are the names that it then offers.
    """
    from markupsafe import Markup

    style = _own("page.css") + _own("film.css") + (_own("desk.css") if live else "")
    script = _own("page.js") + (_own("desk.js") if live else "")
    return render(
        "page.html",
        title=title,
        part={name: Markup(html) for name, html in part.items()},  # noqa: S704 rendered and escaped before
        sheets=[Markup(html) for html in sheets.values()],  # noqa: S704 rendered and escaped before
        style=Markup(style),  # noqa: S704 our own file
        script=Markup(script),  # noqa: S704 our own file
        policy=policy(style, script, live=bool(live)),
        live=live,
        terms=terms,
    )


def policy(style: str, script: str, *, live: bool = False) -> str:
    """A Content-Security-Policy under which only this style and this script are used, and pictures beside the page."""
    rules = [
        "default-src 'none'",
        f"style-src '{_hash(style)}'",
        f"script-src '{_hash(script)}'",
        "img-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    return "; ".join([*rules, "media-src 'self'", "connect-src 'self'"] if live else rules)


def _own(name: str) -> str:
    return files("episode.review").joinpath("templates", name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
