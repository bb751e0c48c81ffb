"""A finished film with a voice-over, for real: traced by sound, the voice heard, its claims checked."""

from __future__ import annotations

import json
import shutil
import subprocess
import time
from pathlib import Path

import pytest

from episode.footage.chaptered import with_chapters
from episode.footage.tools import ffmpeg
from episode.make import Options, make
from episode.recut import Recut, recut
from episode.review.asking import Asked
from episode.review.desk import Desk
from episode.review.keys import claim_key
from episode.review.open_desk import open_desk
from tests.conftest import EXAMPLE

pytestmark = pytest.mark.hears

CLIP = "MH_20260503_104627.mp4"
PARTS = """
[0:a]atrim=4:26,asetpts=PTS-STARTPTS,aresample=48000,aformat=channel_layouts=mono[a0];
[1:a]atrim=43:58,asetpts=PTS-STARTPTS,aresample=48000,aformat=channel_layouts=mono[a1];
[2:a]aformat=channel_layouts=mono[a2];
[0:a]atrim=46:66,asetpts=PTS-STARTPTS,aresample=48000,aformat=channel_layouts=mono[a3];
[a0][a1][a2][a3]concat=n=4:v=0:a=1[a]
"""
"""A piece of the clip, a voice that is in no clip of the day, four seconds of organ, another piece."""
ORGAN = "aevalsrc=0.2*sin(2*PI*220*t)+0.2*sin(2*PI*277.2*t)+0.2*sin(2*PI*329.6*t):d=4:s=48000"
VOICE, MUSIC = (22.0, 37.0), (37.0, 41.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("days") / "2026-05-03-film"
    (made / "footage").mkdir(parents=True)
    shutil.copy(EXAMPLE / "footage" / "hand" / CLIP, made / "footage" / CLIP)
    # The clip's own words are written beside it, so that only the voice-over has to be heard.
    (made / "footage" / Path(CLIP).with_suffix(".txt").name).write_text(
        "[0:08] First, a penny, Queen Victoria, with the bun in her hair.\n\n[0:11] And it says 1870.\n\n"
        "[0:18] This one's a toothbrush, perhaps.\n\n"
        "[0:30] And here's a musket ball, and it was made in 1650.\n\n[0:36] I'll put a link in the description.\n\n"
        "[0:49] There was a ferry here.\n\n[0:59] Next week I'm over on the north shore.\n"
    )
    (made / "episode.toml").write_text('title = "Film"\nmodel = "tiny.en"\nlisten_again = false\ndate = 2026-05-03\n')
    return made


@pytest.fixture(scope="module")
def film(folder: Path) -> Path:
    path = folder.parent / "film.mp4"
    voice = EXAMPLE / "footage" / "chest" / "CHST0042.MP4"
    ran = subprocess.run(
        [str(ffmpeg().path), "-v", "error", "-i", folder / "footage" / CLIP, "-i", voice, "-f", "lavfi", "-i", ORGAN,
         "-f", "lavfi", "-i", "testsrc=s=64x48:r=10:d=61", "-filter_complex", PARTS, "-map", "3:v", "-map", "[a]",
         "-c:v", "mpeg4", "-c:a", "aac", "-b:a", "96k", path],
        capture_output=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return path


@pytest.fixture(scope="module")
def done(folder: Path, film: Path, cache: Path) -> Recut:
    return recut(folder, film, Options(cache=cache))


def listed(folder: Path, name: str, where: str = "cut") -> list[dict]:
    return json.loads((folder / "out" / where / f"{name}.json").read_text())[name]


def test_the_pieces_are_found(done: Recut) -> None:
    told = [(p.clip, round(p.cut_start), round(p.clip_start)) for p in done.traced.pieces if p.clip]
    assert told == [(CLIP, 0, 4), (CLIP, 41, 46)]
    assert sum(p.cut_end - p.cut_start for p in done.retimed.unknown) == pytest.approx(19, abs=1.0)


def test_what_the_voice_over_claims_is_checked(done: Recut, folder: Path) -> None:
    new = [c for c in listed(folder, "claims") if VOICE[0] <= c["start"] <= VOICE[1]]
    # "Hiram Codd took out his patent for the Codd bottle in 1872", however it was heard: the record knows of it.
    assert any((c["about"], c["kind"]) == ("Codd bottle", "date") and c["evidence"] for c in new), new
    assert {c["clip"] for c in new} == {"film.mp4"}
    assert len(new) == done.new_claims
    # The raw clips never said it.
    assert not any(c["about"] == "Codd bottle" for c in listed(folder, "claims", ""))
    assert [c.id for c in done.made.result.film.claims] == [c["id"] for c in new]


def test_music_gives_no_words_and_the_clips_keep_their_own(done: Recut) -> None:
    segments = done.result.transcript.segments
    assert not [s for s in segments if MUSIC[0] + 0.5 < (s.start + s.end) / 2 < MUSIC[1] - 0.5]
    assert any("penny" in s.text and s.start < 20 for s in segments)
    assert any("north shore" in s.text and s.start > 41 for s in segments)
    assert [s.start for s in segments] == sorted(s.start for s in segments)


def test_talk_of_the_voice_over_makes_no_find(done: Recut, folder: Path) -> None:
    named = [m for m in listed(folder, "moments") if m["id"].startswith("v")]
    assert named
    assert {m["stance"] for m in named} <= {"recap", "aside", "absent", "hoped", "compared"}


def test_what_was_cut_out_is_listed(done: Recut, folder: Path) -> None:
    assert any("musket ball" in one for one in done.cut_out)
    assert any("link" in one for one in done.unsaid)
    told = (folder / "out" / "cut" / "not-in-the-film.txt").read_text()
    assert "1650" in told
    assert "musket" not in (folder / "out" / "description.txt").read_text().casefold()


def test_a_later_run_neither_traces_nor_hears_again(
    done: Recut, folder: Path, film: Path, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {p.name: p.read_bytes() for p in sorted((folder / "out" / "cut").iterdir())}

    def never(*_: object, **__: object) -> None:
        raise AssertionError("done again")

    monkeypatch.setattr("episode.speech.recognise.Ear.listen", never)
    monkeypatch.setattr("episode.cutting.trace.trace", never)
    made = make(folder, Options(cache=cache))
    assert any("are this film's" in p.what for p in made.result.problems)
    assert recut(folder, film, Options(cache=cache)).remembered
    assert {p.name: p.read_bytes() for p in sorted((folder / "out" / "cut").iterdir())} == before


def test_a_decision_about_the_voice_over_stands(done: Recut, folder: Path, cache: Path) -> None:
    claim = done.made.result.film.claims[0]
    line = {"action": "reference", "clip": "film.mp4", "quote": claim.quote, "kind": claim.kind, "value": "Patent 3070"}
    (folder / "decisions.jsonl").write_text(json.dumps(line) + "\n")
    made = make(folder, Options(cache=cache))
    (folder / "decisions.jsonl").unlink()
    assert [c.reference for c in made.result.film.claims if c.id == claim.id] == ["Patent 3070"]
    assert not [p for p in made.result.problems if "decisions.jsonl" in p.where]


def test_the_voice_over_is_decided_on_at_the_desk(done: Recut, folder: Path, cache: Path) -> None:
    """Shown at once, kept when the day was worked through behind, written to the film's files, and taken back."""
    desk = open_desk(folder, Options(cache=cache))
    try:
        claim = desk.day.film.claims[0]
        made, _ = desk.decide(Asked(action="reference", key=claim_key(claim), value="GB 3070 of 1870"))
        assert desk.day.film.claims[0].reference == "GB 3070 of 1870"
        written(desk)
        assert desk.day.film.claims[0].reference == "GB 3070 of 1870"
        assert [c["reference"] for c in listed(folder, "claims") if c["id"] == claim.id] == ["GB 3070 of 1870"]
        assert not [p for p in desk.day.problems if "decisions.jsonl" in p.where]
        desk.decide(Asked(action="undo", value=made.id))
        written(desk)
        assert desk.day.film.claims[0].reference is None
        assert [c["reference"] for c in listed(folder, "claims") if c["id"] == claim.id] == [None]
    finally:
        desk.close()
        (folder / "decisions.jsonl").unlink()


def written(desk: Desk) -> None:
    end = time.monotonic() + 60
    while desk.since(0)["working"] or desk.since(0)["unwritten"]:
        assert time.monotonic() < end, desk.since(0)["trouble"]
        time.sleep(0.05)


def test_the_voice_over_is_written_in_the_trades_spelling(done: Recut, folder: Path) -> None:
    """Where a name was heard as other words; the recogniser's words stand beside it."""
    told = json.loads((folder / "out" / "cut" / "transcript.json").read_text())["segments"]
    words = [w for s in told for w in s["words"] if VOICE[0] <= w["start"] <= VOICE[1]]
    assert any("as_heard" in w for w in words), words
    heard = " ".join(w.get("as_heard", w["word"]) for w in words)
    before = [w.word for s in done.result.transcript.segments for w in s.words if VOICE[0] <= w.start <= VOICE[1]]
    assert heard.split() == " ".join(before).split()
    assert "Codd bottle" in " ".join(" ".join(w["word"] for w in words).split())


def test_the_editors_list_with_the_film_hears_it_too(folder: Path, film: Path, cache: Path, done: Recut) -> None:
    path = folder.parent / "film.edl"
    path.write_text(
        "TITLE: FILM\nFCM: NON-DROP FRAME\n\n"
        f"001  AX V C  00:00:04:00 00:00:26:00 01:00:00:00 01:00:22:00\n* FROM CLIP NAME: {CLIP}\n"
        f"002  AX V C  00:00:46:00 00:01:06:00 01:00:41:00 01:01:01:00\n* FROM CLIP NAME: {CLIP}\n"
    )
    told = recut(folder, path, Options(cache=cache), film=film)
    assert told.new_claims == done.new_claims
    alone = recut(folder, path, Options(cache=cache))
    assert alone.new_claims == 0
    assert any("19 s of it come from no clip" in p.what for p in alone.problems)


def test_its_chapters_go_into_a_copy(done: Recut, film: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.mp4"
    with_chapters(film, copy, done.result.chapters, title="Film")
    told = subprocess.run([str(ffmpeg().path), "-i", copy], capture_output=True, text=True, check=False).stderr
    assert all(chapter.title in told for chapter in done.result.chapters)
    assert len(done.result.chapters) >= 1


def test_the_films_description_is_worded_by_the_persons_own_template(
    done: Recut, folder: Path, film: Path, cache: Path
) -> None:
    own = folder / "templates"
    own.mkdir()
    try:
        (own / "description.txt").write_text(
            "MINE\n{{ opening }}\n{% for line in chapters %}\n{{ line }}\n{% endfor %}\n"
        )
        again = recut(folder, film, Options(cache=cache))
        assert again.result.description.startswith("MINE\n")
        for name, begins in (("description.txt", "MINE"), ("short.txt", "Filmed"), ("description.md", "# Film")):
            assert (folder / "out" / name).read_text().startswith(begins)
            assert (folder / "out" / "raw" / name).is_file()
        raw, cut = ((folder / "out" / where / "description.md").read_text() for where in ("raw", "."))
        assert "usket ball" in raw and "usket ball" not in cut
    finally:
        shutil.rmtree(own)
