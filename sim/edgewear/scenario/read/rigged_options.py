"""The options of a scenario with everything merged in."""

from __future__ import annotations

from typing import Any

from edgewear.scenario.models.people import Person, System, Technique
from edgewear.scenario.models.places import LINE_KEYS, OPTION_KEYS, PERSON_KEYS, where_instead
from edgewear.scenario.models.scenario import Line, Option, PersonLines
from edgewear.scenario.models.steps import Step
from edgewear.scenario.models.walking import needs_line, walk
from edgewear.scenario.read.assemble import MACHINE
from edgewear.scenario.read.expand import BACKUP, Unknown
from edgewear.scenario.read.merging import Merged, Said, merge_lines
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.read.validate import Place, unknown_key
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.text.tree import Path_


def read_options(
    sections: Sections, people: dict[str, Person], job: dict[str, tuple[Step, ...]]
) -> dict[str, Option]:
    """Read every option."""
    found = sections.named("options")
    if not found and "options" in sections.data:
        sections.report(("options",), "at least one option is due")
    shared = sections.data.get("all options", {})
    _check_keys(sections, shared, ("all options",), OPTION_KEYS)
    lines = sections.named("lines")
    _check_people(sections, lines, ("lines",))
    options = {}
    for name, option in found.items():
        _check_keys(sections, option, ("options", name), OPTION_KEYS)
        chain = [Said(("all options",), shared), Said(("options", name), option)]
        built = _Reader(sections, people, job, chain, lines, name).read()
        if built is not None:
            options[name] = built
    return options


def _check_keys(sections: Sections, found: object, path: Path_, allowed: tuple[str, ...]) -> None:
    """Refuse what is not a set of known keys, also in the safety line and the people's lines."""
    if not isinstance(found, dict):
        message = "keys with values are due, such as {anchor: name}"
        sections.report(path, f"{message}{where_instead(str(path[-1]))}")
        return
    for key in found:
        if key not in allowed:
            sections.tree.report((*path, key), unknown_key(key, allowed), key=True)
    safety = found.get("safety line", "none")
    if safety != "none" and "safety line" in allowed:
        _check_keys(sections, safety, (*path, "safety line"), LINE_KEYS)
    if isinstance(found.get("lines"), dict) and "lines" in allowed:
        _check_people(sections, found["lines"], (*path, "lines"))


def _check_people(sections: Sections, lines: dict[str, Any], path: Path_) -> None:
    known = list(sections.named("people"))
    for person, own in lines.items():
        if person not in known:
            hint = did_you_mean(person, known)
            message = f"{person!r} is not defined under people{hint}"
            sections.tree.report((*path, person), message, key=True)
        _check_keys(sections, own, (*path, person), PERSON_KEYS)


