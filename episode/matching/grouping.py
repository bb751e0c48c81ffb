"""Which mentions belong together: one object in hand, one stretch of talk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from episode.matching.kinship import Kinship
from episode.matching.talk import BORDER_PAUSE_S, Talk
from episode.models import Kind, Mention, Stance

FIND_STANCES = frozenset({Stance.FOUND, Stance.EARLIER, Stance.UNSURE})
THINGS = frozenset({Kind.OBJECT, Kind.WARE})

# How long talk about one object goes on. Common practice, no source; chosen on made-up days of other seeds
# than the benchmark reports.
SAME_THING_S = 60.0
SAME_THING_AFTER_PAUSE_S = 20.0
RETURN_S = 45.0
GUESS_S = 15.0
NAMING_S = 20.0
DETAIL_AFTER_S = 20.0
DETAIL_BEFORE_S = 15.0
LONGEST_DETAIL_S = 45.0
ROUND_UP_S = 30.0


@dataclass
class Group:
    """Mentions that belong together. ``core`` are those that name the thing; ``find`` tells it from mere talk."""

    find: bool
    core: list[Mention] = field(default_factory=list)
    details: list[Mention] = field(default_factory=list)

    @property
    def mentions(self) -> list[Mention]:
        """All of them in order of time."""
        return sorted([*self.core, *self.details], key=mention_order)

    @property
    def first(self) -> float:
        """When the thing is first named."""
        return min(mention.start for mention in self.core)

    @property
    def last(self) -> float:
        """When the last word that belongs to it ends."""
        return max(mention.end for mention in (*self.core, *self.details))


def group(mentions: Sequence[Mention], talk: Talk, kin: Kinship) -> list[Group]:
    """The mentions of one clip, each in exactly one group, groups in order of their first naming."""
    ordered = sorted(mentions, key=mention_order)
    naming = [m for m in ordered if _names_find(m)]
    finds: list[Group] = []
    for mention in naming:
        _place(mention, finds, talk, kin)
    finds = [found for found in finds if found.core]
    others = [m for m in ordered if not _names_find(m)]
    rest = [m for m in others if not _attach(m, finds, talk, kin)]
    groups = [*finds, *_mere_talk(rest)]
    return sorted(groups, key=lambda g: (g.first, not g.find, mention_order(g.core[0])))


def mention_order(mention: Mention) -> tuple[float, float, str, str, str]:
    """A fixed order of mentions within a clip."""
    return mention.start, mention.end, mention.term, mention.stance.value, mention.heard


def _names_find(mention: Mention) -> bool:
    return mention.kind in THINGS and mention.stance in FIND_STANCES


def _place(mention: Mention, finds: list[Group], talk: Talk, kin: Kinship) -> None:
    current = finds[-1] if finds else None
    if current is None:
        finds.append(Group(find=True, core=[mention]))
        return
    if _continues(mention, current, talk, kin):
        current.core.append(mention)
        return
    earlier = _returns_to(mention, finds[:-1], talk, kin)
    if earlier is not None:
        earlier.core.append(mention)
        return
    begun = Group(find=True, core=[mention])
    if mention.stance is not Stance.UNSURE:
        _take_guesses(begun, current, talk, kin)
    finds.append(begun)


def _continues(mention: Mention, current: Group, talk: Talk, kin: Kinship) -> bool:
    """Whether a naming goes on about the thing in hand."""
    before = max(current.core, key=mention_order)
    gap = mention.start - max(m.end for m in current.core)
    here, there = talk.line_of(mention), talk.line_of(before)
    terms = {m.term for m in current.core}
    related = any(kin.related(mention.term, term) for term in terms)
    if not related and (mention.stance is Stance.EARLIER) != all(m.stance is Stance.EARLIER for m in current.core):
        return False
    if mention.clip == before.clip and here.start == there.start:
        return related or _together_in_one_breath(mention, current, kin)
    new_stretch = _arrives(mention, before, talk)
    paused = talk.pause(mention.clip, before.end, mention.start) >= BORDER_PAUSE_S
    if "another" in here.cues and gap > 2.0:
        return False
    if related:
        if new_stretch:
            return gap <= 8.0 and not paused
        return gap <= (SAME_THING_AFTER_PAUSE_S if paused else SAME_THING_S)
    if _all_guesses(current) and "back" in here.cues and gap <= NAMING_S:
        return True
    if new_stretch or paused:
        return False
    if "part" in here.cues and gap <= GUESS_S:
        return True
    if mention.stance is Stance.UNSURE:
        return gap <= GUESS_S
    if _all_guesses(current):
        return gap <= NAMING_S
    return gap <= GUESS_S and _ware_of_thing(mention, current, kin)


def _together_in_one_breath(mention: Mention, current: Group, kin: Kinship) -> bool:
    """Terms of one sentence that describe one thing: a guess, two wares, a part and its whole, a ware and a shape."""
    if mention.stance is Stance.UNSURE or _all_guesses(current):
        return True
    if any(kin.siblings(mention.term, m.term) for m in current.core):
        return True
    if mention.kind is Kind.WARE and all(m.kind is Kind.WARE for m in current.core):
        return True
    return _ware_of_thing(mention, current, kin)


def _all_guesses(group: Group) -> bool:
    return all(m.stance is Stance.UNSURE for m in group.core)


def _ware_of_thing(mention: Mention, current: Group, kin: Kinship) -> bool:
    """Whether a ware and a shape may be the two names of one sherd: nothing says that they differ in material."""
    wares = [m for m in current.core if m.kind is Kind.WARE]
    things = [m for m in current.core if m.kind is Kind.OBJECT]
    if mention.kind is Kind.WARE:
        return not wares and bool(things) and all(_may_be_of(m.term, mention.term, kin) for m in things)
    return not things and bool(wares) and all(_may_be_of(mention.term, m.term, kin) for m in wares)


def _may_be_of(thing: str, ware: str, kin: Kinship) -> bool:
    if kin.siblings(thing, ware) or set(kin.chain(thing)) & set(kin.chain(ware)):
        return True
    one, other = kin.term(thing), kin.term(ware)
    if one is None or other is None or not one.material:
        return one is not None and not one.material
    return bool(other.material) and kin.nearness(one.material, other.material or "") > 0


def _arrives(mention: Mention, before: Mention, talk: Talk) -> bool:
    lines = talk.between(mention.clip, talk.line_of(before).start, mention.start)
    return any("arrive" in line.cues for line in lines)


def _returns_to(mention: Mention, earlier: list[Group], talk: Talk, kin: Kinship) -> Group | None:
    """The find that talk comes back to after another was named in between."""
    here = talk.line_of(mention)
    if here.cues & {"arrive", "another"}:
        return None
    for found in reversed(earlier[-3:]):
        last = max(m.end for m in found.core)
        if mention.start - last > RETURN_S:
            return None
        if any(kin.related(mention.term, m.term) for m in found.core):
            quiet = talk.pause(mention.clip, last, mention.start) < BORDER_PAUSE_S
            return found if quiet else None
    return None


def _take_guesses(begun: Group, current: Group, talk: Talk, kin: Kinship) -> None:
    """Guesses that led up to a naming leave the find that was in hand before."""
    named = begun.core[0]
    firm = [m for m in current.core if m.stance is not Stance.UNSURE]
    if not firm:
        return
    settled = max(m.end for m in firm)
    guesses = [
        m
        for m in current.core
        if m.start >= settled
        and named.start - m.end <= NAMING_S
        and not any(kin.related(m.term, f.term) for f in firm)
        and not _arrives(named, m, talk)
        and talk.pause(named.clip, m.end, named.start) < BORDER_PAUSE_S
    ]
    for guess in guesses:
        current.core.remove(guess)
        begun.core.insert(0, guess)
    begun.core.sort(key=mention_order)


def _attach(mention: Mention, finds: list[Group], talk: Talk, kin: Kinship) -> bool:
    """Give a mention that names no find to the find it tells about; ``False`` where there is none."""
    if mention.stance in {Stance.RECAP, Stance.HOPED}:
        return False
    here = talk.line_of(mention)
    same = [g for g in finds if any(talk.line_of(m).start == here.start for m in g.core)]
    if same:
        nearest = min(same, key=lambda g: (min(_distance(mention, m) for m in g.core), g.first))
        if mention.kind not in THINGS or mention.stance is not Stance.ASIDE or _tells_of(mention, nearest, kin):
            nearest.details.append(mention)
            return True
        return False
    before = max((g for g in finds if g.first <= mention.start), key=lambda g: g.first, default=None)
    after = min((g for g in finds if g.first > mention.start), key=lambda g: g.first, default=None)
    if before is not None and _goes_on(mention, before, talk, kin):
        before.details.append(mention)
        return True
    if after is not None and _leads_to(mention, after, talk):
        after.details.append(mention)
        return True
    return False


def _distance(one: Mention, other: Mention) -> float:
    return max(0.0, one.start - other.end, other.start - one.end)


def _tells_of(mention: Mention, group: Group, kin: Kinship) -> bool:
    return any(kin.nearness(mention.term, m.term) > 0 for m in group.core)


def _goes_on(mention: Mention, before: Group, talk: Talk, kin: Kinship) -> bool:
    last = max((m for m in before.mentions if m.start <= mention.start), key=lambda m: m.end)
    named = max((m.end for m in before.core if m.start <= mention.start), default=before.first)
    if mention.start - last.end > DETAIL_AFTER_S or mention.start - named > LONGEST_DETAIL_S:
        return False
    if _arrives(mention, last, talk) or talk.pause(mention.clip, last.end, mention.start) >= BORDER_PAUSE_S:
        return False
    return not (mention.kind in THINGS and mention.stance is Stance.ASIDE) or _tells_of(mention, before, kin)


def _leads_to(mention: Mention, after: Group, talk: Talk) -> bool:
    if mention.kind in THINGS and mention.stance is Stance.ASIDE:
        return False
    gap = after.first - mention.end
    return gap <= DETAIL_BEFORE_S and talk.pause(mention.clip, mention.end, after.first) < BORDER_PAUSE_S


def _mere_talk(mentions: list[Mention]) -> list[Group]:
    """Mentions that belong to no find, in runs of one stance."""
    groups: list[Group] = []
    latest: dict[Stance, Group] = {}
    for mention in mentions:
        run = latest.get(mention.stance)
        if run is not None and mention.start - run.last <= ROUND_UP_S:
            run.core.append(mention)
        else:
            run = latest[mention.stance] = Group(find=False, core=[mention])
            groups.append(run)
    return groups
