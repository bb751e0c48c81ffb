"""How well mentions and stances are spotted, and how fast.

    python tests/bench/spotting.py                       the passages in tests/data/spotting and the example day's script
    python tests/bench/spotting.py --transcript FILE     also the example day as a recogniser heard it (transcript.json)
    python tests/bench/spotting.py --speed               seconds by words and by vocabulary size (set OPENBLAS_NUM_THREADS=1 for one core)
    python tests/bench/spotting.py --errors              list what went wrong (development passages only)

Passages are invented; ``heldout.jsonl`` is kept aside and no rule is fitted to it. Counted are objects,
wares and features. A mention is right when the sentence (passages) or the second within 1 s (example day)
and the term agree; its stance is right when that agrees too. Precision, recall and F1 are over all
mentions; stance accuracy is over the mentions that are right. Features ("rim", "base") are marked only
where a passage is about them, so an unmarked one is neither right nor wrong. A gold stance of null means
that people may differ: found or not, it does not count.

Floors: exact names only (case-folded, no inflection), and rapidfuzz partial ratio of 85 or more of any name
against the sentence.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import time
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

from rapidfuzz import fuzz, process

from episode.lexicon.book import Lexicon
from episode.lexicon.packs import load_lexicon
from episode.models import Kind, Segment, Term, Transcript, Word
from episode.speech.sentences import sentences
from episode.spotting.spot import spot

ROOT = Path(__file__).parent.parent.parent
DATA = ROOT / "tests" / "data" / "spotting"
GOLD = ROOT / "examples" / "making" / "gold.json"
FINDS = {Kind.OBJECT, Kind.WARE, Kind.FEATURE}
NEAR_S = 1.0
SURENESS, SHARES = (0.3, 0.6, 0.8, 0.97), (13, 12, 14, 61)

Hit = tuple[str, float, float, str, str | None]
"""Where (passage or clip), start and end in seconds, term, stance."""
Method = Callable[[Transcript, Lexicon], list[Hit]]


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--transcript", type=Path, help="out/transcript.json of the example day")
    options.add_argument("--speed", action="store_true")
    options.add_argument("--errors", action="store_true")
    given = options.parse_args()
    if given.speed:
        speed()
        return
    lexicon = load_lexicon()
    print(f"{len(lexicon.terms)} terms, {len(lexicon.names())} names\n")
    print(f"{'set':<22} {'method':<20} {'gold':>5} {'P':>6} {'R':>6} {'F1':>6} {'stance':>8}")
    for split in ("dev", "heldout"):
        passages = [json.loads(line) for line in (DATA / f"{split}.jsonl").read_text("utf-8").splitlines()]
        for name, method in METHODS.items():
            right = wrong = gold = agreed = 0
            for passage in passages:
                said, wanted = laid_out(passage)
                result = compare(method(said, lexicon), wanted, lexicon, within=0.0)
                right, wrong = right + result[0], wrong + result[1]
                gold, agreed = gold + result[2], agreed + result[3]
                if given.errors and split == "dev" and name == "spot" and result[4]:
                    print("   ", passage["id"], passage["lines"], *result[4], sep="\n        ")
            row(split, name, right, wrong, gold, agreed)
    if GOLD.exists():
        day = json.loads(GOLD.read_text("utf-8"))
        wanted = [(m["clip"], m["start"], m["end"], m["term"], m["stance"]) for m in day["mentions"]]
        for title, said in day_transcripts(day, given.transcript):
            for name, method in METHODS.items():
                result = compare(method(said, lexicon), wanted, lexicon, within=NEAR_S)
                row(title, name, *result[:4])


def row(title: str, name: str, right: int, wrong: int, gold: int, agreed: int) -> None:
    precision = right / (right + wrong) if right + wrong else 0.0
    recall = right / gold if gold else 0.0
    f1 = 2 * precision * recall / (precision + recall) if precision + recall else 0.0
    stance = f"{agreed / right:8.2f}" if right and name == "spot" else "       -"
    print(f"{title:<22} {name:<20} {gold:>5} {precision:6.2f} {recall:6.2f} {f1:6.2f} {stance}")


def laid_out(passage: dict) -> tuple[Transcript, list[Hit]]:
    """A passage as a transcript (0.3 s a word, 0.6 s between lines), and its gold by line times."""
    at, segments, bounds = 0.0, [], []
    for line in passage["lines"]:
        words = []
        for piece in line.split():
            words.append(Word(start=at, end=at + 0.25, word=piece, probability=0.9))
            at += 0.3
        segments.append(Segment(clip="c", start=words[0].start, end=at, text=line, words=tuple(words)))
        bounds.append((words[0].start, at))
        at += 0.6
    wanted = [("c", *bounds[m["line"]], m["term"], m["stance"]) for m in passage["mentions"]]
    return Transcript(segments=tuple(segments)), wanted


def day_transcripts(day: dict, heard: Path | None) -> Iterable[tuple[str, Transcript]]:
    segments = tuple(
        Segment(
            clip=said["clip"],
            start=said["start"],
            end=said["end"],
            text=said["text"],
            words=tuple(
                Word(start=start, end=max(start, end), word=word, probability=1.0) for start, end, word in timed(said)
            ),
        )
        for said in day["said"]
    )
    yield "example day, script", Transcript(segments=segments)
    if heard is not None:
        read = json.loads(heard.read_text("utf-8"))
        fields = Segment.model_fields.keys()
        yield (
            "example day, heard",
            Transcript(
                segments=tuple(
                    Segment.model_validate({k: v for k, v in s.items() if k in fields}) for s in read["segments"]
                )
            ),
        )


def timed(said: dict) -> list[tuple[float, float, str]]:
    """The gold's word times with the words as the text writes them, punctuation included."""
    pieces = said["text"].split()
    if len(pieces) == len(said["words"]):
        return [(start, end, piece) for (start, end, _), piece in zip(said["words"], pieces, strict=True)]
    return [(start, end, word) for start, end, word in said["words"]]


