"""The built-in library and a user's own: words that stand for values with a range and a pedigree.

Entries are spelled as in a scenario, so that one reader serves both. An entry's values are marked
with the word they were taken from.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from edgewear.errors import Problem, ScenarioError
from edgewear.scenario.text.quantity_text import Accuracy
from edgewear.scenario.text.tree import Tree, read_tree
from edgewear.scenario.text.units import DIMENSIONS, to_si

FOLDER = Path(__file__).parents[1] / "library"

SECTIONS = {
    "accuracy": "accuracy",
    "anchors": "anchors",
    "backups": "backups",
    "detection": "detection",
    "deviations": "deviations",
    "edge classes": "edge_classes",
    "people": "people",
    "protection": "protection",
    "rope conditions": "rope_conditions",
    "rope defaults": "rope_defaults",
    "rope rules": "rope_rules",
    "ropes": "ropes",
    "sheaths": "sheaths",
    "slings": "slings",
    "surfaces": "surfaces",
    "systems": "systems",
    "tasks": "tasks",
    "techniques": "techniques",
    "times": "times",
    "wear": "wear",
    "weather": "weather",
    "work": "work",
}
"""Section of a library -> the file under `library/` that holds the built-in one."""

RECORDS = "rope records"
"""Section behind a library's text that keeps the records of ropes a scenario was read with."""

Library = Mapping[str, Mapping[str, Any]]
"""Section -> word -> entry as typed."""


@cache
def built_in() -> Library:
    """Read the built-in library."""
    return {section: read_tree(FOLDER / f"{file}.yaml").data for section, file in SECTIONS.items()}


def with_own(tree: Tree) -> Library:
    """Put a user's own entries before the built-in ones.

    Parameters:
        tree: the user's file: `ropes:`, `surfaces:` and other sections.

    Raises:
        ScenarioError: it has problems, or sections that no library has.
    """
    problems = list(tree.problems)
    for section, entries in tree.data.items():
        line, column = tree.place((section,), key=True)
        if section not in SECTIONS:
            message = f"unknown section: allowed are {', '.join(SECTIONS)}"
            problems.append(Problem(tree.file, line, column, section, message))
        elif not isinstance(entries, dict):
            message = "words with their values are due"
            problems.append(Problem(tree.file, line, column, section, message))
    if problems:
        raise ScenarioError(problems)
    own = tree.data
    return {section: {**words, **own.get(section, {})} for section, words in built_in().items()}


def accuracies(library: Library) -> dict[str, Accuracy]:
    """Give the accuracy of each kind of reading, such as `distance/paced`."""
    found = {}
    for kind, entry in library["accuracy"].items():
        share = to_si(entry["share"], DIMENSIONS["share"])
        unit = "mass" if kind.startswith("mass") else "length"
        least = to_si(entry["least"], DIMENSIONS[unit]) if "least" in entry else 0.0
        found[kind] = Accuracy(share, least, entry["distribution"], str(entry.get("pedigree", "")))
    return found


def stamped(entry: object, word: str, basis: str = "") -> Any:  # values by key
    """Mark every value of a library entry with the word that stands for it.

    Parameters:
        entry: as read.
        word: what was typed.
        basis: where the values come from; follows from each value's pedigree if left out.
    """
    if isinstance(entry, dict):
        if "value" in entry:
            return {"typed": word, "basis": basis or _basis(entry), **entry}
        return {key: stamped(value, word, basis) for key, value in entry.items()}
    return entry


def _basis(entry: Mapping[str, Any]) -> str:
    pedigree = str(entry.get("pedigree", ""))
    return "assumed" if pedigree.startswith(("assumed", "from memory")) else "library"
