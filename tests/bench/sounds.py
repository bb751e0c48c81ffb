"""Names that the recogniser did not write: how many are found by sound, how surely, at what cost.

    python tests/bench/narration/say.py OUT             speak the narration (see there)
    python tests/bench/sounds.py OUT hear [MODEL]       hear it, by the recogniser MODEL (base)
    python tests/bench/sounds.py OUT candidates         collect candidates with their evidence (and the sound's word)
    python tests/bench/sounds.py OUT fit                fit the weights on the development clips only
    python tests/bench/sounds.py OUT                    figures for development and held-out clips

A name counts as written where the text of its sentence holds one of its term's names without this room's help
(``as written``, ``other name``, ``known mishearing``); recall of unwritten names is over the rest. A mention is
right when its term is the sentence's and the times meet. Terms of other kinds than objects, wares and
features do not count, and a name that holds another ("glass stem" of "wine glass stem") is not wrong when
the words are there as written.
"""

from __future__ import annotations

import json
import sys
import time
import wave
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from spotting import laid_out

from episode.lexicon.packs import load_lexicon
from episode.models import Clip, How, Kind, Segment, StartFrom, Transcript
from episode.speech.again import Again
from episode.speech.sentences import sentences
from episode.spotting.alike import Alike
from episode.spotting.judge import SOUND, TEXT, evidence, heard_again
from episode.spotting.listening import Question
from episode.spotting.names import Names, longest
from episode.spotting.near import Near
from episode.spotting.soundalike import question
from episode.spotting.spot import spot
from episode.spotting.stream import stream

FINDS = {Kind.OBJECT, Kind.WARE, Kind.FEATURE}
WRITTEN = {How.WRITTEN, How.OTHER_NAME, How.MISHEARING}
ASIDE = {3, 6, 9, 12}
DATA = Path(__file__).parents[1] / "data"
WEIGHTS = Path(__file__).parents[2] / "vocab" / "spotting" / "sounds_like.json"


def main() -> None:
    folder = Path(sys.argv[1])
    step = sys.argv[2] if len(sys.argv) > 2 else "measure"
    {"hear": hear, "candidates": candidates, "fit": fit, "measure": measure}[step](folder)


def hear(folder: Path) -> None:
    from episode.speech.hear import _rounded
    from episode.speech.recognise import Ear

    model = sys.argv[3] if len(sys.argv) > 3 else "base"
    ear = Ear(model)
    _ = ear.model
    clips, took, seconds = {}, 0.0, 0.0
    for path in sorted(folder.glob("*.wav")):
        with wave.open(str(path)) as file:
            sound = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / 32768
        begun = time.process_time()
        heard, _ = ear.listen(sound)
        took += time.process_time() - begun
        seconds += len(sound) / 16_000
        clips[path.stem] = [_rounded(segment).model_dump() for segment in heard]
    (folder / f"heard-{model}.json").write_text(json.dumps({"took": took, "seconds": seconds, "clips": clips}))
    print(f"{seconds:.0f} s of sound heard in {took:.0f} s of processor time")


def transcripts(folder: Path, model: str = "base") -> dict[str, Transcript]:
    read = json.loads((folder / f"heard-{model}.json").read_text())
    return {
        clip: Transcript(segments=tuple(Segment.model_validate({"clip": clip, **s}) for s in segments))
        for clip, segments in read["clips"].items()
    }


def spoken(folder: Path) -> dict[str, list[dict]]:
    gold: dict[str, list[dict]] = {}
    for row in json.loads((folder / "gold.json").read_text()):
        gold.setdefault(row["clip"], []).append(row)
    return gold


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


