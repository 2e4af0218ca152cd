"""A short sample of what the package does, as JSON, for any interpreter to run.

    PYTHONPATH=sim python tests/everywhere/sample.py [--runs]

Loads every module, checks every shipped scenario and plays a short climb; with `--runs` it plays
every shipped scenario once. Two interpreters that print the same to 1e-9 compute the same.
"""

from __future__ import annotations

import importlib
import json
import pkgutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]


def loaded() -> int:
    """Load every module of the package; how many there are."""
    import edgewear

    names = [found.name for found in pkgutil.walk_packages(edgewear.__path__, "edgewear.")]
    for name in names:
        importlib.import_module(name)
    return len(names)


def scenarios() -> list[Path]:
    """Give the shipped scenarios."""
    return sorted((ROOT / "scenarios").glob("*.yaml"))


def checked() -> dict[str, list[str]]:
    """Read every shipped scenario; its options."""
    from edgewear.scenario import load_text

    return {
        path.name: list(load_text(path.read_text("utf-8"), str(path)).options)
        for path in scenarios()
        if "library:" not in path.read_text("utf-8")
    }


def played(runs: bool) -> dict[str, Any]:
    """Play the short climb of the self-check, and every shipped scenario if `runs`."""
    from edgewear.scenario import load_text
    from edgewear.study.single import simulate
    from edgewear.validation.first_compile import CLIMB

    found = {"climb": simulate(load_text(CLIMB, "climb"))}
    if runs:
        found |= {path.name: simulate(path) for path in scenarios()}
    return {name: dict(_numbers(document)) for name, document in found.items()}


def _numbers(value: Any, at: str = "") -> Iterator[tuple[str, float]]:
    """Give every number of a document with the way to it."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _numbers(one, f"{at}/{key}")
    elif isinstance(value, list | tuple):
        for place, one in enumerate(value):
            yield from _numbers(one, f"{at}/{place}")
    elif isinstance(value, int | float):
        yield at, float(value)


def main() -> None:
    """Print the sample."""
    document = {
        "modules": loaded(),
        "options": checked(),
        "figures": played("--runs" in sys.argv),
    }
    print(json.dumps(document, default=str))


if __name__ == "__main__":
    main()
