"""A cache folder of the tests' own, and clips made of the recordings in tests/data/speech."""

from __future__ import annotations

import csv
from datetime import UTC, datetime
from pathlib import Path

import pytest

from episode.models import Clip, StartFrom

SPEECH = Path(__file__).parent.parent / "data" / "speech"


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory):
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("cache")
        patch.setenv("EPISODE_CACHE", str(folder))
        yield folder


@pytest.fixture
def recordings() -> dict[str, dict[str, str]]:
    with (SPEECH / "manifest.csv").open(encoding="utf-8", newline="") as handle:
        return {row["file"]: row for row in csv.DictReader(handle)}


@pytest.fixture
def clip_of(recordings):
    def make(name: str, **changes) -> Clip:
        path = changes.pop("path", SPEECH / name)
        seconds = float(recordings[name]["seconds"]) if name in recordings else 10.0
        values = {
            "name": name,
            "path": path,
            "duration": seconds,
            "start": datetime(2026, 5, 3, 7, 0, tzinfo=UTC),
            "start_from": StartFrom.CREATION,
            "camera": "A",
            "audio_tracks": 1,
        }
        return Clip(**(values | changes))

    return make