def candidates(folder: Path) -> None:
    lexicon = load_lexicon()
    names = Names(lexicon.names())
    near, alike = Near(names), Alike(names)
    gold = spoken(folder)
    rows: list[dict] = []
    begun = time.process_time()
    for clip, said in transcripts(folder).items():
        rows += collected(said, gold[clip], {"clip": clip, "number": int(clip[4:6])}, names, near, alike)
    print(f"{len(rows)} candidates, {sum(r['right'] for r in rows)} right, {time.process_time() - begun:.1f} s")
    if "--listen" in sys.argv:
        asked = [Question(**row["question"]) for row in rows]
        begun = time.process_time()
        for row, ratio in zip(rows, listener(folder)(asked), strict=True):
            row["ratio_nats"] = ratio
        print(f"all of them asked of the sound in {time.process_time() - begun:.0f} s")
    # Written passages, every word equally believed: almost all that sounds alike here is chance.
    for number, line in enumerate((DATA / "spotting" / "dev.jsonl").read_text("utf-8").splitlines()):
        passage = json.loads(line)
        said, wanted = laid_out(passage)
        wanted = [{"start": s, "end": e, "term": t, "name": t, "text": ""} for _, s, e, t, _ in wanted]
        rows += collected(said, wanted, {"clip": f"dev {number}", "number": 0}, names, near, alike)
    (folder / "candidates.json").write_text(json.dumps(rows, indent=1))


def listener(folder: Path) -> Again:
    import tempfile

    from episode.speech.recognise import Ear

    ear = Ear("base")
    _ = ear.model
    return Again(list(clips_of(folder).values()), ear, cache=Path(tempfile.mkdtemp()))


def collected(said, gold, about, names, near, alike) -> list[dict]:
    tokens = stream(sentences(said))
    exact = longest(names.find(tokens))
    taken = longest([*exact, *near.find(tokens, exact)])
    found = alike.find(tokens, taken)
    rows = []
    for one in found:
        own = tokens[one.first : one.last]
        start, end = own[0].word.start, own[-1].word.end
        meeting = [g for g in gold if g["start"] - 0.3 < (start + end) / 2 < g["end"] + 0.3]
        rows.append(
            {
                **about,
                "heard": " ".join(t.word.word for t in own),
                "name": " ".join(one.name),
                "term": one.term.term,
                "right": any(g["term"] == one.term.term for g in meeting),
                "gold": meeting[0]["name"] if meeting else "",
                "at": start,
                "question": asdict(question(one, tokens, about["clip"], alike)),
                **evidence(one, tokens, found),
            }
        )
    return rows


def fit(folder: Path) -> None:
    rows = [r for r in json.loads((folder / "candidates.json").read_text()) if r["number"] not in ASIDE]
    told = json.loads(WEIGHTS.read_text())
    told["text"] = weights(rows, TEXT)
    asked = [{**r, **heard_again(r["ratio_nats"], r)} for r in rows if r.get("ratio_nats") is not None]
    # Of several windows for a name that was said, the likeliest by the sound is the right one.
    best: dict[tuple, float] = {}
    for row in asked:
        place = (row["clip"], row["term"], row["gold"])
        best[place] = max(best.get(place, -99.0), row["ratio_nats"])
    asked = [r for r in asked if not r["right"] or r["ratio_nats"] > best[r["clip"], r["term"], r["gold"]] - 4]
    if asked:
        told["sound"] = weights(asked, SOUND)
    WEIGHTS.write_text(json.dumps(told, indent=1) + "\n")
    print(json.dumps(told, indent=1))


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


