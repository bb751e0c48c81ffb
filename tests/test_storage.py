"""Results are written whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from episode import storage
from episode.errors import CannotWrite


def test_new_content_replaces_old(tmp_path: Path):
    target = tmp_path / "deep" / "file.json"
    storage.write_json(target, {"a": "é"})
    storage.write_json(target, {"a": "ü"})
    assert target.read_bytes() == '{\n "a": "ü"\n}\n'.encode()
    assert [path.name for path in target.parent.iterdir()] == ["file.json"]


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_failing_disk_leaves_the_old_file_and_no_litter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str):
    target = tmp_path / "file.txt"
    storage.write_text(target, "old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(*((os, "fsync") if call == "fsync" else (Path, "replace")), full)
    with pytest.raises(CannotWrite, match="No space left") as caught:
        storage.write_text(target, "new")
    assert caught.value.where == str(target)
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["file.txt"]


def test_another_programs_half_file_never_appears(tmp_path: Path):
    target = tmp_path / "still.jpg"
    with pytest.raises(RuntimeError), storage.replacing(target) as temporary:
        temporary.write_bytes(b"half")
        raise RuntimeError("the other program died")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_the_way_is_said(tmp_path: Path):
    (tmp_path / "file.txt").mkdir()
    with pytest.raises(CannotWrite):
        storage.write_text(tmp_path / "file.txt", "x")
