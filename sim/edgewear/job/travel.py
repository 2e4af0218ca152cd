"""Up and down a rope: strokes, stops, fixed points and deviations passed on the way."""

from __future__ import annotations

from math import inf

from edgewear.job.line import Process
from edgewear.job.log import Kind
from edgewear.job.moves import climb, feed
from edgewear.job.worker import Station, Worker

HANGING_BELOW_M = 1.0
"""A person hangs so far below a fixed point they have just passed [m]; assumed."""

REST_AT_STOP_S = 3.0
"""Rest at each stop of a descent [s]; assumed."""

FEED_M_S, FEED_STOP_S = 0.1, 0.5
"""How rope is moved at an anchor where nothing is said [m/s, s]; assumed."""


def descend(
    worker: Worker,
    length_m: float,
    speed_m_s: float | None = None,
    stop_every_m: float | None = None,
) -> Process:
    """Go down, stopping as the technique does and passing fixed points on the way."""
    yield from worker.must_hang()
    goal_m = worker.depth_m + length_m
    while worker.depth_m < goal_m:
        bottom_m = worker.station.bottom_m if worker.neighbour(1) else inf
        part_m = min(goal_m, bottom_m) - worker.depth_m
        if part_m > 0:
            yield from _lower_past_deviations(worker, part_m, speed_m_s, stop_every_m)
        if bottom_m >= goal_m:
            break
        yield from pass_down(worker)


def ascend(
    worker: Worker, height_m: float, technique: str | None = None, system: str | None = None
) -> Process:
    """Climb, passing fixed points on the way."""
    yield from worker.must_hang()
    goal_m = worker.depth_m - height_m
    while worker.depth_m > goal_m:
        above = worker.neighbour(-1)
        top_m = worker.station.top_m + HANGING_BELOW_M if above else goal_m
        part_m = worker.depth_m - max(goal_m, top_m)
        if part_m > 0:
            line = worker.station.line
            yield from _climb_past_knots(worker, part_m, technique, system)
            if worker.station.line != line:  # fell onto another: what is above is another one too
                continue
        if top_m <= goal_m:
            break
        yield from pass_up(worker)


def pass_down(worker: Worker, lasting_s: float | None = None) -> Process:
    """Pass the fixed point at the bottom of the section in use."""
    below = worker.neighbour(1)
    if below is not None:
        depth_m = worker.station.bottom_m + HANGING_BELOW_M
        yield from _change_to(worker, below, depth_m, lasting_s)


def pass_up(worker: Worker, lasting_s: float | None = None) -> Process:
    """Pass the fixed point at the top of the section in use."""
    above = worker.neighbour(-1)
    if above is not None:
        yield from _change_to(worker, above, worker.station.top_m, lasting_s)


def _change_to(
    worker: Worker, station: Station, depth_m: float, lasting_s: float | None
) -> Process:
    """The weight leaves one section and hangs on the next, in the time said or the usual one."""
    worker.say(Kind.PASS_BEGINS, f"pass to {station.name}")
    yield from worker.stay(worker.habits.passing_s if lasting_s is None else lasting_s)
    yield from worker.hang_off()
    worker.station, worker.depth_m = station, depth_m
    yield from worker.take_up(depth_m, worker.mass_kg)
    worker.say(Kind.PASS_ENDS, f"pass to {station.name}", depth_m)
    yield from worker.trust()


def _climb_past_knots(
    worker: Worker, height_m: float, technique: str | None, system: str | None
) -> Process:
    goal_m = worker.depth_m - height_m
    for name, at_m in reversed(worker.station.knots):
        if goal_m < at_m < worker.depth_m:
            yield from _climb(worker, worker.depth_m - at_m, technique, system)
            worker.say(Kind.PASSES, name, at_m)
            yield from worker.stay(worker.habits.knot_s)
    yield from _climb(worker, worker.depth_m - goal_m, technique, system)


def _climb(worker: Worker, height_m: float, technique: str | None, system: str | None) -> Process:
    goal_m, every = worker.depth_m - height_m, worker.habits.shift_every
    while worker.depth_m > goal_m:
        pattern = worker.pattern(technique, system)
        part_m = worker.depth_m - goal_m
        shifts = every and part_m > every * worker.case.patterns[pattern].rise_m
        if shifts:
            part_m = every * worker.case.patterns[pattern].rise_m
        start_m, line = worker.depth_m, worker.station.line
        yield from worker.make(climb(worker.case, pattern, line, part_m, worker.fatigue))
        if worker.station.line != line:  # fell onto another, and climbs on from where it caught
            continue
        worker.depth_m = start_m - part_m
        if not shifts:
            worker.depth_m = goal_m
            return
        yield from shift(worker, worker.habits.shift_m)
        goal_m += worker.habits.shift_m


def shift(worker: Worker, by_m: float) -> Process:
    """Let rope through at the releasable anchor, so that a fresh place meets the edge."""
    depth_m = worker.depth_m
    yield from worker.stay(worker.habits.shift_s)
    yield from worker.make(feed(worker.station.line, -by_m, FEED_M_S, FEED_STOP_S))
    worker.depth_m = depth_m + by_m
    worker.say(Kind.ROPE_SHIFTED, worker.station.name, by_m)


def _lower_past_deviations(
    worker: Worker, length_m: float, speed_m_s: float | None, stop_every_m: float | None
) -> Process:
    """Go down past what one's devices must be taken over: deviations and knots."""
    goal_m, habits = worker.depth_m + length_m, worker.habits
    passed = [(at_m, name, habits.deviation_s) for name, at_m in worker.station.deviations]
    passed += [(at_m, name, habits.knot_s) for name, at_m in worker.station.knots]
    for at_m, name, lasting_s in sorted(passed) if worker.station.knots else passed:
        if worker.depth_m < at_m < goal_m:
            yield from _lower_in_stops(worker, at_m - worker.depth_m, speed_m_s, stop_every_m)
            worker.say(Kind.PASSES, name, at_m)
            yield from worker.stay(lasting_s)
    yield from _lower_in_stops(worker, goal_m - worker.depth_m, speed_m_s, stop_every_m)


def _lower_in_stops(
    worker: Worker, length_m: float, speed_m_s: float | None, stop_every_m: float | None
) -> Process:
    goal_m, left_m, fell = worker.depth_m + length_m, length_m, False
    while left_m > 0:
        pattern, line = worker.pattern(), worker.station.line
        part_m = min(left_m, stop_every_m or worker.case.patterns[pattern].stop_every_m)
        left_m -= part_m
        yield from worker.make(worker.let_out(part_m, pattern, speed_m_s))
        yield from worker.stay(REST_AT_STOP_S)
        if worker.station.line != line:  # goes on from where another line caught them
            fell, left_m = True, goal_m - worker.depth_m
    if not fell:
        worker.depth_m = goal_m
