"""Moments while decisions are being laid over them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from episode.matching.grouping import FIND_STANCES, THINGS, Group
from episode.matching.kinship import Kinship
from episode.matching.naming import main_term, title
from episode.models import Mention, Moment, Stance


@dataclass(eq=False)
class Working:
    """A moment with what was decided about it. ``anchors`` are all seconds by which a decision may know it."""

    moment: Moment
    anchors: list[float] = field(default_factory=list)
    terms: set[str] = field(default_factory=set)
    """Every term it has or had, in lower case."""
    name: tuple[str | None, str] | None = None
    """Term and title that the person gave."""
    stance: Stance | None = None
    paired: bool = False
    row: int | None = None
    rejected: bool = False
    actions: list[str] = field(default_factory=list)
    gone: bool = False
    """It was joined to another."""

    @property
    def is_find(self) -> bool:
        """Whether it is or may be a find."""
        return not self.rejected and (self.stance or self.moment.stance) in FIND_STANCES

    def note(self, action: str) -> None:
        """Remember that this action shaped it, as the latest."""
        self.actions = [*(a for a in self.actions if a != action), action]

    def keep(self) -> None:
        """It is no longer rejected: something else was decided about it."""
        self.rejected = False
        self.actions = [a for a in self.actions if a != "reject"]

    def change(self, **fields: object) -> None:
        """Change the moment and remember where it was, so that older decisions still find it."""
        self.moment = self.moment.model_copy(update=fields)
        self.remember()

    def remember(self) -> None:
        """Add the moment's seconds and terms as they are to those it is known by."""
        here = (self.moment.start, *(m.start for m in self.moment.mentions))
        self.anchors.extend(second for second in here if second not in self.anchors)
        names = (self.moment.term, self.moment.title, *(m.term for m in self.moment.mentions))
        self.terms |= {name.casefold() for name in names if name}

    def off(self, second: float) -> float:
        """How far a second is from the nearest that it is known by."""
        return min(abs(anchor - second) for anchor in self.anchors)

    def finished(self) -> Moment:
        """The moment with everything decided."""
        update: dict[str, object] = {"decided": tuple(self.actions)}
        if self.name is not None:
            update |= {"term": self.name[0], "title": self.name[1]}
            if self.name[0] != self.moment.term:
                update["was"] = self.moment.term
            if self.moment.stance is Stance.UNSURE:
                update["stance"] = Stance.FOUND  # the person says what it is
        if self.stance is not None:
            update["stance"] = self.stance
        if self.rejected:
            update["stance"] = Stance.ASIDE
        return self.moment.model_copy(update=update)


def working(moment: Moment) -> Working:
    """A moment that nothing was decided about yet."""
    made = Working(moment)
    made.remember()
    return made


def names_find(mention: Mention) -> bool:
    """Whether a mention names a thing as being there."""
    return mention.kind in THINGS and mention.stance in FIND_STANCES


def retold(mentions: Sequence[Mention], otherwise: Stance, kin: Kinship) -> dict[str, object]:
    """Mentions with the term, stance and title that they give together; ``otherwise`` where there are none."""
    if not mentions:
        return {"mentions": (), "term": None, "stance": otherwise, "title": ""}
    core = [m for m in mentions if names_find(m)]
    rest = [m for m in mentions if not names_find(m)]
    group = Group(find=True, core=core, details=rest) if core else Group(find=False, core=rest)
    term, stance = main_term(group, kin)
    return {"mentions": tuple(group.mentions), "term": term, "stance": stance, "title": title(group, term)}
