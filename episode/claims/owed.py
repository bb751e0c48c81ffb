"""What a promise owes, in a few words, with "it" and "them" spelt out."""

from __future__ import annotations

import re
from collections.abc import Sequence

from episode.claims.misheard import sounds_like_name
from episode.claims.scenes import Scene
from episode.models import Kind, Settings, Stance

LONGEST = 120
_GIVE = r"(?:put|pop|leave|stick|drop|add|post|list|write|explain|share|type)"
_PLACES = "description|notes|comments|bio|screen|bottom|below|there|here"
_WHERE = rf"(?:in|down|up|on|at) (?:the |my )?(?:{_PLACES})|below|underneath|here"
_SORTS = "details?|information|info|address|instructions|names?|maps?|list|references?|sources?|dates?|times?"


def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(text, re.IGNORECASE)


_LINK = _pattern(
    rf"\blinks?\b(?: (?:{_WHERE}))*,? (?:to|for|about|on|with) (?P<what>[^.?!]+)"
    r"|\blink(?: to)? (?P<other>(?!below|in |down)[^.?!]+)"
)
_DETAIL = _pattern(rf"\b{_GIVE}\b (?P<what>[^.?!]+?)\s*,?\s*(?:{_WHERE})\b")
_DETAIL_SAID = _pattern(
    rf"\b(?P<what>(?:the |all the |more |full )?(?:{_SORTS})\b[^.?!,]*?)"
    rf"\s*(?:is|are|will be|'s|'ll be)?\s*(?:all )?(?:{_WHERE})\b"
)
_ASKED = _pattern(
    r"\b(?P<what>(?:what|who|where|when|how|why|which|whether|if)\b(?! you (?:know|think|reckon|have|can))[^,.;?!]*)"
)
_UNKNOWN = _pattern(
    r"^(?:what|if) (?:it|this|that|they|these|this one|this thing) (?:is|was|are|were|might be|could be)\b"
    r"|^what (?:on earth )?(?:is|are|was) (?:it|this|that|these)\b"
)
_THANKS = _pattern(
    r"\b(?:thank(?:s| you)[^.?!]*? to|goes to|go to|thank|cheers to|shout ?out to|grateful to) (?P<what>[^.?!]+)"
)
_SPONSOR = _pattern(
    r"\b(?:sponsored by|brought to you by|partnership with|thank(?:s| you)[^.?!]*? to|sponsors?,?) (?P<what>[^,.?!]+)"
)
_PRONOUN = _pattern(
    r"\b(?:it|them|they|this one|that one|this|these|those|him|her)\b(?!\s+(?:episode|video|channel|river|week))"
)


def owed(kind: str, scene: Scene, at: int, before: Sequence[Scene], settings: Settings) -> str:
    """A few words for what is owed; the clause that promises it where nothing better can be told."""
    text = scene.text
    if kind == "link":
        return _clip(_resolved(_what(_LINK, text) or _thing(scene), scene, before, settings))
    if kind == "detail":
        return _clip(
            _explained(_what(_DETAIL, text) or _what(_DETAIL_SAID, text) or _thing(scene), scene, before, settings)
        )
    if kind == "question":
        return _clip(_asked(text, scene, before, settings))
    if kind == "thanks":
        return _clip(_what(_THANKS, text) or text)
    if kind == "sponsor":
        return _clip(_sponsor(text, settings))
    return _clip(_clause(text, at))


def _what(pattern: re.Pattern[str], text: str) -> str:
    match = pattern.search(text)
    if match is None:
        return ""
    found = next((g for g in match.groupdict().values() if g), "")
    return re.sub(rf"\s*,?\s*(?:{_WHERE})\s*$", "", found, flags=re.I).strip(" ,;:-")


def _thing(scene: Scene) -> str:
    return scene.moment.term if scene.moment and scene.moment.term else ""


