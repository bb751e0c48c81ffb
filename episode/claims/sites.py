"""Works and yards of which nothing is known, said to be where a thing was made."""

from __future__ import annotations

import re
from collections.abc import Iterator

from episode.claims.phrases import denied
from episode.claims.scenes import Scene
from episode.claims.statements import Statement
from episode.claims.subjects import subject_of
from episode.lexicon.book import Lexicon

_KINDS = (
    "works|yard|tilery|tile ?works|pottery|potteries|kilns?|brewery|distillery|factory|mill|foundry|glass ?works|"
    "brick ?works|pipe ?works|brick ?yard|mint|workshop|ship ?yard|dockyard|forge|tannery|ropewalk"
)
_MADE_AT = re.compile(
    rf"\b(?:made|fired|cast|struck|brewed|bottled|built|blown|pressed|forged|printed|turned) (?:down |up |over )?(?:at|in) "
    rf"(?P<place>(?:the|a) (?:[\w'’-]+ ){{1,3}}?(?:{_KINDS})\b)",
    re.IGNORECASE,
)


def sites(scene: Scene, lexicon: Lexicon) -> Iterator[Statement]:
    """A claim of kind ``place`` for each; what the lexicon knows as a place is an origin, and not counted here."""
    for match in _MADE_AT.finditer(scene.text):
        at, until = match.span("place")
        if denied(scene.text, match.start()) or any(p.at < until and at < p.until for p in scene.mentions):
            continue
        subject = subject_of(scene, at, lexicon)
        value = match.group("place")
        yield Statement(scene, "place", at, until, subject.about, subject.names, value=value, wider=subject.wider)
