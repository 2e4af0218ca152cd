"""What a rescue does to the sheath: it is played as a job of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from edgewear.errors import EdgewearError
from edgewear.findings.rescue import Rescue, WornAt
from edgewear.procedure.rescue_ways.scene import ON_TOP, Scene
from edgewear.scenario.models import steps as planned
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.text.quantities import Measured

if TYPE_CHECKING:
    from edgewear.engine.run_job import Performance

Plan = dict[str, tuple[planned.Step, ...]]

DONE = "the casualty is down"
"""Event that ends a rescue."""


def worn_by(scene: Scene, row: Rescue) -> tuple[WornAt, ...]:
    """Play one rescue that is shown; nothing where it cannot be played."""
    from edgewear.engine.results.outcome import edge_rows

    plan, starts_m = _pick_off(scene, row) if row.method == "pick-off" else _fed(scene, row)
    done = _played(scene, plan, starts_m)
    if done is None:
        return ()
    return tuple(
        WornAt(str(e["line"]), str(e["edge"]), float(e["demand_max"]), float(e["peak_tension_n"]))
        for e in edge_rows(done.player)
    )


def _pick_off(scene: Scene, row: Rescue) -> tuple[Plan, dict[str, float]]:
    name = str(row.rescuer)
    top = row.rescuer_at == ON_TOP
    from_m = scene.rim_m(name) + 1.0 if top else scene.moment.people[name].depth_m
    ground = scene.ground()
    down_m = 0.1 if ground is None else max(ground[1] - scene.depth_m, 0.1)
    way_m = scene.depth_m - from_m
    steps: list[planned.Step] = []
    if abs(way_m) > 0.1:
        steps.append(
            planned.Descend(height=_metres(way_m))
            if way_m > 0
            else planned.Ascend(height=_metres(-way_m))
        )
    steps += [
        planned.TakeOver(person=scene.casualty),
        planned.Descend(height=_metres(down_m)),
        planned.Event(name=DONE),
    ]
    plan: Plan = {scene.casualty: (planned.WaitFor(name=DONE),), name: tuple(steps)}
    return plan, {scene.casualty: scene.depth_m, name: from_m}


def _fed(scene: Scene, row: Rescue) -> tuple[Plan, dict[str, float]]:
    ground = scene.ground()
    if row.method == "haul":
        up_m = max(scene.depth_m - scene.rim_m(scene.held_by.name) - 1.0, 0.1)
        step: planned.Step = planned.Haul(height=_metres(up_m))
    else:
        down_m = 0.1 if ground is None else max(ground[1] - scene.depth_m, 0.1)
        step = planned.Lower(height=_metres(down_m))
    others: Plan = {name: () for name in scene.chosen.lines if name != scene.casualty}
    return {scene.casualty: (step,), **others}, {scene.casualty: scene.depth_m}


def _played(scene: Scene, plan: Plan, starts_m: dict[str, float]) -> Performance | None:
    from edgewear.case import compile_case
    from edgewear.engine.run_job import perform

    changed = _starting(scene.scenario, scene.option, starts_m).model_copy(
        update={"job": plan, "faults": {}, "when": {}}
    )
    try:
        return perform(changed, compile_case(changed, scene.option))
    except EdgewearError:
        return None


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


def _metres(length_m: float) -> Measured:
    return Measured.exact(length_m, "m")
