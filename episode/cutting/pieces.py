"""What a finished cut is made of."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from episode.models import Claim, Moment, Problem, Promise, Seconds, Share, Transcript, Value

Flag = Literal["weak", "short", "rival", "few votes", "stretched", "unmatched reel"]
"""Why a person should look at a piece: its sound is much less like the clip's than elsewhere in the film (another
camera's clip may be missing); it is shorter than 0.7 s; another place fits almost as well; few landmarks agree;
it was slowed or hastened with its pitch kept, which blurs times by some hundredths of a second; its reel in the
timeline file is no clip of the day."""

LOOK: dict[Flag, str] = {
    "weak": "sounds far less like this clip than the rest of the film does like its own: was it another camera, "
    "whose clip is missing?",
    "short": "shorter than 0.7 s: is it the right moment of the clip?",
    "rival": "another place in the footage fits almost as well: is it this take or the other?",
    "few votes": "little speaks for this place: is it this clip at all?",
    "stretched": "its speed was changed and its pitch kept, so times may be some hundredths of a second out",
    "unmatched reel": "its reel in the timeline file is no clip of the day: which clip is it?",
}
"""What to look at, in words, for each flag."""


class CutPiece(Value):
    """A stretch of the cut and where it came from.

    ``clip`` is ``None`` for what came from no clip of the day (music, titles, a voice recorded later).
    ``speed`` is seconds of the clip in a second of the cut: 1.02 is 2 % hastened.
    """

    cut_start: Seconds
    cut_end: Seconds
    clip: str | None = None
    clip_start: float = 0.0
    speed: float = 1.0
    confidence: Share = 0.0
    flags: tuple[Flag, ...] = ()

    def clip_end(self) -> float:
        """Where in the clip it ends."""
        return self.clip_start + (self.cut_end - self.cut_start) * self.speed

    def look(self) -> str:
        """What a person should look at, in words; empty where nothing is in doubt."""
        return "; ".join(LOOK[flag] for flag in self.flags)

    def to_cut(self, at: float) -> float:
        """The time on the cut of ``at`` seconds in the clip, held to the piece's ends."""
        return min(self.cut_end, max(self.cut_start, self.cut_start + (at - self.clip_start) / self.speed))


class Traced(Value):
    """The cut from beginning to end: pieces that touch, in order.

    ``how`` is ``sound`` or the kind of timeline file. A delay that the cut's own processing added to all of the
    sound (limiters some 5 ms, denoisers some 30 ms) is in every time and cannot be told from sound.
    """

    cut: str
    duration: Seconds
    how: Literal["sound", "otio", "edl"]
    pieces: tuple[CutPiece, ...] = ()
    problems: tuple[Problem, ...] = ()


class Dropped(Value):
    """Something that is not in the cut. Times are the clip's."""

    what: Literal["moment", "claim", "promise"]
    id: str
    clip: str
    start: Seconds
    end: Seconds
    why: str


class Appearance(Value):
    """A place in the cut where a moment is seen; the first listed is the one that its times are taken from."""

    moment: str
    start: Seconds
    end: Seconds
    share: Share
    """How much of the moment is in this place."""


class Retimed(Value):
    """Results with times on the cut: ``clip`` is everywhere the name of the cut."""

    cut: str
    duration: Seconds
    moments: tuple[Moment, ...] = ()
    claims: tuple[Claim, ...] = ()
    promises: tuple[Promise, ...] = ()
    transcript: Transcript = Transcript()
    appearances: tuple[Appearance, ...] = ()
    dropped: tuple[Dropped, ...] = ()
    unknown: tuple[CutPiece, ...] = Field(default=())
    """What came from no clip of the day."""
