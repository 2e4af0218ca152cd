"""The sections of a scenario file, each as the models that a `Scenario` holds."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from edgewear.scenario.models.faults import FAULT, Fault
from edgewear.scenario.models.gear import Edge, Obstacle, Protection, Rope
from edgewear.scenario.models.kit import Lying
from edgewear.scenario.models.observations import OBSERVATION, Observation
from edgewear.scenario.models.people import (
    Detection,
    Person,
    System,
    Technique,
    Times,
    WorkDefaults,
)
from edgewear.scenario.models.places import ANCHOR_BY_LEGS, EDGE_BY_LEGS, NOTES
from edgewear.scenario.models.scenario import Anchor, Limits, Reaction
from edgewear.scenario.models.steps import STEP, Step
from edgewear.scenario.models.study import Study
from edgewear.scenario.models.wear import WearParameters
from edgewear.scenario.read import libraries as lib
from edgewear.scenario.read import rope_records
from edgewear.scenario.read.expand import Unknown
from edgewear.scenario.read.legs import AXES, LOAD, Spot, Survey
from edgewear.scenario.read.sections import OTHERWISE, Sections
from edgewear.scenario.read.validate import unknown_key
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Measured, Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_

M = TypeVar("M", bound=BaseModel)

MACHINE = "machine"
"""The person of a job that only a machine does."""


class Assembly(Sections):
    """Reads each section of a file."""

    def survey(self) -> tuple[dict[str, Anchor], dict[str, Edge], Spot | None, dict[str, str]]:
        """Read anchors and edges, with coordinates from legs where those are given.

        Returns:
            Anchors, edges, where the load hangs, and the edge that each anchor's legs begin with.
        """
        anchors, edges = self.named("anchors"), self.named("edges")
        survey = Survey(list(edges), self.context, self.report)
        own = {
            name: found["legs"]
            for name, found in anchors.items()
            if isinstance(found, dict) and "legs" in found
        }
        self._known_spots(survey, anchors, edges)
        for name, legs in own.items():
            survey.add_anchor(name, legs, ("anchors", name, "legs"))
        survey.lay_out()

        def anchor(found: object, path: Path_) -> Any:  # values by key
            return _with_spot(
                self.expander.anchor(found, path),
                survey.reached(("anchors", str(path[1]))),
                ANCHOR_BY_LEGS,
            )

        def edge(found: object, path: Path_) -> Any:  # values by key
            return _with_spot(
                self.expander.edge(found, path),
                survey.reached(("edges", str(path[1]))),
                EDGE_BY_LEGS,
            )

        built = self.things("anchors", Anchor, anchor), self.things("edges", Edge, edge)
        return *built, survey.spots.get(LOAD), survey.first_edges

    def _known_spots(self, survey: Survey, anchors: dict[str, Any], edges: dict[str, Any]) -> None:
        """Tell a survey the coordinates that are typed."""
        for key, section in (("anchors", anchors), ("edges", edges)):
            for name, found in section.items():
                if not isinstance(found, dict) or not self._tied(found, (key, name)):
                    continue
                at: list[float] = []
                half: list[float] = []
                for axis in AXES:
                    try:
                        kind = Quantity("length", accuracy="distance", directions=axis)
                        measured = read_quantity(found.get(axis, "0 m"), kind, self.context)
                    except QuantityProblem:
                        break
                    at.append(measured.value)
                    half.append((measured.high - measured.low) / 2 if axis in found else 0.0)
                else:
                    survey.know((key, name), Spot(at, half))

    def _tied(self, found: dict[str, Any], path: Path_) -> bool:
        """Tell whether legs are laid out from a spot, for its coordinates are typed."""
        said = found.get("tied", "yes")
        if said not in ("yes", "no", "true", "false"):
            self.report((*path, "tied"), f"{said!r}: yes or no is due")
        return said in ("yes", "true") and "out" in found and "up" in found

    def ropes(self) -> dict[str, Rope]:
        """Read the store's ropes, those that are records as they are today."""
        new: dict[str, rope_records.Snapshot] = {}

        def rope(found: object, path: Path_) -> Any:  # values by key
            if isinstance(found, dict) and "record" in found:
                found = self._recorded(found, path, new)
            return self.expander.rope(found, path)

        ropes = self.things("ropes", Rope, rope)
        self.library_text = rope_records.kept_text(self.library_text, new)
        return ropes

    def _recorded(
        self, found: dict[str, Any], path: Path_, new: dict[str, rope_records.Snapshot]
    ) -> dict[str, Any]:
        """Fill in a rope's record, or report why it cannot be used."""
        where, name = (*path, "record"), str(path[-1])
        wanted = rope_records.named(found["record"], name)
        if wanted is None:
            self.report(where, "the record's file is due, or `{file: ..., rope: ...}`")
            raise Unknown
        file, rope = wanted
        known = self.records.get(name)
        if known is None:
            beside = Path(self.tree.file).parent / file
            known, wrong = rope_records.taken(beside, rope, self.library)
            if known is None:
                self.report(where, wrong)
                raise Unknown
            new[name] = known
        try:
            return rope_records.with_record(found, known, file)
        except (KeyError, TypeError, ValueError) as error:  # kept beside a dataset, and changed
            self.report(where, f"what was kept of rope {rope!r} cannot be read")
            raise Unknown from error

    def people(self, load: Spot | None) -> dict[str, Person]:
        """Read the people; where legs end at the load, they hang there."""

        def person(found: object, path: Path_) -> Any:  # values by key
            whole = self.expander.person(found, path)
            if load is None or not isinstance(whole, dict) or "out" in whole:
                return whole
            entries = load.entries()
            return {"out": entries["out"], "along": entries["along"], **whole}

        return self.things("people", Person, person)

    def kit(self) -> dict[str, tuple[Lying, ...]]:
        """Read the shared gear: how many pieces, and where they lie."""
        read = {}
        for name, found in self.named("kit").items():
            path: Path_ = ("kit", name)
            if isinstance(found, dict):
                lying = [self._lying(found, path)]
            elif isinstance(found, list) and found:
                lying = [self._lying(one, (*path, at)) for at, one in enumerate(found)]
            else:
                lying = [self._counted(found, path)]
            if all(lying):
                read[name] = tuple(one for one in lying if one is not None)
        return read

    def _counted(self, found: object, path: Path_) -> Lying | None:
        """Read a bare count: so many lie on top."""
        if isinstance(found, str) and found.isascii() and found.isdigit() and int(found) > 0:
            return self.validator.model(Lying, {"count": found}, path)
        self.report(path, f"{found!r}: a whole number from 1 is due; leave out what is not there")
        return None

    def _lying(self, found: object, path: Path_) -> Lying | None:
        """Read pieces that lie in one place, or that somebody carries."""
        lying = self.validator.model(Lying, found, path)
        if lying is None or not isinstance(found, dict):
            return None
        if lying.carried_by is not None and "at" in found:
            self.report((*path, "at"), "somebody carries it: leave out `at` or `carried by`")
        if lying.fetch is not None and lying.at_hand:
            self.report((*path, "fetch"), "it is at hand: leave out `fetch`, or say `at`")
        return lying

    def job(self, people: list[str]) -> dict[str, tuple[Step, ...]]:
        """Read the job: a list a person, or one list where there is one person."""
        found = self.data.get("job")
        if found is None:
            return {}
        if isinstance(found, list):
            if len(people) > 1:
                self.report(("job",), f"a list for each of {', '.join(people)} is due")
            return {(people or [MACHINE])[0]: self._steps(found, ("job",))}
        if not isinstance(found, dict) or not found:
            self.report(("job",), "a list of steps is due, or one for each person")
            return {}
        job = {}
        for name, steps in found.items():
            if name not in people:
                hint = did_you_mean(name, people)
                message = f"{name!r} is not defined under people{hint}"
                self.tree.report(("job", name), message, key=True)
            job[name] = self._steps(steps, ("job", name))
        return job

    def _steps(self, found: object, path: Path_) -> tuple[Step, ...]:
        if not isinstance(found, list) or not found:
            self.report(path, "a list of steps is due, each with `- `")
            return ()
        steps = [
            self.validator.any(STEP, Step, step, (*path, index)) for index, step in enumerate(found)
        ]
        self.lacks_steps |= None in steps
        return tuple(step for step in steps if step is not None)

    def faults(self) -> dict[str, Fault]:
        """Read the faults."""
        built = {}
        for name, found in self.named("faults").items():
            fault = self.validator.any(FAULT, Fault, found, ("faults", name))
            if fault is not None:
                built[name] = fault
        return built

    def reactions(self) -> dict[str, Reaction]:
        """Read what is done when something is seen."""

        def whole(found: object, path: Path_) -> Any:  # values by key
            return {"do": found} if isinstance(found, str) else found

        return self.things("when", Reaction, whole)

    def observed(self) -> tuple[Observation, ...]:
        """Read what was measured on site."""
        found = self.data.get("observed", [])
        if not isinstance(found, list):
            self.report(("observed",), "a list of observations is due, each with `- `")
            return ()
        read = [
            self.validator.any(OBSERVATION, Observation, one, ("observed", index))
            for index, one in enumerate(found)
        ]
        return tuple(one for one in read if one is not None)

    def study(self) -> Study | None:
        """Read the study."""
        found = self.data.get("study")
        return None if found is None else self.validator.model(Study, found, ("study",))

    def limits(self) -> Limits:
        """Read the rescue's limits."""
        return self.build(Limits, self.data.get("limits", {}), ("limits",)) or Limits()

    def beside(self) -> dict[str, Obstacle]:
        """Read what stands beside the work."""
        return self.things("beside", Obstacle)

    def below(self) -> dict[str, Measured]:
        """Read what lies below."""
        up = Quantity("length", accuracy="distance", directions="up")
        read = {
            name: self.quantity(found, up, ("below", name))
            for name, found in self.named("below").items()
        }
        return {name: height for name, height in read.items() if height is not None}

    def parameters(self, section: str, model: type[M]) -> M:
        """Read a set of parameters: the library's, unless the scenario says otherwise."""
        base = lib.stamped(self.library[section], f"library/{section}")
        own = self.data.get(section, {})
        if not isinstance(own, dict):
            self.report((section,), "keys with values are due")
            own = {}
        built = self.validator.model(model, {**base, **own}, (section,))
        if built is None:
            return model.model_validate(base, by_alias=True, by_name=False)
        return built

    def wear(self) -> WearParameters:
        """Read the wear parameters."""
        return self.parameters("wear", WearParameters)

    def times(self) -> Times:
        """Read how long things take."""
        return self.parameters("times", Times)

    def work(self) -> WorkDefaults:
        """Read how people move at work in place."""
        return self.parameters("work", WorkDefaults)

    def detection(self) -> Detection:
        """Read the chances of seeing wear."""
        return self.parameters("detection", Detection)

    def weather(self) -> dict[str, Measured]:
        """Read the wear factors of what lies on an edge."""
        own, known = self.named("weather"), self.library["weather"]
        for word in set(own) - set(known):
            message = f"unknown weather {word!r}: allowed are {', '.join(known)}"
            self.tree.report(("weather", word), message + OTHERWISE["weather"], key=True)
        words = {word: own.get(word, lib.stamped(found, word)) for word, found in known.items()}
        factor = Quantity("factor", low=0.0)
        read = {
            word: self.quantity(found, factor, ("weather", word)) for word, found in words.items()
        }
        return {word: value for word, value in read.items() if value is not None}

    def notes(self) -> dict[str, str]:
        """Read who wrote this, who checked it and when the site was surveyed."""
        found = self.named("notes")
        for key, value in found.items():
            if key not in NOTES or not isinstance(value, str):
                self.tree.report(("notes", key), unknown_key(key, NOTES), key=True)
        return {key: str(value) for key, value in found.items()}

    def by_word(self) -> dict[str, Any]:
        """Build what steps and faults may name: techniques, systems, protection, edge classes."""
        words = self.library
        expander = self.expander

        def all_of(section: str, model: type[M], expand: Callable[[str], Any]) -> dict[str, M]:
            built = {}
            for word in words[section]:
                path = (
                    (section, word)
                    if word in self.data.get(section, ())
                    else ("library", section, word)
                )
                thing = self.validator.model(model, expand(word), path)
                if thing is not None:
                    built[word] = thing
            return built

        def named(section: str) -> Callable[[str], Any]:
            return lambda word: {"name": word, **expander.word(section, word, (), section)}

        return {
            "techniques": all_of("techniques", Technique, named("techniques")),
            "systems": all_of("systems", System, named("systems")),
            "tasks": all_of("tasks", WorkDefaults, lambda w: expander.word("tasks", w, (), "task")),
            "protections": all_of("protection", Protection, lambda w: expander.protection(w, ())),
            "edge_classes": all_of("edge classes", Edge, lambda w: expander.edge({"is": w}, ())),
        }


def _with_spot(found: object, spot: Spot | None, of_legs: tuple[str, ...]) -> Any:  # by key
    """Put coordinates from legs where none are typed; what was said of legs is gone."""
    if not isinstance(found, dict):
        return found
    whole = {key: value for key, value in found.items() if key not in of_legs}
    return whole if spot is None else {**spot.entries(), **whole}