def compare(found: list[Hit], wanted: list[Hit], lexicon: Lexicon, *, within: float) -> tuple[int, int, int, int, list]:
    """Right, wrong, gold and agreed stances, and what went wrong in words."""
    right = wrong = agreed = 0
    notes: list[str] = []
    open_gold = list(wanted)
    for hit in found:
        term = lexicon.get(hit[3])
        if term is None or term.kind not in FINDS:
            continue
        match = next(
            (
                g
                for g in open_gold
                if g[0] == hit[0] and g[3] == hit[3] and hit[1] <= g[2] + within and hit[2] >= g[1] - within
            ),
            None,
        )
        if match is None:
            again = any(g[0] == hit[0] and g[3] == hit[3] and hit[1] <= g[2] and hit[2] >= g[1] for g in wanted)
            if not again and term.kind is not Kind.FEATURE:
                wrong += 1
                notes.append(f"false: {hit[3]} ({hit[4]})")
            continue
        open_gold.remove(match)
        if match[4] is None:
            continue
        right += 1
        agreed += match[4] == hit[4]
        if match[4] != hit[4]:
            notes.append(f"stance: {hit[3]} is {match[4]}, got {hit[4]}")
    notes += [f"missed: {g[3]} ({g[4]})" for g in open_gold if g[4] is not None]
    gold = sum(1 for g in wanted if g[4] is not None and (t := lexicon.get(g[3])) and t.kind in FINDS)
    return right, wrong, gold, agreed, notes


def by_spot(said: Transcript, lexicon: Lexicon) -> list[Hit]:
    return [(m.clip, m.start, m.end, m.term, str(m.stance)) for m in spot(said, lexicon)]


