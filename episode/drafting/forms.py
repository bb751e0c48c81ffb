"""The forms of a description: templates that a person can copy and change, filled with what is fit to go out.

Templates are Jinja2 in its sandbox. They may arrange and word, and reach nothing but the values that they are given;
how much they may loop and write is bounded before and while they run.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from episode.errors import UnusableInput

if TYPE_CHECKING:
    from jinja2.sandbox import ImmutableSandboxedEnvironment

LARGEST_TEXT = 200_000
"""Characters that a template may write."""
DEEPEST_LOOP = 2

_MARKDOWN = re.compile(r"([\\`*_{}\[\]#|~])")
_MARKDOWN_START = re.compile(r"^(\d+)([.)]\s)|^([-+=])")
_BLANK = re.compile(r"\n{3,}")
_FILTERS = frozenset(
    "abs capitalize count default d e escape first float int join last length lower max min replace reverse round sort "
    "string sum title trim unique upper wordcount".split()
)


def built_in(name: str) -> str:
    """The template that the software brings."""
    return files("episode.drafting").joinpath("templates", name).read_text(encoding="utf-8")


def asked_for(template: str) -> frozenset[str]:
    """Names of the values that a template uses; none where it cannot be read (``fill`` says why)."""
    import jinja2
    from jinja2 import meta

    try:
        return frozenset(meta.find_undeclared_variables(_sandbox(str).parse(template)))
    except (jinja2.TemplateError, RecursionError):
        return frozenset()


def fill(name: str, template: str, values: Mapping[str, object]) -> str:
    """The text that ``template`` gives for ``values``, with no more than one empty line in a row.

    Raises:
        UnusableInput: the template is wrong, reaches for what it may not, or writes without end.
    """
    import jinja2

    try:
        environment = _sandbox(_marked_down if name.endswith(".md") else str)
        _bounded(environment.parse(template))
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


def _sandbox(finalize: Callable[[Any], str]) -> ImmutableSandboxedEnvironment:
    import jinja2
    from jinja2.exceptions import SecurityError
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    class Sandbox(ImmutableSandboxedEnvironment):
        intercepted_binops = frozenset({"*", "**", "%"})

        def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
            if (
                isinstance(left, int)
                and isinstance(right, int)
                and operator != "**"
                and max(abs(left), abs(right)) < 1e6
            ):
                return super().call_binop(context, operator, left, right)
            raise SecurityError(f"“{operator}” is for small whole numbers here")

    environment = Sandbox(
        undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True, autoescape=False, finalize=finalize
    )
    environment.globals.clear()
    environment.filters = {name: run for name, run in environment.filters.items() if name in _FILTERS}
    return environment


def _bounded(tree: Any) -> None:
    """Refuse what could run for ever: loops in loops in loops, and all that calls itself or reads other files."""
    from jinja2 import TemplateSyntaxError, nodes

    forbidden = (
        nodes.Macro,
        nodes.CallBlock,
        nodes.Include,
        nodes.Import,
        nodes.FromImport,
        nodes.Extends,
        nodes.Block,
    )

    def walk(node: Any, depth: int) -> None:
        if isinstance(node, forbidden) or (isinstance(node, nodes.For) and node.recursive):
            raise TemplateSyntaxError(
                "macros, blocks, recursion and other files are not for these templates", node.lineno
            )
        if isinstance(node, nodes.Call) and not isinstance(node.node, nodes.Getattr):
            raise TemplateSyntaxError("there is nothing to call here", node.lineno)
        inside = depth + isinstance(node, nodes.For)
        if inside > DEEPEST_LOOP:
            raise TemplateSyntaxError("a loop in a loop in a loop is not for these templates", node.lineno)
        for child in node.iter_child_nodes():
            walk(child, inside)

    walk(tree, 0)


def _marked_down(value: Any) -> str:
    """A value as Markdown shows it: its own stars, underscores and brackets stay what they are (CommonMark 0.31)."""
    text = _MARKDOWN.sub(r"\\\1", str(value))
    return _MARKDOWN_START.sub(lambda m: f"{m[1]}\\{m[2]}" if m[1] else f"\\{m[3]}", text)
