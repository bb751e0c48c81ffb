"""``vocab``: look terms up, check packs, bring them in and out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from episode.cli.door import door, print_json, report, say
from episode.errors import Exit, UnusableInput

if TYPE_CHECKING:
    from episode.lexicon.book import Lexicon
    from episode.models import Term

Own = Annotated[list[Path] | None, typer.Option("--vocab", metavar="FILE", help="Your own vocabulary; may repeat.")]
Json = Annotated[bool, typer.Option("--json", help="Print the result on standard output as JSON.")]


def add(app: typer.Typer) -> None:
    """Put ``vocab`` and its commands on the command line."""
    group = typer.Typer(
        help="Look terms up, check vocabulary files, bring them in from SKOS and out again.", no_args_is_help=True
    )
    group.command("show")(show)
    group.command("sounds")(sounds)
    group.command("lint")(lint)
    group.command("import")(import_)
    group.command("export")(export)
    app.add_typer(group, name="vocab")


@door
def show(
    term: Annotated[list[str], typer.Argument(metavar="TERM", help="Any name of it.", show_default=False)],
    vocab: Own = None,
    json: Json = False,
) -> Exit:
    """Tell all that is known of a term: its names, kind, years, what it belongs to, and the source.

    episode vocab show codd bottle
    """
    from episode.lexicon.show import describe, lines

    found, lexicon = _found(term, vocab)
    if json:
        print_json({"format": "episode.term/1", **describe(found, lexicon)})
    else:
        for line in lines(found, lexicon):
            typer.echo(line)
    return Exit.DONE


@door
def sounds(
    term: Annotated[list[str], typer.Argument(metavar="TERM", help="Any name of it.", show_default=False)],
    vocab: Own = None,
    json: Json = False,
) -> Exit:
    """Tell what a term may be heard as: how its names are said, known mishearings, and what else sounds like it.

    Sounds are ARPAbet, with where each comes from: the trade's own table, the dictionary, two known words, or the
    letters. Numbers are costs a phone: 0 is the same sound, above 0.33 hardly to be confused. A name that sounds
    like another term's is worth saying in full on camera; a wording that you meet in transcripts is worth a place
    under `heard_as` in your own vocabulary.

    episode vocab sounds codd bottle
    """
    from episode.spotting.mistaken import lines, mistaken

    found, lexicon = _found(term, vocab)
    known = mistaken(found, lexicon)
    if json:
        print_json({"format": "episode.sounds/1", **known})
    else:
        for line in lines(known):
            typer.echo(line)
    return Exit.DONE


def _found(words: list[str], vocab: list[Path] | None) -> tuple[Term, Lexicon]:
    from episode.lexicon.packs import load_lexicon

    name = " ".join(words)
    lexicon = load_lexicon(None, tuple(vocab or ()))
    found = lexicon.named(name)
    if found is None:
        near = _near(name, [term.term for term in lexicon.terms])
        raise UnusableInput("is in no vocabulary pack", where=name, remedy=near)
    return found, lexicon


def _near(name: str, known: list[str]) -> str:
    from rapidfuzz import fuzz, process, utils

    near = process.extract(name, known, scorer=fuzz.WRatio, processor=utils.default_process, limit=3, score_cutoff=60)
    return f"Near it: {', '.join(found for found, _, _ in near)}." if near else "Try a shorter or more general name."


@door
def lint(
    files: Annotated[list[Path] | None, typer.Argument(metavar="[FILE]...", help="Your files; else the packs.")] = None,
    json: Json = False,
) -> Exit:
    """Check vocabulary: cycles, duplicates, clashing names, missing sources, dates reversed. Exit 2 if one is wrong.

    episode vocab lint my-terms.csv
    """
    from episode.lexicon.lint import lint as check
    from episode.record.lint import lint as check_record

    problems = check(tuple(files or ()))
    if not files:
        problems = (*problems, *check_record())
    if json:
        print_json({"format": "episode.lint/1", "problems": [problem.model_dump() for problem in problems]})
    report(problems)
    wrong = sum(1 for problem in problems if problem.level == "error")
    say(f"{wrong} wrong, {len(problems) - wrong} to look at.")
    return Exit.UNUSABLE if wrong else Exit.DONE


@door
def import_(
    file: Annotated[Path, typer.Argument(metavar="SKOS", help=".rdf, .ttl or .jsonld", show_default=False)],
    to: Annotated[Path, typer.Argument(metavar="PACK.csv", help="The vocabulary file to write.", show_default=False)],
) -> Exit:
    """Make a vocabulary file from a SKOS thesaurus: labels, alternatives, hierarchy and notes.

    episode vocab import thesaurus.ttl my-terms.csv
    """
    from episode.lexicon.skos import import_skos

    if to.exists():
        raise UnusableInput("is there already", where=str(to), remedy="Name another file; nothing is overwritten.")
    terms, problems = import_skos(file, to)
    report(problems)
    say(f"{terms} terms written to {to}. Look at the column `kind`: a thesaurus rarely says it.")
    return Exit.DONE


@door
def export(
    to: Annotated[Path, typer.Argument(metavar="FILE", help=".ttl, .rdf, .jsonld or .nt", show_default=False)],
    packs: Annotated[str | None, typer.Option("--packs", metavar="A,B", help="Which packs; else all.")] = None,
    vocab: Own = None,
) -> Exit:
    """Write vocabulary as SKOS (Turtle, RDF/XML, JSON-LD or N-Triples by the file's ending), as the W3C's standard has it.

    episode vocab export finds.ttl --packs glass,ceramics
    """
    from episode.lexicon.packs import load_lexicon
    from episode.lexicon.skos import export_skos

    if to.exists():
        raise UnusableInput("is there already", where=str(to), remedy="Name another file; nothing is overwritten.")
    chosen = None if packs is None else tuple(name.strip() for name in packs.split(",") if name.strip() != "none")
    lexicon = load_lexicon(chosen, tuple(vocab or ()))
    export_skos(lexicon, to)
    say(f"{len(lexicon.terms)} terms written to {to}")
    return Exit.DONE
