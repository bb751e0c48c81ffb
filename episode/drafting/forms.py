"""The forms of a description: templates that a person can copy and change, filled with what is fit to go out.

Templates are Jinja2 in its sandbox. They may arrange and word, and reach nothing but the values that they are given;
how much they may loop and write is bounded before and while they run.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import Any

from episode.drafting.sandbox import LARGEST_TEXT, sandbox
from episode.errors import UnusableInput

_MARKDOWN = re.compile(r"([\\`*_{}\[\]#|~])")
_MARKDOWN_START = re.compile(r"^(\d+)([.)]\s)|^([-+=])")
_BLANK = re.compile(r"\n{3,}")


def built_in(name: str) -> str:
    """The template that the software brings."""
    return files("episode.drafting").joinpath("templates", name).read_text(encoding="utf-8")


@lru_cache(maxsize=16)
def asked_for(template: str) -> frozenset[str]:
    """Names of the values that a template uses; none where it cannot be read (``fill`` says why)."""
    import jinja2
    from jinja2 import meta

    try:
        return frozenset(meta.find_undeclared_variables(sandbox(str).parse(template)))
    except (jinja2.TemplateError, RecursionError):
        return frozenset()


def fill(name: str, template: str, values: Mapping[str, object]) -> str:
    """The text that ``template`` gives for ``values``, with no more than one empty line in a row.

    Raises:
        UnusableInput: the template is wrong, reaches for what it may not, or writes without end.
    """
    import jinja2

    try:
        environment = sandbox(_marked_down if name.endswith(".md") else str)
        parts, length = [], 0
        for part in environment.from_string(template).generate(**values):
            parts.append(part)
            length += len(part)
            if length > LARGEST_TEXT:
                raise jinja2.TemplateError(f"it writes more than {LARGEST_TEXT} characters")
    except (jinja2.TemplateError, TypeError, ValueError, ArithmeticError, LookupError, RecursionError) as error:
        line = getattr(error, "lineno", None)
        raise UnusableInput(
            f"cannot be used ({' '.join(str(error).split())[:200]})",
            where=f"templates/{name}" + (f", line {line}" if line else ""),
            remedy="Put it right, or remove it: the built-in one is used then.",
        ) from None
    return _BLANK.sub("\n\n", "".join(parts)).strip("\n") + "\n"


def _marked_down(value: Any) -> str:
    """A value as Markdown shows it: its own stars, underscores and brackets stay what they are (CommonMark 0.31)."""
    text = _MARKDOWN.sub(r"\\\1", str(value))
    return _MARKDOWN_START.sub(lambda m: f"{m[1]}\\{m[2]}" if m[1] else f"\\{m[3]}", text)
