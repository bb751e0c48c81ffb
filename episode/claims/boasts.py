"""Superlatives and quantities: what always needs a reference."""

from __future__ import annotations

import re
from collections.abc import Iterator

from episode.claims.scenes import Scene
from episode.claims.statements import Statement
from episode.claims.subjects import Subject, subject_of
from episode.lexicon.book import Lexicon
from episode.record.numbers import cardinal
from episode.record.tokens import Token, tokens

_MOST = "|".join(
    (
        "biggest|largest|oldest|earliest|smallest|rarest|finest|longest|tallest|heaviest|greatest|richest|cheapest",
        "youngest|deepest|busiest|best[- ]known|best[- ]preserved|least common",
        "most (?:famous|expensive|important|valuable|common|popular|successful|productive|powerful|complete|unusual)",
        "most (?:sought[- ]after|prolific)",
    )
)
_REST = r"[^,.;!?]*"
_NOT_FIRST = "thing|one|bit|few|find|object|couple|half|quarter|part|world|war|place|stop|time|piece"
_LANDS = "(?:the (?:world|country|county)|britain|england|europe|scotland|wales|london|ireland|america)"
_NOT_ONLY = "thing (?:is|i|that)|problem|trouble|way|reason|downside|bit"
_ONLY = "known|ever|in|ones?|examples?|surviving|that|who|to|place|town|firm|maker|factory|pottery|country|left"
_WHOSE = "(?:the|this|their|its|one of the|england's|britain's|europe's|the world's)"
_SUPERLATIVES = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"\b{_WHOSE} (?:very |second |third )?(?:{_MOST})\b{_REST}",
        rf"\bthe (?:very )?first (?!(?:{_NOT_FIRST})\b)(?:\w+ ){{0,4}}?(?:to|ever|in {_LANDS}|anywhere)\b{_REST}",
        rf"\bthe only (?!(?:{_NOT_ONLY})\b)(?:\w+ ){{0,4}}?(?:{_ONLY})\b{_REST}",
        rf"\bone of only \w+{_REST}",
        rf"\b(?:no ?body|no one|none) else\b (?:in|made|has|had|ever|did|could|was){_REST}",
        rf"\bnever (?:been |before )?(?:seen|found|recorded|known|published|dug up)\b{_REST}",
        rf"\b(?:is|it's|are|they're|completely|totally|absolutely) unique\b{_REST}",
        r"\bone of a kind\b",
    )
)
_OPINION = re.compile(
    r"\b(?:favourite|favorite|cutest|prettiest|loveliest|i hope|hoping|maybe one day|if only)\b", re.I
)
_ACTS = (
    "made|produced|minted|struck|issued|sold|built|manufactured|imported|exported|shipped|registered|granted|taken out|"
    "known|recorded|survive|surviving|exist|existed|fired|employed|lived|worked|drowned|killed|sailed|came|housed|stood"
)
_SCALE = re.compile(r"\s*(?:(?:million|billion)(?: and a (?:half|quarter))?|per cent|percent|%)", re.IGNORECASE)
_FILLERS = r"\W|of |them |these |those |the |different |separate |british |english |[a-z'-]+ "
_RATES = "a year|a day|a week|every year|per year|people worked|men worked|workers"
_AFTER_NUMBER = re.compile(
    rf"^(?:{_FILLERS}){{0,6}}?(?:were|was|are|is|have been|had been|ever|still|people)?\s*\b(?:{_ACTS}|{_RATES})\b",
    re.IGNORECASE,
)
_BEFORE_NUMBER = re.compile(
    r"\b(?:they made|made|produced|minted|struck|sold|employed|turned out|issued|exported|there were|only)\s+"
    r"(?:about|around|over|nearly|almost|some|more than|up to|as many as|roughly)?\s*$",
    re.IGNORECASE,
)

