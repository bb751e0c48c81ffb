"""No place finer than allowed, whatever it was written or said in: every file of ``out/`` and every answer of the page.

The spots are planted wherever a person can write or say one; a film is cut, pictures are drawn, decisions made.
"""

from __future__ import annotations

import io
import json
import re
import shutil
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from episode.make import Options
from episode.progress import Quiet
from episode.recut import recut
from episode.review.asking import Asked
from episode.review.keys import chapter_key, claim_key, clip_key, moment_key, promise_key
from episode.review.open_desk import open_desk
from episode.review.server import application
from tests.test_broken import silent_clip  # noqa: F401 - a fixture

SPOTS = (
    "TA 7541 2538",
    "TA7541225388",
    "53.695507, 0.655362",
    "53°41'43.8\"N 0°39'19.3\"E",
    "///dunes.falter.brightly",
    "geo:53.6955,0.6553",
    "the old jetty",
)
FINE = re.compile(
    r"7541|2538|53\.69|0\.655|41['′’]43|39['′’]19|dunes\W+falter|falter\W+brightly|geo:53|old[\W_]*jetty"
    r"|%2F%2F%2Fdunes|9C5M5MW4|MW4\+",
    re.IGNORECASE,
)
ALL = "; ".join(SPOTS)
TALK = f"""[0:02] Right, morning everyone, we are at {SPOTS[0]}, {SPOTS[6]}.

[0:08] Oh, look at this by {SPOTS[6]}. That's a clay pipe bowl, at {SPOTS[1]}, from 1645.

[0:16] I'll put a link below to {SPOTS[2]} and {SPOTS[4]}.

[0:20] And here's a musket ball, that's lead, made in 1650 at {SPOTS[6]} and {SPOTS[2]}.

[0:34] Hang on, what's this? It's a thimble from {SPOTS[6]}, it's the oldest thing I have ever found at {SPOTS[0]}.

[0:44] If you know what was made at {SPOTS[6]}, tell me in the comments.

[0:50] So today we've had a clay pipe bowl, a musket ball and a thimble. Thanks to Ada from {SPOTS[6]}.
"""
EDL = """TITLE: the old jetty TA 7541 2538
FCM: NON-DROP FRAME

001  A001     V     C        00:00:04:00 00:00:48:00 01:00:00:00 01:00:44:00
* FROM CLIP NAME:  A001.mp4
"""
GPX = """<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="53.695507" lon="0.655362"><time>2026-05-03T09:00:20Z</time><name>1 at TA 7541 2538</name></wpt>
<trk><name>TA 7541 2538</name><trkseg>{}</trkseg></trk></gpx>"""


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory, silent_clip: Path, cache: Path) -> Path:  # noqa: F811
    folder = tmp_path_factory.mktemp("kept") / "2026-05-03-kept"
    (folder / "footage").mkdir(parents=True)
    shutil.copy(silent_clip, folder / "footage")
    (folder / "footage" / "A001.txt").write_text(TALK, encoding="utf-8")
    cell = '"' + ALL.replace('"', '""') + '"'
    rows = [f"{n},10:00:{s},{thing},{cell},{cell},{cell},{cell}" for n, s, thing in
            ((1, 10, "clay pipe bowl"), (2, 22, "musket ball"), (3, 36, "thimble"), (4, 52, f"nail at {SPOTS[0]}"))]  # fmt: skip
    (folder / "finds.csv").write_text("find,time,object,grid,notes,place,maker\n" + "\n".join(rows), encoding="utf-8")
    told = json.dumps(ALL, ensure_ascii=False)
    (folder / "episode.toml").write_text(
        f"title = {told}\nplace = {told}\npresenter = {told}\ntime_zone = 'Europe/London'\ncredits = [{told}]\n"
        f"private_places = ['the old jetty']\n[disclosures]\nsponsor = {told}\ngifted = [{told}]\npermit = {told}\n"
        f"statement = {told}\n[[links]]\nlabel = {told}\nurl = 'https://e.example/53.695507,0.655362'\nabout = ['bowl']\n",
        encoding="utf-8",
    )
    walked = "".join(
        f'<trkpt lat="{53.695507 + n / 5000:.6f}" lon="{0.655362 + n / 4000:.6f}">'
        f"<time>2026-05-03T09:00:{n:02d}Z</time></trkpt>"
        for n in range(59)
    )
    (folder / "track.gpx").write_text(GPX.format(walked))
    (folder / "references.csv").write_text(f"claim,reference,note\nfrom 1645,{cell},{cell}\n", encoding="utf-8")
    (folder / "templates").mkdir()
    (folder / "templates" / "comment.txt").write_text(f"{ALL}\n{{{{ opening }}}}\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def answers(planted: Path) -> dict[str, bytes]:
    """Every answer that the page's server gives, after every kind of decision was made with a spot in it."""
    cut = planted.parent / "film.edl"
    cut.write_text(EDL)
    recut(planted, cut, Options(), progress=Quiet())
    desk = open_desk(planted, Options())
    day = desk.day
    moment, claim, promise, chapter = day.moments[1], day.claims[0], day.promises[0], day.chapters[-1]
    given: dict[str, bytes] = {}
    client = TestClient(application(planted, desk, "t", 8123), base_url="http://127.0.0.1:8123")
    assert client.get("/?token=t").status_code == 200

    def kept(name: str, answer) -> None:  # type: ignore[no-untyped-def]
        given[name] = answer.content + json.dumps(dict(answer.headers)).encode()

    def ask(action: str, key: str, **more: str) -> None:
        body = Asked(action=action, key=key, **more).model_dump()
        headers = {"Origin": "http://127.0.0.1:8123"}
        answer = client.post("/decide?since=0", json=body, headers=headers)
        if answer.status_code != 422:  # a refusal gives back what was typed, to who typed it
            kept(f"decide {action} {more}", answer)

    try:
        ask("rename", moment_key(moment), value=f"bowl {ALL}")
        ask("stance", moment_key(moment), value=ALL[:20])
        ask("pair", moment_key(moment), value=ALL)
        ask("add", clip_key("A001.mp4"), start="0:40", end="0:44", value=f"nail {SPOTS[0]}")
        for action in ("reference", "reword"):
            ask(action, claim_key(claim), value=ALL)
        ask("kept", promise_key(promise), value=ALL)
        ask("title", chapter_key(chapter), value=ALL)
        for one in day.moments:
            kept(f"hand {one.id}", client.get(f"/hand/{moment_key(one)}"))
        kept("hand clip", client.get(f"/hand/{clip_key('A001.mp4')}?at=3"))
        kept("frame", client.get(f"/frame/{clip_key('A001.mp4')}/3.0.jpg"))
        kept("missing", client.get("/hand/m-0000000000000000"))
        desk.close()
        kept("page", client.get("/out/review.html"))
        kept("changes", client.get("/changes?since=0"))
    finally:
        desk.close()
    return given


def test_every_answer_of_the_page(answers: dict[str, bytes]) -> None:
    assert len(answers) > 12 and b"<h1>" in answers["page"] and b"musket ball" in answers["page"]
    for name, content in answers.items():
        if name == "frame":
            unmarked(content)
            continue
        text = content.decode("utf-8", "replace")
        for form in (text, re.sub(r"\\u([0-9a-f]{4})", lambda m: chr(int(m[1], 16)), text)):
            assert not [m[0] for m in FINE.finditer(form)], (name, [form[m.start() - 80 : m.end() + 20] for m in FINE.finditer(form)][:2])  # fmt: skip


def test_every_file_and_its_name(answers: dict[str, bytes], planted: Path) -> None:
    seen = set()
    for path in sorted((planted / "out").rglob("*")):
        name = str(path.relative_to(planted / "out"))
        assert not FINE.search(name), name
        if path.is_dir() or path.suffix == ".lock":
            continue
        seen.add(path.suffix)
        content = path.read_bytes()
        if path.suffix in {".jpg", ".png"}:
            unmarked(content)
            continue
        if name == "cut/trace.json":
            continue  # the film's own path, so that it is found again; no file to publish
        text = content.decode("utf-8")
        told = re.sub(r"\\u([0-9a-f]{4})", lambda m: chr(int(m[1], 16)), text)
        assert not [told[max(0, m.start() - 60) : m.end() + 20] for m in FINE.finditer(told)][:2], name
    assert seen >= {".txt", ".md", ".json", ".csv", ".vtt", ".srt", ".otio", ".edl", ".html", ".svg", ".jpg", ".xml"}


def unmarked(content: bytes) -> None:
    """A picture carries no position and no words: no EXIF, no XMP, no comment."""
    from PIL import Image

    with Image.open(io.BytesIO(content)) as picture:
        assert not picture.getexif() and not {"xmp", "comment", "photoshop", "XML:com.adobe.xmp"} & set(picture.info)
        assert not FINE.search(" ".join(f"{k} {v}" for k, v in picture.info.items() if isinstance(v, str)))
