"""Whether edgewear works here: versions, the kernel cache, a small run against its closed form."""

from __future__ import annotations

import platform
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from importlib.metadata import PackageNotFoundError, version
from math import exp, pi
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
    "pyyaml",
)
"""What results and files depend on."""

EXTRAS = {
    "board": ("`edgewear board`", ("starlette", "uvicorn")),
    "plot": ("pictures from Python", ("matplotlib",)),
    "xarray": ("results as an xarray", ("xarray",)),
    "cluster": ("sweeps on many machines", ("dask", "distributed")),
    "cuda": ("sweeps and comparisons on a device, an experiment", ("numba-cuda",)),
}
"""Name of an extra -> what needs it, and what it brings."""

MASS_KG = 100.0
FRICTION = 0.2
SLOW_PULL = f"""
edgewear: 1
title: A load dragged slowly over one edge
setting: test
edges:
  edge: {{radius: 5 mm, surface: steel, friction: {FRICTION}}}
ropes:
  rope: {{like: low-stretch 11, length: 20 m}}
options:
  it: {{rope: rope, over: [{{edge: edge, after: 10 m, bend: 90 deg}}]}}
job:
  - reciprocate: {{load: {MASS_KG} kg, travel: 0.4 m, speed: 0.001 m/s, cycles: 1}}
"""


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
    extras: dict[str, tuple[str, ...]]
    """Name of an extra -> what of it is missing."""

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
        for name, missing in self.extras.items():
            yield f"extra   {name}, for {EXTRAS[name][0]}: {_told(name, missing)}"

    def as_json(self) -> dict[str, Any]:
        """Give the document that `self-check --json` prints."""
        return {
            "schema": "edgewear.self-check/1",
            "versions": self.versions,
            "checks": [asdict(finding) for finding in self.findings],
            "extras": {name: list(missing) for name, missing in self.extras.items()},
        }


def self_check() -> SelfCheck:
    """Look at the installation."""
    return SelfCheck(dict(_versions()), tuple(_findings()), dict(_extras()))


def _told(extra: str, missing: tuple[str, ...]) -> str:
    if not missing:
        return "there"
    return f"missing {', '.join(missing)}; pip install 'edgewear[{extra}]'"


def _extras() -> Iterator[tuple[str, tuple[str, ...]]]:
    for extra, (_, brought) in EXTRAS.items():
        yield extra, tuple(name for name in brought if _version(name) is None)


def _version(name: str) -> str | None:
    try:
        return version(name)
    except PackageNotFoundError:
        return None


def _versions() -> Iterator[tuple[str, str]]:
    yield "python", platform.python_version()
    for name in PACKAGES:
        yield name, _version(name) or "not installed"


def _findings() -> Iterator[Finding]:
    absent = [name for name, found in _versions() if found == "not installed"]
    yield Finding(
        "packages", "missing: " + ", ".join(absent) if absent else "all there", not absent
    )
    if not absent:
        yield _cache()
        yield from _slow_pull()


def _cache() -> Finding:
    """Look for a folder to keep compiled kernels in; without one every start compiles anew."""
    from edgewear.engine.kernel_cache import kernel_cache_folder
    from edgewear.validation.first_compile import kept_in

    folder = kernel_cache_folder()
    if folder is None:
        return Finding("kernel cache", "no folder can be written; set EDGEWEAR_CACHE", False)
    kept = kept_in(folder)
    held = f"{kept} kernels" if kept else "nothing yet: the first run compiles, a minute or two"
    return Finding("kernel cache", f"{folder} holds {held}", True)


def _slow_pull() -> Iterator[Finding]:
    """Drag a load slowly over one edge and hold the anchor's largest pull against the capstan.

    While the rope is taken in, T_anchor = m*g*exp(mu*theta) (Euler-Eytelwein); starting at a speed
    v adds at most v*sqrt(k*m) to it, which is below 0.1 % at this speed.
    """
    from edgewear.scenario import load_text
    from edgewear.study.single import simulate
    from edgewear.terms import GRAVITY_M_S2

    document = simulate(load_text(SLOW_PULL, "self-check"))
    expected = MASS_KG * GRAVITY_M_S2 * exp(FRICTION * pi / 2)
    found = document["lines"][0]["anchor_peak_n"]
    error = abs(found / expected - 1)
    detail = f"{found:.2f} N at the anchor, {expected:.2f} N by the capstan equation"
    yield Finding("slow pull over one edge", detail, error <= 1e-3)
    residual = document["energy_residual"]
    yield Finding("energy balance of it", f"{residual:.1e} of the flows", residual <= 3e-5)
