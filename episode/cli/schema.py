"""``schema``: the JSON Schema of every file that comes out."""

from __future__ import annotations

from typing import Annotated

import typer

from episode.cli.door import door, print_json
from episode.errors import UnusableInput


def add(app: typer.Typer) -> None:
    """Put ``schema`` on the command line."""
    app.command("schema")(schema)


@door
def schema(
    name: Annotated[
        str | None,
        typer.Argument(metavar="[NAME]", help="transcript, moments, claims, settings and so on."),
    ] = None,
) -> None:
    """Print the JSON Schema of a file in out/ (of one line, for `decisions`); without NAME, list them.

    episode schema claims > claims.schema.json
    """
    from episode.results import SCHEMAS, json_schema

    if name is None:
        for known, model in SCHEMAS.items():
            typer.echo(f"{known:12} {(model.__doc__ or '').strip().splitlines()[0]}")
        return
    if name not in SCHEMAS:
        raise UnusableInput("no such file", where=name, remedy="Known: " + ", ".join(SCHEMAS) + ".")
    print_json(json_schema(name))
