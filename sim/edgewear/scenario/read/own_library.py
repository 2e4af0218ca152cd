"""Every entry of a library of one's own, built once, so that what is wrong is told at its place.

A scenario uses few of the entries, and a scenario that uses a broken one would be blamed for it. So
each entry is built here as the model that its section stands for, whether anybody uses it or not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel

from edgewear.scenario.models.base import Closed, Ratio
from edgewear.scenario.models.gear import Backup, Edge, Protection, Rope, Sheath, Sling, Surface
from edgewear.scenario.models.people import (
    Detection,
    Person,
    System,
    Technique,
    Times,
    WorkDefaults,
)
from edgewear.scenario.models.scenario import Anchor, Deviation
from edgewear.scenario.models.wear import WearParameters
from edgewear.scenario.read.expand import Expander, Unknown
from edgewear.scenario.read.libraries import Library, accuracies, built_in, stamped
from edgewear.scenario.read.rope_rules import SECTION as RULES
from edgewear.scenario.read.rope_rules import report_lax
from edgewear.scenario.read.validate import Validator
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.measured import Distribution, Measured
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_, Tree


class Condition(Closed):
    """By what a rope's condition multiplies its numbers."""

    stiffness: Ratio
    strength: Ratio
    friction: Ratio


class Least(Closed):
    """How far a reading may be off."""

    share: Annotated[Measured, Quantity("share", low=0.0)]
    least: Annotated[Measured, Quantity("length", low=0.0)] | None = None
    distribution: Distribution
    pedigree: str = ""


class LeastMass(Least):
    """How far a weighing may be off."""

    least: Annotated[Measured, Quantity("mass", low=0.0)] | None = None


class _Entry(NamedTuple):
    """How the entries of a section are built."""

    model: type[BaseModel]
    filled: Mapping[str, Any] = {}  # what a scenario types beside the entry
    whole: bool = True  # an entry has all keys; else the scenario may type the rest
    expand: str = ""  # method of the expander that looks words in it up


SECTIONS: dict[str, _Entry] = {
    "anchors": _Entry(Anchor, whole=False),
    "backups": _Entry(Backup, {"is": "word"}),
    "deviations": _Entry(Deviation, {"anchor": "word"}),
    "edge classes": _Entry(Edge, expand="edge"),
    "people": _Entry(Person, expand="person"),
    "protection": _Entry(Protection, {"is": "word"}),
    "rope conditions": _Entry(Condition),
    "rope defaults": _Entry(Rope, {"length": "10 m"}, whole=False, expand="rope"),
    "ropes": _Entry(Rope, {"length": "10 m"}, whole=False, expand="rope"),
    "sheaths": _Entry(Sheath, {"name": "word"}),
    "slings": _Entry(Sling, {"is": "word"}),
    "surfaces": _Entry(Surface, {"name": "word"}),
    "systems": _Entry(System, {"name": "word"}),
    "tasks": _Entry(WorkDefaults),
    "techniques": _Entry(Technique, {"name": "word"}),
}
"""Section of words -> what an entry of it is built as."""

FLAT: dict[str, type[BaseModel]] = {
    "detection": Detection,
    "times": Times,
    "wear": WearParameters,
    "work": WorkDefaults,
}
"""Section that is one set of numbers -> what it is built as."""


def check_own(tree: Tree, library: Library) -> None:
    """Report everything that is wrong with the entries of a user's own library, in its tree.

    Parameters:
        tree: the user's file, its sections known.
        library: its entries put before the built-in ones.
    """
    _Check(tree, library).run()


class _Check:
    def __init__(self, tree: Tree, library: Library) -> None:
        self._tree, self._library = tree, library
        self._context: dict[str, Any] = {"accuracy": {}, "exact": False}

    def run(self) -> None:
        self._shapes()
        self._accuracies()
        if self._tree.problems:
            return  # everything else is read with these
        self._context["accuracy"] = accuracies(self._library)
        for section, known in SECTIONS.items():
            for word, entry in self._own(section).items():
                self._word(section, word, entry, known)
        for section, model in FLAT.items():
            own = self._own(section)
            if own:
                self._build(model, {**built_in()[section], **own}, (section,))
        for word, found in self._own("weather").items():
            self._factor(("weather", word), found)
        report_lax(self._tree, self._own(RULES))

    def _own(self, section: str) -> dict[str, Any]:
        found: dict[str, Any] = self._tree.data.get(section, {})
        return found

    def _shapes(self) -> None:
        """Report every entry that is no set of keys with values, where one is due."""
        for section in SECTIONS:
            for word, entry in self._own(section).items():
                if not isinstance(entry, dict):
                    self._report((section, word), "keys with their values are due", False)

    def _accuracies(self) -> None:
        for kind, entry in self._own("accuracy").items():
            path: Path_ = ("accuracy", kind)
            known = list(built_in()["accuracy"])
            if kind not in known:
                hint = did_you_mean(kind, known)
                message = f"unknown kind of reading {kind!r}: allowed are {', '.join(known)}{hint}"
                self._report(path, message, True)
                continue
            self._build(LeastMass if kind.startswith("mass") else Least, entry, path)

    def _word(self, section: str, word: str, entry: Mapping[str, Any], known: _Entry) -> None:
        path: Path_ = (section, word)
        if section == "rope defaults":
            usual = next(iter(built_in()[section].values()))  # every entry has the same keys
            for key in usual:
                if key not in entry:
                    self._report(path, f"{key!r} is missing", False)
        whole = {**known.filled, **({} if known.whole else _usual(section)), **entry}
        if known.model is Rope and "like" in entry:
            message = "only a rope of a scenario is like an entry: write the values out"
            self._report((*path, "like"), message, True)
            return
        if known.expand:
            try:
                expand: Callable[[object, Path_], Any] = getattr(self._expander, known.expand)
                whole = expand(stamped(whole, word), path)
            except Unknown:
                return
        self._build(known.model, whole, path)

    @property
    def _expander(self) -> Expander:
        return Expander(self._library, lambda path, message: self._report(path, message, False))

    def _build(self, model: type[BaseModel], found: object, path: Path_) -> None:
        Validator(self._context, self._report).model(model, found, path)

    def _factor(self, path: Path_, found: object) -> None:
        try:
            read_quantity(found, Quantity("factor", low=0.0), self._context)
        except QuantityProblem as problem:
            self._report(path, str(problem), False)

    def _report(self, path: Path_, message: str, key: bool) -> None:
        self._tree.report(path, message, key=key)


def _usual(section: str) -> dict[str, Any]:
    """An entry of the built-in library with all keys, to fill up one that has few."""
    words = built_in()[section]
    first: dict[str, Any] = next(iter(words.values()))
    return {**built_in()["ropes"]["low-stretch 10"], **first} if "rope" in section else first