def _resolved(what: str, scene: Scene, before: Sequence[Scene], settings: Settings) -> str:
    """The words with their last pronoun spelt out by what was spoken of."""
    if not what:
        return _clause(scene.text, 0)
    found = list(_PRONOUN.finditer(what))
    if not found:
        return what
    meant = _meant(found[-1].group().lower(), scene, before, settings)
    last = found[-1]
    return what[: last.start()] + meant + what[last.end() :] if meant else what


def _meant(pronoun: str, scene: Scene, before: Sequence[Scene], settings: Settings) -> str:
    """What a pronoun stands for: a link's subject or a maker named just before, else the thing in hand."""
    heard = [s.text for s in (*before, scene) if s.sentence.clip == scene.sentence.clip]
    for text in reversed(heard):
        for link in settings.links:
            for name in link.about:
                if name.strip() and re.search(rf"(?<!\w){re.escape(name.strip())}(?!\w)", text, re.I):
                    return name.strip()
    if scene.moment and pronoun in {"them", "they", "him", "her"}:
        makers = [m.term for m in scene.moment.mentions if m.kind is Kind.MAKER]
        if makers:
            return makers[-1]
    thing = _thing(scene)
    return f"the {thing}" if thing else ""


_LEAD = _pattern(r"^(?:so |and |well |i'll be |i'll |i will |i'm going to |i'm |we'll |i am going to )+")


def _explained(what: str, scene: Scene, before: Sequence[Scene], settings: Settings) -> str:
    """As in "how you do that" means what the clause before it does."""
    match = re.search(r"\b(?:do|does|did) (?:that|this|it)\b", what, re.I)
    if match:
        earlier = re.split(r",?\s+and\s+|[,;]\s*", scene.text[: scene.text.find(what)])
        acts = [c for c in earlier if len(c.split()) > 2 and not re.search(_GIVE, c)]
        if acts:
            act = _LEAD.sub("", acts[-1].strip())
            return f"{what}: {act}"
        return what
    return _resolved(what, scene, before, settings)


def _asked(text: str, scene: Scene, before: Sequence[Scene], settings: Settings) -> str:
    thing = _thing(scene)
    unsure = scene.moment is not None and scene.moment.stance is Stance.UNSURE
    for match in _ASKED.finditer(text):
        what = match.group("what").strip()
        if re.match(r"^(?:if|whether) (?:you|any)", what, re.I) or len(what.split()) < 3:
            continue
        if _UNKNOWN.match(what):
            break
        return _resolved(what, scene, before, settings).rstrip(" ,") + "?"
    if unsure or not thing:
        return f"what is this object, perhaps a {thing}?" if thing else "what is this object?"
    if re.search(r"\bwhat (?:it|this|that) is\b|\bwhat (?:is|are) (?:it|this|they)\b", text, re.I):
        return f"what is this, perhaps a {thing}?"
    return f"what do you know about the {thing}?"


def _sponsor(text: str, settings: Settings) -> str:
    name = settings.disclosures.sponsor
    if name and (re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text, re.I) or sounds_like_name(text, name)):
        gift = re.search(r"\b(?:gave|sent|gifted|lent|given)\b[^.?!]*", text, re.I)
        return f"{name} sponsored this" + (f" and {gift.group().strip()}" if gift else "")
    return _what(_SPONSOR, text) or _clause(text, 0)


def _clause(text: str, at: int) -> str:
    """The clause that holds character ``at``."""
    start = max((m.end() for m in re.finditer(r"[,;:]\s+(?:and |so |but )?", text[:at])), default=0)
    stop = re.search(r",\s+(?:so|and|but|because)\b|[.?!;]", text[at:])
    return text[start : at + stop.start() if stop else len(text)].strip(" ,;:")


def _clip(words: str) -> str:
    words = " ".join(words.split()).rstrip(" .,;:")
    if len(words) <= LONGEST:
        return words
    return words[:LONGEST].rsplit(" ", 1)[0] + "…"
