"""Whether edgewear works here: versions, the kernel cache, a small run against its closed form."""

from __future__ import annotations

import platform
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import Any

PACKAGES = (
    "edgewear",
    "numpy",
    "numba",
    "llvmlite",
    "simpy",
    "scipy",
    "pandas",
    "pyarrow",
    "pydantic",
    "typer",
)
"""What results and files depend on."""


@dataclass(frozen=True)
class Finding:
    """One thing looked at."""

    name: str
    detail: str
    ok: bool


@dataclass(frozen=True)
class SelfCheck:
    """Everything looked at, and the versions it was looked at with."""

    versions: dict[str, str]
    findings: tuple[Finding, ...]

    @property
    def ok(self) -> bool:
        """Whether all findings are as they should be."""
        return all(finding.ok for finding in self.findings)

    def lines(self) -> Iterator[str]:
        """Give it as the terminal shows it."""
        for name, text in self.versions.items():
            yield f"{name:12} {text}"
        for finding in self.findings:
            yield f"{'ok' if finding.ok else 'NOT OK':7} {finding.name}: {finding.detail}"

    def as_json(self) -> dict[str, Any]:
        """Give the document that `self-check --json` prints."""
        return {
            "schema": "edgewear.self-check/1",
            "versions": self.versions,
            "checks": [asdict(finding) for finding in self.findings],
        }


def self_check() -> SelfCheck:
    """Look at the installation."""
    return SelfCheck(versions=dict(_versions()), findings=tuple(_findings()))


def _versions() -> Iterator[tuple[str, str]]:
    yield "python", platform.python_version()
    for name in PACKAGES:
        try:
            yield name, version(name)
        except PackageNotFoundError:
            yield name, "not installed"


def _findings() -> Iterator[Finding]:
    absent = [name for name, found in _versions() if found == "not installed"]
    yield Finding(
        "packages", "missing: " + ", ".join(absent) if absent else "all there", not absent
    )
