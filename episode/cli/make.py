"""``make`` and its steps: ``hear``, ``spot``, ``match``, ``check``, ``draft``."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from episode.cli.door import door, print_json, report, say
from episode.errors import Exit

if TYPE_CHECKING:
    from episode.drafting.checklist import Left
    from episode.drafting.result import DayResult
    from episode.make import Options
    from episode.progress import Progress
    from episode.results import SummaryDocument
    from episode.unchanged import Told
    from episode.writing import Made, Step

Day = Annotated[Path, typer.Argument(metavar="DAY", help="The day folder, with footage/ in it.", show_default=False)]
Out = Annotated[Path | None, typer.Option("--out", metavar="FOLDER", help="Write results there, not to DAY/out.")]
Model = Annotated[
    str | None, typer.Option("--model", metavar="NAME", help="Recogniser: base, tiny.en, another name, or a folder.")
]
Device = Annotated[str, typer.Option("--device", metavar="cpu|cuda", help="Where the recogniser runs.")]
Fetch = Annotated[bool, typer.Option("--fetch", help="Allow the named model to be fetched over the network, once.")]
Packs = Annotated[str | None, typer.Option("--packs", metavar="A,B", help="Vocabulary packs; `none` for none.")]
Vocab = Annotated[list[Path] | None, typer.Option("--vocab", metavar="FILE", help="Your own vocabulary; may repeat.")]
Convention = Annotated[
    str | None, typer.Option("--convention", metavar="NAME", help="How date words become years: historic-england, ...")
]
Clean = Annotated[bool | None, typer.Option("--clean/--no-clean", help="Filter wind and rumble before hearing.")]
Again = Annotated[
    bool | None,
    typer.Option(
        "--again/--no-again",
        help="Listen again for names that came out as other words (the default), or let the words alone decide.",
    ),
]
Strict = Annotated[bool, typer.Option("--strict", help="Exit 1 when something needs a person before publishing.")]
Json = Annotated[bool, typer.Option("--json", help="Print the result on standard output.")]
Silent = Annotated[bool, typer.Option("--quiet", "-q", help="No progress; problems only.")]

MOST_SHOWN = 5

_STEPS = {
    "make": "Run everything: hear, spot, match, check, draft.",
    "hear": "Transcribe the footage: out/transcript.json, .vtt.",
    "spot": "Find where the trade's words are said: out/mentions.json.",
    "match": "Group mentions into moments and tie them to the log: out/moments.json.",
    "check": "List every claim with what the record holds: out/claims.json, .csv, promises.json, cautions.json, log_check.csv.",
    "draft": "Write chapters, description, editor files and the page, and everything before them.",
}
_MORE = """

Steps before this one are brought up to date first; speech heard before is not heard again. Stop it whenever
you like and run it again: finished pieces are kept.

Exit status: 0 done; 1 done, and something needs a person (only with --strict); 2 unusable input;
3 a part failed and the rest was kept.

    episode {name} 2026-05-03-skelby-sands
