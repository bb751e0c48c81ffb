from __future__ import annotations

import stat
from pathlib import Path

import pytest

from episode.errors import UnusableInput
from episode.footage import tools


def put_program(folder: Path, script: str) -> None:
    program = folder / "ffmpeg"
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)


@pytest.mark.parametrize(
    ("banner", "taken"),
    [
        ("ffmpeg version 7.1.1 Copyright", True),
        ("ffmpeg version 4.4.2-0ubuntu0.22.04.1 Copyright", True),
        ("ffmpeg version n6.0-12-gabc Copyright", True),
        ("ffmpeg version N-118193-g5f38c82536 Copyright", True),
        ("ffmpeg version 4.3.8-0+deb11u1 Copyright", False),
        ("ffmpeg version 2.8.17 Copyright", False),
        ("something else", False),
    ],
)
def test_a_new_enough_ffmpeg_on_path_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, banner: str, taken: bool
) -> None:
    put_program(tmp_path, f"echo '{banner}'")
    monkeypatch.setenv("PATH", str(tmp_path))
    found = tools.ffmpeg()
    assert (found.path == tmp_path / "ffmpeg") is taken
    assert found.origin == ("on PATH" if taken else "came with imageio-ffmpeg")


def test_without_any_the_error_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put_program(tmp_path, "exit 1")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(tools, "_shipped", lambda: None)
    with pytest.raises(UnusableInput, match="does not run") as caught:
        tools.ffmpeg()
    assert "Install FFmpeg 4.4" in caught.value.remedy


def test_a_program_lying_in_the_working_folder_is_not_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    put_program(tmp_path, "echo ffmpeg version 9.0")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    assert tools.ffmpeg().origin == "came with imageio-ffmpeg"
