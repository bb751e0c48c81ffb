"""Finds in spoken narration: how many are spotted, how surely, with which stance, and at what cost.

    python tests/bench/narration/say.py OUT             speak the narration (see there)
    python tests/bench/hearing.py OUT hear [MODEL]      hear it, by the recogniser MODEL (base)
    python tests/bench/hearing.py OUT collect [MODEL]   collect candidates with their evidence and the sound's word
    python tests/bench/hearing.py OUT fit               fit the weights, on the parts ``frames`` and ``dev`` only
    python tests/bench/hearing.py OUT [MODEL]           figures: floors, parts, voices, ablation, calibration, captions

A mention is right when a naming of its term is marked in the sentence and the times meet. Counted are objects,
wares and features; a feature that is not marked is neither right nor wrong. A naming counts as unwritten where the
words said for it do not stand in the recogniser's text of that sentence; precision beside its recall is over all
mentions by near spelling or sound. Stances are compared where the
mention is right and people would agree; ``found`` is F1 of mentions said to be found against namings that are.
"""

from __future__ import annotations

import bisect
import json
import math
import re
import sys
import time
import wave
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path

import numpy as np
from spotting import by_exact, by_partial_ratio, laid_out

from episode.lexicon.book import Lexicon
from episode.lexicon.packs import load_lexicon
from episode.models import Clip, How, Kind, Mention, Segment, Stance, StartFrom, Transcript, Word
from episode.speech.again import Again
from episode.speech.sentences import sentences
from episode.spotting.alike import Alike
from episode.spotting.everyday import is_everyday
from episode.spotting.judge import FLAT, SOUND, TEXT, evidence, heard_again
from episode.spotting.listening import Listener
from episode.spotting.names import Names, Span, longest
from episode.spotting.score import WRITTEN as WRITTEN_NAMES
from episode.spotting.score import written_evidence
from episode.spotting.soundalike import compared, questions, stretches
from episode.spotting.spot import spot
from episode.spotting.stream import name_tokens, stream

FINDS = {Kind.OBJECT, Kind.WARE, Kind.FEATURE}
WRITTEN = {How.WRITTEN, How.OTHER_NAME, How.MISHEARING}
FITTED = ("frames", "dev")
SLACK_S = 0.3
LEAST_CHANCE = 0.015
"""By the words alone, from which on the sound is asked while weights are fitted."""
DATA = Path(__file__).parents[1] / "data"
WEIGHTS = Path(__file__).parents[2] / "vocab" / "spotting" / "sounds_like.json"
WRITTEN_WEIGHTS = WEIGHTS.with_name("written.json")


def main() -> None:
    folder = Path(sys.argv[1])
    step = sys.argv[2] if len(sys.argv) > 2 else "base"
    steps = {"hear": hear, "collect": collect, "fit": fit}
    if step in steps:
        steps[step](folder, *sys.argv[3:])
    else:
        measure(folder, step)


def hear(folder: Path, model: str = "base") -> None:
    """Hears the clips that were not heard yet."""
    from episode.speech.hear import _rounded
    from episode.speech.recognise import Ear

    ear = Ear(model)
    _ = ear.model
    target = folder / f"heard-{model}.json"
    known = json.loads(target.read_text()) if target.exists() else {}
    for path in sorted(folder.glob("*.wav")):
        if path.stem in known:
            continue
        sound = samples(path)
        begun = time.process_time()
        heard, _ = ear.listen(sound)
        known[path.stem] = {
            "took": round(time.process_time() - begun, 2),
            "seconds": len(sound) / 16_000,
            "segments": [_rounded(segment).model_dump() for segment in heard],
        }
        target.write_text(json.dumps(known))
    took, seconds = (sum(clip[key] for clip in known.values()) for key in ("took", "seconds"))
    print(f"{model}: {seconds:.0f} s of sound heard in {took:.0f} s of processor time")


def samples(path: Path) -> np.ndarray:
    with wave.open(str(path)) as file:
        return np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / 32768


