"""Nothing that listens reports to its maker: what does so keeps a number of its own among the temporary files."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

LISTEN = """
import numpy
from episode.speech.edges import voiced
voiced(numpy.zeros(16_000, dtype="float32"), threshold=0.5)
"""


def test_listening_for_speech_leaves_nothing_behind(tmp_path: Path):
    env = {**os.environ, "TMPDIR": str(tmp_path)}
    env.pop("ORT_DISABLE_TELEMETRY", None)
    subprocess.run([sys.executable, "-c", LISTEN], check=True, env=env, timeout=120)
    assert list(tmp_path.iterdir()) == []
