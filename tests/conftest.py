"""Settings that every test shares."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).parent.parent
EXAMPLE = ROOT / "examples" / "2026-05-03-skelby-sands"

settings.register_profile(
    "default",
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.register_profile("ci", parent=settings.get_profile("default"), derandomize=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "default"))


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache of this run's own, so that nothing heard earlier can pass for heard now."""
    folder = tmp_path_factory.mktemp("cache")
    os.environ["EPISODE_CACHE"] = str(folder)
    return folder