def transcripts(folder: Path, model: str = "base") -> dict[str, Transcript]:
    """What was heard of each clip, its passages apart (``CLIP#1``, ``CLIP#2`` ...): each is another outing's talk."""
    read, gold = json.loads((folder / f"heard-{model}.json").read_text()), spoken(folder)
    told = {}
    for clip, heard in read.items():
        ends = [line["end"] + 0.7 for line in gold[clip]["said"] if line.get("last")]
        whole = [Segment.model_validate({"clip": clip, **segment}) for segment in heard["segments"]]
        parts: dict[tuple[int, int], list[Word]] = {}
        for number, segment in enumerate(whole):
            for word in segment.words:
                passage = bisect.bisect_left(ends, (word.start + word.end) / 2)
                parts.setdefault((passage, number), []).append(word)
        told[clip] = Transcript(
            segments=tuple(
                Segment(
                    clip=f"{clip}#{passage}",
                    start=words[0].start,
                    end=max(word.end for word in words),
                    text=" ".join(word.word.strip() for word in words),
                    words=tuple(words),
                )
                for (passage, _), words in sorted(parts.items())
            )
        )
    return told


def spotted(said: Transcript, lexicon: Lexicon, log: tuple = (), listen: Counting | None = None) -> tuple[Mention, ...]:
    """The mentions of a clip's passages, each in the last quarter of its day: neither round-ups nor finds are unlikely."""
    names = list(dict.fromkeys(segment.clip for segment in said.segments))
    longest_s = max((segment.end for segment in said.segments), default=0.0)
    day = [
        clip_at(Path("before.wav"), 3 * longest_s * len(names)),
        *(clip_at(Path(f"{n}.wav"), longest_s) for n in names),
    ]
    return spot(said, lexicon, log, clips=day, listen=listen)


def spoken(folder: Path) -> dict[str, dict]:
    """Every clip's part, voice, level and sentences with their namings, by name."""
    return {
        row["clip"]: row for path in sorted(folder.glob("gold-*.json")) for row in json.loads(path.read_text("utf-8"))
    }


def mark_written(gold: dict[str, dict], said: dict[str, Transcript]) -> None:
    """Notes with every naming whether the words that were said for it stand in the recogniser's text of that sentence."""
    for clip, transcript in said.items():
        words = [word for segment in transcript.segments for word in segment.words]
        for line in gold[clip]["said"]:
            near = [w.word for w in words if line["start"] - SLACK_S < (w.start + w.end) / 2 < line["end"] + SLACK_S]
            heard = "".join(name_tokens(" ".join(near)))
            for naming in line["namings"]:
                naming["written"] = "".join(name_tokens(naming["words"])) in heard


def clips_of(folder: Path) -> dict[str, Clip]:
    return {path.stem: clip_at(path, (path.stat().st_size - 44) / 32_000) for path in sorted(folder.glob("*.wav"))}


def clip_at(path: Path, duration: float) -> Clip:
    return Clip(
        name=path.stem,
        path=path,
        duration=duration,
        start=datetime(2026, 5, 3, tzinfo=UTC),
        start_from=StartFrom.NAME,
        camera="c",
        audio_tracks=1,
    )


def listener(folder: Path, model: str) -> Listener:
    from episode.speech.recognise import Ear

    ear = Ear(model)
    _ = ear.model
    again = Again(list(clips_of(folder).values()), ear, cache=folder / "again")
    # The sound is the whole clip's.
    return lambda asked: again([replace(question, clip=question.clip.split("#")[0]) for question in asked])


def collect(folder: Path, model: str = "base") -> None:
    """Every candidate of the parts that are fitted to, with its evidence and the sound's word on those within reach."""
    gold = spoken(folder)
    names = Names(load_lexicon().names())
    alike = Alike(names)
    told: dict[str, list[tuple[list, list, list[dict]]]] = {}
    begun = time.process_time()
    for clip, said in transcripts(folder, model).items():
        if gold[clip]["part"] in FITTED:
            told[clip] = collected(clip, said, gold[clip]["said"], names, alike)
    rows = [row for some in told.values() for _, _, mine in some for row in mine]
    print(f"{len(rows)} candidates, {sum(r['right'] for r in rows)} right, {time.process_time() - begun:.1f} s")
    text = weights(rows, TEXT)
    listen, begun, count = listener(folder, model), time.process_time(), 0
    for clip, some in told.items():
        for tokens, found, mine in some:
            chances = [1 / (1 + math.exp(-sum(text[name] * row[name] for name in TEXT))) for row in mine]
            groups = stretches(found, chances, least=LEAST_CHANCE)
            asked = [n for group in groups for n in group]
            answers = listen([q for g in groups for q in questions([found[n] for n in g], tokens, clip, alike)])
            for n, sound in zip(asked, compared([found[n] for n in asked], answers), strict=True):
                mine[n]["sound"] = sound
            count += len(asked)
    print(f"{count} of them asked of the sound in {time.process_time() - begun:.0f} s")
    (folder / f"candidates-{model}.json").write_text(json.dumps(rows))


