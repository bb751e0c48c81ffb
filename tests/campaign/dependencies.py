"""What the project stands on: known vulnerabilities, licences and a bill of materials.

    python tests/campaign/dependencies.py advisories     ask the advisory service (needs a network)
    python tests/campaign/dependencies.py licences       a table of every package's licence
    python tests/campaign/dependencies.py materials      bom.json: CycloneDX of the environment

It looks at the environment that it runs in. The tools of the extra ``audit`` get an environment of their own
(``.venv-audit``), for what they bring would change how libraries here behave. ``advisories`` ends with 1 for a known
vulnerability and with 0 where nobody could be asked, and says which it was.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import sysconfig
import tomllib
import venv
from importlib.metadata import Distribution, distributions
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
TOOLS = ROOT / ".venv-audit"
REFUSED = ("GPL", "AGPL", "SSPL", "Proprietary", "UNKNOWN")
"""What an MIT program that is passed on with its packages has to look at twice (LGPL is named apart)."""


def main() -> int:
    if len(sys.argv) != 2 or sys.argv[1] not in {"advisories", "licences", "materials"}:
        print(__doc__)
        return 2
    return {"advisories": advisories, "licences": licences, "materials": materials}[sys.argv[1]]()


def advisories() -> int:
    """Every installed package against the advisories of the package index."""
    here = sysconfig.get_paths()["purelib"]
    try:
        tool = _tool("pip-audit")
        ran = subprocess.run(
            [tool, "--path", here, "--format", "json", "--progress-spinner", "off", "--timeout", "15"],
            capture_output=True,
            text=True,
            timeout=300,
        )
        found = json.loads(ran.stdout)["dependencies"]
    except (OSError, subprocess.SubprocessError, ValueError, KeyError) as error:
        print(f"Advisories: nobody could be asked ({type(error).__name__}), so nothing is known.")
        return 0
    told = [one for one in found if "skip_reason" not in one]
    bad = [one for one in told if one["vulns"]]
    for one in bad:
        for vulnerability in one["vulns"]:
            mended = ", ".join(vulnerability.get("fix_versions", [])) or "no version yet"
            print(f"{one['name']} {one['version']}: {vulnerability['id']}, mended in {mended}")
    if not told:
        print("Advisories: the index that packages come from here gives none, so nothing is known.")
        return 0
    print(f"Advisories: {len(told)} of {len(found)} packages were known to the service, {len(bad)} of them vulnerable.")
    return 1 if bad else 0


def licences() -> int:
    """Name, version and licence of every package, as its own metadata says."""
    print("| package | version | licence |\n| --- | --- | --- |")
    packages = {one.metadata["Name"].lower(): one for one in distributions()}
    doubtful = []
    for name, package in sorted(packages.items()):
        said = licence_of(package)
        if any(word in said.replace("LGPL", "") for word in REFUSED):
            doubtful.append(f"{name} ({said})")
        print(f"| {name} | {package.version} | {said} |")
    print(f"\n{len(packages)} packages; to look at: {', '.join(doubtful) or 'none'}")
    for name, what in carried().items():
        print(f"Inside {name}, whatever its metadata says: {what}")
    return 0


def carried() -> dict[str, str]:
    """Libraries of others that packages carry inside, with their licences as far as they tell them themselves."""
    import av._core
    import imageio_ffmpeg
    import pillow_heif

    said = subprocess.run([imageio_ffmpeg.get_ffmpeg_exe(), "-L"], capture_output=True, text=True, timeout=30)
    terms = " ".join(said.stdout.split())
    version = re.search(r"either version (\d)", terms)
    kind = "GPL" if "GNU General Public License" in terms else "LGPL" if "Lesser" in terms else "unknown"
    heif = pillow_heif.libheif_info()
    return {
        "av": f"FFmpeg's libraries, {av._core.library_meta['libavcodec']['license']}",
        "imageio-ffmpeg": f"the program FFmpeg, {kind} version {version[1] if version else '?'} or later",
        "pillow_heif": "libheif and " + ", ".join(sorted(one for kind in ("decoders", "encoders") for one in heif[kind].values() if "coder" in one))
        + " (libheif and libde265 are LGPL version 3, x265 is GPL version 2 or later)",
    }  # fmt: skip


def licence_of(package: Distribution) -> str:
    """The licence expression (PEP 639), else the classifiers, else the first line of the old free field."""
    told = package.metadata
    if told["License-Expression"]:
        return told["License-Expression"]
    kinds = [c.rpartition(" :: ")[2] for c in told.get_all("Classifier") or () if c.startswith("License :: ")]
    kinds = [kind for kind in kinds if kind != "OSI Approved"]
    free = (told["License"] or "").strip().splitlines()
    return "; ".join(kinds) or (free[0][:60] if free else "UNKNOWN")


def materials() -> int:
    """A CycloneDX bill of materials of this environment, the same for the same packages."""
    target = ROOT / "bom.json"
    command = [_tool("cyclonedx-py"), "environment", sys.executable, "--pyproject", str(ROOT / "pyproject.toml")]
    subprocess.run([*command, "--output-reproducible", "--of", "JSON", "-o", str(target)], check=True)
    told = json.loads(target.read_text())
    filled = _with_licences(told["components"])
    target.write_text(json.dumps(told, indent=2, sort_keys=True) + "\n")
    bare = ", ".join(one["name"] for one in told["components"] if not one.get("licenses"))
    print(
        f"{target.name}: {len(told['components'])} components, {filled} licences from free text, none: {bare or 'none'}"
    )
    return 0


def _with_licences(components: list[dict[str, Any]]) -> int:
    """Licences that the tool leaves out, since they are told in the old free field only, are named as they stand there."""
    packages = {one.metadata["Name"].lower(): one for one in distributions()}
    filled = 0
    for one in components:
        package = packages.get(one["name"].lower())
        if not one.get("licenses") and package and (said := licence_of(package)) != "UNKNOWN":
            one["licenses"] = [{"license": {"name": said, "acknowledgement": "declared"}}]
            filled += 1
    return filled


def _tool(name: str) -> str:
    folder = TOOLS / ("Scripts" if sys.platform == "win32" else "bin")
    if not list(folder.glob(name + "*")):
        venv.create(TOOLS, with_pip=True, clear=True)
        wanted = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"]["audit"]
        pip = [str(folder / "python"), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *wanted]
        subprocess.run(pip, check=True, timeout=300, stdout=sys.stderr)
    return str(folder / name)


if __name__ == "__main__":
    sys.exit(main())
