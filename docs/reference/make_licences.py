"""Writes `licences.md` from pyproject.toml and what the installed packages say of themselves.

python docs/reference/make_licences.py
"""

from __future__ import annotations

import re
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

PAGE = Path(__file__).with_name("licences.md")
PROJECT = Path(__file__).parents[2] / "pyproject.toml"

ALLOWED = ("0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "BSD", "CC0-1.0", "MIT",
           "MPL-2.0", "PSF", "Zlib")  # fmt: skip
"""Licences that let a program be used and passed on beside Apache-2.0. MPL-2.0 asks that changes of
the library itself be published; it is a tool of the tests, changed by nobody here."""

WORDS = (
    ("BSD 2-Clause", "BSD-2-Clause"),
    ("BSD-3-Clause", "BSD-3-Clause"),
    ("BSD", "BSD"),
    ("Apache", "Apache-2.0"),
    ("MIT", "MIT"),
    ("Python Software Foundation", "PSF"),
    ("Mozilla Public License 2.0", "MPL-2.0"),
)
"""How packages without a licence expression say it, the more exact first."""

NOT_INSTALLED = {
    "dask": "BSD-3-Clause",
    "distributed": "BSD-3-Clause",
    "numba-cuda": "BSD-2-Clause",
}
"""Extras that few machines have; from memory, replaced by what the package says where it is."""

HEAD = """# Licences of what it depends on

Written by `python docs/reference/make_licences.py` from pyproject.toml and from what the packages
say of themselves. edgewear itself is under Apache-2.0. Allowed are: {allowed}.

| package | versions | for | licence |
| --- | --- | --- | --- |
"""


def dependencies() -> list[tuple[str, str, str]]:
    """Give name, versions and what for, of everything that pyproject.toml lists."""
    project = tomllib.loads(PROJECT.read_text("utf-8"))["project"]
    groups = {"running": project["dependencies"], **project["optional-dependencies"]}
    listed: dict[str, tuple[str, list[str]]] = {}
    for group, wanted in groups.items():
        for one in wanted:
            name, versions = re.fullmatch(r"([\w-]+)(.*)", one).groups()
            listed.setdefault(name, (versions, []))[1].append(group)
    return [(name, versions, ", ".join(uses)) for name, (versions, uses) in listed.items()]


def licence(name: str) -> str:
    """Give the licence that an installed package says it has."""
    try:
        told = metadata(name)
    except PackageNotFoundError:
        return NOT_INSTALLED[name]
    if told.get("License-Expression"):
        return told["License-Expression"]
    classified = [one for one in told.get_all("Classifier") or [] if one.startswith("License ::")]
    said = " ".join([(told.get("License") or "")[:200], *classified])
    return next(short for words, short in WORDS if words in said)


def page() -> str:
    """Give the page."""
    rows = [
        f"| {name} | {versions} | {uses} | {licence(name)} |"
        for name, versions, uses in dependencies()
    ]
    return HEAD.format(allowed=", ".join(ALLOWED)) + "\n".join(rows) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(PAGE, file=sys.stderr)
