"""Transcripts and a small lexicon made up for tests."""

from episode.lexicon.book import Lexicon
from episode.models import Kind, Segment, Term, Transcript, Word

WORD_S, STEP_S = 0.25, 0.3


def term(name, kind="object", **more):
    return Term(term=name, kind=Kind(kind), **more)


TERMS = [
    term("pipe bowl", also=("clay pipe bowl", "bowl of a clay pipe")),
    term("clay pipe"),
    term("pipe stem"),
    term("thimble"),
    term("pin"),
    term("button"),
    term("cloth seal", also=("bale seal",)),
    term("coin"),
    term("Codd bottle", heard_as=("cod bottle",)),
    term("hypocaust tile"),
    term("Westerwald stoneware", "ware"),
    term("stoneware", "ware"),
    term("creamware", "ware"),
    term("bellarmine jar", also=("bellarmine",)),
    term("marble"),
    term("loom weight"),
    term("stopper", "feature"),
    term("maker's mark", "feature"),
    term("musket ball"),
    term("bone comb"),
    term("piece of eight"),
    term("penknife"),
    term("lead", "material"),
    term("bone", "material"),
    term("pewter", "material"),
    term("Georgian", "period"),
    term("buckle", everyday=True),
    term("token"),
    term("bowl"),
    term("bell"),
    term("point"),
    term("seal"),
    term("bear"),
    term("pilgrim badge"),
    term("ring"),
    term("shell", "material"),
    term("Harland and Pike", "maker"),
]


def lexicon(*more):
    return Lexicon([*TERMS, *more])


def say(*lines, clip="a.mp4", pause=0.6, probability=0.9, start=0.0):
    """One segment a line, words evenly spaced, ``pause`` seconds between lines."""
    at, segments = start, []
    for line in lines:
        words = []
        for piece in line.split():
            words.append(Word(start=at, end=at + WORD_S, word=piece, probability=probability))
            at += STEP_S
        segments.append(Segment(clip=clip, start=words[0].start, end=words[-1].end, text=line, words=tuple(words)))
        at += pause
    return Transcript(segments=tuple(segments))


def join(*transcripts):
    return Transcript(segments=tuple(s for t in transcripts for s in t.segments))
