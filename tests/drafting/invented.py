"""An invented day on Skelby Sands, by the River Thessel, of the size that a real one has: places, people and firms
do not exist; the dates of wares and the patent are from general handbooks (from memory) and prove nothing here."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from episode.drafting.chapters import chapters
from episode.drafting.result import DayResult, Film
from episode.models import (
    Caution,
    Claim,
    Clip,
    Clock,
    Disclosures,
    Evidence,
    Grade,
    Hearing,
    How,
    Kind,
    Link,
    LogEntry,
    Matched,
    Mention,
    Moment,
    Problem,
    Promise,
    Segment,
    Settings,
    Stance,
    StartFrom,
    Transcript,
    Verdict,
    Word,
)

MORNING = datetime(2026, 5, 3, 8, 12, 4, tzinfo=UTC)
HAND, HEAD = "hand", "head"


def clip(
    name: str, minute: float, duration: float, camera: str = HAND, fps: float | None = 25.0, **more: object
) -> Clip:
    values: dict[str, object] = {
        "name": name,
        "path": Path("/nowhere") / name,
        "duration": duration,
        "start": MORNING + timedelta(minutes=minute),
        "start_from": StartFrom.CREATION,
        "camera": camera,
        "fps": fps,
        "width": 1920,
        "height": 1080,
        "audio_tracks": 1,
        "has_video": fps is not None,
    }
    return Clip(**{**values, **more})


CLIPS = (
    clip("hand/C0001.MP4", 0, 412.4),
    clip("hand/C0002.MP4", 14, 655.0),
    clip("head/GX010021.MP4", 21.5, 498.2, HEAD, 30000 / 1001),
    clip("hand/C0003.MP4", 41, 540.0),
    clip("head/GX010022.MP4", 63, 720.6, HEAD, 30000 / 1001),
    clip("hand/C0004.MP4", 92, 388.0),
)

# clip number, second, what is said
SAID: tuple[tuple[int, float, str], ...] = (
    (0, 3, "Morning all, we are out on Skelby Sands and the tide turns at half past ten, so keep an eye on the gully."),
    (0, 14, "The mud by the old hard is soft, wear gloves, there is glass about."),
    (0, 95, "Oh, look at that. A clay pipe bowl, lying face up."),
    (0, 101, "That is a lovely early one, about 1640 to 1670 going by the little barrel shape."),
    (0, 118, "There is no stem on it, sadly."),
    (0, 208, "And here is a pin. A brass dress pin, with the wound wire head."),
    (0, 214, "Pins like these were used right through Tudor times."),
    (0, 219, "And another pin next to it, a bit bent."),
    (0, 330, "A word about clay pipes while I walk. They came in with tobacco in the fifteen seventies."),
    (0, 352, "Every town had its makers and many put their initials on the heel."),
    (1, 22, "Right, now this is creamware, a rim sherd with a feather edge."),
    (1, 29, "Josiah Wedgwood brought that out in 1762, so 1762 to 1820 for this one."),
    (1, 170, "Button... no. It is a lead token, a lead token with an anchor."),
    (1, 178, "Harbour dues, I should think. If you know this anchor please tell me in the comments."),
    (1, 300, "Codd bottle neck with the marble still in it, patented by Hiram Codd in 1870."),
    (1, 311, "Bottled by Harkness and Dole of Skelby, I have not found a date for them."),
    (1, 430, "Could be a loom weight? It is heavy, fired clay, hole right through. I honestly do not know."),
    (1, 560, "This is transfer-printed ware, willow pattern, and that is the first ever made, they say."),
    (2, 45, "I was hoping for a spoon in this gully, but not today."),
    (2, 140, "Ah, a bone toggle. Polished, hand cut."),
    (2, 320, "Thimble! A silver thimble by the look of it, really worn."),
    (2, 331, "No hallmark that I can see so I would say 17th century."),
    (3, 60, "Thanks to Marrow Boots who sent me these waders. They are gifted, not sponsored."),
    (3, 150, "A musket ball. Lead, about three quarters of an inch."),
    (3, 290, "This is one I found last year at the same spot, a Bellarmine neck with the bearded face."),
    (3, 301, "Those were made at Frechen in the sixteen hundreds."),
    (3, 420, "Stoneware bottle, Ginger beer, with the maker stamped on it, T. Pell and Sons."),
    (4, 80, "Nails everywhere, hand forged rose head nails off the old hulks. Leave those."),
    (4, 210, "Oh that is a spoon bowl! A pewter spoon bowl after all."),
    (4, 219, "Round bowl, so 1500s, before they went egg shaped after 1660."),
    (4, 405, "I have no idea about this one. Bronze, a loop, a flat plate. Answers on a postcard."),
    (4, 600, "I will put a link below to the tide tables and to the pipe maker lists."),
    (5, 40, "So a quick look at what we found. The pipe bowl, the pins, the creamware."),
    (5, 70, "The token, the toggle, the thimble and that pewter spoon bowl."),
    (5, 300, "Next time we are back at the wreck timbers. Mind how you go."),
)  # fmt: skip


def transcript(said: tuple[tuple[int, float, str], ...] = SAID, clips: tuple[Clip, ...] = CLIPS) -> Transcript:
    segments = tuple(_segment(clips[number].name, at, text) for number, at, text in said)
    return Transcript(
        segments=segments,
        clips=tuple(Hearing(clip=c.name, how="recognised", model="base", language="en") for c in clips),
    )


def _segment(name: str, at: float, text: str) -> Segment:
    words, each = text.split(), 0.36
    spoken = tuple(
        Word(start=round(at + i * each, 2), end=round(at + i * each + 0.31, 2), word=w, probability=0.9)
        for i, w in enumerate(words)
    )
    return Segment(clip=name, start=at, end=spoken[-1].end, text=text, words=spoken)


def moment(
    number: int,
    clip_number: int,
    start: float,
    end: float,
    term: str | None,
    stance: Stance = Stance.FOUND,
    find: str | None = None,
    kind: Kind = Kind.OBJECT,
    confidence: float = 0.9,
    **more: object,
) -> Moment:
    where = CLIPS[clip_number]
    quote = next((t for n, at, t in SAID if n == clip_number and abs(at - start) < 12), "")
    mentions = ()
    if term:
        mentions = (
            Mention(
                clip=where.name, start=start, end=start + 1.2, heard=term, term=term, kind=kind,
                how=How.WRITTEN, score=0.95, stance=stance, quote=quote,
            ),
        )  # fmt: skip
    values: dict[str, object] = {
        "id": f"m{number:03d}",
        "clip": where.name,
        "start": start,
        "end": end,
        "at": where.start + timedelta(seconds=start + (37 if where.camera == HEAD else -2)),
        "term": term,
        "stance": stance,
        "find": find,
        "confidence": confidence,
        "mentions": mentions,
        "why": (f"logged {abs(number) % 4 + 1} min after it was named", "the log has the same word") if find else (),
    }
    return Moment(**{**values, **more})


MOMENTS = (
    moment(1, 0, 95, 130, "pipe bowl", find="1"),
    moment(2, 0, 208, 218, "pin", find="2"),
    moment(3, 0, 219, 226, "pin", find="3"),
    moment(4, 0, 330, 375, "clay pipe", Stance.ASIDE),
    moment(5, 1, 22, 60, "creamware", find="4", kind=Kind.WARE),
    moment(6, 1, 170, 200, "lead token", find="5"),
    moment(7, 1, 300, 330, "Codd bottle", find="6"),
    moment(8, 1, 430, 460, "loom weight", Stance.UNSURE, find="7", confidence=0.55),
    moment(9, 1, 560, 590, "transfer-printed ware", find=None, kind=Kind.WARE, confidence=0.4,
           why=("no log entry within ten minutes",)),
    moment(10, 2, 45, 50, "spoon", Stance.HOPED),
    moment(11, 2, 140, 170, "bone toggle", find="8"),
    moment(12, 2, 320, 350, "thimble", find="9", confidence=0.8),
    moment(13, 3, 150, 175, "musket ball", find="10"),
    moment(14, 3, 290, 330, "Bellarmine", Stance.EARLIER),
    moment(15, 3, 420, 450, "stoneware bottle", find="11", confidence=0.7),
    moment(16, 4, 210, 240, "spoon bowl", find="12"),
    moment(17, 4, 405, 440, None, Stance.UNSURE, find="13", confidence=0.5),
    moment(18, 5, 40, 55, "pipe bowl", Stance.RECAP),
    moment(19, 5, 70, 90, "lead token", Stance.RECAP),
)  # fmt: skip


def entry(find: str, minute: float, name: str, **more: object) -> LogEntry:
    return LogEntry(find=find, row=int(find) + 1, time=MORNING + timedelta(minutes=minute), object=name, **more)


LOG = (
    entry("1", 2.1, "pipe bowl", material="clay", period="17th century", grid="TZ 4123 0871"),
    entry("2", 4, "pin", material="copper alloy"),
    entry("3", 4.5, "pin, bent", material="copper alloy"),
    entry("4", 15, "creamware rim", material="ceramic"),
    entry("5", 17.5, "lead token", material="lead"),
    entry("6", 20, "codd bottle neck", material="glass", maker="Harkness & Dole"),
    entry("7", 22, "loom weight?", material="ceramic", notes="ask the viewers"),
    entry("8", 25, "bone toggle", material="bone"),
    entry("9", 28, "thimble", material="silver?"),
    entry("10", 44.2, "musket ball", material="lead"),
    entry("11", 49, "ginger beer bottle", maker="T. Pell & Sons"),
    entry("12", 68, "pewter spoon", material="pewter", period="Tudor"),
    entry("13", 71, "", notes="no idea, bronze with a loop"),
    entry("14", 76, "oyster shell with hole", material="shell"),
)


def claim(number: int, moment_id: str, quote: str, kind: str, verdict: Verdict, **more: object) -> Claim:
    where = next(m for m in MOMENTS if m.id == moment_id)
    values: dict[str, object] = {
        "id": f"c{number:03d}",
        "clip": where.clip,
        "start": where.start + 6,
        "end": where.start + 10,
        "quote": quote,
        "about": where.term,
        "find": where.find,
        "kind": kind,
        "edtf": None,
        "from": None,
        "to": None,
        "verdict": verdict,
        "moment": moment_id,
    }
    return Claim(**{**values, **more})


def evidence(statement: str, source: str, first: int | None = None, last: int | None = None) -> Evidence:
    return Evidence(**{"statement": statement, "source": source, "from": first, "to": last, "grade": Grade.SECONDARY})


HANDBOOK = "Handbook of pipe forms, invented for this test, 1999, p. 12"
PATENTS, THIMBLES, SPOONS = "Patent list, invented", "Notes on thimbles, invented", "Notes on spoons, invented"
WARES = "Guide to wares, invented for this test, 2004, p. 40"

CLAIMS = (
    claim(1, "m001", "about 1640 to 1670", "date", Verdict.SUPPORTED, edtf="1640~/1670~", **{"from": 1640, "to": 1670},
          evidence=(evidence("Barrel-shaped bowls of this size were made from 1640 to 1670", HANDBOOK, 1640, 1670),)),
    claim(2, "m002", "right through Tudor times", "period", Verdict.UNREFERENCED, **{"from": 1485, "to": 1603}),
    claim(3, "m005", "Josiah Wedgwood brought that out in 1762, so 1762 to 1820", "date", Verdict.SUPPORTED,
          edtf="1762/1820", **{"from": 1762, "to": 1820},
          evidence=(evidence("Creamware was made from 1762 to about 1820", WARES, 1762, 1820),)),
    claim(4, "m007", "patented by Hiram Codd in 1870", "date", Verdict.SUPPORTED, edtf="1870",
          **{"from": 1870, "to": 1870},
          evidence=(evidence("Hiram Codd's first patent for the bottle is of 1870", PATENTS, 1870, 1870),)),
    claim(5, "m007", "Bottled by Harkness and Dole of Skelby", "maker", Verdict.UNREFERENCED),
    claim(6, "m009", "the first ever made, they say", "superlative", Verdict.UNREFERENCED),
    claim(7, "m012", "I would say 17th century", "date", Verdict.IMPRECISE, edtf="16XX", **{"from": 1601, "to": 1700},
          evidence=(evidence("Thimbles with this border were made from 1650 to 1730", THIMBLES, 1650, 1730),)),
    claim(8, "m016", "Round bowl, so 1500s", "date", Verdict.CONTRADICTED, edtf="15XX", **{"from": 1500, "to": 1599},
          evidence=(evidence("Spoons with this knop were made from 1661 to 1700", SPOONS, 1661, 1700),),
          note="the record begins 62 years after the claim ends"),
    claim(9, "m014", "made at Frechen in the sixteen hundreds", "origin", Verdict.SUPPORTED,
          evidence=(evidence("Frechen made bearded bottles from about 1550 to 1700", WARES, 1550, 1700),)),
)  # fmt: skip


def promise(number: int, clip_number: int, start: float, quote: str, kind: str, text: str, **more: object) -> Promise:
    return Promise(
        id=f"p{number:03d}", clip=CLIPS[clip_number].name, start=start, end=start + 4,
        quote=quote, kind=kind, text=text, **more,
    )  # fmt: skip


PROMISES = (
    promise(1, 4, 600, "I will put a link below to the tide tables and to the pipe maker lists.", "link",
            "link to the tide tables"),
    promise(2, 4, 602, "I will put a link below to the tide tables and to the pipe maker lists.", "link",
            "link to the pipe maker lists"),
    promise(3, 1, 180, "If you know this anchor please tell me in the comments.", "question",
            "whose is the anchor on the lead token?", moment="m006"),
    promise(4, 3, 60, "Thanks to Marrow Boots who sent me these waders.", "thanks", "thank Marrow Boots"),
    promise(5, 5, 300, "Next time we are back at the wreck timbers.", "callback", "return to the wreck timbers"),
)  # fmt: skip

CAUTIONS = (
    Caution(kind="treasure", text="Find 9 may be treasure: precious metal of 300 years or more may have to be reported",
            moments=("m012",), finds=("9",), source="Treasure Act 1996 s.1"),
    Caution(kind="tide", text="The tide comes in behind you on these sands; look up the times and go with someone"),
    Caution(kind="sharps", text="Glass and rusty metal are about: gloves and boots"),
)  # fmt: skip

SETTINGS = Settings(
    title="Morning ebb at Skelby Sands",
    date=date(2026, 5, 3),
    time_zone="Europe/London",
    place="Skelby Sands",
    presenter="Ada Marsh",
    private_places=("the old hard",),
    links=(
        Link(label="Tide tables for the Thessel", url="https://tides.example.org/thessel", about=("tide tables",)),
        Link(label="Our maps", url="https://example.org/maps"),
    ),
    disclosures=Disclosures(
        gifted=("waders by Marrow Boots",), permit="Thessel Harbour search permit", permit_number="TH-4471"
    ),
    credits=("Camera: Jo Fenn", "Music: none"),
)

PROBLEMS = (
    Problem(where="finds.csv row 9", what="the time 8:4O is no time", remedy="Write it as 08:40.", level="warning"),
    Problem(where="head/GX010021.MP4", what="wind noise from 2:10 to 3:05; words there are unsure", level="note"),
)


def day(**changes: object) -> DayResult:
    values: dict[str, object] = {
        "settings": SETTINGS,
        "clips": CLIPS,
        "transcript": transcript(),
        "log": LOG,
        "matched": Matched(
            moments=MOMENTS,
            clocks=(
                Clock(camera=HAND, offset_s=-2.0, pairs=8, error_s=4.0, basis="8 pairs of finds and log times"),
                Clock(
                    camera=HEAD,
                    offset_s=37.0,
                    drift_ppm=12,
                    pairs=5,
                    error_s=9.0,
                    basis="5 pairs of finds and log times",
                ),
            ),
            unlogged=("m009",),
            unfilmed=("14",),
        ),
        "claims": CLAIMS,
        "promises": PROMISES,
        "cautions": CAUTIONS,
        "problems": PROBLEMS,
    }
    values |= changes
    result = DayResult(**values)
    if "chapters" in changes:
        return result
    made = chapters(result.moments, result.transcript, result.clips, result.settings, None, result.claims)
    return result.model_copy(update={"chapters": made})


def film_day() -> DayResult:
    """The same day with a finished film, in which a voice says something that no clip does."""
    said = transcript(((0, 61, "Codd took out his patent in 1872, and I will put a link below to it."),), CLIPS[:1])
    words = said.model_copy(
        update={"segments": tuple(s.model_copy(update={"clip": "film.mp4"}) for s in said.segments)}
    )
    claim = Claim(
        id="c-film0001", clip="film.mp4", start=61, end=64, quote=words.segments[0].text, about="Codd bottle", find=None,
        kind="date", edtf="1872", verdict=Verdict.UNREFERENCED, **{"from": 1872, "to": 1872},
    )  # fmt: skip
    promise = Promise(
        id="p-film0001", clip="film.mp4", start=61, end=66, quote=claim.quote, kind="link", text="a link to it"
    )
    made = day()
    film = Film(
        name="film.mp4", claims=(claim,), promises=(promise,), found_claims=(claim,), found_promises=(promise,),
        words=words, chapters=made.chapters[:3], description="Filmed at Skelby Sands.\nOf the film alone.\n",
        wordings={"short.txt": "Short, of the film.\n"},
    )  # fmt: skip
    return made.model_copy(update={"film": film, "description": "Of the raw clips alone.\n"})
