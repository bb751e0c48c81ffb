"""Where the data of the trade lies: the packs, the record and their sources."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from episode.errors import UnusableInput


def vocab_root() -> Traversable:
    """The folder of vocabulary and record data, from a checkout or from an installed package.

    A checkout (an editable install included) is read where a person edits it, from ``vocab/`` beside
    the package; an installed wheel carries the same files as ``episode/_vocab``.

    Raises:
        UnusableInput: neither is there, so the installation is broken.
    """
    package = files("episode")
    if isinstance(package, Path):
        checkout = package.parent / "vocab"
        if (package.parent / "pyproject.toml").is_file() and (checkout / "terms").is_dir():
            return checkout
    installed = package.joinpath("_vocab")
    if installed.joinpath("terms").is_dir():
        return installed
    raise UnusableInput(
        "the built-in vocabulary is not there",
        where=str(installed),
        remedy="Install the package again; its files are incomplete.",
    )
