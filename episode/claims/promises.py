"""What was said on camera that the description must now carry, or the person must do."""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Sequence
from functools import lru_cache

from episode.claims.misheard import names_it
from episode.claims.owed import owed
from episode.claims.scenes import Scene, scenes
from episode.lexicon.resources import vocab_root
from episode.models import Link, Moment, Promise, PromiseKind, Settings, Transcript

_FIRST = ("sponsor", "link", "detail", "question", "event", "thanks", "callback")
"""Where a sentence does several of these: a thank-you to a sponsor is a disclosure, a link is more than a detail."""
_SHADOWS = {"sponsor": {"thanks"}, "link": {"detail"}, "event": {"callback"}, "detail": set(), "question": {"detail"}}
_NAME = re.compile(r"\b[A-Z][\w'’-]+")
_COMMON = frozenset({"Thanks", "Thank", "And", "The", "I", "So", "A", "Big", "Cheers", "To"})


def promises(transcript: Transcript, moments: Sequence[Moment], settings: Settings) -> tuple[Promise, ...]:
    """Every promise, question, thank-you and disclosure, in the order said; one of a kind in a sentence.

    ``kept`` says that the settings hold what keeps it: a link whose ``about`` words it used, the sponsor's
    disclosure, a credit. ``by`` is then that link's address, or the line.
    """
    found: list[Promise] = []
    used: dict[str, int] = {}
    before: list[Scene] = []
    for scene in scenes(transcript, (), moments):
        for kind, at in _kinds(scene.text):
            text = owed(kind, scene, at, before, settings)
            if kind == "sponsor" and _repeats(text, found):
                continue
            kept = _kept(kind, text, scene.text, settings)
            found.append(
                Promise(
                    id=_id(scene, kind, used),
                    clip=scene.sentence.clip,
                    start=scene.sentence.start,
                    end=scene.sentence.end,
                    quote=scene.text,
                    kind=kind,
                    text=text,
                    kept=kept is not None,
                    by=kept,
                    moment=scene.moment.id if scene.moment and scene.inside else None,
                )
            )
        before = [*before[-3:], scene]
    return tuple(found)


def _kinds(text: str) -> list[tuple[PromiseKind, int]]:
    found: dict[str, int] = {}
    for kind, pattern in _patterns():
        match = pattern.search(text)
        if match:
            found[kind] = min(match.start(), found.get(kind, match.start()))
    if "question" in found and not _asks(text):
        del found["question"]
    for kind in _FIRST:
        if kind in found:
            for shadowed in _SHADOWS.get(kind, ()):
                found.pop(shadowed, None)
    return [(kind, found[kind]) for kind in _FIRST if kind in found]  # type: ignore[misc]


def _asks(text: str) -> bool:
    """Whether viewers are asked: "I read in the comments" and "thanks for" ask nothing."""
    return not re.search(
        r"\b(?:thanks|thank you) for|\b(?:i saw|i read|you said|you told|someone said|somebody said)\b", text, re.I
    )


def _repeats(text: str, found: list[Promise]) -> bool:
    return any(p.kind == "sponsor" and p.text == text for p in found)


def _kept(kind: str, text: str, quote: str, settings: Settings) -> str | None:
    if kind in {"link", "detail", "event", "callback"}:
        link = _link(f"{text} {quote}", settings.links)
        return link.url if link else None
    if kind == "sponsor" and settings.disclosures.sponsor:
        return f"Sponsored by {settings.disclosures.sponsor}"
    if kind == "thanks":
        names = {name for name in _NAME.findall(quote) if name not in _COMMON} or set(_plain_names(text))
        return next((c for c in settings.credits if any(names_it(n, c) for n in names)), None)
    return None


def _plain_names(text: str) -> list[str]:
    """Words of a lower-case caption that could be a name: those of four letters or more."""
    return re.findall(r"[^\W\d_]{4,}", text)[:2] if text == text.lower() else []


def _link(said: str, links: Sequence[Link]) -> Link | None:
    for link in links:
        for name in (*link.about, link.label):
            if name.strip() and re.search(rf"(?<!\w){re.escape(name.strip())}(?!\w)", said, re.IGNORECASE):
                return link
    return None


def _id(scene: Scene, kind: str, used: dict[str, int]) -> str:
    words = f"{scene.sentence.clip}|{kind}|{' '.join(scene.text.casefold().split())}"
    name = "p-" + hashlib.sha256(words.encode()).hexdigest()[:8]
    used[name] = used.get(name, 0) + 1
    return name if used[name] == 1 else f"{name}-{used[name]}"


@lru_cache(maxsize=1)
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    path = vocab_root().joinpath("rules").joinpath("promise_cues.csv")
    rows = csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    return tuple((row["kind"], re.compile(row["pattern"].replace("'", "['’]"), re.IGNORECASE)) for row in rows)
