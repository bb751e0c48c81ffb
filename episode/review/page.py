"""The review page: one HTML file that holds all it needs and opens without a server.

Everything that comes from the day is text and is escaped. A strict Content-Security-Policy names the style and the
script by their hashes, so that nothing else runs even if something slipped through.
"""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files

from episode.drafting.result import DayResult
from episode.review.view import view

VERDICTS = {
    "contradicted": "the record excludes it",
    "imprecise": "wider than the record, or shifted",
    "unreferenced": "needs a reference",
    "supported": "the record bears it out",
}


def page(day: DayResult) -> str:
    """The whole page as HTML; stills are named relatively, from ``stills/`` beside it."""
    import jinja2
    from markupsafe import Markup

    folder = files("episode.review").joinpath("templates")
    style = folder.joinpath("page.css").read_text(encoding="utf-8")
    script = folder.joinpath("page.js").read_text(encoding="utf-8")
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=jinja2.FunctionLoader(lambda name: folder.joinpath(name).read_text(encoding="utf-8")),
    )
    return environment.get_template("page.html").render(
        day=view(day),
        style=Markup(style),  # noqa: S704 our own file
        script=Markup(script),  # noqa: S704 our own file
        policy=policy(style, script),
        verdicts=VERDICTS,
    )


def policy(style: str, script: str) -> str:
    """A Content-Security-Policy under which only this style and this script are used, and pictures beside the page."""
    return "; ".join(
        (
            "default-src 'none'",
            f"style-src '{_hash(style)}'",
            f"script-src '{_hash(script)}'",
            "img-src 'self'",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
