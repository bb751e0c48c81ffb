from __future__ import annotations

from pathlib import Path

import pytest

from episode.errors import UnusableInput
from episode.review.desk import Desk
from episode.review.server import application, inside, serve

TOKEN, PORT = "a-token-of-this-test", 8123
PAGE = "<title>A day on Skelby Sands"


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "day"
    for name, content in {
        "out/review.html": b"<p>written before",
        "out/transcript.json": b"{}",
        "out/stills/m001.jpg": b"\xff\xd8still",
        "out/stills/notes.html": b"<script>1</script>",
        "footage/hand/C0001.MP4": bytes(range(256)) * 4,
        "footage/page.html": b"<script>1</script>",
        "finds.csv": b"find\n1\n",
    }.items():
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    (tmp_path / "secret.mp4").write_bytes(b"secret")
    (folder / "footage" / "link.mp4").symlink_to(tmp_path / "secret.mp4")
    return folder


@pytest.fixture
def desk(day: Path):
    from tests.drafting.invented import day as invented

    made = Desk(day, invented(), work=lambda _: invented(), write=lambda result: result)
    yield made
    made.close()


@pytest.fixture
def client(day: Path, desk: Desk):
    from starlette.testclient import TestClient

    return TestClient(application(day, desk, TOKEN, PORT), base_url=f"http://127.0.0.1:{PORT}", follow_redirects=False)


@pytest.fixture
def inside_client(client):
    assert client.get(f"/?token={TOKEN}").status_code == 303
    return client


def test_the_token_opens_the_door_once_and_then_the_cookie_does(client):
    answer = client.get(f"/?token={TOKEN}")
    assert answer.status_code == 303 and answer.headers["location"] == "/out/review.html"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie
    assert "<title>" in client.get("/out/review.html").text
    assert client.get("/").status_code == 303


