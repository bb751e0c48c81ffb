"""Where a person's template runs: it arranges and words what it is given, and cannot run or grow without end."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from jinja2 import nodes
    from jinja2.sandbox import ImmutableSandboxedEnvironment

LARGEST_TEXT = 200_000
"""Characters that a template may write, and that a text in it may have."""
MOST_TURNS = 200_000
"""Turns of all of a template's loops together."""
DEEPEST_LOOP = 2
MOST_REUSES = 8
"""Uses of what was set in what is set: a text put together with itself doubles each time."""

_FILTERS = frozenset(
    "abs capitalize count default d e escape first float int join last length lower max min replace reverse round sort "
    "string sum title trim unique upper wordcount".split()
)
_METHODS = frozenset("capitalize count endswith get items keys lower split startswith strip title upper values".split())
_TURNS = "turns of a loop"
"""Name of the filter that counts; no template can write it."""


def sandbox(finalize: Callable[[Any], str]) -> ImmutableSandboxedEnvironment:
    """An environment for one template; ``finalize`` is how a value is written."""
    import jinja2
    from jinja2 import nodes
    from jinja2.exceptions import SecurityError
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    class Sandbox(ImmutableSandboxedEnvironment):
        intercepted_binops = frozenset({"*", "**", "%", "+"})

        def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
            if operator == "+" and isinstance(left, str) and isinstance(right, str):
                return _short(left + right)
            if (
                isinstance(left, int | float)
                and isinstance(right, int | float)
                and operator != "**"
                and max(abs(left), abs(right)) < 1e6
            ):
                return super().call_binop(context, operator, left, right)
            raise SecurityError(f"“{operator}” is for small numbers here")

        def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
            tree = super()._parse(source, name, filename)
            _refuse_endless(tree)
            for loop in tree.find_all(nodes.For):
                loop.iter = nodes.Filter(loop.iter, _TURNS, [], [], None, None, lineno=loop.lineno)
            return tree

    environment = Sandbox(
        undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True, autoescape=False, finalize=finalize
    )
    environment.globals.clear()
    filters = {name: run for name, run in environment.filters.items() if name in _FILTERS}
    environment.filters = {**filters, "replace": _replaced, "join": _joined, "sum": _summed, _TURNS: _Turns()}
    return environment


def _refuse_endless(tree: nodes.Template) -> None:
    """Refuse loops in loops in loops, what calls itself or reads other files, and what is put together over and over."""
    from jinja2 import TemplateSyntaxError, nodes

    forbidden = (
        nodes.Macro, nodes.CallBlock, nodes.Include, nodes.Import, nodes.FromImport, nodes.Extends, nodes.Block,
        nodes.With, nodes.FilterBlock,
    )  # fmt: skip

    def walk(node: Any, depth: int) -> None:
        if isinstance(node, forbidden) or (isinstance(node, nodes.For) and node.recursive):
            raise TemplateSyntaxError(
                "macros, blocks, recursion and other files are not for these templates", node.lineno
            )
        if isinstance(node, nodes.Call):
            if not isinstance(node.node, nodes.Getattr):
                raise TemplateSyntaxError("there is nothing to call here", node.lineno)
            if node.node.attr not in _METHODS:
                raise TemplateSyntaxError(f"`{node.node.attr[:40]}` cannot be called here; try a filter", node.lineno)
        inside = depth + isinstance(node, nodes.For)
        if inside > DEEPEST_LOOP:
            raise TemplateSyntaxError("a loop in a loop in a loop is not for these templates", node.lineno)
        for child in node.iter_child_nodes():
            walk(child, inside)

    walk(tree, 0)
    if _reuses(tree) > MOST_REUSES:
        raise TemplateSyntaxError("what is set may be used in what is set a few times only", 1)


def _reuses(tree: nodes.Template) -> int:
    """How often what a template sets, or loops over of that, stands in something that it sets."""
    from jinja2 import nodes

    def used(node: nodes.Node) -> list[str]:
        names = [node] if isinstance(node, nodes.Name) else list(node.find_all(nodes.Name))
        return [name.name for name in names if name.ctx == "load"]

    setting = list(tree.find_all((nodes.Assign, nodes.AssignBlock)))
    named = {name.name for one in setting for name in one.find_all(nodes.Name) if name.ctx == "store"}
    for loop in tree.find_all(nodes.For):  # the outer loop comes before the inner one
        if named.intersection(used(loop.iter)):
            target = [loop.target] if isinstance(loop.target, nodes.Name) else loop.target.find_all(nodes.Name)
            named.update(name.name for name in target)
    return sum(name in named for one in setting for name in used(one))


class _Turns:
    """Counts the turns of all loops together."""

    def __init__(self) -> None:
        self._left = MOST_TURNS

    def __call__(self, values: Iterable[Any]) -> Iterator[Any]:
        from jinja2.exceptions import SecurityError

        for value in values:
            self._left -= 1
            if self._left < 0:
                raise SecurityError(f"its loops turn more than {MOST_TURNS:,} times")
            yield value


def _replaced(text: str, old: str, new: str, count: int | None = None) -> str:
    text, old, new = str(text), str(old), str(new)
    found = text.count(old) if count is None else min(count, text.count(old))
    _short(length=len(text) + found * max(0, len(new) - len(old)))
    return text.replace(old, new, -1 if count is None else count)


def _joined(values: Iterable[Any], between: str = "", attribute: str | None = None) -> str:
    parts: list[str] = []
    length = 0
    for value in values:
        parts.append(str(_of(value, attribute)))
        length += len(parts[-1]) + len(str(between))
        _short(length=length)
    return str(between).join(parts)


def _summed(values: Iterable[Any], attribute: str | None = None, start: float = 0) -> float:
    """Numbers only: lists would be put together."""
    numbers = (_of(value, attribute) for value in values)
    return sum((number if isinstance(number, float) else int(number) for number in numbers), start)


def _of(value: Any, attribute: str | None) -> Any:
    from jinja2.exceptions import SecurityError

    if attribute is None:
        return value
    if attribute.startswith("_"):
        raise SecurityError("names that begin with _ are not for templates")
    return value[attribute] if isinstance(value, dict) else getattr(value, attribute)


def _short(text: str = "", *, length: int | None = None) -> str:
    from jinja2.exceptions import SecurityError

    if (len(text) if length is None else length) > LARGEST_TEXT:
        raise SecurityError(f"a text in it has more than {LARGEST_TEXT} characters")
    return text
