from __future__ import annotations

import hashlib
import json
import socket
import subprocess
import sys
from pathlib import Path

import pytest
import tokenizers

from episode.errors import MissingModel
from episode.speech import weights as under_test
from episode.speech.tokenizer import repaired
from episode.speech.weights import PUBLISHED, find_weights, identity, verify


@pytest.fixture
def empty_cache(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv("EPISODE_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


@pytest.fixture
def no_network(monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("a connection was tried")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


def carrier(folder: Path, content: bytes = b"weights") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "model.bin").write_bytes(content)
    (folder / "config.json").write_text("{}")
    (folder / "tokenizer.json").write_text("{}")
    return folder


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_the_published_weights_are_found_without_a_network(name, no_network):
    found = find_weights(name)
    assert hashlib.sha256((found.folder / "model.bin").read_bytes()).hexdigest() == PUBLISHED[name]
    assert verify(name) == ()


def test_a_later_start_reads_no_weights_again(monkeypatch):
    for name in PUBLISHED:
        find_weights(name)
    monkeypatch.setattr(under_test, "_sum", lambda _: pytest.fail("read again"))
    assert find_weights("base").checksum == PUBLISHED["base"]
    assert find_weights("tiny.en").checksum == PUBLISHED["tiny.en"]


def test_the_joined_tokenizer_has_its_first_merge_back():
    """Checked against vocabulary.txt, which the same conversion publishes beside it."""
    folder = find_weights("base").folder
    entries = (folder / "vocabulary.txt").read_text(encoding="utf-8").split("\n")
    tokenizer = tokenizers.Tokenizer.from_file(str(folder / "tokenizer.json"))
    for word in (" the", " to", " tile", " that", " they", " token"):
        assert tokenizer.encode(word, add_special_tokens=False).ids == [entries.index("Ġ" + word.strip())]


def test_every_plain_entry_of_the_repaired_vocabulary_can_be_built():
    data = json.loads((find_weights("base").folder / "tokenizer.json").read_bytes())
    made = {"".join(m.split(" ") if isinstance(m, str) else m) for m in data["model"]["merges"]}
    plain = {token for token in data["model"]["vocab"] if len(token) > 1 and not token.startswith("<|")}
    assert plain <= made
    numbers = [data["model"]["vocab"]["".join(m.split(" "))] for m in data["model"]["merges"]]
    assert numbers == sorted(numbers)


def test_a_whole_tokenizer_is_left_as_it_is():
    given = (find_weights("tiny.en").folder / "tokenizer.json").read_bytes()
    assert repaired(given) is given


def test_merges_written_as_pairs_are_repaired_too():
    given = {"model": {"vocab": {"a": 0, "b": 1, "c": 2, "ab": 3, "bc": 4}, "merges": [["b", "c"]]}}
    assert json.loads(repaired(json.dumps(given).encode()))["model"]["merges"] == [["a", "b"], ["b", "c"]]


@pytest.mark.parametrize("given", [b"[]", b"{}", b'{"model": {"vocab": [], "merges": 3}}', b"\xff"])
def test_what_is_no_tokenizer_is_refused(given):
    with pytest.raises(ValueError):
        repaired(given)


def test_parts_with_a_wrong_sum_are_refused_and_leave_nothing(empty_cache, tmp_path, monkeypatch):
    first, second = tmp_path / "a" / "model.bin.part1", tmp_path / "b" / "model.bin.part2"
    for part in (first, second):
        part.parent.mkdir()
        part.write_bytes(b"not the weights")
    monkeypatch.setattr(under_test, "_carried", lambda: [second, first])
    with pytest.raises(MissingModel, match="not the published file") as caught:
        find_weights("base")
    assert "pip install" in caught.value.remedy
    assert not list(empty_cache.rglob("model.bin"))
    assert not list(empty_cache.rglob(".part-*"))


def test_a_missing_half_is_named(empty_cache, tmp_path, monkeypatch):
    part = tmp_path / "model.bin.part2"
    part.write_bytes(b"half")
    monkeypatch.setattr(under_test, "_carried", lambda: [part])
    with pytest.raises(MissingModel, match="part of the weights is missing"):
        find_weights("base")


def test_a_whole_file_with_a_wrong_sum_is_refused(empty_cache, tmp_path, monkeypatch):
    folder = carrier(tmp_path / "carried")
    monkeypatch.setattr(under_test, "_carried", lambda: list(folder.iterdir()))
    with pytest.raises(MissingModel, match="not the published file"):
        find_weights("tiny.en")


def test_a_damaged_cache_is_made_again(empty_cache):
    model = find_weights("base").folder / "model.bin"
    model.write_bytes(b"cut short")
    again = find_weights("base").folder / "model.bin"
    assert hashlib.sha256(again.read_bytes()).hexdigest() == PUBLISHED["base"]


def test_damage_that_keeps_size_and_time_is_found_by_a_full_check(empty_cache, tmp_path, monkeypatch):
    folder = carrier(tmp_path / "own")
    assert verify(str(folder)) == ()
    model = folder / "model.bin"
    state = model.stat()
    model.write_bytes(b"WEIGHTS")
    import os

    os.utime(model, ns=(state.st_atime_ns, state.st_mtime_ns))
    assert find_weights(str(folder)).checksum == hashlib.sha256(b"weights").hexdigest()
    (problem,) = verify(str(folder))
    assert problem.level == "error"
    assert str(model) in problem.where


def test_two_processes_join_at_once(empty_cache):
    code = "from episode.speech.weights import find_weights; print(find_weights('base').checksum)"
    running = [subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) for _ in range(2)]
    assert [process.communicate(timeout=120)[0].strip() for process in running] == [PUBLISHED["base"]] * 2


@pytest.mark.parametrize("missing", ["model.bin", "config.json", "tokenizer.json"])
def test_a_folder_of_ones_own_must_be_whole(tmp_path, missing):
    folder = carrier(tmp_path / "own")
    assert find_weights(str(folder)).folder == folder
    (folder / missing).unlink()
    with pytest.raises(MissingModel, match=f"holds no {missing}"):
        find_weights(str(folder))


def test_a_folder_with_broken_json_is_refused(tmp_path):
    folder = carrier(tmp_path / "own")
    (folder / "tokenizer.json").write_text("{")
    with pytest.raises(MissingModel, match=r"tokenizer\.json cannot be read"):
        find_weights(str(folder))


def test_published_names_that_are_not_here_need_fetch(empty_cache, no_network, monkeypatch):
    monkeypatch.setenv("HF_HUB_CACHE", str(empty_cache / "hub"))
    with pytest.raises(MissingModel, match="not on this machine") as caught:
        find_weights("small")
    assert "--fetch" in caught.value.remedy


def test_without_the_extra_the_built_in_names_say_how_to_get_them(empty_cache, no_network, monkeypatch):
    monkeypatch.setattr(under_test, "_carried", list)
    with pytest.raises(MissingModel) as caught:
        find_weights("base")
    assert "--fetch" in caught.value.remedy
    assert "episode[weights]" in caught.value.remedy
    assert identity("base") == PUBLISHED["base"]


def test_fetching_goes_to_our_own_cache_and_is_checked(empty_cache, monkeypatch):
    import faster_whisper

    asked = []

    def download(name, *, cache_dir=None, local_files_only=False):
        asked.append((name, cache_dir, local_files_only))
        if local_files_only:
            raise OSError("not here")
        return str(carrier(Path(cache_dir) / "small"))

    monkeypatch.setattr(faster_whisper, "download_model", download)
    found = find_weights("small", fetch=True)
    assert found.checksum == hashlib.sha256(b"weights").hexdigest()
    assert asked[-1] == ("small", str(empty_cache / "models" / "fetched"), False)
    monkeypatch.setattr(under_test, "_carried", list)
    with pytest.raises(MissingModel, match="not the published file"):
        find_weights("base", fetch=True)


def test_a_failed_fetch_says_so(empty_cache, monkeypatch):
    import faster_whisper

    def download(*_, **__):
        raise ConnectionError("no route")

    monkeypatch.setattr(faster_whisper, "download_model", download)
    with pytest.raises(MissingModel, match=r"could not be fetched.*no route"):
        find_weights("small", fetch=True)


@pytest.mark.parametrize("name", ["nothing-like-it", "./no/such/folder", "../x", ""])
def test_other_names_are_refused(name, no_network):
    with pytest.raises(MissingModel):
        find_weights(name)


def test_the_carriers_are_named_in_the_dependency_list_only():
    root = Path(__file__).parent.parent.parent
    names = under_test._distributions()
    assert names
    for where in ("*.md", "episode/**/*", "tests/**/*", "vocab/**/*", "examples/**/*"):
        for path in root.glob(where):
            if path.suffix in {".py", ".md", ".csv", ".toml"}:
                text = path.read_text(encoding="utf-8", errors="replace")
                for name in names:
                    assert name not in text and name.replace("-", "_") not in text, path
