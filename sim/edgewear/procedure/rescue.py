"""Rescue as a job: from every work position by pick-off, by a haul and by a lower from above."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from edgewear.errors import EdgewearError, ScenarioError
from edgewear.findings.rescue import STAGES, Rescue, Within, WornAt
from edgewear.job.build import words
from edgewear.job.log import Kind
from edgewear.layout import TICK_S
from edgewear.scenario.models import steps as typed
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.text.quantities import Measured

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance
    from edgewear.procedure.failures import Depths

AT_WORK = (typed.Work, typed.Swing, typed.Rest)
"""Steps at whose places a rescue is asked for."""

RIGGING = Measured(
    value=180.0, low=60.0, high=600.0, unit="s", typed="180 s", basis="assumed",
    distribution="lognormal", pedigree="assumed",
)  # fmt: skip
"""Time to rig a haul or a lower at the anchor."""

TRIALS = 199
"""Rescues whose times are drawn; the 190th of them in order is the 95th percentile."""

CAREFUL = 0.95
"""Of so many rescues a time is not exceeded."""

BELOW_EDGE_M = 1.0
"""A haul ends so far below the last edge [m]; assumed."""


class Position(NamedTuple):
    """A casualty at one place of work."""

    person: str
    step: int
    depth_m: float


def rescues(scenario: Scenario, option: str, depths: Depths) -> tuple[Rescue, ...]:
    """Every way of getting everybody from every place of work."""
    rows = []
    for position in _positions(scenario, depths):
        for method in (_pick_off, _haul, _lower):
            row = _judged(scenario, method(scenario, option, position))
            step = scenario.job[position.person][position.step - 1]
            rows.append(replace(row, step_words=words(step)))
    return tuple(rows)


def _positions(scenario: Scenario, depths: Depths) -> Iterator[Position]:
    seen = set()
    for person, by_step in depths.items():
        for step, depth_m in by_step.items():
            made = scenario.job[person][step - 1]
            if isinstance(made, AT_WORK) and (person, round(depth_m, 1)) not in seen:
                seen.add((person, round(depth_m, 1)))
                yield Position(person, step, depth_m)


def _pick_off(scenario: Scenario, option: str, at: Position) -> Rescue:
    """Somebody comes down their own lines, takes the casualty over and goes down with them."""
    row = Rescue(*at, "pick-off")
    rescuer = next((n for n in scenario.options[option].lines if n != at.person), None)
    if rescuer is None:
        return replace(row, why="nobody else has lines of their own")
    first = next((s for s in scenario.job.get(rescuer, ()) if isinstance(s, typed.CrossEdge)), None)
    from_m = _begins_m(scenario, first)
    way_m = at.depth_m - from_m
    ground_m = _ground_m(scenario, at)
    steps: list[typed.Step] = [first] if first is not None else []
    if way_m > 0:
        steps.append(typed.Descend(height=_metres(way_m)))
    elif way_m < 0:
        steps.append(typed.Ascend(height=_metres(-way_m)))
    steps += [
        typed.Event(name="reached"),
        typed.TakeOver(person=at.person),
        typed.Event(name="released"),
        typed.Descend(height=_metres(max(ground_m - at.depth_m, 0.1))),
        typed.Event(name="grounded"),
    ]
    job = {at.person: (typed.WaitFor(name="grounded"),), rescuer: tuple(steps)}
    starts = {at.person: at.depth_m, rescuer: from_m}
    return _played(scenario, option, row, job, starts)


def _haul(scenario: Scenario, option: str, at: Position) -> Rescue:
    """Whoever is at the fixed point above raises the casualty to just below it or the last edge."""
    line = scenario.options[option].lines[at.person].working
    fixed = [scenario.anchors[name].up for name in line.re_anchor]
    held = [-up.value for up in fixed if up is not None and -up.value < at.depth_m]
    up_m = at.depth_m - max([_edge_m(scenario), *held]) - BELOW_EDGE_M
    if up_m <= 0:
        why = "the casualty hangs just below the edge already"
        return Rescue(*at, "haul", why=why)
    return _from_above(scenario, option, at, "haul", typed.Haul(height=_metres(up_m)))


def _lower(scenario: Scenario, option: str, at: Position) -> Rescue:
    """Whoever is at the anchor lowers the casualty to what is below."""
    down_m = max(_ground_m(scenario, at) - at.depth_m, 0.1)
    anchor = scenario.options[option].lines[at.person].working.anchor
    if anchor is not None and not scenario.anchors[anchor].releasable:
        return Rescue(*at, "lower", why=f"{anchor} is not releasable")
    return _from_above(scenario, option, at, "lower", typed.Lower(height=_metres(down_m)))


def _from_above(
    scenario: Scenario, option: str, at: Position, method: str, step: typed.Step
) -> Rescue:
    steps = (
        typed.Rest(for_=RIGGING),
        typed.Event(name="reached"),
        typed.Event(name="released"),
        step,
        typed.Event(name="grounded"),
    )
    others = {n: () for n in scenario.options[option].lines if n != at.person}
    job = {at.person: steps, **others}
    return _played(scenario, option, Rescue(*at, method), job, {at.person: at.depth_m})


def _played(
    scenario: Scenario,
    option: str,
    row: Rescue,
    job: dict[str, tuple[typed.Step, ...]],
    starts_m: dict[str, float],
) -> Rescue:
    from edgewear.case import compile_case
    from edgewear.engine.run_job import perform

    changed = _starting(scenario, option, starts_m).model_copy(
        update={"job": job, "faults": {}, "when": {}}
    )
    try:
        case = compile_case(changed, option)
        done = perform(changed, case)
    except ScenarioError as error:
        return replace(row, why="; ".join(problem.message for problem in error.problems))
    except EdgewearError as error:
        return replace(row, why=str(error))
    found = _figures(changed, done, row)
    if row.method == "pick-off":
        found = replace(found, hands_n=None)
    elif row.method == "haul" and found.hands_n is not None:
        advantage = _advantage(scenario, row.person)
        found = replace(found, hands_n=found.hands_n / advantage, advantage=advantage)
    return _careful(scenario, found, max(job.values(), key=len))


def _advantage(scenario: Scenario, person: str) -> float:
    """Mechanical advantage of the haul that the scenario's own plan has for somebody; else 1."""
    from edgewear.scenario.models.walking import leaves

    hauls = [
        s.advantage.value
        for who, steps in scenario.job.items()
        for s in leaves(steps)
        if isinstance(s, typed.Haul) and (s.person or who) == person
    ]
    return hauls[0] if hauls else 1.0