"""


def add(app: typer.Typer) -> None:
    """Put ``make`` and its steps on the command line."""
    for name, text in _STEPS.items():
        app.command(name, help=text + _MORE.format(name=name))(_command(name))


def _command(name: str):  # type: ignore[no-untyped-def]  # typer reads the signature below
    def command(
        day: Day,
        out: Out = None,
        model: Model = None,
        device: Device = "cpu",
        fetch: Fetch = False,
        packs: Packs = None,
        vocab: Vocab = None,
        convention: Convention = None,
        clean: Clean = None,
        again: Again = None,
        strict: Strict = False,
        json: Json = False,
        quiet: Silent = False,
    ) -> Exit:
        from episode.make import Options, make
        from episode.writing import Step

        step = Step.DRAFT if name == "make" else Step[name.upper()]
        options = Options(
            out=out,
            model=model,
            device=device,
            fetch=fetch,
            packs=_packs(packs),
            vocabulary=tuple(vocab or ()),
            convention=convention,
            clean=clean,
            again=again,
        )
        if step == Step.DRAFT:
            return _whole(day, options, progress_for(quiet), strict=strict, json=json)
        made = make(day, options, until=step, progress=progress_for(quiet))
        printed = _document(made, step) if json else None
        return _say(_told(made, step), made.out, strict=strict and step >= Step.MATCH, printed=printed)

    command.__name__ = name
    return door(command)


def progress_for(quiet: bool) -> Progress:
    """The observer that a command line wants."""
    from episode.cli.bars import Bars
    from episode.progress import Quiet

    return Quiet() if quiet else Bars()


def _packs(said: str | None) -> tuple[str, ...] | None:
    if said is None:
        return None
    names = tuple(name.strip() for name in said.split(",") if name.strip())
    return () if names == ("none",) else names


def _whole(day: Path, options: Options, progress: Progress, *, strict: bool, json: bool) -> Exit:
    """Everything; where nothing has changed since it was last done, what was told then."""
    from episode.make import make
    from episode.speech.weights import cache_folder
    from episode.unchanged import remember, run_key, told_before
    from episode.writing import Step

    out, cache = options.out or day / "out", options.cache or cache_folder()
    key = run_key(day, options, out) if day.is_dir() else None
    told = told_before(cache, key, out)
    if told is None:
        made = make(day, options, progress=progress)
        told = _told(made, Step.DRAFT)
        if key == run_key(day, options, out):  # else something changed while it ran
            remember(cache, key, out, told)
    elif not json:
        say("Nothing has changed since the last run; its files stand.")
    return _say(told, out, strict=strict, printed={**told.summary, "out": str(out)} if json else None)


def _told(made: Made, step: Step) -> Told:
    from episode.drafting.checklist import checklist
    from episode.results import plain
    from episode.unchanged import Told
    from episode.writing import Step

    result = made.result
    remaining = checklist(result)
    return Told(
        assumed=result.settings.assumed,
        problems=result.problems,
        lines=tuple(_lines(made, step, remaining)),
        summary=plain(_summary(made, remaining), result.settings) if step == Step.DRAFT else {},
        failed=made.status == Exit.PART_FAILED,
        holds_up=_holds_up(remaining),
    )


def _say(told: Told, out: Path, *, strict: bool, printed: dict[str, Any] | None) -> Exit:
    """Tell the person; ``printed`` is what goes to standard output in place of the lines."""
    for note in told.assumed:
        say(f"  assumed: {note}")
    report(told.problems)
    if printed is not None:
        print_json(printed)
    else:
        for line in told.lines:
            say(line)
        say(f"Written to {out}")
        if told.summary:
            say(f"Open {out / 'review.html'} to look through it.")
    if told.failed:
        return Exit.PART_FAILED
    return Exit.NEEDS_PERSON if strict and told.holds_up else Exit.DONE


def _document(made: Made, step: Step) -> dict[str, Any]:
    from episode.results import document, plain
    from episode.writing import Step

    documents = {Step.HEAR: "transcript", Step.SPOT: "mentions", Step.MATCH: "moments", Step.CHECK: "claims"}
    return plain(document(documents[step], made.result, made.mentions), made.result.settings)


def _summary(made: Made, remaining: tuple[Left, ...]) -> SummaryDocument:
    from episode.results import SummaryDocument
    from episode.speech.respelt import respelt

    result = made.result
    return SummaryDocument(
        clips=len(result.clips),
        seconds=round(sum(clip.duration for clip in result.clips), 2),
        segments=len(result.transcript.segments),
        respelt=len(respelt(result.written)),
        moments=len(result.moments),
        finds=sum(1 for moment in result.moments if moment.stance in {"found", "unsure"}),
        paired=len({moment.find for moment in result.moments if moment.find}),
        claims=len(result.claims),
        promises=len(result.promises),
        chapters=len(result.chapters),
        selects_s=round(_selected(result), 2),
        left={left.kind: left.count for left in remaining},
        problems=result.problems,
        assumed=result.settings.assumed,
        out=str(made.out),
    )


def _lines(made: Made, step: Step, remaining: tuple[Left, ...]) -> Iterator[str]:
    from episode.writing import Step

    result = made.result
    minutes = sum(clip.duration for clip in result.clips) / 60
    stretches = _count(len(result.transcript.segments), "stretch", "stretches")
    yield f"{_count(len(result.clips), 'clip')}, {minutes:.1f} minutes, {stretches} of speech"
    if step == Step.SPOT:
        yield f"{_count(len(made.mentions), 'mention')} of {_count(len({m.term for m in made.mentions}), 'term')}"
    if step >= Step.MATCH:
        paired = len({moment.find for moment in result.moments if moment.find})
        tied = f"{paired} of {_count(len(result.log), 'log entry', 'log entries')} tied to one"
        yield f"{_count(len(result.moments), 'moment')}; {tied if result.log else 'there is no find log'}"
        for clock in result.clocks if result.log else ():
            yield f"  {clock.camera}: add {clock.offset_s:+.0f} s to reach the log's time ({clock.basis})"
    if step >= Step.CHECK:
        yield f"{_count(len(result.claims), 'claim')}, {_count(len(result.promises), 'promise')}"
        yield from _log_check(made)
    if step == Step.DRAFT:
        yield _count(len(result.chapters), "chapter")
        yield f"selects: {_selected(result) / 60:.1f} of {minutes:.1f} minutes of footage"
        yield from _respelt(made)
    if step >= Step.MATCH:
        yield _left(remaining)


def _log_check(made: Made) -> Iterator[str]:
    from collections import Counter

    found = Counter(finding.kind for finding in made.result.log_check)
    if found:
        said = "; ".join(f"{kind}: {number}" for kind, number in found.items())
        yield f"Log against film and photographs: {said} (log_check.csv)"


def _respelt(made: Made) -> Iterator[str]:
    """The transcript is never changed silently."""
    from episode.drafting.stamps import stamp
    from episode.speech.respelt import respelt

    found = respelt(made.result.written)
    if found:
        places = _count(len(found), "place")
        yield f"The transcript has the trade's spelling in {places} (`trade_spelling = false` keeps the words heard):"
        for one in found[:MOST_SHOWN]:
            yield f"  “{one.heard}” is now “{one.written}” ({one.clip}, {stamp(one.start)})"
        if len(found) > MOST_SHOWN:
            yield f"  and {len(found) - MOST_SHOWN} more, listed in transcript.vtt"


def _selected(result: DayResult) -> float:
    """Seconds of footage that the selects keep."""
    from episode.drafting.selects import selects

    chosen = selects(result.moments, result.transcript, result.clips, result.settings)
    return sum(select.end - select.start for select in chosen)


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def _left(remaining: tuple[Left, ...]) -> str:
    said = "; ".join(f"{left.count} {left.what}" for left in remaining)
    return f"For you before publishing: {said or 'nothing left'}."


def _holds_up(remaining: tuple[Left, ...]) -> bool:
    """An imprecise claim asks for a look but holds nothing up."""
    return any(left.kind != "imprecise" for left in remaining)
