"""The whole job, stage by stage: a day folder walks in, paperwork walks out."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from episode.day.decisions import read_decisions
from episode.day.lock import holding
from episode.day.log import read_log
from episode.day.photos import read_photos
from episode.day.references import read_references
from episode.day.settings import read_settings
from episode.day.templates import read_templates
from episode.day.track import read_track
from episode.day.undoing import current, lost_undos
from episode.drafting.result import DayResult
from episode.errors import MissingModel, UnusableInput
from episode.models import (
    Clip,
    Decision,
    Matched,
    Mention,
    Photos,
    Problem,
    Reference,
    Settings,
    Tie,
    Track,
    Transcript,
)
from episode.progress import Progress, Quiet
from episode.writing import Made, Step, write

if TYPE_CHECKING:
    from episode.lexicon.book import Lexicon
    from episode.speech.again import Again


@dataclass(frozen=True)
class Options:
    """What a person may say on the command line; ``None`` leaves it to ``episode.toml``."""

    out: Path | None = None
    model: str | None = None
    device: str = "cpu"
    fetch: bool = False
    packs: tuple[str, ...] | None = None
    vocabulary: tuple[Path, ...] = ()
    convention: str | None = None
    clean: bool | None = None
    again: bool | None = None
    cache: Path | None = None


@dataclass(frozen=True)
class Spotted:
    """A day whose words were read: all that does not depend on what a person decides."""

    made: Made
    lexicon: Lexicon
    listen: Again | None
    templates: dict[str, str] = field(default_factory=dict)
    track: Track = field(default_factory=Track, repr=False)
    photos: Photos = field(default_factory=Photos, repr=False)
    """Exact positions: they go no further than ``concluded``, which gives reduced ones."""
    ties: tuple[Tie, ...] = ()


@dataclass(frozen=True)
class Worked:
    """A day's results before they are written, and what they were made from."""

    made: Made
    spotted: Spotted
    decided: tuple[tuple[Decision, ...], tuple[Reference, ...]]


def make(
    folder: Path, options: Options | None = None, *, until: Step = Step.DRAFT, progress: Progress | None = None
) -> Made:
    """Run every step up to ``until`` on the day in ``folder`` and write that step's files to ``out/``.

    Earlier steps are brought up to date first (what was heard before is not heard again). With ``until`` at
    the last step the files of all steps are written. Nothing but ``out/`` is written.

    Raises:
        UnusableInput: no such folder, no footage, or settings, log or vocabulary that cannot be read.
        DayLocked: another run is at work on the day.
        CannotWrite: a result could not be written; those written before it are whole.
        MissingModel: there is something to hear and no weights to hear it with.
    """
    options = options or Options()
    progress = progress or Quiet()
    if not folder.is_dir():
        raise UnusableInput("is not a folder", where=str(folder), remedy="`episode new FOLDER` starts a day folder.")
    out = options.out or folder / "out"
    with holding(out):
        if until < Step.MATCH:
            return write(_begun(folder, out, options, until, progress), progress)
        from episode.recut import followed

        return followed(worked(folder, out, options, until, progress), options, progress)


def _begun(folder: Path, out: Path, options: Options, until: Step, progress: Progress) -> Made:
    heard = _heard(folder, out, options, until, progress)
    return heard if until == Step.HEAR else _spotted(folder, options, heard, progress).made


def worked(folder: Path, out: Path, options: Options, until: Step, progress: Progress) -> Worked:
    """The stages in their order, from the footage on; ``until`` is after spotting.

    Each takes values and gives values; only ``write`` touches ``out/``.
    """
    spotted = _spotted(folder, options, _heard(folder, out, options, until, progress), progress)
    decisions, undecided = read_decisions(folder)
    references, unreferred = read_references(folder)
    made = concluded(spotted, decisions, references)
    made = replace(made, result=_with(made.result, (*undecided, *unreferred)))
    return Worked(made, spotted, (decisions, references))


def prepared(folder: Path, options: Options | None = None, *, progress: Progress | None = None) -> Spotted:
    """Everything up to the mentions: what stays the same whatever a person decides. ``concluded`` goes on from there.

    Raises:
        As ``make``; nothing is written but the cache of what was heard.
    """
    options, progress = options or Options(), progress or Quiet()
    if not folder.is_dir():
        raise UnusableInput("is not a folder", where=str(folder), remedy="`episode new FOLDER` starts a day folder.")
    heard = _heard(folder, options.out or folder / "out", options, Step.DRAFT, progress)
    return _spotted(folder, options, heard, progress)


