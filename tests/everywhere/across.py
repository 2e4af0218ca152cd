"""Whether other Pythons, and the lowest versions of the dependencies, compute the same to 1e-9.

    python tests/everywhere/across.py [--lowest] [--runs]

Takes Python 3.11, 3.12 and 3.13 where they are found, by name on the path or in pyenv, makes an
environment of each in a temporary folder, and compares `sample.py` there with `sample.py` here.
The short sample is played without compiling; with `--runs` every shipped scenario is played,
compiled. Says in words what was not found. Ends with 1 where something differs or fails.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from math import isclose
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
SAMPLE = Path(__file__).with_name("sample.py")
VERSIONS = ("3.11", "3.12", "3.13")
SAME = 1e-9
"""Relative. Libraries may sum in another order and compilers may fuse a product with a sum, which
moves the last digits of 1e-16, some thousand steps long."""


def interpreter(version: str) -> str | None:
    """Find a Python of a version that starts, or None."""
    root = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"))
    kept = sorted(root.glob(f"versions/{version}.*/bin/python"))
    for found in (shutil.which(f"python{version}"), *map(str, reversed(kept))):
        if found and _says(found, "import sys; print('%d.%d' % sys.version_info[:2])") == version:
            return found
    return None


def _says(python: str, code: str) -> str:
    done = subprocess.run([python, "-c", code], capture_output=True, text=True)
    return done.stdout.strip()


def wanted(lowest: bool) -> list[str]:
    """Give what the package depends on, as pip is told; the lowest versions allowed if `lowest`."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    listed = project["dependencies"] + project["optional-dependencies"]["board"]
    return [re.sub(r">=([^,]+).*", r"==\1", one) for one in listed] if lowest else listed


def environment(python: str, folder: Path, packages: list[str]) -> str:
    """Make an environment with packages; its Python."""
    subprocess.run([python, "-m", "venv", "--without-pip", folder], check=True)
    made = str(folder / "bin" / "python")
    # a few modules of theirs are imported, once: compiling all takes longer than the sample
    install = ["python3", "-m", "pip", "--python", made, "install", "-q", "--no-compile", *packages]
    subprocess.run(install, check=True, capture_output=True, text=True)
    return made


def sample(python: str, runs: bool) -> dict[str, Any]:
    """Run the sample with a Python."""
    settings = {**os.environ, "PYTHONPATH": str(ROOT / "sim")}
    if not runs:  # compiling takes a minute of each
        settings["NUMBA_DISABLE_JIT"] = "1"
    words = [python, str(SAMPLE), *(["--runs"] if runs else [])]
    done = subprocess.run(words, capture_output=True, text=True, env=settings, check=True)
    return json.loads(done.stdout)


def differences(ours: dict[str, Any], theirs: dict[str, Any]) -> Iterator[str]:
    """Say what differs by more than a relative `SAME`."""
    for part in ("modules", "options"):
        if ours[part] != theirs[part]:
            yield f"{part}: {ours[part]} here, {theirs[part]} there"
    for name, figures in ours["figures"].items():
        others = theirs["figures"].get(name, {})
        for at in figures.keys() | others.keys():
            here, there = figures.get(at), others.get(at)
            if (
                here is None
                or there is None
                or not isclose(here, there, rel_tol=SAME, abs_tol=SAME)
            ):
                yield f"{name}{at}: {here} here, {there} there"


def compared(label: str, python: str | None, packages: list[str], given: Any, ours: Any) -> bool:
    """Compare one Python with this one and say what came of it; False if it differs."""
    if python is None:
        print(f"{label}: not found here, so not tried")
        return True
    with tempfile.TemporaryDirectory() as folder:
        try:
            theirs = sample(environment(python, Path(folder) / "venv", packages), given.runs)
        except subprocess.CalledProcessError as error:
            print(f"{label}: FAILED\n{error.stderr}")
            return False
    found = list(differences(ours, theirs))
    count = sum(map(len, ours["figures"].values()))
    print(
        f"{label}: {len(found)} of {count} figures differ by more than {SAME:g}",
        *found[:20],
        sep="\n  ",
    )
    return not found


def main() -> None:
    """Compare them all."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--lowest", action="store_true", help="and the lowest dependencies once")
    parser.add_argument("--runs", action="store_true", help="play every shipped scenario")
    given = parser.parse_args()
    ours = sample(sys.executable, given.runs)
    here = "{}.{}".format(*sys.version_info)
    print(f"Python {here}: {ours['modules']} modules, {len(ours['options'])} scenarios")
    same = [
        compared(f"Python {one}, newest", interpreter(one), wanted(False), given, ours)
        for one in VERSIONS
        if one != here
    ]
    if given.lowest:
        first = VERSIONS[0]
        label = f"Python {first}, lowest"
        same.append(compared(label, interpreter(first), wanted(True), given, ours))
    raise SystemExit(0 if all(same) else 1)


if __name__ == "__main__":
    main()
