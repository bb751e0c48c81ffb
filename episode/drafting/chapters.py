"""Chapters: where each find comes into talk, under a title that is short, plain and true.

A chapter begins where its moment begins and ends where the next one does. What hosts ask (the first at 0:00,
a least number, a least length) comes from ``vocab/rules/host_rules.csv``. Neighbours that are shorter than that
are joined and named together; a date or maker stands in a title only where the record supports it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING

from episode.drafting.checked import supported_date, supported_maker
from episode.drafting.counting import ordinal_in_words, plural, tally
from episode.drafting.host_rules import host_rules
from episode.drafting.naming import is_mass, is_unknown, name_of
from episode.drafting.outgoing import outgoing
from episode.drafting.timeline import starts, total
from episode.drafting.years import ordinal
from episode.models import Chapter, Claim, Clip, Moment, Problem, Seconds, Settings, Stance, Transcript

if TYPE_CHECKING:
    from episode.lexicon.book import Lexicon

LONG_ASIDE_S = 40.0
"""Talk about history or a type in general for this long gets a chapter of its own (common practice, no source)."""
INTRO = "Setting out"
ROUND_UP = "Round-up"
MORE = "and more"


def chapters(
    moments: Sequence[Moment],
    transcript: Transcript,
    clips: Sequence[Clip],
    settings: Settings,
    lexicon: Lexicon | None = None,
    claims: Sequence[Claim] = (),
) -> tuple[Chapter, ...]:
    """The day's chapters on the programme's timeline, first at 0, each ending where the next begins.

    Gives what there is, even if it is fewer than hosts take: ask ``chapter_problems`` before publishing.
    """
    whole = total(clips)
    if not whole:
        return ()
    blocks = _blocks(moments, clips, _Naming(settings, lexicon, claims))
    blocks = _with_intro(blocks, transcript, clips, settings)
    blocks = _joined(blocks, whole)
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
    ROUND_UP = 3


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


@dataclass(frozen=True)
class _Naming:
    settings: Settings
    lexicon: Lexicon | None
    claims: Sequence[Claim]


def _blocks(moments: Sequence[Moment], clips: Sequence[Clip], naming: _Naming) -> list[_Block]:
    begin = starts(clips)
    lengths = {clip.name: clip.duration for clip in clips}
    placed = sorted(
        ((round(begin[m.clip] + min(m.start, lengths[m.clip]), 3), m) for m in moments if m.clip in begin),
        key=lambda pair: (pair[0], pair[1].id),
    )
    last_find = max((at for at, m in placed if m.stance in (Stance.FOUND, Stance.EARLIER, Stance.UNSURE)), default=-1.0)
    found: list[_Block] = []
    seen: set[str] = set()
    for at, moment in placed:
        block = _block(at, moment, naming, seen, closing=at > last_find)
        if block is None:
            continue
        previous = found[-1] if found else None
        if previous and _continues(previous, block):
            previous.ids += block.ids
            continue
        found.append(block)
        seen |= block.finds
    return found


def _block(at: Seconds, moment: Moment, naming: _Naming, seen: set[str], *, closing: bool) -> _Block | None:
    finds = {moment.find} if moment.find else set()
    name = name_of(moment, naming.settings)
    mass = is_mass(moment, naming.lexicon)
    block = _Block(start=at, sort=_Sort.FIND, ids=[moment.id], finds=finds, confidence=moment.confidence)
    if is_unknown(moment):
        block.label = f"Unidentified: {name}?" if name else "Unidentified find"
        block.names = [("unidentified object", False)]
    elif moment.stance is Stance.FOUND:
        again = bool(finds & seen)
        block.label = f"More on the {name}" if again else _dated(name, moment, naming)
        block.names = [(name, mass)]
    elif moment.stance is Stance.EARLIER:
        block.label = f"Earlier find: {name}" if name else "Earlier find"
        block.names = [(f"earlier find ({name})" if name else "earlier find", False)]
    elif moment.stance is Stance.RECAP and closing:
        block.sort, block.label = _Sort.ROUND_UP, ROUND_UP
    elif moment.stance is Stance.ASIDE and moment.end - moment.start >= LONG_ASIDE_S and name:
        own = moment.title not in ("", moment.term)
        block.sort, block.label = _Sort.ASIDE, name if own else f"About {name if mass else plural(name)}"
        block.names = [(block.label, False)]
    else:
        return None
    return block


def _continues(previous: _Block, block: _Block) -> bool:
    """Whether a block goes on with what the one before it is about: the same find, or the same round-up."""
    if block.sort is _Sort.ROUND_UP:
        return previous.sort is _Sort.ROUND_UP
    return block.sort is _Sort.FIND and bool(block.finds) and block.finds == previous.finds


def _dated(name: str, moment: Moment, naming: _Naming) -> str:
    """The name with a supported maker and date after it, as far as a title has room."""
    room = host_rules().title_shown
    details = [supported_maker(moment, naming.claims), supported_date(moment, naming.claims)]
    details = [d.removeprefix("the ") if d[:5].strip() == "the" else d for d in details if d]
    for chosen in (details, details[-1:], details[:1]):
        title = ", ".join([name, *chosen])
        if chosen and len(title) <= room and not any(d.casefold() == name.casefold() for d in chosen):
            return title
    return name


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
    """The neighbour to join with: of the same sort if there is one, the shorter if both are, else the next."""
    around = [i for i in (short + 1, short - 1) if 0 <= i < len(blocks)]
    alike = [i for i in around if blocks[i].sort is blocks[short].sort]
    return min(alike or around, key=lambda i: (lengths[i], -i))


def _merged(first: _Block, second: _Block) -> _Block:
    names = list(first.names)
    if not (second.finds and second.finds <= first.finds):
        names += second.names
    # An introduction or a round-up of a few seconds leaves the title to the find that it was joined with.
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
        tell = counts[title] > 1 and block.sort is not _Sort.ROUND_UP and len(again) <= room
        found.append(again if tell else title)
    return found


def _again(block: _Block, title: str, number: int) -> str:
    name, mass = block.names[0] if block.names else ("", False)
    if block.label != name or mass:
        return f"{title} ({ordinal(number)})"
    return f"{ordinal_in_words(number).capitalize()} {name}"
