"""Where each find is shown, which log row it has, and what the clocks have to do with it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, tzinfo

from episode.matching.clocks import Timing
from episode.matching.decided import Decided, apply_decisions
from episode.matching.grouping import FIND_STANCES, THINGS
from episode.matching.kinship import Kinship, Vocabulary
from episode.matching.meaning import Meaning
from episode.matching.moments import moments as find_moments
from episode.matching.naming import naming_second
from episode.matching.numbers import number_problems
from episode.matching.pairing import Find, Pair, Table
from episode.matching.reasons import alone, reasons
from episode.matching.rounds import Rounds
from episode.matching.senses import sense_of_moment, sense_of_row
from episode.matching.talk import Talk
from episode.matching.times import row_times
from episode.matching.wall import epoch, later
from episode.models import Clip, Clock, Decision, LogEntry, Matched, Mention, Moment, Problem, Stance, Transcript

LAG_NOTE = "a steady lag between finding and logging cannot be told from a slow clock and is part of the offset"

_LONGEST_CLIP_S = 1e7
_SAYS_FIND = frozenset({"accept", "add", "rename", "stance"})
"""Decisions by which a person says that a moment shows a find, whatever was named in it."""


def match(
    mentions: Sequence[Mention],
    transcript: Transcript,
    log: Sequence[LogEntry],
    clips: Sequence[Clip],
    lexicon: Vocabulary,
    decisions: Sequence[Decision] = (),
) -> Matched:
    """Group mentions into moments and pair these with the log, each camera's clock found on the way.

    Every mention is in exactly one moment; moments are in order of programme time. Clocks and pairs are
    found together: offsets are voted for by all pairs that could belong together, tried on an
    order-preserving alignment, and refined with it until both stand still. What a person paired is kept and
    anchors the clock.
    """
    talk, kin = Talk(transcript), Kinship(lexicon)
    decided = apply_decisions(find_moments(mentions, transcript, clips, lexicon), log, decisions, kin, clips)
    cameras = _cameras(clips)
    finds, places = _finds(decided, clips, [name for name, _ in cameras])
    rows = row_times(log)
    moment_senses = [
        sense_of_moment(f.moment, talk.text(f.moment.clip, f.moment.start, f.moment.end), kin) for f in finds
    ]
    row_senses = [sense_of_row(row, kin) for row in log]
    meaning = Meaning(moment_senses, row_senses, kin)
    by_hand = {index: decided.pairs[place] for index, place in enumerate(places) if place in decided.pairs}
    table = Table(finds, rows.order, [sense.handful for sense in row_senses], by_hand, kin, meaning.likeness)
    rounds = Rounds(table, meaning, rows, cameras)
    pairing = rounds.settle()
    by_find = {pair.find: pair for pair in pairing.pairs}
    named_at = rounds.named_at()

    zone = next((row.time.tzinfo for row in log if row.time is not None and row.time.tzinfo), None)
    result: list[Moment] = []
    index_of = {place: index for index, place in enumerate(places)}
    for place, moment in enumerate(decided.moments):
        index = index_of.get(place)
        update: dict[str, object] = {"at": _at(moment, clips, _timing_of(moment, clips, rounds), zone)}
        if index is None:
            update["why"] = ("set aside by hand",) if place in decided.rejected else ()
        elif index in by_find:
            pair = by_find[index]
            lag = float(rows.when[pair.row] - named_at[index])
            update |= {
                "find": log[pair.row].find.strip() or None,
                "confidence": pair.confidence,
                "why": reasons(pair, log, meaning, lag, finds, batch=bool(rows.batch[pair.row])),
            }
        else:
            update["why"] = alone(bool(log), by_hand=index in by_hand)
            if not finds[index].named:
                update["stance"] = Stance.ASIDE
        result.append(moment.model_copy(update=update))
    return Matched(
        moments=tuple(result),
        clocks=_clocks(rounds, log),
        unlogged=tuple(_unlogged(result, index_of, by_find)) if log else (),
        unfilmed=_unfilmed(log, pairing.pairs),
        problems=(*number_problems(log), *_unknown_clips(decided.moments, clips), *decided.problems),
    )


def _cameras(clips: Sequence[Clip]) -> list[tuple[str, float]]:
    first: dict[str, float] = {}
    for clip in clips:
        first[clip.camera] = min(first.get(clip.camera, float("inf")), epoch(clip.start))
    return list(first.items())


def _finds(decided: Decided, clips: Sequence[Clip], cameras: Sequence[str]) -> tuple[list[Find], list[int]]:
    """The moments that may have a row, and their places among all moments."""
    by_name = {clip.name: clip for clip in clips}
    finds: list[Find] = []
    places: list[int] = []
    for place, moment in enumerate(decided.moments):
        if place in decided.rejected or not (moment.stance in FIND_STANCES or place in decided.pairs):
            continue
        clip = by_name.get(moment.clip)
        second = naming_second(moment.mentions, moment.term) if moment.mentions else moment.start
        at = epoch(clip.start) + second if clip is not None and second < _LONGEST_CLIP_S else float("nan")
        named = any(m.kind in THINGS and m.stance in FIND_STANCES for m in moment.mentions)
        group = cameras.index(clip.camera) if clip is not None else -1
        by_hand = place in decided.pairs or bool(_SAYS_FIND & set(moment.decided))
        finds.append(Find(moment, clip, at, group, named or by_hand))
        places.append(place)
    return finds, places


def _timing_of(moment: Moment, clips: Sequence[Clip], rounds: Rounds) -> Timing | None:
    """The clock of a moment's clip: its own where it has one, else its camera's."""
    clip = next((c for c in clips if c.name == moment.clip), None)
    if clip is None:
        return None
    mine = [t for t in rounds.timings if t.clock.camera == clip.camera and t.clock.clip in {None, clip.name}]
    return next((t for t in mine if t.clock.clip == clip.name), mine[0] if mine else None)


def _at(moment: Moment, clips: Sequence[Clip], timing: Timing | None, zone: tzinfo | None) -> datetime:
    clip = next((c for c in clips if c.name == moment.clip), None)
    if clip is None or timing is None:
        return moment.at
    camera = epoch(clip.start) + moment.start
    shifted = later(clip.start, moment.start + timing.on_log(camera) - camera)
    try:
        return shifted.astimezone(zone) if zone else shifted
    except (OverflowError, ValueError):
        return shifted


def _clocks(rounds: Rounds, log: Sequence[LogEntry]) -> tuple[Clock, ...]:
    """Every clock with its grounds in words; what holds for all of them is said once."""
    clocks: list[Clock] = []
    said = False
    for timing in rounds.timings:
        clock = timing.clock
        if clock.pairs:
            basis = clock.basis
            if rounds.minutes:
                basis += "; the log gives whole minutes, which cost half a minute on average and were not made up"
            if not said:
                basis, said = f"{basis}; {LAG_NOTE}", True
        elif not log:
            basis = "there is no log to compare with; the camera's own time was kept"
        elif not any(row.time for row in log):
            basis = "the log gives no times; the camera's own time was kept"
        else:
            basis = (
                "no find of this camera could be paired with a row that gives a time; the camera's own time was kept"
            )
        clocks.append(clock.model_copy(update={"basis": basis}))
    return tuple(clocks)


def _unlogged(moments: Sequence[Moment], index_of: dict[int, int], by_find: dict[int, Pair]) -> list[str]:
    """Finds of the day that no row was found for."""
    return [
        moment.id
        for place, moment in enumerate(moments)
        if moment.stance in {Stance.FOUND, Stance.UNSURE} and place in index_of and index_of[place] not in by_find
    ]


def _unfilmed(log: Sequence[LogEntry], pairs: Sequence[Pair]) -> tuple[str, ...]:
    filmed = {log[pair.row].find.strip() for pair in pairs}
    return tuple(dict.fromkeys(row.find.strip() for row in log if row.find.strip() and row.find.strip() not in filmed))


def _unknown_clips(moments: Sequence[Moment], clips: Sequence[Clip]) -> list[Problem]:
    known = {clip.name for clip in clips}
    missing = dict.fromkeys(moment.clip for moment in moments if moment.clip not in known)
    return [
        Problem(
            where=name,
            what="has words but is not among the clips, so nobody knows when it was filmed",
            remedy="Put the clip into footage/ again, or remove its transcript.",
        )
        for name in missing
    ]