def collected(
    clip: str, said: Transcript, lines: list[dict], names: Names, alike: Alike
) -> list[tuple[list, list, list[dict]]]:
    """For each passage its tokens, candidates and rows."""
    return [
        collected_of(clip, list(some), lines, names, alike)
        for _, some in groupby(sentences(said), key=lambda sentence: sentence.clip)
    ]


def collected_of(clip: str, said: list, lines: list[dict], names: Names, alike: Alike) -> tuple[list, list, list[dict]]:
    tokens = stream(said)
    found = alike.find(tokens, longest(names.find(tokens)))
    rows = []
    for one, told in zip(found, evidence(found, tokens), strict=True):
        own = tokens[one.first : one.last]
        middle = (own[0].word.start + own[-1].word.end) / 2
        meeting = [line for line in lines if line["start"] - SLACK_S < middle < line["end"] + SLACK_S]
        namings = [naming for line in meeting for naming in line["namings"]]
        rows.append(
            {
                "clip": clip,
                "heard": " ".join(t.word.word.strip() for t in own),
                "name": " ".join(one.name),
                "term": one.term.term,
                "right": any(n["term"] == one.term.term for n in namings),
                "gold": "; ".join(n["words"] for n in namings),
                "at": own[0].word.start,
                **told,
            }
        )
    return tokens, found, rows


def fit(folder: Path) -> None:
    """Fits the three combinations on both models' candidates."""
    rows = [row for path in sorted(folder.glob("candidates-*.json")) for row in json.loads(path.read_text())]
    told = json.loads(WEIGHTS.read_text())
    told["flat"] = weights(bare_rows(folder), FLAT)
    told["text"] = weights(rows, TEXT)
    asked = [{**row, **heard_again(*row["sound"], row)} for row in rows if row.get("sound")]
    # Of several windows for a name that was said, the likeliest by the sound is the right one.
    best: dict[tuple, float] = {}
    for row in asked:
        place = (row["clip"], row["term"], row["gold"])
        best[place] = max(best.get(place, -99.0), row["sound"][0])
    asked = [r for r in asked if not r["right"] or r["sound"][0] > best[r["clip"], r["term"], r["gold"]] - 4]
    told["sound"] = weights(asked, SOUND)
    WEIGHTS.write_text(json.dumps(told, indent=1) + "\n")
    print(json.dumps(told, indent=1))
    as_written = json.loads(WRITTEN_WEIGHTS.read_text())
    as_written["weights"] = weights(written_rows(folder), WRITTEN_NAMES)
    WRITTEN_WEIGHTS.write_text(json.dumps(as_written, indent=1) + "\n")
    print(json.dumps(as_written, indent=1))


def bare_rows(folder: Path) -> list[dict]:
    """The candidates of what was heard as captions give it, and of the written passages for development."""
    gold, names = spoken(folder), Names(load_lexicon().names())
    alike, rows = Alike(names), []
    for path in sorted(folder.glob("heard-*.json")):
        for clip, said in transcripts(folder, path.stem.removeprefix("heard-")).items():
            if gold[clip]["part"] in FITTED:
                rows += [
                    row for _, _, mine in collected(clip, bared(said), gold[clip]["said"], names, alike) for row in mine
                ]
    for line in (DATA / "spotting" / "dev.jsonl").read_text("utf-8").splitlines():
        said, wanted = laid_out(json.loads(line))
        lines = [{"start": s, "end": e, "namings": [{"term": t, "words": t}]} for _, s, e, t, _ in wanted]
        rows += [row for _, _, mine in collected("written", said, lines, names, alike) for row in mine]
    return rows


