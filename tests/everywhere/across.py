"""Whether other Pythons, and the lowest versions of the dependencies, compute the same to 1e-9.

    python tests/everywhere/across.py [--lowest] [--runs] [--into FOLDER [--install]]

Takes Python 3.11, 3.12 and 3.13 where they are found, by name on the path or in pyenv, makes an
environment of each in a temporary folder, and compares `sample.py` there with `sample.py` here.
The short sample is played without compiling; with `--runs` every shipped scenario is played,
compiled. With `--into` the environments are kept in a folder and taken from there when called
again; `--install` makes them and nothing else, by any Python. Says in words what was not found.
Ends with 1 where something differs or fails.
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
from typing import Any, NamedTuple

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


class Other(NamedTuple):
    """Another Python with versions of the dependencies."""

    label: str
    python: str | None
    packages: list[str]

    def installed(self, into: Path) -> str:
        """Make its environment where there is none yet; its Python."""
        folder = into / self.label.replace(" ", "-").replace(",", "")
        made = folder / "bin" / "python"
        return str(made) if made.exists() else environment(str(self.python), folder, self.packages)

    def ready(self, into: Path) -> bool:
        """Make its environment where the Python is found; False, in words, if that fails."""
        try:
            if self.python is not None:
                self.installed(into)
        except subprocess.CalledProcessError as error:
            print(f"{self.label}: FAILED\n{error.stderr}")
            return False
        return True


def others(lowest: bool) -> list[Other]:
    """Give what is compared with this Python."""
    here = "{}.{}".format(*sys.version_info)
    newest = wanted(False)
    found = [Other(f"Python {one}, newest", interpreter(one), newest) for one in VERSIONS
             if one != here]  # fmt: skip
    first = VERSIONS[0]
    least = Other(f"Python {first}, lowest", interpreter(first), wanted(True)) if lowest else None
    return [*found, *([least] if least else [])]


def compared(other: Other, into: Path, given: Any, ours: Any) -> bool:
    """Compare one Python with this one and say what came of it; False if it differs."""
    if other.python is None:
        print(f"{other.label}: not found here, so not tried")
        return True
    try:
        theirs = sample(other.installed(into), given.runs)
    except subprocess.CalledProcessError as error:
        print(f"{other.label}: FAILED\n{error.stderr}")
        return False
    found = list(differences(ours, theirs))
    count = sum(map(len, ours["figures"].values()))
    print(
        f"{other.label}: {len(found)} of {count} figures differ by more than {SAME:g}",
        *found[:20],
        sep="\n  ",
    )
    return not found


def main() -> None:
    """Compare them all."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--lowest", action="store_true", help="and the lowest dependencies once")
    parser.add_argument("--runs", action="store_true", help="play every shipped scenario")
    parser.add_argument("--into", type=Path, help="folder where the environments are kept")
    parser.add_argument("--install", action="store_true", help="only make the environments")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        raise SystemExit(0 if _all_the_same(given, given.into or Path(temporary)) else 1)


def _all_the_same(given: Any, into: Path) -> bool:
    """Make the environments and, unless they alone are wanted, compare them all."""
    wanted_here = others(given.lowest)
    if given.install:
        return all(one.ready(into) for one in wanted_here)
    ours = sample(sys.executable, given.runs)
    here = "{}.{}".format(*sys.version_info)
    print(f"Python {here}: {ours['modules']} modules, {len(ours['options'])} scenarios")
    same = [compared(other, into, given, ours) for other in wanted_here]
    return all(same)


if __name__ == "__main__":
    main()
