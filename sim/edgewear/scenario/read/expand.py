"""Replacing the words of a scenario by the library's values, before anything is validated.

What the user typed always wins over what a word brings. Addresses do not change: a value that a
word brought stands where the user could have typed it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from edgewear.scenario.read.libraries import Library, stamped
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_

Report = Callable[[Path_, str], None]
"""Notes what is wrong at a path of the file."""


_DIAMETER = Quantity("length")
_MASS = Quantity("mass per length")

BACKUP = "slipping backup"
"""The device on a safety line where nothing is said."""


def _of_section(mass: object, usual: object, typed: object) -> object:
    """Mass of a metre of a rope like another, but thicker or thinner: it goes with the section.

    Parameters:
        mass: of a metre of the other rope, an entry of the library.
        usual: diameter of the other rope.
        typed: diameter of this one.
    """
    try:
        ratio = (
            read_quantity(typed, _DIAMETER, {}).value / read_quantity(usual, _DIAMETER, {}).value
        )
        known = read_quantity(mass, _MASS, {})
    except (QuantityProblem, ZeroDivisionError):
        return mass  # what is wrong with the diameter is told where it stands
    factor = ratio * ratio
    scaled = {"value": known.value * factor, "low": known.low * factor, "high": known.high * factor}
    return known.model_copy(update=scaled)


class Unknown(Exception):
    """A word that the library does not have; already reported."""


class Expander:
    """Looks words up in one library and reports those it does not find."""

    def __init__(self, library: Library, report: Report) -> None:
        """Use a library."""
        self.library = library
        self._report = report

    def word(
        self, section: str, word: object, path: Path_, noun: str, basis: str = ""
    ) -> Any:  # values by key
        """Give a word's entry, its values marked with the word.

        Raises:
            Unknown: there is no such word.
        """
        words = self.library[section]
        if not isinstance(word, str) or word not in words:
            hint = did_you_mean(str(word), list(words)) if isinstance(word, str) else ""
            self._report(path, f"unknown {noun} {word!r}: allowed are {', '.join(words)}{hint}")
            raise Unknown
        return stamped(words[word], word, basis)

    def named(
        self, section: str, found: object, path: Path_, noun: str, default: object = None
    ) -> Any:  # values by key
        """Expand a word, or a mapping that may name one under `like` and change some values.

        Parameters:
            section: of the library.
            found: the word or mapping typed.
            path: where.
            noun: what such a word names.
            default: the word that fills in what a mapping without `like` leaves out.
        """
        if not isinstance(found, dict):
            return {"name": found, **self.word(section, found, path, noun)}
        own = {k: v for k, v in found.items() if k != "like"}
        if "like" in found:
            base = self.word(section, found["like"], (*path, "like"), noun)
            return {"name": found["like"], **base, **own}
        filled = self.library[section].get(str(default), {})
        if set(filled) <= set(own):
            return {"name": noun, **own}
        return {"name": str(default), **stamped(filled, str(default)), **own}

    def rope(self, found: object, path: Path_) -> Any:  # values by key
        """Expand a rope: its `like`, what its family brings, its sheath, its condition."""
        if not isinstance(found, dict):
            return found
        base: dict[str, Any] = {}
        if "like" in found:
            base = self.word("ropes", found["like"], (*path, "like"), "rope of the library")
        if "stiffness" in found:
            base.pop("elongation", None)
        rope = {**base, **found}
        if "diameter" in base and "diameter" in found and "mass" not in found:
            rope["mass"] = _of_section(base["mass"], base["diameter"], found["diameter"])
        family = rope.get("family", "low-stretch")
        defaults = self.library["rope defaults"].get(str(family), {})
        rope = {**stamped(defaults, f"{family} rope"), **rope}
        if "sheath" in rope:
            where = (*path, "sheath")
            rope["sheath"] = self.named(
                "sheaths", rope["sheath"], where, "sheath", base.get("sheath")
            )
        condition = rope.get("condition", "new")
        where = (*path, "condition")
        factors = self.word("rope conditions", condition, where, "condition of a rope")
        return {**{f"{k} factor": v for k, v in factors.items()}, **rope}

    def edge(self, found: object, path: Path_) -> Any:  # values by key
        """Expand an edge: its class, its surface."""
        if not isinstance(found, dict):
            return found
        base: dict[str, Any] = {}
        if "is" in found:
            base = self.word("edge classes", found["is"], (*path, "is"), "edge class", "class")
        edge = {**base, **found}
        if "surface" in edge:
            where = (*path, "surface")
            default = base.get("surface")
            surface = self.named("surfaces", edge["surface"], where, "surface", default)
            brought = {k: surface[k] for k in ("friction", "roughness") if k in surface}
            edge = {**brought, **edge, "surface": surface}
        return edge

    def person(self, found: object, path: Path_) -> object:
        """Expand a person: technique, system and what nobody states of themself."""
        if not isinstance(found, dict):
            return found
        usual = self.library["people"]["person"]
        person = {**stamped(usual, "person"), **found}
        for key, section in (("technique", "techniques"), ("system", "systems")):
            if key not in person:
                continue  # what is missing is told when the person is built
            person[key] = self.named(section, person[key], (*path, key), key, usual.get(key))
        return person

    def anchor(self, found: object, path: Path_) -> object:
        """Expand an anchor: what it is fixed to."""
        if not isinstance(found, dict):
            return found
        where = (*path, "is")
        base = self.word("anchors", found.get("is", "anchor"), where, "kind of anchor")
        return {**base, **found}

    def protection(self, found: object, path: Path_) -> object:
        """Expand a kind of protection, or a mapping that names one under `is`."""
        return self._is("protection", found, path, "protection")

    def sling(self, found: object, path: Path_) -> object:
        """Expand a kind of sling."""
        return self._is("slings", found, path, "sling")

    def backup(self, found: object, path: Path_) -> object:
        """Expand a backup device; the usual one where only its values are given."""
        if isinstance(found, dict) and "is" not in found:
            found = {"is": BACKUP, **found}
        return self._is("backups", found, path, "backup device")

    def deviation(self, found: object, path: Path_) -> object:
        """Expand a deviation: an anchor's name, or a mapping with it."""
        own = found if isinstance(found, dict) else {"anchor": found}
        return {**self.word("deviations", "sling", path, "deviation"), **own}

    def _is(self, section: str, found: object, path: Path_, noun: str) -> Any:  # values by key
        word = found.get("is") if isinstance(found, dict) else found
        where = (*path, "is") if isinstance(found, dict) else path
        base = self.word(section, word, where, noun)
        return {**base, "is": word, **(found if isinstance(found, dict) else {})}