def written_rows(folder: Path) -> list[dict]:
    """Every mention as written in the parts that are fitted to, with its evidence and whether it is right."""
    lexicon, gold = load_lexicon(), spoken(folder)
    rows = []
    for path in sorted(folder.glob("heard-*.json")):
        for clip, said in transcripts(folder, path.stem.removeprefix("heard-")).items():
            if gold[clip]["part"] not in FITTED:
                continue
            mark_written(gold, {clip: said})
            tokens = [t for _, some in groupby(sentences(said), key=lambda one: one.clip) for t in stream(list(some))]
            for m in spotted(said, lexicon):
                term = lexicon.get(m.term)
                if m.how not in WRITTEN or term is None or term.kind not in FINDS:
                    continue
                own = [t for t in tokens if m.start <= t.word.start and t.word.end <= m.end]
                span = Span(0, len(own), term, m.how)
                everyday = is_everyday(span, tuple(t.form for t in own))
                scored = judged([(m.start, m.end, m.term, m.stance, True, 0.0)], gold[clip]["said"], lexicon)[1]
                told = written_evidence(m.how, own, everyday=everyday)
                rows += [{**told, "right": right} for _, right in scored]
    print(f"{len(rows)} names as written, {sum(row['right'] for row in rows)} right")
    return rows


def weights(rows: list[dict], names: tuple[str, ...]) -> dict[str, float]:
    """Logistic regression with a small penalty on all but the constant (Newton's method)."""
    x = np.array([[float(row[name]) for name in names] for row in rows])
    y = np.array([float(row["right"]) for row in rows])
    scale = np.maximum(x.std(axis=0), 1e-9)
    scale[0] = 1.0
    z = x / scale
    penalty = np.full(len(names), 1.0)
    penalty[0] = 0.0
    w = np.zeros(len(names))
    for _ in range(50):
        p = 1 / (1 + np.exp(-np.clip(z @ w, -30, 30)))
        gradient = z.T @ (y - p) - penalty * w
        hessian = (z.T * (p * (1 - p))) @ z + np.diag(penalty + 1e-9)
        w = w + np.linalg.solve(hessian, gradient)
    return {name: round(float(v), 4) for name, v in zip(names, w / scale, strict=True)}


def measure(folder: Path, model: str) -> None:
    lexicon = load_lexicon()
    gold, said = spoken(folder), transcripts(folder, model)
    mark_written(gold, said)
    first = json.loads((folder / f"heard-{model}.json").read_text())
    listen = Counting(listener(folder, model))
    methods: dict[str, dict[str, list[Found]]] = {
        "exact names": {c: plain(by_exact(t, lexicon), lexicon) for c, t in said.items()},
        "partial ratio 85": {c: plain(by_partial_ratio(t, lexicon), lexicon) for c, t in said.items()},
    }
    begun = time.process_time()
    methods["words alone"] = {c: as_found(spotted(t, lexicon)) for c, t in said.items()}
    words_took = time.process_time() - begun
    methods["words and sound"] = {c: as_found(spotted(t, lexicon, listen=listen)) for c, t in said.items()}
    aside = [c for c in said if gold[c]["part"] == "aside" and any(line["namings"] for line in gold[c]["said"])]
    easy = [c for c in aside if not gold[c]["hard"]]
    dev = [c for c in said if gold[c]["part"] in FITTED]
    heading()
    for how, rows in methods.items():
        show(f"aside, clear and moderate: {how}", easy, rows, gold, lexicon)
    for how in ("words alone", "words and sound"):
        show(f"aside, hard: {how}", [c for c in aside if gold[c]["hard"]], methods[how], gold, lexicon)
        show(f"fitted to: {how}", dev, methods[how], gold, lexicon)
    best = methods["words and sound"]
    for key in ("voice", "level"):
        for value in dict.fromkeys(gold[c][key] for c in aside):
            show(f"  aside, {value}", [c for c in aside if gold[c][key] == value], best, gold, lexicon)
    print()
    for how, rows in methods.items():
        show_talk(how, rows, said, gold, first, lexicon)
    heard = sum(first[c]["took"] for c in said)
    print(
        f"\nwords alone: {words_took:.0f} s (with start); listening again: {listen.count} questions, {listen.took:.0f} s of processor"
    )
    print(f"time, {listen.took / heard:.2f} of the first hearing ({heard:.0f} s)")
    ablation(easy, said, gold, lexicon, listen)
    captions(easy, said, gold, lexicon)
    reliability("aside, all voices", [c for c in said if gold[c]["part"] == "aside"], best, gold, lexicon)
    reliability("fitted to", dev, best, gold, lexicon)


