"""Moments: an object's stretch of talk within one clip."""

from __future__ import annotations

from collections.abc import Sequence

from episode.matching.extents import extents
from episode.matching.grouping import Group, group
from episode.matching.kinship import Kinship, Vocabulary
from episode.matching.naming import main_term, naming_second, title
from episode.matching.talk import Talk
from episode.matching.wall import NOWHEN, later
from episode.models import Clip, Mention, Moment, Transcript

_STILL_AFTER_S = 0.8


def moments(
    mentions: Sequence[Mention], transcript: Transcript, clips: Sequence[Clip], lexicon: Vocabulary
) -> tuple[Moment, ...]:
    """Group mentions into moments, in order of programme time; every mention is in exactly one.

    Namings with the stances found, earlier and unsure make finds, with the details told of them; all other
    mentions are kept in moments of their own stance. ``at`` is the camera's own time here.
    """
    talk, kin = Talk(transcript), Kinship(lexicon)
    by_clip: dict[str, list[Mention]] = {clip.name: [] for clip in clips}
    for mention in mentions:
        by_clip.setdefault(mention.clip, []).append(mention)
    known = {clip.name: clip for clip in clips}
    found: list[Moment] = []
    for name, inside in by_clip.items():
        groups = group(inside, talk, kin)
        spans = extents(groups, name, talk)
        drafts = [_moment(g, span, known.get(name), kin) for g, span in zip(groups, spans, strict=True)]
        found.extend(sorted(drafts, key=lambda m: (m.start, m.end)))
    return tuple(m.model_copy(update={"id": f"m{number:03d}"}) for number, m in enumerate(found, start=1))


def _moment(found: Group, span: tuple[float, float], clip: Clip | None, kin: Kinship) -> Moment:
    term, stance = main_term(found, kin)
    mentions = found.mentions
    start, end = max(0.0, span[0]), max(0.0, span[0], span[1])
    naming = naming_second(mentions, term)
    still = max(start, min(naming + _STILL_AFTER_S, max(end, naming)))
    if clip is not None and clip.duration > 0:
        still = min(still, max(0.0, clip.duration - 0.05))
    return Moment(
        id="m000",
        clip=mentions[0].clip,
        start=start,
        end=end,
        at=later(clip.start if clip else NOWHEN, start),
        term=term,
        stance=stance,
        mentions=tuple(mentions),
        title=title(found, term),
        still_at=still,
    )