_THIRD = re.compile(
    r"\b(?:they|he|she|it|who|whoever|there|(?:the|this|that|these|those|each|every) (?:\w+ ){1,3}?|[A-Z]\w+ )\s*(?:\w+ ){0,3}?"
    r"(?:had|cost|paid|sold|lasted|lived|ran|stood|trained|served|took|carried|held|fought|killed|froze|weighed|owned|"
    r"employed|fired|built|kept|burned|worked|lost|sent|shipped|bought|drew)\s+(?:[\w'’]+ ){0,4}?$"
)
"""A past deed of somebody or something else, before its number."""
_SPEAKER = re.compile(r"\b(?:i|we|me|us|my|our|you|your|i['’]\w+|we['’]\w+|you['’]\w+)\b", re.IGNORECASE)
_NOT_COUNTED = re.compile(
    r"\s*(?:inch\w*|foot|feet|mm|cm|millimet\w+|centimet\w+|grams?|minutes?|seconds?|o['’]clock|yards?|paces|degrees|of|to|"
    r"and|or|in|at|on|but|so|[,.;!?]|$)",
    re.IGNORECASE,
)


def boasts(scene: Scene, lexicon: Lexicon, taken: tuple[tuple[int, int], ...] = ()) -> Iterator[Statement]:
    """Superlatives and quantities in the scene's sentence; ``taken`` are characters that dates already cover."""
    text = scene.text
    if text.rstrip().endswith("?"):
        return
    yield from _superlatives(scene, lexicon)
    yield from _quantities(scene, lexicon, taken)


def _superlatives(scene: Scene, lexicon: Lexicon) -> Iterator[Statement]:
    text = scene.text
    if _OPINION.search(text):
        return
    last = -1
    found = sorted((m for p in _SUPERLATIVES for m in p.finditer(text)), key=lambda m: (m.start(), -m.end()))
    for match in found:
        if match.start() < last:
            continue
        last = match.end()
        subject = _who(subject_of(scene, match.start(), lexicon), match.group())
        yield Statement(
            scene, "superlative", match.start(), match.start() + len(match.group().rstrip()), subject.about,
            subject.names, value=match.group().strip(), people=subject.people,
        )  # fmt: skip


def _who(subject: Subject, words: str) -> Subject:
    """Such as "they were the biggest makers" is about the maker named beside it."""
    if subject.people and re.search(
        r"\b(?:makers?|firms?|company|factory|pottery|works|brewery)\b", words, re.IGNORECASE
    ):
        return Subject(subject.people[0], subject.people, (), subject.people)
    return subject


def _quantities(scene: Scene, lexicon: Lexicon, taken: tuple[tuple[int, int], ...]) -> Iterator[Statement]:
    text = scene.text
    words = tokens(text)
    at = 0
    while at < len(words):
        found = cardinal(words, at) or _one_million(words, at)
        if found is None:
            at += 1
            continue
        value, end = found
        begins, ends = words[at].at, words[end - 1].until
        at = end
        scale = _SCALE.match(text[ends:])
        if (value < 5 and not scale) or any(a < ends and begins < b for a, b in taken):
            continue
        ends += scale.end() if scale else 0
        after, before = _AFTER_NUMBER.match(text[ends:]), _BEFORE_NUMBER.search(text[:begins])
        deed = _deed(text, begins, ends)
        if not (after or deed or (before and value >= 50)):
            continue
        until = ends + after.end() if after else _phrase_end(text, ends)
        subject = subject_of(scene, begins, lexicon)
        yield Statement(
            scene, "quantity", begins, until, subject.about, subject.names, value=text[begins:until],
            people=subject.people,
        )  # fmt: skip


def _deed(text: str, begins: int, ends: int) -> bool:
    """Such as "they lived there for forty years", "it had nine moneyers"; not what the speaker did or measures."""
    if _SPEAKER.search(text) or _NOT_COUNTED.match(text[ends:]):
        return False
    return bool(_THIRD.search(text[:begins]))


def _one_million(words: list[Token], at: int) -> tuple[int, int] | None:
    """The "a" of "a million"; the million itself is the scale."""
    if words[at].word == "a" and at + 1 < len(words) and words[at + 1].word in {"million", "billion"}:
        return 1, at + 1
    return None


def _phrase_end(text: str, at: int) -> int:
    more = re.match(r"[^,.;!?]{0,40}?(?=[,.;!?]|\s(?:and|but|so|because|which|that|in|at|on|from|of)\b|$)", text[at:])
    return at + more.end() if more else at