def measure(folder: Path) -> None:
    lexicon = load_lexicon()
    gold, said = spoken(folder), transcripts(folder)
    first = json.loads((folder / "heard-base.json").read_text())
    print(f"{'set':<26}{'gold':>6}{'P':>7}{'R':>7}{'F1':>7}{'unwritten':>11}{'recall':>8}{'precision':>10}")
    for how, listen in (("words alone", None), ("and sound", listener(folder))):
        asked = Counting(listen) if listen else None
        rows = {c: judged(spot(t, lexicon, listen=asked), gold[c], lexicon) for c, t in said.items()}
        for title, mine in (("development", False), ("held out", True)):
            show(f"{title}, {how}", [rows[c] for c in rows if (int(c[4:6]) in ASIDE) is mine])
        for level in ("clear", "moderate", "hard"):
            show(f"  held out, {level}", [rows[c] for c in rows if int(c[4:6]) in ASIDE and c.endswith(level)])
        talk = [c for c in rows if int(c[4:6]) > 9]
        print(f"  in talk without finds: {sum(rows[c]['wrong'] for c in talk)} false")
        if asked:
            share = asked.took / first["took"]
            print(f"  {asked.count} questions, {asked.took:.0f} s of processor time, {share:.2f} of the first hearing")
    ordinary(lexicon)


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


def ordinary(lexicon) -> None:
    """False insertions in recordings of people who talk of other things (tests/data/speech)."""
    import tempfile

    from episode.footage.sound import pieces
    from episode.speech.recognise import Ear

    ear, seconds, false = Ear("base"), 0.0, {"words alone": 0, "and sound": 0}
    for path in sorted((DATA / "speech").glob("*.flac")):
        clip = clip_at(path, 60.0)
        sound = np.concatenate([piece.samples for piece in pieces(clip)])
        clip = clip_at(path, len(sound) / 16_000)
        seconds += clip.duration
        heard, _ = ear.listen(sound)
        said = Transcript(segments=tuple(Segment.model_validate({"clip": clip.name, **s.model_dump()}) for s in heard))
        again = Again([clip], ear, cache=Path(tempfile.mkdtemp()))
        for how, listen in (("words alone", None), ("and sound", again)):
            made = [m for m in spot(said, lexicon, listen=listen) if m.how is How.SOUNDS_LIKE]
            false[how] += len(made)
            for m in made:
                print(f"    {how}: {m.heard!r} as {m.term} ({m.score})")
    print(f"ordinary speech, {seconds:.0f} s: " + ", ".join(f"{n} false {how}" for how, n in false.items()))


def judged(mentions, wanted, lexicon) -> dict[str, int]:
    open_gold = [g for g in wanted if g["term"]]
    written = {
        id(g)
        for g in open_gold
        for m in mentions
        if m.how in WRITTEN and m.term == g["term"] and m.start < g["end"] and m.end > g["start"]
    }
    right = wrong = unwritten_right = guessed = guessed_right = 0
    for m in mentions:
        term = lexicon.get(m.term)
        if term is None or term.kind not in FINDS:
            continue
        g = next((g for g in open_gold if m.term == g["term"] and m.start < g["end"] and m.end > g["start"]), None)
        guess = m.how not in WRITTEN
        guessed += guess
        if g is None:
            wrong += guess or not any(m.start < g["end"] and m.end > g["start"] and g["term"] for g in wanted)
            continue
        open_gold.remove(g)
        right += 1
        guessed_right += guess
        unwritten_right += id(g) not in written
    total = sum(1 for g in wanted if g["term"])
    return {
        "gold": total, "right": right, "wrong": wrong, "unwritten": total - len(written),
        "found": unwritten_right, "guessed": guessed, "guessed_right": guessed_right,
    }  # fmt: skip


def show(title: str, rows: list[dict[str, int]]) -> None:
    s = {key: sum(row[key] for row in rows) for key in rows[0]}
    precision = s["right"] / max(1, s["right"] + s["wrong"])
    recall = s["right"] / max(1, s["gold"])
    f1 = 2 * precision * recall / max(1e-9, precision + recall)
    print(
        f"{title:<26}{s['gold']:>6}{precision:7.2f}{recall:7.2f}{f1:7.2f}{s['unwritten']:>11}"
        f"{s['found'] / max(1, s['unwritten']):8.2f}{s['guessed_right'] / max(1, s['guessed']):10.2f}"
    )


if __name__ == "__main__":
    main()
