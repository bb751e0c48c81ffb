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
    decided = apply_decisions(find_moments(mentions, transcript, clips, lexicon), log, decisions)
    cameras = _cameras(clips)
    finds, places = _finds(decided, clips, [name for name, _ in cameras])
    rows = row_times(log)
    moment_senses = [
        sense_of_moment(f.moment, talk.text(f.moment.clip, f.moment.start, f.moment.end), kin) for f in finds
    ]
    row_senses = [sense_of_row(row, kin) for row in log]
    meaning = Meaning(moment_senses, row_senses, kin)
    by_hand = {index: decided.pairs[place] for index, place in enumerate(places) if place in decided.pairs}
    table = Table(finds, rows.order, [sense.handful for sense in row_senses], by_hand, kin)
    rounds = Rounds(table, meaning, rows, cameras)
    pairing = rounds.settle()
    by_find = {pair.find: pair for pair in pairing.pairs}
    named_at = rounds.named_at()

    zone = next((row.time.tzinfo for row in log if row.time is not None and row.time.tzinfo), None)
    result: list[Moment] = []
    index_of = {place: index for index, place in enumerate(places)}
    for place, moment in enumerate(decided.moments):
        index = index_of.get(place)
        timing = rounds.timings[rounds.groups[index]] if index is not None else _timing_of(moment, clips, rounds)
        update: dict[str, object] = {"at": _at(moment, clips, timing, zone)}
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
        unlogged=tuple(_unlogged(result, index_of, by_find)),
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
        second = naming_second(moment.mentions, moment.term)
        at = epoch(clip.start) + second if clip is not None else float("nan")
        named = any(m.kind in THINGS and m.stance in FIND_STANCES for m in moment.mentions)
        group = cameras.index(clip.camera) if clip is not None else -1
        finds.append(Find(moment, clip, at, group, named or place in decided.pairs))
        places.append(place)
    return finds, places


def _timing_of(moment: Moment, clips: Sequence[Clip], rounds: Rounds) -> Timing | None:
    """The clock of a moment that has no row to look for: its clip's own, else its camera's."""
    clip = next((c for c in clips if c.name == moment.clip), None)
    if clip is None:
        return None
    own = next((t for t in rounds.timings if t.clock.clip == clip.name), None)
    return own or next((t for t in rounds.timings if t.clock.camera == clip.camera and t.clock.clip is None), None)


def _at(moment: Moment, clips: Sequence[Clip], timing: Timing | None, zone: tzinfo | None) -> datetime:
    """When the moment starts, on the log's time base and in its zone."""
    clip = next((c for c in clips if c.name == moment.clip), None)
    if clip is None:
        return moment.at
    camera = epoch(clip.start) + moment.start
    shift = timing.on_log(camera) - camera if timing else 0.0
    when = later(clip.start, moment.start + shift)
    return when.astimezone(zone) if zone else when


def _clocks(rounds: Rounds, log: Sequence[LogEntry]) -> tuple[Clock, ...]:
    timed = any(row.time is not None for row in log)
    return tuple(_told(timing.clock, has_log=bool(log), timed=timed) for timing in rounds.timings)


def _told(clock: Clock, *, has_log: bool, timed: bool) -> Clock:
    if clock.pairs:
        return clock.model_copy(update={"basis": f"{clock.basis}; {LAG_NOTE}"})
    if not has_log:
        why = "there is no log to compare it with"
    elif not timed:
        why = "the log gives no times to compare it with"
    else:
        why = "no find of this camera could be tied to a log row with a time"
    return clock.model_copy(update={"basis": f"not known: {why}; the camera's own time is used"})


def _unlogged(moments: Sequence[Moment], index_of: dict[int, int], paired: dict[int, Pair]) -> list[str]:
    """Finds of today that have no row; one shown from another day, or only guessed at, needs none to be found."""
    return [
        moment.id
        for place, moment in enumerate(moments)
        if place in index_of and index_of[place] not in paired and moment.stance in {Stance.FOUND, Stance.UNSURE}
    ]


def _unfilmed(log: Sequence[LogEntry], pairs: Sequence[Pair]) -> tuple[str, ...]:
    taken = {pair.row for pair in pairs}
    return tuple(row.find for index, row in enumerate(log) if index not in taken)


def _unknown_clips(moments: Sequence[Moment], clips: Sequence[Clip]) -> list[Problem]:
    known = {clip.name for clip in clips}
    return [
        Problem(where=name, what="has mentions, but is not among the day's clips; its times stand as they are")
        for name in dict.fromkeys(moment.clip for moment in moments)
        if name not in known
    ]
