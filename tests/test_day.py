"""The main job on the example day, for real: media, recogniser, vocabulary, log, record.

What is said when is in ``examples/making/gold.json``, written by the script that made the day.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import re
import shutil
from pathlib import Path

import jsonschema
import pytest

from episode.day.log import read_log
from episode.day.national_grid import grid_square, national_grid
from episode.day.photos import read_photos
from episode.day.settings import read_settings
from episode.day.track import read_track
from episode.make import make
from episode.results import SCHEMAS, json_schema
from episode.writing import Made
from tests.conftest import EXAMPLE, ROOT

pytestmark = pytest.mark.hears

CONTRACT = [
    "transcript.json",
    "transcript.vtt",
    "moments.json",
    "chapters.json",
    "chapters.txt",
    "chapters.vtt",
    "chapters.ffmeta",
    "chapters.xml",
    "chapters.podcast.json",
    "captions.vtt",
    "captions.srt",
    "claims.json",
    "claims.csv",
    "promises.json",
    "timeline.otio",
    "timeline.edl",
    "selects.otio",
    "selects.edl",
    "description.txt",
    "review.html",
]


def hashes(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".lock" not in path.name
    }


@pytest.fixture(scope="module")
def gold() -> dict:
    return json.loads((ROOT / "examples" / "making" / "gold.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("days") / EXAMPLE.name
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("out"))
    return folder


@pytest.fixture(scope="module")
def before(day: Path) -> dict[str, str]:
    return hashes(day)


@pytest.fixture(scope="module")
def made(day: Path, before: dict[str, str], cache: Path) -> Made:
    return make(day)


@pytest.fixture(scope="module")
def out(made: Made) -> Path:
    return made.out


def load(out: Path, name: str) -> dict:
    return json.loads((out / name).read_text(encoding="utf-8"))


def test_every_file_of_the_contract_is_there(out: Path):
    assert [name for name in CONTRACT if not (out / name).is_file()] == []


@pytest.mark.parametrize("name", sorted(set(SCHEMAS) - {"summary", "settings", "decisions", "cut", "trace"}))
def test_every_json_file_is_valid_by_its_schema(out: Path, name: str):
    jsonschema.Draft202012Validator.check_schema(json_schema(name))
    jsonschema.Draft202012Validator(json_schema(name)).validate(load(out, f"{name}.json"))


def test_nothing_of_the_persons_was_changed(day: Path, before: dict[str, str], made: Made):
    now = {name: value for name, value in hashes(day).items() if not name.startswith("out")}
    assert now == before


def test_the_gold_finds_are_tied_to_their_log_entries(out: Path, gold: dict):
    moments = load(out, "moments.json")["moments"]
    right = 0
    for find in gold["finds"]:
        overlapping = [
            m for m in moments if m["clip"] == find["clip"] and m["start"] < find["end"] and m["end"] > find["start"]
        ]
        right += any(m["find"] == find["find"] for m in overlapping)
    assert right >= 0.7 * len(gold["finds"]), f"{right} of {len(gold['finds'])}"


def test_clocks_are_found_within_a_minute_of_the_truth(out: Path, gold: dict):
    clocks = {clock["camera"]: clock["offset_s"] for clock in load(out, "moments.json")["clocks"]}
    for clip in gold["clips"]:
        camera = clip["camera"]
        assert clocks[camera] == pytest.approx(clip["offset_s"], abs=60), clip["clip"]


def test_planted_errors_are_contradicted_and_true_statements_are_not(out: Path, gold: dict):
    claims = load(out, "claims.json")["claims"]

    def verdicts(planned: dict) -> set[str]:
        return {
            claim["verdict"]
            for claim in claims
            if claim["clip"] == planned["clip"]
            and claim["start"] < planned["end"] + 1
            and claim["end"] > planned["start"] - 1
            and claim["to"] == planned["to"]
        }

    wrong = [planned for planned in gold["claims"] if planned["verdict"] == "contradicted"]
    assert wrong
    for planned in wrong:
        assert "contradicted" in verdicts(planned), planned
    for planned in gold["claims"]:
        if planned["verdict"] == "supported":
            assert "contradicted" not in verdicts(planned), planned


def test_chapters_are_what_hosts_ask(out: Path):
    lines = (out / "chapters.txt").read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("0:00 ")
    assert len(lines) >= 3
    stamps = [seconds(line.split(" ")[0]) for line in lines]
    assert all(later - earlier >= 10 for earlier, later in itertools.pairwise(stamps))


def seconds(stamp: str) -> int:
    return sum(int(part) * 60**power for power, part in enumerate(reversed(stamp.split(":"))))


def test_a_contradicted_statement_is_not_in_the_description(out: Path, gold: dict):
    text = (out / "description.txt").read_text(encoding="utf-8")
    for planned in gold["claims"]:
        if planned["verdict"] == "contradicted":
            assert str(planned["from"]) not in text


def test_no_find_spot_finer_than_allowed_is_in_any_output(out: Path, day: Path):
    log = (day / "finds.csv").read_text(encoding="utf-8-sig")
    fine = set(re.findall(r"TA \d{3,5} \d{3,5}", log)) | {"53.695507", "0.655362"}
    fine |= {spot.replace(" ", "") for spot in fine}
    assert fine
    # Of the track and the photographs: degrees to a hundred metres, and metres of the grid in every usual form.
    track, _ = read_track(day)
    settings = read_settings(day)
    photos, _ = read_photos(day, read_log(day, settings)[0], settings)
    exact = [(fix.lat, fix.lon) for segment in track.segments for fix in segment]
    exact += [(p.lat, p.lon) for named in photos.by_row.values() for p in named if p.lat and p.lon]
    assert len(exact) > 100
    for lat, lon in exact:
        east, north = national_grid(lat, lon) or (0, 0)
        fine |= {f"{lat:.4f}"[:-1], f"{lon:.5f}"[:-1]}
        fine |= {grid_square(east, north, figures) for figures in (6, 8, 10)}
        fine |= {f"{int(east)}.", f"{int(north)}."}
    private = ("old jetty", "Cutler's Steps")
    for path in sorted(out.rglob("*")):
        if path.is_file() and path.suffix != ".lock":
            text = path.read_bytes().decode("utf-8", errors="replace")
            places = text if path.suffix != ".jpg" else ""
            assert not [spot for spot in fine if spot in places], path.name
            assert not [name for name in private if name.lower() in text.lower()], path.name


def test_finds_get_the_square_they_lie_in_and_say_whence(out: Path):
    moments = load(out, "moments.json")["moments"]
    told = {moment["place"] for moment in moments} - {""}
    assert told == {"TA 75 25"}  # convertbng 2.0.0 puts the demo's walk there by OSTN15
    assert {m["place_from"].split(",")[0] for m in moments} >= {"log", "track", "withheld: a private place"}
    assert not [m["place"] for m in moments if m["find"] in {"5", "6", "8"} and m["place"]]


def test_the_log_check_lists_what_was_planted(out: Path, gold: dict):
    found = load(out, "log_check.json")["findings"]
    assert {f["find"] for f in found if f["kind"] == "logged, not filmed"} <= set(gold["unfilmed"])
    # A penny of 1870 logged as 1879, on purpose.
    assert "13" in {f["find"] for f in found if f["kind"] == "date differs"}
    assert not [f for f in found if f["kind"] in {"maker differs", "number missing", "photo missing"}]
    assert (out / "log_check.csv").read_bytes().count(b"\r\n") == len(found) + 1


def test_a_second_run_hears_nothing_and_gives_the_same_bytes(day: Path, out: Path, monkeypatch: pytest.MonkeyPatch):
    from episode.speech.recognise import Ear

    first = hashes(out)

    def deaf(*_: object, **__: object) -> None:
        raise AssertionError("something was heard again")

    monkeypatch.setattr(Ear, "listen", deaf)
    make(day)
    assert hashes(out) == first