Found = tuple[float, float, str, str | None, bool, float]
"""Start and end in seconds, term, stance, whether the recogniser wrote it, score."""


def as_found(mentions: Iterable[Mention]) -> list[Found]:
    return [(m.start, m.end, m.term, m.stance, m.how in WRITTEN, m.score) for m in mentions]


def plain(hits: Iterable[tuple], lexicon: Lexicon) -> list[Found]:
    return [(start, end, term, None, True, 1.0) for _, start, end, term, _ in hits if lexicon.get(term)]


class Counting:
    """A listener with a stopwatch."""

    def __init__(self, listen) -> None:
        self.listen, self.count, self.took = listen, 0, 0.0

    def __call__(self, questions):
        begun = time.process_time()
        answers = self.listen(questions)
        self.took += time.process_time() - begun
        self.count += len(questions)
        return answers


def judged(found: Sequence[Found], lines: Sequence[dict], lexicon: Lexicon) -> tuple[Counter, list[tuple[float, bool]]]:
    """What is right and wrong in one clip, counted, and each counted mention's score with whether it is right."""
    open_gold = [(line, naming) for line in lines for naming in line["namings"]]
    count: Counter = Counter()
    scored: list[tuple[float, bool]] = []
    for start, end, term, stance, wrote, score in found:
        known = lexicon.get(term)
        if known is None or known.kind not in FINDS:
            continue
        match = next(
            (
                (line, naming)
                for line, naming in open_gold
                if naming["term"] == term and start < line["end"] + SLACK_S and end > line["start"] - SLACK_S
            ),
            None,
        )
        if match is None:
            again = any(
                naming["term"] == term and start < line["end"] + SLACK_S and end > line["start"] - SLACK_S
                for line in lines
                for naming in line["namings"]
            )
            if not again and (known.kind is not Kind.FEATURE or not wrote):
                count["wrong"] += 1
                count["guessed wrong"] += not wrote
                count["found wrong"] += stance == Stance.FOUND
                scored.append((score, False))
            continue
        open_gold.remove(match)
        naming = match[1]
        count["right"] += 1
        scored.append((score, True))
        count["guessed right"] += not wrote
        count["unwritten right"] += not naming["written"]
        if naming["stance"] is not None:
            count["stance"] += 1
            count["stance right"] += stance == naming["stance"]
            if stance == Stance.FOUND:
                count["found right" if naming["stance"] == stance else "found wrong"] += 1
    namings = [naming for line in lines for naming in line["namings"]]
    count["gold"] = len(namings)
    count["gold found"] = sum(naming["stance"] == Stance.FOUND for naming in namings)
    count["unwritten"] = sum(not naming["written"] for naming in namings)
    return count, scored


def heading() -> None:
    print(f"{'':<46}{'gold':>5}{'P':>6}{'R':>6}{'F1':>6}  {'unwritten':>9}{'R':>6}{'P':>6}  {'stance':>6}{'found':>6}")


def show(title: str, clips: Sequence[str], rows: dict[str, list[Found]], gold: dict, lexicon: Lexicon) -> None:
    s: Counter = Counter()
    for clip in clips:
        s += judged(rows[clip], gold[clip]["said"], lexicon)[0]
    f1, precision, recall = f_score(s["right"], s["wrong"], s["gold"])
    found, _, _ = f_score(s["found right"], s["found wrong"], s["gold found"])
    guessed = s["guessed right"] + s["guessed wrong"]
    print(
        f"{title:<46}{s['gold']:>5}{precision:6.2f}{recall:6.2f}{f1:6.2f}  {s['unwritten']:>9}"
        f"{s['unwritten right'] / max(1, s['unwritten']):6.2f}{s['guessed right'] / max(1, guessed):6.2f}"
        f"  {s['stance right'] / max(1, s['stance']):6.2f}{found:6.2f}"
    )