class _Reader:
    """Reads one option for every person."""

    def __init__(
        self,
        sections: Sections,
        people: dict[str, Person],
        job: dict[str, tuple[Step, ...]],
        chain: list[Said],
        lines: dict[str, Any],
        name: str,
    ) -> None:
        self._sections = sections
        self._people = people
        self._job = job
        self._chain = chain
        self._lines = lines
        self._path: Path_ = ("options", name)

    def read(self) -> Option | None:
        """Read it; None after problems."""
        names = self._on_ropes(list(self._sections.named("people")) or [MACHINE])
        before = len(self._sections.tree.problems)
        lines = {name: built for name in names if (built := self._person_lines(name))}
        people = {name: self._moved(name, person) for name, person in self._people.items()}
        extra = {
            key: value
            for said in self._chain
            if isinstance(said.found, dict)
            for key, value in said.found.items()
            if key in ("why not higher", "both lines loaded")
        }
        if len(self._sections.tree.problems) > before:
            return None
        whole = {"lines": lines, "people": people, **extra}
        return self._sections.validator.model(Option, whole, self._path)

    def _on_ropes(self, people: list[str]) -> list[str]:
        """Leave out who only helps from above: no line is said of them and no step needs one."""
        carried = {
            getattr(step, "person", None) for own in self._job.values() for _, step in walk(own)
        }
        return [
            name
            for name in people
            if len(people) == 1
            or name in carried
            or len(self._person_chain(name)) > len(self._chain)
            or needs_line(self._job.get(name, ()))
        ]

    def _person_chain(self, person: str) -> list[Said]:
        """Order what is said of a person's lines from the general to the near."""
        shared, option = self._chain
        chain = [shared]
        for base in (shared, Said((), {"lines": self._lines}), option):
            own = base.found.get("lines", {}) if isinstance(base.found, dict) else {}
            if base is option:
                chain.append(option)
            if isinstance(own, dict) and person in own:
                chain.append(Said((*base.path, "lines", person), own[person]))
        return chain

    def _person_lines(self, person: str) -> PersonLines | None:
        working, safety = merge_lines(self._person_chain(person))
        if "rope" not in working.values:
            self._sections.report(self._path, f"no rope is given for {person!r}")
            return None
        line = self._line("working line", working)
        if not safety.values:
            if self._sections.setting == "industrial":
                message = f"no safety line for {person!r}: industrial work has two lines"
                self._sections.report(self._path, message)
            return PersonLines(working=line) if line else None
        if "protect" not in safety.values and "protect" in working.values:
            safety.values = {**safety.values, "protect": working.values["protect"]}
            shares = True
        else:
            shares = False
        safety.values = {"rope": working.values["rope"], **safety.values}
        second = self._line("safety line", safety, shares)
        return PersonLines(working=line, safety=second) if line and second else None

    def _line(self, role: str, merged: Merged, shares: bool = False) -> Line | None:
        """Build a line from its merged keys."""

        def place(loc: tuple[str | int, ...]) -> Path_:
            return merged.place(loc) or (*self._path, *loc)

        try:
            whole = self._expanded(merged, place, role)
        except Unknown:
            return None
        whole = {"anchor": None, **whole, "role": role, "shares protection": shares}
        return self._sections.validator.model(Line, whole, place)

    def _expanded(self, merged: Merged, place: Place, role: str) -> dict[str, Any]:
        """Replace the words of a line by values."""
        expander, values = self._sections.expander, dict(merged.values)
        for key, expand in (("protect", expander.protection), ("bypass", expander.sling)):
            if isinstance(values.get(key), dict):
                values[key] = {
                    e: expand(found, place((key, e))) for e, found in values[key].items()
                }
        if isinstance(values.get("deviations"), list):
            values["deviations"] = [
                expander.deviation(found, place(("deviations", index)))
                for index, found in enumerate(values["deviations"])
            ]
        if "backup" in values or role == "safety line":
            word = values.get("backup", BACKUP)
            values["backup"] = expander.backup(word, place(("backup",)))
        if isinstance(values.get("shift"), str):
            values["shift"] = self._shift(values["shift"], place(("shift",)))
        return values

    def _shift(self, text: str, path: Path_) -> dict[str, str]:
        """Read `0.4 m every 10 strokes`."""
        by, _, every = text.partition(" every ")
        count, _, word = every.strip().partition(" ")
        if not count.isdigit() or word not in ("stroke", "strokes", "cycles"):
            self._sections.report(path, f"{text!r}: write it like 0.4 m every 10 strokes")
            raise Unknown
        return {"by": by, "every": count}

    def _moved(self, name: str, person: Person) -> Person:
        """Give a person the technique and system that the option asks for."""
        change: dict[str, Any] = {}
        wanted: tuple[tuple[str, str, type[Technique] | type[System]], ...] = (
            ("technique", "techniques", Technique),
            ("system", "systems", System),
        )
        for said in self._chain:
            found = said.found if isinstance(said.found, dict) else {}
            for key, section, model in wanted:
                if key not in found:
                    continue
                path = (*said.path, key)
                try:
                    whole = self._sections.expander.named(section, found[key], path, key)
                except Unknown:
                    continue
                change[key] = self._sections.validator.model(model, whole, path)
        return person.model_copy(update={k: v for k, v in change.items() if v is not None})


def machine(load: Measured, whole: Person) -> Person:
    """Make the dead weight of a machine bench."""
    return whole.model_copy(update={"mass": load})
