"""Documents are true: every command that they name exists, and every command that exists is named."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib

import pytest

from episode.models import Settings
from tests.conftest import EXAMPLE, ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands() -> list[str]:
    from episode.cli.app import app

    return [c.name or "" for c in app.registered_commands] + [g.name or "" for g in app.registered_groups]


def test_the_readme_names_every_command_and_no_other():
    named = {name for name in re.findall(r"`episode ([a-z]+)", README) if name}
    named |= set(re.findall(r"^episode ([a-z]+)", README, re.MULTILINE))
    named |= set(re.findall(r"`(hear|spot|match|check|draft)`", README))
    assert named == set(commands())


@pytest.mark.parametrize("command", ["", *commands()])
def test_every_help_says_what_and_shows_an_example(command: str):
    ran = subprocess.run(
        [sys.executable, "-m", "episode", *filter(None, [command]), "--help"], capture_output=True, text=True
    )
    assert ran.returncode == 0, ran.stderr
    assert "episode " in ran.stdout
    assert len(ran.stdout.splitlines()) > 8


def test_links_in_the_documents_lead_somewhere():
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        for target in re.findall(r"\]\((?!https?:)([^)#]+)\)", text):
            assert (ROOT / target).exists(), (name, target)


def test_the_example_settings_use_known_keys_only():
    said = tomllib.loads((EXAMPLE / "episode.toml").read_text(encoding="utf-8"))
    assert set(said) <= set(Settings.model_fields)


def test_make_targets_that_the_documents_name_exist():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    for name in ("README.md", "DEVELOPERS.md"):
        for target in re.findall(r"\bmake (demo|test|constraints|lint|bench|clean)\b", (ROOT / name).read_text()):
            assert re.search(rf"^{target}:", makefile, re.MULTILINE), target


def test_packages_that_carry_weights_are_named_in_the_dependency_lists_only():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    carriers = [re.split(r"[=<>]", item)[0] for item in project["project"]["optional-dependencies"]["weights"]]
    assert carriers
    for path in [*ROOT.glob("*.md"), *(ROOT / "episode").rglob("*.py"), *(ROOT / "tests").rglob("*.py")]:
        text = path.read_text(encoding="utf-8").lower().replace("_", "-")
        assert not [name for name in carriers if name in text], path