def _careful(scenario: Scenario, found: Rescue, steps: tuple[typed.Step, ...]) -> Rescue:
    """Times that 19 of 20 rescues keep to: the helper's steps follow each other, so each adds up.

    Climbs, descents and hauls take what they take; how long the rest takes is drawn, the time to
    react to the call with it.
    """
    import numpy as np

    from edgewear.engine.trial_chance import Drawn

    worlds = [Drawn(0, k) for k in range(TRIALS)]
    react = scenario.times.react
    late_s = np.array([w.value("react", react) - react.value for w in worlds])
    times: dict[str, Any] = {}
    for number, step in enumerate(steps):
        lasting = _lasting(scenario, step)
        if lasting is not None:
            name = f"how long step {number} takes"
            late_s += [w.value(name, lasting) - lasting.value for w in worlds]
        if isinstance(step, typed.Event) and step.name in EVENTS:
            key = EVENTS[step.name]
            middle_s = found.middle_s(key)
            late = float(np.sort(late_s)[int(CAREFUL * (TRIALS + 1)) - 1])
            times[f"{key}_p95_s"] = None if middle_s is None else middle_s + late
    return replace(found, **times)


EVENTS = {"reached": "reach", "released": "release", "grounded": "ground"}
"""Event of a rescue's plan -> the time until then."""


