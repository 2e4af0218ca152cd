"""Reading a scenario file: everything that is wrong with it at once, or a `Scenario`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from edgewear.errors import Problem, ScenarioError
from edgewear.scenario.checks.amounts import check_amounts
from edgewear.scenario.checks.fault_rules import check_faults
from edgewear.scenario.checks.names import NameCheck, check_signs
from edgewear.scenario.checks.procedure import check_procedure
from edgewear.scenario.checks.rigging_rules import check_rigging
from edgewear.scenario.checks.standards import check_ropes
from edgewear.scenario.checks.study_rules import check_study
from edgewear.scenario.models.people import Person
from edgewear.scenario.models.scenario import Reader, Scenario
from edgewear.scenario.models.steps import Reciprocate
from edgewear.scenario.read.addresses import matching, put, quantity_due
from edgewear.scenario.read.assemble import MACHINE, Assembly
from edgewear.scenario.read.rigged_options import machine, read_options
from edgewear.scenario.text.retyping import spelled_out, typed_as
from edgewear.scenario.text.tree import Tree, address, parse_tree, path_of, problems_of, read_tree


def load_scenario(path: str | Path) -> Scenario:
    """Read a scenario file.

    Parameters:
        path: the file.

    Raises:
        ScenarioError: with every problem found, each at its line and column.
    """
    return build(read_tree(path))


def load_text(text: str, path: str = "scenario", library_text: str | None = None) -> Scenario:
    """Read a scenario from its text, without touching the disk.

    Parameters:
        text: the content of a scenario file.
        path: the name to show in messages; a library it names is looked for beside it.
        library_text: the content of that library, where it is at hand.

    Raises:
        ScenarioError: with every problem found, each at its line and column.
    """
    return build(parse_tree(text, path), library_text)


def with_values(scenario: Scenario, values: Mapping[str, str | float]) -> Scenario:
    """Read a scenario again with some inputs replaced.

    Its source is then the text of a file in which they are typed.

    Parameters:
        scenario: as read from a file.
        values: address, perhaps with `*` -> text as it would be typed, or a number in SI.

    Raises:
        ScenarioError: an address leads nowhere, or the result cannot be used.
    """
    tree = parse_tree(scenario.source, scenario.path)
    untied = _reached_by_legs(tree.data)
    for pattern, value in values.items():
        match = matching(tree.data, pattern)
        if match.problem:
            message = f"leads nowhere: {match.problem}"
            raise ScenarioError([Problem(scenario.path, 0, 0, pattern, message)])
        for path in match.paths:
            put(tree.data, path, typed_as(value, quantity_due(path, tree.data)))
            if path[:2] in untied:  # only this spot moves, not what legs lead to from it
                put(tree.data, (*path[:2], "tied"), "no")
    tree.text = spelled_out(tree.data)
    return build(tree, scenario.library_source)


def _reached_by_legs(data: Mapping[str, Any]) -> set[tuple[str | int, ...]]:
    """Give the paths of the spots that legs place, where a file has legs."""
    spots: dict[tuple[str | int, ...], object] = {
        (key, name): found
        for key in ("anchors", "edges")
        for name, found in dict(data.get(key) or {}).items()
    }
    if not any(isinstance(found, dict) and "legs" in found for found in spots.values()):
        return set()
    typed = {p for p, found in spots.items() if isinstance(found, dict) and "out" in found}
    return set(spots) - typed


def with_added(scenario: Scenario, path: Sequence[str | int], value: str) -> Scenario:
    """Read the scenario again with one input replaced, or typed where there was none.

    Parameters:
        path: keys from the top of the file; the last one may be new.
        value: text as it would be typed.

    Raises:
        ScenarioError: the result cannot be used.
        LookupError: the file has no such place.
    """
    tree = parse_tree(scenario.source, scenario.path)
    put(tree.data, tuple(path), value)
    tree.text = spelled_out(tree.data)
    return build(tree, scenario.library_source)


def addresses_of(scenario: Scenario, pattern: str) -> tuple[str, ...]:
    """Spell out the addresses that a pattern stands for.

    Parameters:
        scenario: as read from a file.
        pattern: an address, perhaps with `*`.

    Raises:
        ScenarioError: it leads nowhere.
    """
    match = matching(parse_tree(scenario.source, scenario.path).data, pattern)
    if match.problem:
        message = f"leads nowhere: {match.problem}"
        raise ScenarioError([Problem(scenario.path, 0, 0, pattern, message)])
    return tuple(address(path) for path in match.paths)


READER = Reader(with_values, addresses_of)
"""What every scenario that is read here can be read again by."""


def problems_at(scenario: Scenario, found: Iterable[tuple[str, str]]) -> list[Problem]:
    """Give problems that were found later their place in the file.

    Parameters:
        scenario: as read from a file.
        found: address and message of each.
    """
    if not scenario.source:  # made by hand, not read from a file
        return [Problem(scenario.path, 0, 0, where, message) for where, message in found]
    tree = parse_tree(scenario.source, scenario.path)
    for where, message in found:
        tree.report(path_of(tree.data, where), message)
    return problems_of(tree)


def build(tree: Tree, library_text: str | None = None) -> Scenario:
    """Build a scenario from a file's values.

    Parameters:
        tree: the values with their places.
        library_text: the content of the library that the file names, where it is at hand.

    Raises:
        ScenarioError: with every problem found.
    """
    sections = Assembly(tree, library_text)
    scenario = _assemble(sections)
    NameCheck(sections, scenario).run()
    check_rigging(sections, scenario)
    check_study(sections, scenario)
    check_amounts(sections, scenario)
    if not tree.problems:
        check_procedure(sections, scenario)
        check_faults(sections, scenario)
    if tree.problems:
        raise ScenarioError(problems_of(tree))
    said = (*check_ropes(scenario), *check_signs(scenario))
    return scenario.model_copy(update={"warnings": said})


def _assemble(sections: Assembly) -> Scenario:
    """Read all sections; what has problems is left out."""
    anchors, edges, load, legs_over = sections.survey()
    ropes, people = sections.ropes(), sections.people(load)
    names = list(sections.named("people"))
    job, kit = sections.job(names), sections.kit()
    if not names:
        people = _machine(sections, job)
    return Scenario.model_construct(
        title=sections.text("title"),
        setting=sections.setting,
        target=sections.target(),
        anchors=anchors,
        edges=edges,
        legs_over=legs_over,
        ropes=ropes,
        people=people,
        kit={word: sum(some.count for some in lying) for word, lying in kit.items()},
        kit_places=kit,
        options=read_options(sections, people, job),
        job=job,
        faults=sections.faults(),
        when=sections.reactions(),
        study=sections.study(),
        observed=sections.observed(),
        limits=sections.limits(),
        below=sections.below(),
        beside=sections.beside(),
        wear=sections.wear(),
        times=sections.times(),
        work=sections.work(),
        weather=sections.weather(),
        detection=sections.detection(),
        **sections.by_word(),
        notes=sections.notes(),
        warnings=(),
        path=sections.tree.file,
        source=sections.tree.text,
        library_source=sections.library_text,
    ).read_by(READER)


def _machine(sections: Assembly, job: dict[str, Any]) -> dict[str, Person]:
    """Give a job without people its dead weight."""
    steps = [step for own in job.values() for step in own]
    loads = [step.load for step in steps if isinstance(step, Reciprocate)]
    if not loads or len(loads) < len(steps):
        if "job" in sections.data and not sections.lacks_steps:
            sections.report(("job",), "people are due: only a machine's job needs none")
        return {}
    whole = sections.build(Person, {}, ("people",), sections.expander.person)
    return {MACHINE: machine(loads[0], whole)} if whole else {}
