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

import json
import math
import sys
import time
from itertools import groupby
from pathlib import Path

import numpy as np
from hearing_data import (
    DATA,
    FINDS,
    FITTED,
    SLACK_S,
    WRITTEN,
    bared,
    listener,
    mark_written,
    samples,
    spoken,
    spotted,
    transcripts,
)
from hearing_figures import judged, measure
from spotting import laid_out

from episode.lexicon.packs import load_lexicon
from episode.models import Transcript
from episode.speech.sentences import sentences
from episode.spotting.alike import Alike
from episode.spotting.everyday import is_everyday
from episode.spotting.judge import FLAT, SOUND, TEXT, evidence, heard_again
from episode.spotting.names import Names, Span, longest
from episode.spotting.score import WRITTEN as WRITTEN_NAMES
from episode.spotting.score import written_evidence
from episode.spotting.soundalike import compared, questions, stretches
from episode.spotting.stream import stream

LEAST_CHANCE = 0.015
"""By the words alone, from which on the sound is asked while weights are fitted."""
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


if __name__ == "__main__":
    main()