def by_exact(said: Transcript, lexicon: Lexicon) -> list[Hit]:
    names = {name.casefold(): term for name, term, _ in lexicon.names()}
    found: list[Hit] = []
    for sentence in sentences(said):
        text = " ".join(re.findall(r"[\w'-]+", sentence.text.casefold()))
        padded = f" {text} "
        terms = {term.term for name, term in names.items() if f" {name} " in padded}
        found += [(sentence.clip, sentence.start, sentence.end, term, None) for term in sorted(terms)]
    return found


def by_partial_ratio(said: Transcript, lexicon: Lexicon) -> list[Hit]:
    names = [(name.casefold(), term) for name, term, _ in lexicon.names() if len(name) > 3]
    choices = [name for name, _ in names]
    found: list[Hit] = []
    for sentence in sentences(said):
        near = process.extract(
            sentence.text.casefold(), choices, scorer=fuzz.partial_ratio, score_cutoff=85, limit=None
        )
        terms = {names[index][1].term for _, _, index in near}
        found += [(sentence.clip, sentence.start, sentence.end, term, None) for term in sorted(terms)]
    return found


METHODS: dict[str, Method] = {"spot": by_spot, "exact names": by_exact, "partial ratio 85": by_partial_ratio}


def speed() -> None:
    """Seconds of one core for made-up talk over made-up vocabularies, without listening again."""
    print(f"{'words':>9} {'terms':>7} {'names':>7} {'build s':>8} {'total s':>8} {'mentions':>9}")
    for count, terms in ((10_000, 5_000), (100_000, 500), (100_000, 5_000), (100_000, 50_000), (1_000_000, 5_000)):
        lexicon = invented(terms)
        names = [name for name, _, _ in lexicon.names()]
        said = talk(count, names)
        begun = time.process_time()
        spot(Transcript(), lexicon)
        built = time.process_time()
        found = spot(said, lexicon)
        ended = time.process_time()
        print(f"{count:>9} {terms:>7} {len(names):>7} {built - begun:>8.2f} {ended - built:>8.2f} {len(found):>9}")
        print("         ", dict(Counter(str(m.how) for m in found)), flush=True)


def invented(count: int) -> Lexicon:
    """The built-in vocabulary, padded with two-word names of its own words."""
    known = list(load_lexicon().terms)[:count]
    parts = sorted({w for term in load_lexicon().terms for w in term.term.split() if len(w) > 3})
    draw = random.Random(7)
    labels = {term.term for term in known}
    while len(known) < count:
        label = f"{draw.choice(parts)} {draw.choice(parts)}"
        if label not in labels:
            labels.add(label)
            known.append(Term(term=label, kind=Kind.OBJECT))
    return Lexicon(known)


def talk(count: int, names: list[str]) -> Transcript:
    """Words drawn by frequency, with a name in every fortieth place or so, in sentences of about twelve.

    The recogniser's confidence is drawn as it was in narration under moderate noise (``hearing.py``).
    """
    from wordfreq import get_frequency_dict

    frequent = sorted(get_frequency_dict("en").items(), key=lambda item: (-item[1], item[0]))[:20_000]
    draw = random.Random(11)
    drawn = draw.choices([w for w, _ in frequent], [f for _, f in frequent], k=count)
    words, at, segments = [], 0.0, []
    for index, word in enumerate(drawn):
        for piece in (draw.choice(names) if index % 40 == 0 else word).split():
            last = draw.random() < 1 / 12
            sure = draw.choices(SURENESS, SHARES)[0]
            words.append(Word(start=at, end=at + 0.25, word=piece + ("." if last else ""), probability=sure))
            at += 0.3
        if len(words) > 60:
            segments.append(
                Segment(
                    clip="c", start=words[0].start, end=at, text=" ".join(w.word for w in words), words=tuple(words)
                )
            )
            words = []
    return Transcript(segments=tuple(segments))


if __name__ == "__main__":
    main()
