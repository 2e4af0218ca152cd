"""Checks that everything a scenario names is defined, and that what it needs is said."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from edgewear.scenario.models.faults import Fault
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import Event, Step, WaitFor
from edgewear.scenario.models.walking import walk
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.tree import Path_, address

ATTENDANT = "edge attendant"
"""Known without being defined."""

WATCHING = ("by", "attendant")
"""Keys under which somebody may be named who hangs on no rope."""

SEEN = (
    "core visible",
    "parted",
    "slack",
    "protection displaced",
    "protection used up",
    "wear seen",
)
"""What a run itself raises, for `when` and for faults that come after something."""


def all_steps(scenario: Scenario, *, as_list: bool) -> Iterator[tuple[str, Path_, Step]]:
    """Go through all steps of all people."""
    for person, steps in scenario.job.items():
        path: Path_ = ("job",) if as_list else ("job", person)
        for here, step in walk(steps, path):
            yield person, here, step


def check_signs(scenario: Scenario) -> tuple[str, ...]:
    """Warn of every wait for what ropes and protection alone may bring, or not."""
    raised = {s.name for _, _, s in all_steps(scenario, as_list=False) if isinstance(s, Event)}
    return tuple(
        f"{address(path)}: waits for {step.name!r}, which may never come: where it does not, the "
        "plan is refused; wait for an event of somebody's steps"
        for _, path, step in all_steps(scenario, as_list=False)
        if isinstance(step, WaitFor) and step.name in set(SEEN) - raised
    )


class NameCheck:
    """Compares what is named with what is defined."""

    def __init__(self, sections: Sections, scenario: Scenario) -> None:
        """Gather what is defined, broken things included: they are told about elsewhere."""
        self._sections, self._scenario = sections, scenario
        self._known = {
            key: list(sections.named(key)) for key in ("anchors", "edges", "ropes", "people")
        }
        self._words = {
            "techniques": list(sections.library["techniques"]),
            "systems": list(sections.library["systems"]),
            "protection": list(sections.library["protection"]),
            "tasks": list(sections.library["tasks"]),
            "edge classes": list(sections.library["edge classes"]),
        }
        self._as_list = isinstance(sections.data.get("job"), list)

    def run(self) -> None:
        """Report every name that nothing defines."""
        self._lines(self._sections.data.get("all options"), ("all options",))
        for person, lines in self._sections.named("lines").items():
            self._lines(lines, ("lines", person))
        for name, option in self._sections.named("options").items():
            self._lines(option, ("options", name))
        self._steps()
        self._faults()
        self._reactions()
        self._kit()
        self._observed()

    def _need(self, kind: str, name: object, path: Path_, *, key: bool = False) -> None:
        """Report a name that its section does not define."""
        known = self._known.get(kind) or self._words.get(kind, [])
        if not isinstance(name, str) or name in known or (kind == "people" and name == ATTENDANT):
            return
        hint = did_you_mean(name, known)
        if not hint:
            split = [whole for whole in known if name in whole.split(", ")]
            hint = f'; did a comma split "{split[0]}"? Then put it in quotes' if split else ""
        if not hint and kind == "people" and path[-1] in WATCHING:
            hint = f"; somebody who only watches is {ATTENDANT!r}"
        noun = "in the library" if kind in self._words else f"under {kind}"
        message = f"{name!r} is not defined {noun}{hint}"
        self._sections.tree.report(path, message, key=key)

    def _lines(self, found: object, path: Path_) -> None:
        """Check the names in what is said of a line."""
        if not isinstance(found, dict):
            return
        self._need("anchors", found.get("anchor"), (*path, "anchor"))
        self._need("anchors", found.get("high directional"), (*path, "high directional"))
        self._need("ropes", found.get("rope"), (*path, "rope"))
        self._need("people", found.get("attendant"), (*path, "attendant"))
        for key in ("protect", "bypass"):
            for edge in _keys(found.get(key)):
                self._need("edges", edge, (*path, key, edge), key=True)
        self._listed(found, path)
        self._lines(found.get("safety line"), (*path, "safety line"))
        for person, own in _items(found.get("lines")):
            self._lines(own, (*path, "lines", person))

    def _listed(self, found: dict[str, Any], path: Path_) -> None:
        for key, kind, inner in (
            ("over", "edges", "edge"),
            ("re-anchor", "anchors", ""),
            ("deviations", "anchors", "anchor"),
        ):
            entries = found.get(key)
            for index, entry in enumerate(entries if isinstance(entries, list) else []):
                here: Path_ = (*path, key, index)
                if isinstance(entry, dict):
                    self._need(kind, entry.get(inner), (*here, inner))
                else:
                    self._need(kind, entry, here)

    def _steps(self) -> None:
        in_plan = self._in_plan()
        for _, path, step in all_steps(self._scenario, as_list=self._as_list):
            for key, kind in (
                ("edge", "edges"),
                ("anchor", "anchors"),
                ("person", "people"),
                ("by", "people"),
                ("from_", "edges"),
                ("technique", "techniques"),
                ("system", "systems"),
                ("with_", "protection"),
                ("task", "tasks"),
                ("rope", "ropes"),
            ):
                self._need(kind, getattr(step, key, None), (*path, key.strip("_")))
            if isinstance(step, WaitFor) and step.name not in in_plan:
                self._sections.report((*path, "name"), self._never(step.name, in_plan))

    def _never(self, name: str, in_plan: set[str]) -> str:
        """Say that what somebody waits for does not come in the plan, and what to write."""
        if name in self._sections.named("faults"):
            return (
                f"only the fault {name!r} brings this, and the plan must come to its end without "
                "any: leave the wait out and what is done after it (`faults` says itself who can "
                f"come), or add `- event: {name}` to somebody's steps"
            )
        hint = did_you_mean(name, sorted(in_plan))
        return f"nobody raises {name!r}: add `- event: {name}` to somebody's steps{hint}"

    def _raised(self) -> set[str]:
        """Gather everything that can happen."""
        return self._in_plan() | set(self._sections.named("faults"))

    def _in_plan(self) -> set[str]:
        """Gather everything that can happen with no fault, and be waited for."""
        events = {
            step.name
            for _, _, step in all_steps(self._scenario, as_list=self._as_list)
            if isinstance(step, Event)
        }
        waited = {
            step.name
            for _, _, step in all_steps(self._scenario, as_list=self._as_list)
            if isinstance(step, WaitFor) and self._sections.lacks_steps
        }
        return events | waited | set(SEEN)

    def _faults(self) -> None:
        raised = self._raised()
        count = max((len(steps) for steps in self._scenario.job.values()), default=0)
        for name, fault in self._scenario.faults.items():
            path: Path_ = ("faults", name)
            self._fault_names(fault, path)
            if fault.after is not None and fault.after not in raised - {name}:
                hint = did_you_mean(fault.after, sorted(raised - {name}))
                message = f"nobody raises {fault.after!r}{hint}"
                self._sections.report((*path, "after"), message)
            if fault.step is not None and fault.step > count:
                self._sections.report((*path, "step"), f"the job has only {count} steps")

    def _fault_names(self, fault: Fault, path: Path_) -> None:
        for key, kind in (
            ("edge", "edges"),
            ("anchor", "anchors"),
            ("person", "people"),
            ("rope", "ropes"),
            ("below", "edges"),
            ("technique", "techniques"),
            ("is_", "edge classes"),
        ):
            self._need(kind, getattr(fault, key, None), (*path, fault.fault, key.strip("_")))

    def _kit(self) -> None:
        for word, found in self._sections.named("kit").items():
            if isinstance(found, dict):
                self._need("people", found.get("carried by"), ("kit", word, "carried by"))
            for index, one in enumerate(found if isinstance(found, list) else []):
                if isinstance(one, dict):
                    self._need("people", one.get("carried by"), ("kit", word, index, "carried by"))

    def _observed(self) -> None:
        options = list(self._sections.named("options"))
        for index, seen in enumerate(self._scenario.observed):
            path: Path_ = ("observed", index, seen.observation)
            self._need("edges", getattr(seen, "edge", None), (*path, "edge"))
            self._need("people", seen.person, (*path, "person"))
            if seen.option is not None and seen.option not in options:
                hint = did_you_mean(seen.option, options)
                message = f"{seen.option!r} is not defined under options{hint}"
                self._sections.report((*path, "option"), message)

    def _reactions(self) -> None:
        raised = self._raised()
        for trigger, reaction in self._scenario.when.items():
            if trigger not in raised:
                hint = did_you_mean(trigger, sorted(raised))
                allowed = ", ".join(SEEN)
                message = f"nobody raises {trigger!r}: known are {allowed}, events and faults{hint}"
                self._sections.tree.report(("when", trigger), message, key=True)
            self._need("people", reaction.by, ("when", trigger, "by"))


def _keys(found: object) -> list[str]:
    return list(found) if isinstance(found, dict) else []


def _items(found: object) -> list[tuple[str, Any]]:
    return list(found.items()) if isinstance(found, dict) else []