def _lasting(scenario: Scenario, step: typed.Step) -> Measured | None:
    """How long a step takes whose time is no matter of physics."""
    if isinstance(step, typed.Rest):
        return step.for_
    if isinstance(step, typed.CrossEdge | typed.TakeOver):
        return step.for_ or getattr(scenario.times, step.step.replace(" ", "_"))
    return None


def _figures(scenario: Scenario, done: Performance, row: Rescue) -> Rescue:
    from edgewear.engine.results.outcome import edge_rows

    times = {e.detail: e.tick * TICK_S for e in done.log if e.kind is Kind.EVENT}
    called_s = scenario.times.react.value
    mass_kg = max(
        (float(buffers.state["mass_kg"][0]) for _, buffers in done.player.pieces()), default=0.0
    )
    hauled = [
        float(buffers.state["anchor_peak_n"][0])
        for section, buffers in done.player.pieces()
        if done.player.case.rigged.sections[section].person == row.person
    ]
    return replace(
        row,
        possible="grounded" in times,
        why="; ".join(e.detail for e in done.log if e.kind in ENDED),
        load_kg=mass_kg,
        hands_n=max(hauled, default=None),
        reach_s=_after(times, "reached", called_s),
        release_s=_after(times, "released", called_s),
        ground_s=_after(times, "grounded", called_s),
        wear=tuple(
            WornAt(
                str(e["line"]), str(e["edge"]), float(e["demand_max"]), float(e["peak_tension_n"])
            )
            for e in edge_rows(done.player)
        ),
    )


ENDED = (Kind.STOPS, Kind.FALLS, Kind.STOPPED)
"""What ends a rescue before its time."""


def _after(times: dict[str, float], name: str, called_s: float) -> float | None:
    return times[name] + called_s if name in times else None


def _judged(scenario: Scenario, row: Rescue) -> Rescue:
    """Hold the times that 19 of 20 keep to against the user's limits; None where there is none."""
    within = {}
    for stage in STAGES:
        limit, found = getattr(scenario.limits, stage), row.careful_s(stage)
        within[stage] = None if limit is None or found is None else found <= limit.value
    return replace(row, within=Within(**within))


def _starting(scenario: Scenario, option: str, starts_m: dict[str, float]) -> Scenario:
    """The scenario with people hanging where a rescue begins."""
    from edgewear.rigging.sections import last_m

    chosen: Option = scenario.options[option]
    people = {
        name: who.model_copy(
            update={"start": _metres(max(starts_m[name] - last_m(scenario, chosen, name), 0.0))}
        )
        if name in starts_m
        else who
        for name, who in chosen.people.items()
    }
    changed = chosen.model_copy(update={"people": people})
    return scenario.model_copy(update={"options": {option: changed}})


def _begins_m(scenario: Scenario, first: typed.Step | None) -> float:
    """Depth at which somebody hangs who comes over an edge to help [m]."""
    from edgewear.rigging.profile import crossed_m
    from edgewear.rigging.survey import middle

    point = middle(scenario.edges[first.edge]) if isinstance(first, typed.CrossEdge) else None
    return _edge_m(scenario) + BELOW_EDGE_M if point is None else crossed_m(point)


def _edge_m(scenario: Scenario) -> float:
    """Depth of the lowest edge [m]; 0 where bends are given directly."""
    starts = [e.start_m for e in scenario.edges.values()]
    return max((-s[2] for s in starts if s is not None), default=0.0)


def _ground_m(scenario: Scenario, at: Position) -> float:
    """Depth of the first thing below the casualty; 10 m further down if none is named."""
    found = [-m.value for m in scenario.below.values() if -m.value > at.depth_m]
    return min(found, default=at.depth_m + 10.0)


def _metres(length_m: float) -> Measured:
    return Measured.exact(length_m, "m")