def _heard(folder: Path, out: Path, options: Options, until: Step, progress: Progress) -> Made:
    from episode.footage.survey import survey
    from episode.speech.hear import hear
    from episode.speech.weights import cache_folder

    settings = _settled(read_settings(folder), options)
    clips, missed = survey(folder, settings)
    settings = _dated(settings, clips)
    log, misread = read_log(folder, settings)
    transcript, unheard = hear(
        clips,
        settings,
        cache=options.cache or cache_folder(),
        device=options.device,
        fetch=options.fetch,
        progress=progress,
    )
    problems = (*settings.problems, *missed, *misread, *unheard)
    result = DayResult(settings=settings, clips=clips, transcript=transcript, log=log, problems=problems)
    return Made(result, (), out, until)


def _spotted(folder: Path, options: Options, made: Made, progress: Progress) -> Spotted:
    from episode.lexicon.packs import load_lexicon, with_terms
    from episode.spotting.dayterms import day_terms, expected
    from episode.spotting.spot import spot

    result = made.result
    settings, transcript, log, clips = result.settings, result.transcript, result.log, result.clips
    files = (*(folder / name for name in settings.vocabulary), *options.vocabulary)
    lexicon = load_lexicon(settings.packs, files)
    lexicon = with_terms(lexicon, day_terms(log, settings, lexicon))
    listen = listening(clips, settings, options, progress)
    mentions = spot(transcript, lexicon, log, clips=clips, expected=expected(settings), listen=listen)
    templates, unread = read_templates(folder)
    ties, untied = _ties(clips, options, progress)
    track, unwalked = read_track(folder)
    photos, unseen = read_photos(folder, log, settings)
    told = (*lexicon.problems, *unread, *untied, *unwalked, *unseen)
    made = replace(made, result=_with(result, told), mentions=mentions)
    return Spotted(made, lexicon, listen, templates, track, photos, ties)


def concluded(spotted: Spotted, decisions: tuple[Decision, ...], references: tuple[Reference, ...]) -> Made:
    """What follows from the mentions and from what the person decided (undone lines included). Writes nothing."""
    from episode.matching.places import placed, private_spots, waypoints_of
    from episode.matching.walk import blurred_walk

    made, lexicon, until = spotted.made, spotted.lexicon, spotted.made.step
    result, decisions = _with(made.result, lost_undos(decisions)), current(decisions)
    settings, log = result.settings, result.log
    mentions, matched, clips, transcript = _matched(spotted, decisions)
    track, photos = spotted.track, spotted.photos
    matched = placed(matched, log, clips, track, photos, settings)
    moments = matched.moments
    hidden = private_spots(log, photos, waypoints_of(log, track.waypoints), settings)
    walk = blurred_walk(track, settings, hidden)
    result = _with(result, matched.problems, matched=matched, clips=clips, transcript=transcript, walk=walk)
    result = _with(result, (), respelt=_respelt(result, mentions, lexicon))
    if until == Step.MATCH:
        return replace(made, result=result, mentions=mentions)

    from episode.claims.cautions import cautions
    from episode.claims.check import check
    from episode.claims.decided import corrections, decided
    from episode.claims.promises import promises
    from episode.drafting.log_check import log_findings
    from episode.matching.kinship import Kinship
    from episode.matching.named_by_hand import as_named
    from episode.record.load import load_record

    record = load_record()
    told = as_named(mentions, moments, Kinship(lexicon))
    claims, owed, stale = decided(
        check(transcript, told, moments, log, record, lexicon, settings, references),
        promises(transcript, moments, settings),
        decisions,
    )
    corrected = corrections(decisions)
    care = cautions(transcript, told, moments, log, record, settings)
    result = _with(result, stale, claims=claims, promises=owed, cautions=care, corrections=corrected)
    result = _with(result, (), log_check=log_findings(result, photos))
    if until == Step.CHECK:
        return replace(made, result=result, mentions=mentions)

    from episode.drafting.chapters import chapters
    from episode.drafting.decided import decided_chapters
    from episode.drafting.description import draft

    drafted = chapters(moments, transcript, clips, settings, lexicon, claims)
    wanted, unfit = decided_chapters(drafted, decisions, moments, clips, settings)
    result = _with(result, unfit, chapters=wanted)
    written = draft(result, spotted.templates)
    worded = {"description": written.text, "wordings": written.wordings, "rests": written.rests}
    result = _with(result, written.problems, promises=written.promises, **worded)
    return replace(made, result=result, mentions=mentions)


def _matched(
    spotted: Spotted, decisions: tuple[Decision, ...]
) -> tuple[tuple[Mention, ...], Matched, tuple[Clip, ...], Transcript]:
    """Moments, and clips in the order that the corrected clocks put them in."""
    from episode.matching.match import match
    from episode.matching.programme import in_true_order
    from episode.spotting.dayterms import expected
    from episode.spotting.spot import spot

    result, mentions, lexicon = spotted.made.result, spotted.made.mentions, spotted.lexicon
    transcript, log, clips = result.transcript, result.log, result.clips
    ties, times = spotted.ties, spotted.photos.times
    matched = match(mentions, transcript, log, clips, lexicon, decisions, ties=ties, row_times=times)
    ordered = in_true_order(clips, matched.clocks)
    if ordered != clips:
        # The cameras' clocks had the clips in the wrong order: what opens and what closes the day changes.
        clips, transcript = ordered, _reordered(transcript, ordered)
        listen, hoped = spotted.listen, expected(result.settings)
        mentions = spot(transcript, lexicon, log, clips=clips, expected=hoped, listen=listen)
        matched = match(mentions, transcript, log, clips, lexicon, decisions, ties=ties, row_times=times)
    return mentions, matched.model_copy(update={"ties": ties}), clips, transcript


