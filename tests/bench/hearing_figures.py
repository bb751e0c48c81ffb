"""The figures of ``hearing.py``: finds, unwritten names, stances, false ones, evidence by kind, and whether scores are true."""

from __future__ import annotations

import json
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from hearing_data import (
    FINDS,
    FITTED,
    SLACK_S,
    WRITTEN,
    Counting,
    bared,
    listener,
    mark_written,
    spoken,
    spotted,
    transcripts,
)
from rapidfuzz.distance import Levenshtein
from spotting import by_exact, by_partial_ratio

from episode.lexicon.book import Lexicon
from episode.lexicon.packs import load_lexicon
from episode.models import Kind, Mention, Stance, Transcript
from episode.spotting.respell import respell
from episode.spotting.stream import name_tokens

HEARD_WELL = 0.15
"""Share of words wrong up to which a clip counts as heard well."""
Found = tuple[float, float, str, str | None, bool, float]
"""Start and end in seconds, term, stance, whether the recogniser wrote it, score."""


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
    well = [c for c in aside if wrong_share([c], said, gold) <= HEARD_WELL]
    for how, rows in methods.items():
        show(f"aside, at most 15 % of words wrong: {how}", well, rows, gold, lexicon)
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
    words_wrong(said, gold)
    written_again(said, gold, lexicon, listen)
    reliability("aside, all voices", [c for c in said if gold[c]["part"] == "aside"], best, gold, lexicon)
    reliability("fitted to", dev, best, gold, lexicon)


def words_wrong(said: dict[str, Transcript], gold: dict) -> None:
    """Words that the recogniser got wrong, by voice and by level of noise."""
    print("\nwords wrong, of those spoken")
    for key in ("voice", "level"):
        told = []
        for value in dict.fromkeys(row[key] for row in gold.values()):
            told.append(f"{value} {wrong_share([c for c in said if gold[c][key] == value], said, gold):.3f}")
        print("  " + ", ".join(told))


def written_again(said: dict[str, Transcript], gold: dict, lexicon: Lexicon, listen: Counting) -> None:
    """Words wrong before and after the transcript took the trade's spelling (at the default limit)."""
    mine = [c for c in said if gold[c]["part"] == "aside"]
    after = {c: respell(said[c], spotted(said[c], lexicon, listen=listen), lexicon, least=0.8) for c in mine}
    quiet = [c for c in mine if not any(line["namings"] for line in gold[c]["said"])]
    for title, clips in (("aside", mine), ("aside, talk without finds", quiet)):
        before_, after_ = wrong_share(clips, said, gold), wrong_share(clips, after, gold)
        print(f"  {title}: {before_:.4f} of words wrong as heard, {after_:.4f} in the trade's spelling")


def wrong_share(clips: Sequence[str], said: dict[str, Transcript], gold: dict) -> float:
    wrong = total = 0
    for clip in clips:
        spoken_words = [w for line in gold[clip]["said"] for w in name_tokens(line["text"])]
        heard = [w for s in said[clip].segments for w in name_tokens(s.text)]
        wrong += Levenshtein.distance(spoken_words, heard)
        total += len(spoken_words)
    return wrong / max(1, total)


def as_found(mentions: Iterable[Mention]) -> list[Found]:
    return [(m.start, m.end, m.term, m.stance, m.how in WRITTEN, m.score) for m in mentions]


def plain(hits: Iterable[tuple], lexicon: Lexicon) -> list[Found]:
    return [(start, end, term, None, True, 1.0) for _, start, end, term, _ in hits if lexicon.get(term)]


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
