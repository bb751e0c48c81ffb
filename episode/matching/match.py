"""Where each find is shown, which log row it has, and what the clocks have to do with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
from episode.matching.tell import told_clocks
from episode.matching.times import photo_problems
from episode.matching.times import row_times as times_of_rows
from episode.matching.wall import epoch, later
from episode.models import Clip, Decision, LogEntry, Matched, Mention, Moment, Problem, Stance, Tie, Transcript

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
    *,
    ties: Sequence[Tie] = (),
    row_times: Mapping[int, datetime] | None = None,
) -> Matched:
    """Group mentions into moments and pair these with the log, each camera's clock found on the way.

    Every mention is in exactly one moment; moments are in order of programme time. Clocks and pairs are
    found together: offsets are voted for by all pairs that could belong together, tried on an
    order-preserving alignment, and refined with it until both stand still. What a person paired is kept and
    anchors the clock. ``ties`` are clips that recorded the same sound: cameras so tied move as one. ``row_times``
    gives the times of photographs that rows name, by the row's number in the file, on the log's clock.
    """
    talk, kin = Talk(transcript), Kinship(lexicon)
    decided = apply_decisions(find_moments(mentions, transcript, clips, lexicon), log, decisions, kin, clips)
    finds, places = _finds(decided, clips)
    rows = times_of_rows(log, row_times)
    moment_senses = [
        sense_of_moment(f.moment, talk.text(f.moment.clip, f.moment.start, f.moment.end), kin) for f in finds
    ]
    row_senses = [sense_of_row(row, kin) for row in log]
    meaning = Meaning(moment_senses, row_senses, kin)
    by_hand = {index: decided.pairs[place] for index, place in enumerate(places) if place in decided.pairs}
    table = Table(finds, rows.order, [sense.handful for sense in row_senses], by_hand, kin, meaning.likeness)
    rounds = Rounds(table, meaning, rows, clips, ties)
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
        clocks=told_clocks(rounds, log, rows, clips),
        unlogged=tuple(_unlogged(result, index_of, by_find)) if log else (),
        unfilmed=_unfilmed(log, pairing.pairs),
        problems=(
            *number_problems(log),
            *photo_problems(log, row_times or {}),
            *_unknown_clips(decided.moments, clips),
            *rounds.problems,
            *decided.problems,
        ),
    )


def _finds(decided: Decided, clips: Sequence[Clip]) -> tuple[list[Find], list[int]]:
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
        by_hand = place in decided.pairs or bool(_SAYS_FIND & set(moment.decided))
        finds.append(Find(moment, clip, at, named or by_hand))
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