@pytest.mark.parametrize(
    "path", ["/", "/?token=", "/?token=wrong", "/?token=%C3%A9", "/out/review.html", "/footage/hand/C0001.MP4"]
)
def test_without_the_token_nothing_is_given(client, path):
    answer = client.get(path)
    assert answer.status_code == 403
    assert "page" not in answer.text.replace("page.", "")


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:9", f"127.0.0.1:{PORT}.evil.example", ""]
)
def test_a_foreign_host_is_refused_even_with_the_token(inside_client, host):
    assert inside_client.get(f"/?token={TOKEN}", headers={"Host": host}).status_code == 421
    assert inside_client.get("/out/review.html", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS"])
def test_read_and_decided_on_and_nothing_else(inside_client, method):
    assert inside_client.request(method, "/out/review.html").status_code == 405
    assert inside_client.request(method, "/decide").status_code == 405


OWN = {"Origin": f"http://127.0.0.1:{PORT}", "Content-Type": "application/json"}


@pytest.mark.parametrize(
    "headers",
    [
        {"Content-Type": "application/json"},
        {**OWN, "Origin": "null"},
        {**OWN, "Origin": "http://evil.example"},
        {**OWN, "Origin": f"https://127.0.0.1:{PORT}"},
        {**OWN, "Sec-Fetch-Site": "cross-site"},
        {**OWN, "Sec-Fetch-Site": "same-site"},
        {**OWN, "Content-Type": "text/plain"},
        {**OWN, "Content-Type": "application/x-www-form-urlencoded"},
    ],
)
def test_only_the_page_itself_may_decide(inside_client, day, headers):
    answer = inside_client.post("/decide", content=b'{"action": "undo", "value": "x"}', headers=headers)
    assert answer.status_code == 403
    assert not (day / "decisions.jsonl").exists()


def test_deciding_needs_the_cookie(client, day):
    assert client.post("/decide", content=b"{}", headers=OWN).status_code == 403


@pytest.mark.parametrize(
    "body",
    [b"", b"[]", b"{", b'{"action": 1}', b'{"action": "fly", "key": "m-1"}', b'{"action": "accept", "key": "m-none"}',
     b'{"action": "accept", "key": "m-1", "path": "/etc/passwd"}', b'{"action": "undo", "value": "no such line"}',
     b"\xff\xfe", b"[" * 10_000],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_with_words(inside_client, day, body):
    answer = inside_client.post("/decide", content=body, headers=OWN)
    assert answer.status_code == 422 and answer.json()["refused"]
    assert not (day / "decisions.jsonl").exists() or not (day / "decisions.jsonl").read_bytes()


def test_too_much_is_refused(inside_client):
    assert inside_client.post("/decide", content=b" " * 50_000, headers=OWN).status_code == 413


def test_stills_and_clips_are_given(inside_client):
    assert inside_client.get("/out/stills/m001.jpg").headers["content-type"] == "image/jpeg"
    whole = inside_client.get("/footage/hand/C0001.MP4")
    assert whole.status_code == 200 and whole.headers["content-type"] == "video/mp4" and len(whole.content) == 1024


def test_a_clip_is_given_in_ranges(inside_client):
    part = inside_client.get("/footage/hand/C0001.MP4", headers={"Range": "bytes=256-259"})
    assert part.status_code == 206
    assert part.content == bytes([0, 1, 2, 3])
    assert part.headers["content-range"] == "bytes 256-259/1024"
    assert inside_client.get("/footage/hand/C0001.MP4", headers={"Range": "bytes=9999-"}).status_code == 416


@pytest.mark.parametrize(
    "path",
    [
        "/footage/../finds.csv",
        "/footage/%2e%2e/finds.csv",
        "/footage/%2e%2e%2f%2e%2e%2fsecret.mp4",
        "/footage/..%5c..%5csecret.mp4",
        "/footage//etc/passwd",
        "/footage/%2fetc%2fpasswd",
        "/footage/link.mp4",
        "/footage/page.html",
        "/footage/hand",
        "/footage/hand/C0001.MP4%00.jpg",
        "/footage/",
        "/out/stills/%2e%2e/review.html",
        "/out/stills/notes.html",
        "/out/transcript.json",
        "/finds.csv",
        "/out/",
    ],
)
def test_no_other_file_is_given(inside_client, path):
    answer = inside_client.get(path)
    assert answer.status_code == 404, answer.text


def test_every_answer_carries_the_headers(inside_client):
    for path in ("/out/review.html", "/out/stills/m001.jpg", "/footage/hand/C0001.MP4", "/nothing"):
        headers = inside_client.get(path).headers
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert headers["referrer-policy"] == "no-referrer"
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "frame-ancestors 'none'" in headers["content-security-policy"]


def test_the_policy_header_of_the_page_is_its_own(client):
    stated = client.get(f"/?token={TOKEN}", follow_redirects=True).headers["content-security-policy"]
    assert "sha256-" in stated and "unsafe" not in stated
    assert "default-src 'none'" in stated and "connect-src 'self'" in stated and "frame-ancestors 'none'" in stated


@pytest.mark.parametrize(
    "name", ["../finds.csv", "hand/../../finds.csv", "/etc/passwd", "..", ".", "", "a\0b", "x" * 5000]
)
def test_no_name_leads_out(day, name):
    assert inside(day / "footage", name) is None


def test_a_folder_that_is_a_link_is_not_followed_out(tmp_path, day):
    other = tmp_path / "other"
    other.mkdir()
    (other / "clip.mp4").write_bytes(b"x")
    (day / "footage" / "away").symlink_to(other)
    assert inside(day / "footage", "away/clip.mp4") is None
    assert inside(day / "footage", "hand/C0001.MP4") == (day / "footage/hand/C0001.MP4").resolve()


def test_a_taken_port_is_said_to_be(day, desk):
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(UnusableInput, match="port"):
            serve(day, desk, port=taken.getsockname()[1])


def test_the_address_is_answered_as_soon_as_it_is_told(day, desk, monkeypatch):
    import re
    import socket

    import uvicorn

    came = []

    def said(line):
        if found := re.search(r"127\.0\.0\.1:(\d+)", line):
            with socket.create_connection(("127.0.0.1", int(found[1])), timeout=2):
                came.append(True)

    monkeypatch.setattr(uvicorn.Server, "run", lambda *_, **__: None)
    serve(day, desk, said=said)
    assert came == [True]
