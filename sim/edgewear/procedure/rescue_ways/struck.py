"""A rescue under way when a fault comes: whether it goes on, and where those are whom it finds.

Whoever was on a pick-off hangs where they were, or falls from there; who hauls or lowers stays on
top.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from edgewear.findings.rescue import Rescue
from edgewear.job.log import Entry, Kind
from edgewear.layout import TICK_S
from edgewear.procedure.rescue_ways.bears import PICK_OFF
from edgewear.procedure.rescue_ways.moment import MOVES
from edgewear.procedure.rescue_ways.run import Run, Struck, lost_lines
from edgewear.procedure.rescue_ways.scene import Scene
from edgewear.procedure.rescue_ways.ways import lacks_under_way, starts_from_m


def is_under_way(run: Run, way: Rescue, zero: int) -> bool:
    """Whether whoever comes has been called when the last fault happens.

    Parameters:
        zero: tick from which the times of the rescue count.
    """
    after_s = (run.fault_tick - zero) * TICK_S
    return way.rescuer is not None and after_s >= way.times["called"].middle_s


def ended_in(run: Run, way: Rescue, zero: int) -> Run | None:
    """The run in which the last fault ends a rescue under way; None where it goes on.

    Whoever comes along their lines is where they come to by the middle of every time, each stage
    taken evenly; from the moment of taking over on with whoever they came for on their lines.

    Parameters:
        way: the rescue under way when the fault comes.
        zero: tick from which its times count.
    """
    if way.method != PICK_OFF:
        return _from_top_ended(run, way, zero)
    name = str(way.rescuer)
    one = Struck(name, way.person, way.named, zero)
    stops = Entry(run.fault_tick, name, Kind.STOPS, value=_depth_m(run, way, zero))
    found = replace(run, log=_on_the_way(run, way, zero, stops), struck=(*run.struck, one))
    then = found.at(run.fault_tick)
    who, mine = then.people[name], [s for s in run.sections if s.person == name]
    lost = tuple(lost_lines(found, who, then, run.fault_tick))
    if who.able and not who.stuck and not lost:
        lacks = lacks_under_way(_scene(found, way, run.fault_tick), way)
        one = one._replace(lacks=lacks)
        return replace(found, struck=(*run.struck, one)) if lacks else None
    if all(s.anchor in then.gone or s.line in then.parted for s in mine):
        found = replace(found, log=(*found.log, stops._replace(kind=Kind.FALLS)))
    return replace(found, struck=(*run.struck, one._replace(lost=lost)))


def _from_top_ended(run: Run, way: Rescue, zero: int) -> Run | None:
    """The same of a haul or a lower: those who carry it out have left their plan and stand there.

    Whom the fault takes down is found where the plan has them all the same.
    """
    called, people = _tick(way, "called", zero), run.final.people
    stay = {n for n in (*way.hands, str(way.rescuer)) if n in people and people[n].able}
    log = tuple(
        e for e in run.log if not (e.who in stay and e.kind in MOVES and e.tick > called)
    )  # fmt: skip
    found = replace(run, log=log)
    if not lacks_under_way(_scene(found, way, run.fault_tick), way):
        return None
    return replace(found, struck=(*run.struck, Struck("", way.person, way.named, zero)))


def not_computed(run: Run, name: str) -> str:
    """Say why nothing is computed of somebody struck on the way; "" where it is.

    Nobody has played what a lost line does to whoever the plan has elsewhere.
    """
    one = run.was_coming(name)
    if one is None or not one.lost:
        return ""
    lost = " and ".join(one.lost)
    return f"what becomes of {name}, on the way to {one.casualty} without {lost}, is not computed"


def _scene(run: Run, way: Rescue, tick: int) -> Scene:
    """Everybody around a casualty at a tick."""
    extra_kg = run.extra_kg(tick)
    return Scene(run.scenario, run.option, run.sections, run.at(tick), way.person, extra_kg)


def _depth_m(run: Run, way: Rescue, zero: int) -> float:
    """How deep a rescuer is when the last fault happens [m]."""
    scene = _scene(run, way, _tick(way, "called", zero))
    ground = scene.ground()
    down_m = way.depth_m if ground is None else ground[1]
    stages_s = [way.times[stage].middle_s for stage in ("called", "reach", "release", "ground")]
    ways_m = [starts_from_m(scene, str(way.rescuer)), way.depth_m, way.depth_m, down_m]
    return float(np.interp((run.fault_tick - zero) * TICK_S, stages_s, ways_m))


def _on_the_way(run: Run, way: Rescue, zero: int, stops: Entry) -> tuple[Entry, ...]:
    """The log in which a rescuer leaves their own plan when called, and comes to a stop."""
    called, released = (_tick(way, stage, zero) for stage in ("called", "release"))

    def entries() -> Iterator[Entry]:
        yield from (e for e in run.log if not (e.who == stops.who and e.kind in MOVES
                                               and e.tick > called))  # fmt: skip
        yield stops
        if released <= stops.tick:
            yield Entry(stops.tick, stops.who, Kind.TAKES_OVER, detail=way.person)

    return tuple(sorted(entries(), key=lambda e: e.tick))


def _tick(way: Rescue, stage: str, zero: int) -> int:
    return zero + round(way.times[stage].middle_s / TICK_S)