def _ties(clips: tuple[Clip, ...], options: Options, progress: Progress) -> tuple[tuple[Tie, ...], tuple[Problem, ...]]:
    """What two cameras both heard; a help to the clocks, and never a reason to stop."""
    from episode.cutting.together import together
    from episode.errors import EpisodeError
    from episode.speech.weights import cache_folder

    try:
        return together(clips, cache=options.cache or cache_folder(), progress=progress)
    except (EpisodeError, OSError) as error:
        what = f"the cameras could not be tied by their sound ({error})"
        return (), (Problem(where="footage/", what=what, remedy="The log's times set the clocks.", level="note"),)


def _respelt(result: DayResult, mentions: tuple[Mention, ...], lexicon: Lexicon) -> Transcript | None:
    """The transcript as it is written: names in the trade's spelling, but for moments that a person rejected.

    Private places are withheld before, so that no ``as_heard`` keeps one.
    """
    from episode.speech.withheld import withhold
    from episode.spotting.respell import respell

    settings = result.settings
    if not settings.trade_spelling:
        return None
    refused = {mention for moment in result.moments if "reject" in moment.decided for mention in moment.mentions}
    told = withhold(result.transcript, settings)
    respelt = respell(told, mentions, lexicon, least=settings.trade_spelling_from, refused=refused)
    return None if respelt == told else respelt


def _reordered(transcript: Transcript, clips: tuple[Clip, ...]) -> Transcript:
    place = {clip.name: index for index, clip in enumerate(clips)}
    return Transcript(
        segments=tuple(sorted(transcript.segments, key=lambda segment: place[segment.clip])),
        clips=tuple(sorted(transcript.clips, key=lambda hearing: place[hearing.clip])),
    )


def listening(clips: tuple[Clip, ...], settings: Settings, options: Options, progress: Progress) -> Again | None:
    """Who answers what the spotting asks of the sound; nobody unless asked for, or where the weights are gone.

    The weights are loaded when the first question comes that was not answered before.
    """
    from episode.speech.again import Again
    from episode.speech.recognise import Ear, Recogniser
    from episode.speech.weights import cache_folder, find_weights

    if not settings.listen_again:
        return None
    try:
        find_weights(settings.model)
    except MissingModel:
        return None  # all was heard on an earlier run
    ear = Ear(
        settings.model,
        Recogniser(language=settings.language),
        device=options.device,
        fetch=options.fetch,
        progress=progress,
    )
    return Again(clips, ear, cache=options.cache or cache_folder(), clean=settings.clean_sound, progress=progress)


def _with(result: DayResult, problems: tuple[Problem, ...], **changes: object) -> DayResult:
    return result.model_copy(update={"problems": (*result.problems, *problems), **changes})


def _settled(settings: Settings, options: Options) -> Settings:
    """The command line's word over the file's."""
    from episode.lexicon.packs import wanted_packs

    said: dict[str, object] = {}
    if options.packs is not None:
        said["packs"] = options.packs
    if options.convention is not None:
        said["convention"] = options.convention
    if options.clean is not None:
        said["clean_sound"] = options.clean
    if options.again is not None:
        said["listen_again"] = options.again
    if options.model is not None:
        said["model"] = options.model
    settled = settings.model_copy(update=said)
    _known_convention(settled, given=options.convention is not None)
    wanted_packs(settled.packs)  # refused before hours of sound are heard
    return settled


def _known_convention(settings: Settings, *, given: bool) -> None:
    """Refuse a date convention that nobody knows before hours of sound are heard."""
    from episode.record.conventions import conventions

    known = sorted(conventions())
    if settings.convention not in known:
        raise UnusableInput(
            f"there is no date convention called “{settings.convention}”",
            where="--convention" if given else "episode.toml, `convention`",
            remedy="Choose one of: " + ", ".join(known) + ".",
        )


def _dated(settings: Settings, clips: tuple[Clip, ...]) -> Settings:
    """The day of the first clip where neither the settings nor the folder's name tell the date."""
    if settings.date is not None or not clips:
        return settings
    day = min(clip.start for clip in clips).date()
    note = f"The date is {day.isoformat()}, the day of the first clip."
    return settings.model_copy(update={"date": day, "assumed": (*settings.assumed, note)})
