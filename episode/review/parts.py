"""The page's parts as HTML, each under a handle of its own."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from episode.review.shown import Sheet, View

if TYPE_CHECKING:
    from jinja2 import Environment

PARTS = (
    "head",
    "left",
    "care",
    "strip",
    "film",
    "general",
    "promises",
    "differ",
    "chapters",
    "description",
    "problems",
    "spoken",
)


def parts(shown: View, *, live: bool = False, only: Sequence[str] = PARTS) -> dict[str, str]:
    """Every part of the page but the finds, by handle; ``live`` adds what can be pressed."""
    module = _macros()
    return {name: str(getattr(module, name)(shown, live)) for name in only}


def finds(shown: View, *, live: bool = False) -> dict[str, str]:
    """The finds in their order, by handle. Two that share a handle (the same words, the same second) stay two."""
    module = _macros()
    found: dict[str, str] = {}
    for sheet in shown.sheets:
        key = sheet.key
        while key in found:
            key += "x"
        found[key] = str(module.sheet(sheet, live))
    return found


def find(sheet: Sheet, *, live: bool = False) -> str:
    """One find."""
    return str(_macros().sheet(sheet, live))


def history(done: Sequence[object]) -> str:
    """The list of decisions, newest first."""
    return str(_macros().history(done))


def render(name: str, **values: object) -> str:
    """One of the page's templates."""
    return environment().get_template(name).render(**values)


@functools.cache
def environment() -> Environment:
    """Templates in which every value is text unless they say otherwise."""
    import jinja2

    folder = files("episode.review").joinpath("templates")
    return jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=jinja2.FunctionLoader(lambda name: folder.joinpath(name).read_text(encoding="utf-8")),
    )


@functools.cache
def _macros() -> Any:
    return environment().get_template("parts.html").module