def f_score(right: int, wrong: int, gold: int) -> tuple[float, float, float]:
    precision, recall = right / max(1, right + wrong), right / max(1, gold)
    return 2 * precision * recall / max(1e-9, precision + recall), precision, recall


def show_talk(how: str, rows: dict, said: dict, gold: dict, first: dict, lexicon: Lexicon) -> None:
    for part in ("aside", "dev"):
        quiet = [c for c in said if gold[c]["part"] == part and not any(line["namings"] for line in gold[c]["said"])]
        counts = [judged(rows[c], gold[c]["said"], lexicon)[0] for c in quiet]
        wrong, guessed = (sum(c[key] for c in counts) for key in ("wrong", "guessed wrong"))
        minutes = sum(first[c]["seconds"] for c in quiet) / 60
        loud = [c for c in said if gold[c]["part"] == part]
        everywhere = sum(judged(rows[c], gold[c]["said"], lexicon)[0]["guessed wrong"] for c in loud)
        hours = sum(first[c]["seconds"] for c in loud) / 3600
        print(
            f"{part}, {minutes:.1f} min of talk without finds, {how}: {wrong} false ({wrong / minutes * 10:.1f} in 10 min, "
            f"{guessed} by guess); in all {hours * 60:.0f} min {everywhere / hours:.0f} false guesses an hour"
        )


def ablation(clips: Sequence[str], said: dict, gold: dict, lexicon: Lexicon, listen: Counting) -> None:
    """The clear and moderate clips kept aside, with one kind of evidence after another taken in."""
    from episode.models import LogEntry

    def named(clip: str) -> tuple[LogEntry, ...]:
        terms = dict.fromkeys(n["term"] for line in gold[clip]["said"] for n in line["namings"])
        return tuple(LogEntry(find=str(n), row=n + 1, object=term) for n, term in enumerate(terms, start=1))

    print("\nablation, aside, clear and moderate")
    heading()
    written = {c: [f for f in as_found(spotted(said[c], lexicon)) if f[4]] for c in clips}
    show("  as written", clips, written, gold, lexicon)
    show("  + sounds like", clips, {c: as_found(spotted(said[c], lexicon)) for c in clips}, gold, lexicon)
    both = {c: as_found(spotted(said[c], lexicon, listen=listen)) for c in clips}
    show("  + listening again", clips, both, gold, lexicon)
    logged = {c: as_found(spotted(said[c], lexicon, named(c), listen=listen)) for c in clips}
    show("  + a log that names all of them", clips, logged, gold, lexicon)


def captions(clips: Sequence[str], said: dict, gold: dict, lexicon: Lexicon) -> None:
    print("\nas captions come, aside, clear and moderate: lower case, no stops, no confidence, no sound")
    heading()
    bare = {c: bared(said[c]) for c in clips}
    show("  captions", clips, {c: as_found(spotted(bare[c], lexicon)) for c in clips}, gold, lexicon)


def bared(said: Transcript) -> Transcript:
    def one(word: Word) -> Word:
        return word.model_copy(update={"word": re.sub(r"[^\w'\s-]", "", word.word).casefold(), "probability": 0.5})

    segments = [
        s.model_copy(update={"words": words, "text": " ".join(w.word.strip() for w in words)})
        for s in said.segments
        for words in [tuple(one(w) for w in s.words)]
    ]
    return Transcript(segments=tuple(segments))


def reliability(title: str, clips: Sequence[str], rows: dict, gold: dict, lexicon: Lexicon) -> None:
    scored = [pair for c in clips for pair in judged(rows[c], gold[c]["said"], lexicon)[1]]
    print(f"\nscore and truth, {title} ({len(scored)} mentions)")
    error = 0.0
    for low in range(0, 10):
        mine = [pair for pair in scored if low / 10 <= pair[0] < (low + 1) / 10 or (low == 9 and pair[0] == 1)]
        if mine:
            told, true = (sum(float(pair[n]) for pair in mine) / len(mine) for n in (0, 1))
            error += abs(told - true) * len(mine) / len(scored)
            print(
                f"  {low / 10:.1f} to {(low + 1) / 10:.1f}: {len(mine):>4} mentions, said {told:.2f}, right {true:.2f}"
            )
    print(f"  expected calibration error {error:.3f}")


if __name__ == "__main__":
    main()
