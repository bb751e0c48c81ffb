"""The wheel works on its own: built, installed into a fresh environment, and run from elsewhere."""

from __future__ import annotations

import subprocess
import sys
import sysconfig
import venv
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.conftest import ROOT


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "-w", folder, ROOT],
        check=True,
        capture_output=True,
        timeout=300,
    )
    return next(folder.glob("episode-*.whl"))


def test_the_wheel_carries_vocabulary_and_types(wheel: Path):
    names = ZipFile(wheel).namelist()
    assert "episode/py.typed" in names
    assert any(name.startswith("episode/_vocab/terms/") for name in names)
    assert any(name.startswith("episode/_vocab/record/") for name in names)
    assert not [name for name in names if name.startswith(("tests/", "examples/"))]


def test_it_runs_from_a_fresh_environment(wheel: Path, tmp_path: Path):
    home = tmp_path / "env"
    venv.create(home, with_pip=False)
    folder = "Scripts" if sys.platform == "win32" else "bin"
    python = home / folder / "python"
    subprocess.run(
        [sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", wheel],
        check=True,
        capture_output=True,
        timeout=300,
    )
    # The dependencies are this environment's; its own editable install of the package does not come along.
    packages = Path(
        subprocess.check_output(
            [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], text=True
        ).strip()
    )
    (packages / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n")
    where = subprocess.check_output([python, "-c", "import episode; print(episode.__file__)"], text=True, cwd=tmp_path)
    assert Path(where.strip()).is_relative_to(home)
    shown = subprocess.run(
        [home / folder / "episode", "vocab", "show", "Codd bottle"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        timeout=120,
    )
    assert shown.returncode == 0, shown.stderr
    assert "Codd bottle" in shown.stdout
    helped = subprocess.run(
        [python, "-m", "episode", "--help"], capture_output=True, text=True, cwd=tmp_path, timeout=60
    )
    assert helped.returncode == 0
    assert "make" in helped.stdout
