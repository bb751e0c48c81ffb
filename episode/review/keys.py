"""Handles by which the page speaks of things: made of what a thing is, so that renumbering cannot mix them up."""

from __future__ import annotations

import hashlib

from episode.models import Chapter, Claim, Moment, Promise


def moment_key(moment: Moment) -> str:
    """By clip, first second and term; another moment of the same is told apart by its end."""
    return "m-" + _digest(moment.clip, f"{moment.start:.2f}", f"{moment.end:.2f}", moment.term or "")


def claim_key(claim: Claim) -> str:
    """By clip, second, kind and words."""
    return "c-" + _digest(
        claim.clip, f"{claim.start:.2f}", claim.kind, claim.quote, claim.about or "", claim.edtf or ""
    )


def promise_key(promise: Promise) -> str:
    """By clip, second, kind and words."""
    return "p-" + _digest(promise.clip, f"{promise.start:.2f}", promise.kind, promise.quote)


def chapter_key(chapter: Chapter) -> str:
    """By its place on the time line and its title."""
    return "k-" + _digest(f"{chapter.start:.2f}", chapter.title)


def clip_key(name: str) -> str:
    """By the clip's name, which itself may hold a place that is kept private."""
    return "v-" + _digest(name)


def _digest(*parts: str) -> str:
    return hashlib.sha256("\x1f".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:16]
