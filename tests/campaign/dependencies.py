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
import subprocess
import sys
import sysconfig
import tomllib
import venv
from importlib.metadata import Distribution, distributions
from pathlib import Path

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
    return 0


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
    print(f"{target.name}: {len(json.loads(target.read_text())['components'])} components")
    return 0


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
