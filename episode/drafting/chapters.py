"""Chapters: where each find comes into talk, under a title that is short, plain and true.

A chapter begins where its find comes into play (the start of its moment) and ends where the next one does. The
site, history and what nobody could name get their own; a recap makes none. What hosts ask (the first at 0:00,
a least number, a least length) comes from ``vocab/rules/host_rules.csv``. Neighbours that are shorter than that
are joined and named together; a date or maker stands in a title only where the record supports it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING

from episode.drafting.counting import ordinal_in_words, plural, tally
from episode.drafting.host_rules import host_rules
from episode.drafting.naming import by_the_piece, is_mass, is_unknown, name_of
from episode.drafting.outgoing import outgoing
from episode.drafting.passages import Passage, Sort, passages
from episode.drafting.timeline import starts, total
from episode.drafting.titles import find_title
from episode.drafting.years import ordinal
from episode.models import Chapter, Claim, Clip, Kind, Moment, Problem, Seconds, Settings, Stance, Transcript

if TYPE_CHECKING:
    from episode.lexicon.book import Lexicon

LONG_ASIDE_S = 40.0
"""Talk about history or a type in general for this long gets a chapter of its own (common practice, no source)."""
INTRO = "Setting out"
WORTH_IT_S = 15.0
BETWEEN_ALIKE_S = 20.0
"""Finds of one name, each talked about for less than this, this near to each other, share a chapter (common practice,
no source)."""
SITE = "The site"
HISTORY = "Some history"
UNKNOWN = "Unidentified find"
MORE = "and more"


def chapters(
    moments: Sequence[Moment],
    transcript: Transcript,
    clips: Sequence[Clip],
    settings: Settings,
    lexicon: Lexicon | None = None,
    claims: tuple[Claim, ...] = (),
) -> tuple[Chapter, ...]:
    """The day's chapters on the programme's timeline, first at 0, each ending where the next begins.

    Gives what there is, even if it is fewer than hosts take: ask ``chapter_problems`` before publishing.
    """
    whole = total(clips)
    if not whole:
        return ()
    naming = _Naming(settings, lexicon, claims)
    blocks = _with_passages(
        _blocks(moments, clips, naming), passages(transcript, moments, clips), moments, clips, naming
    )
    blocks = _with_intro(blocks, transcript, clips, settings)
    blocks = _joined(_handfuls(blocks), whole)
    blocks = _limited(blocks, settings.chapter_limit, whole)
    titles = _told_apart(blocks, [_title(block, settings) for block in blocks])
    ends = [*(block.start for block in blocks[1:]), whole]
    return tuple(
        Chapter(start=block.start, end=end, title=title, moments=tuple(block.ids))
        for block, end, title in zip(blocks, ends, titles, strict=True)
    )


def chapter_problems(found: Sequence[Chapter]) -> tuple[Problem, ...]:
    """Why hosts would not take these as chapters; empty if they would."""
    rules = host_rules()
    if len(found) >= rules.fewest:
        return ()
    return (
        Problem(
            where="chapters",
            what=f"video hosts take chapters only from {rules.fewest} on, each {rules.shortest_s:.0f} s or longer; "
            f"this day gives {len(found)}",
            remedy="Leave them out, or let more finds count in review.",
            level="note",
        ),
    )


class _Sort(IntEnum):
    INTRO = 0
    FIND = 1
    ASIDE = 2


@dataclass
class _Block:
    """A stretch that begins at ``start``; ``names`` are what its title has to say."""

    start: Seconds
    sort: _Sort
    label: str = ""
    """The whole title, where one moment fills the block."""
    names: list[tuple[str, bool]] = field(default_factory=list)
    """(name, counted by the piece) of each distinct find, for a joined title."""
    ids: list[str] = field(default_factory=list)
    finds: set[str] = field(default_factory=set)
    confidence: float = 0.0
    end: Seconds = 0.0
    """Where talk leaves it."""


@dataclass(frozen=True)
class _Naming:
    settings: Settings
    lexicon: Lexicon | None
    claims: tuple[Claim, ...]


def _blocks(moments: Sequence[Moment], clips: Sequence[Clip], naming: _Naming) -> list[_Block]:
    begin = starts(clips)
    lengths = {clip.name: clip.duration for clip in clips}
    placed = sorted(
        ((round(begin[m.clip] + min(m.start, lengths[m.clip]), 3), m) for m in moments if m.clip in begin),
        key=lambda pair: (pair[0], pair[1].id),
    )
    found: list[_Block] = []
    seen: set[str] = set()
    for at, moment in placed:
        block = _block(at, moment, naming, seen)
        if block is None:
            continue
        previous = found[-1] if found else None
        if previous and _continues(previous, block):
            previous.ids += block.ids
            previous.end = max(previous.end, block.end)
            continue
        found.append(block)
        seen |= block.finds
    return found


def _block(at: Seconds, moment: Moment, naming: _Naming, seen: set[str]) -> _Block | None:
    finds = {moment.find} if moment.find else set()
    name = name_of(moment, naming.settings)
    mass = is_mass(moment, naming.lexicon)
    block = _Block(start=at, sort=_Sort.FIND, ids=[moment.id], finds=finds, confidence=moment.confidence)
    block.end = at + max(0.0, moment.end - moment.start)
    if is_unknown(moment):
        block.label = f"Unidentified: {name}?" if name else UNKNOWN
        block.names = [("unidentified object", False)]
    elif moment.stance is Stance.FOUND:
        again = bool(finds & seen)
        block.label = f"More on the {name}" if again else _found(name, moment, naming)
        block.names = [(name, mass)]
    elif moment.stance is Stance.EARLIER:
        block.label = f"Earlier find: {name}" if name else "Earlier find"
        block.names = [(f"earlier find ({name})" if name else "earlier find", False)]
    elif moment.stance is Stance.ASIDE and moment.end - moment.start >= LONG_ASIDE_S and name:
        own = moment.title not in ("", moment.term)
        block.sort, block.label = _Sort.ASIDE, name if own else f"About {name if mass else plural(name)}"
        block.names = [(block.label, False)]
    else:
        return None
    return block


def _found(name: str, moment: Moment, naming: _Naming) -> str:
    return find_title(name, moment, naming.claims, naming.settings.title_style) if name else UNKNOWN


def _continues(previous: _Block, block: _Block) -> bool:
    """Whether a block goes on with the find that the one before it is about."""
    return block.sort is _Sort.FIND and bool(block.finds) and block.finds == previous.finds


def _with_passages(
    blocks: list[_Block], told: Sequence[Passage], moments: Sequence[Moment], clips: Sequence[Clip], naming: _Naming
) -> list[_Block]:
    """The blocks with the site, history and unknowns between them; what an aside names is part of it."""
    begin = starts(clips)
    first = {
        m.id: begin[m.clip] + min((n.start for n in m.mentions), default=m.start) for m in moments if m.clip in begin
    }
    for passage in told:
        inside = [m for m in moments if passage.start <= first.get(m.id, -1.0) < passage.end]
        block = _Block(start=passage.start, sort=_Sort.ASIDE, end=passage.end)
        if passage.sort is Sort.UNKNOWN:
            block.sort, block.label, block.names = _Sort.FIND, UNKNOWN, [("unidentified object", False)]
        else:
            block.label = SITE if passage.sort is Sort.SITE else _subject(inside, naming)
            block.names = [(block.label, False)]
            ids = {m.id for m in inside}
            blocks = [b for b in blocks if not b.ids or not ids.issuperset(b.ids)]
            taken = {i for b in blocks for i in b.ids}
            block.ids = [m.id for m in inside if m.id not in taken and m.stance in (Stance.FOUND, Stance.ASIDE)]
        blocks = sorted([*blocks, block], key=lambda b: b.start)
    return blocks


def _subject(inside: Sequence[Moment], naming: _Naming) -> str:
    """What an aside is about: the thing that it names most often."""
    named: dict[str, int] = {}
    for moment in inside:
        for mention in moment.mentions:
            if mention.kind in (Kind.OBJECT, Kind.WARE):
                named[mention.term] = named.get(mention.term, 0) + 1
    if not named:
        return HISTORY
    term = max(named, key=lambda name: named[name])
    known = naming.lexicon.get(term) if naming.lexicon else None
    mass = term in by_the_piece() or (known is not None and known.kind is Kind.WARE)
    return f"About {term if mass else plural(term)}"


def _with_intro(
    blocks: list[_Block], transcript: Transcript, clips: Sequence[Clip], settings: Settings
) -> list[_Block]:
    if blocks and blocks[0].start < host_rules().shortest_s:
        blocks[0].start = 0.0
        return blocks
    place = outgoing(settings.place, settings)
    title = f"{INTRO} at {place}" if place and place == settings.place.strip() else INTRO
    spoken = any(s.clip == clips[0].name for s in transcript.segments)
    if len(title) > host_rules().title_shown or not (spoken or place):
        title = INTRO
    return [_Block(start=0.0, sort=_Sort.INTRO, label=title), *blocks]


def _handfuls(blocks: list[_Block]) -> list[_Block]:
    """Blocks with finds alike that follow each other in a few words taken together: "Five pins"."""
    found: list[_Block] = []
    for block in blocks:
        last = found[-1] if found else None
        if (
            last is not None
            and block.sort is last.sort is _Sort.FIND
            and bool(block.ids and last.ids)
            and set(block.names) == set(last.names)
            and block.start - last.end < BETWEEN_ALIKE_S
            and max(block.end - block.start, (last.end - last.start) / len(last.names)) < WORTH_IT_S
        ):
            found[-1] = _merged(last, block)
        else:
            found.append(block)
    return found


def _joined(blocks: list[_Block], whole: Seconds) -> list[_Block]:
    """Blocks of which each is long enough: a short one goes with its nearer neighbour of the same sort."""
    shortest = host_rules().shortest_s
    blocks = list(blocks)
    while len(blocks) > 1:
        lengths = [b.start - a.start for a, b in itertools.pairwise(blocks)] + [whole - blocks[-1].start]
        short = next((i for i, length in enumerate(lengths) if length < shortest), None)
        if short is None:
            break
        partner = _partner(blocks, lengths, short)
        first, second = min(short, partner), max(short, partner)
        blocks[first : second + 1] = [_merged(blocks[first], blocks[second])]
    return blocks


def _partner(blocks: list[_Block], lengths: list[Seconds], short: int) -> int:
    """The neighbour to join with: of the same sort if there is one, the nearer in talk if both are, else the next."""
    around = [i for i in (short + 1, short - 1) if 0 <= i < len(blocks)]
    alike = [i for i in around if blocks[i].sort is blocks[short].sort]
    return min(alike or around, key=lambda i: (_silence(blocks, i, short), lengths[i], -i))


def _silence(blocks: list[_Block], one: int, other: int) -> Seconds:
    first, second = blocks[min(one, other)], blocks[max(one, other)]
    return round(max(0.0, second.start - first.end), 1)


def _merged(first: _Block, second: _Block) -> _Block:
    names = list(first.names)
    if not (second.finds and second.finds <= first.finds):
        names += second.names
    if not (first.finds and second.finds):
        names = [n for n in names if not any(o[0].casefold().endswith(f" {n[0].casefold()}") for o in names)]
    # An introduction of a few seconds leaves the title to the find that it was joined with.
    told = [b for b in (first, second) if b.names] or [first]
    alone = len(told) == 1 or len(names) == len(first.names)
    return _Block(
        start=first.start,
        sort=told[0].sort,
        label=told[0].label if alone else "",
        names=names,
        ids=first.ids + second.ids,
        finds=first.finds | second.finds,
        confidence=max(first.confidence, second.confidence),
        end=max(first.end, second.end),
    )


def _limited(blocks: list[_Block], limit: int, whole: Seconds) -> list[_Block]:
    """The strongest blocks (by confidence, then length), at most ``limit`` of them; the opening one always stays."""
    if not limit or len(blocks) <= limit:
        return blocks
    ends = [*(b.start for b in blocks[1:]), whole]
    order = sorted(range(1, len(blocks)), key=lambda i: (-blocks[i].confidence, blocks[i].start - ends[i], i))
    kept = {0, *order[: limit - 1]}
    chosen: list[_Block] = []
    for index, block in enumerate(blocks):
        if index in kept:
            chosen.append(block)
        else:
            chosen[-1].ids += block.ids
    return chosen


def _title(block: _Block, settings: Settings) -> str:
    room = host_rules().title_shown
    title = block.label or _list_title(block.names, room)
    title = outgoing(title.replace("<", " ").replace(">", " "), settings)
    if len(title) > room:
        title = title[: room - 1].rsplit(" ", 1)[0].rstrip(" ,:;") + "…"
    return title[:1].upper() + title[1:]


def _list_title(names: list[tuple[str, bool]], room: int) -> str:
    """As "Pipe bowl and two pins", with as many as there is room for, then "and more"."""
    parts = tally(names)
    parts = [p.removeprefix("a ").removeprefix("an ") for p in parts]
    for count in range(len(parts), 0, -1):
        chosen = parts[:count] if count == len(parts) else [*parts[:count], MORE.removeprefix("and ")]
        title = ", ".join(chosen[:-1]) + " and " + chosen[-1] if len(chosen) > 1 else chosen[0]
        if len(title) <= room:
            return title
    return "several finds"


def _told_apart(blocks: list[_Block], titles: list[str]) -> list[str]:
    """Like titles numbered, so that a viewer can tell them apart: "Pin", "Second pin", "Pin, 1540 (2nd)"."""
    counts: dict[str, int] = {}
    found: list[str] = []
    room = host_rules().title_shown
    for block, title in zip(blocks, titles, strict=True):
        counts[title] = counts.get(title, 0) + 1
        again = _again(block, title, counts[title])
        tell = counts[title] > 1 and len(again) <= room
        found.append(again if tell else title)
    return found


def _again(block: _Block, title: str, number: int) -> str:
    name, mass = block.names[0] if block.names else ("", False)
    if block.label != name or mass:
        return f"{title} ({ordinal(number)})"
    return f"{ordinal_in_words(number).capitalize()} {name}"
