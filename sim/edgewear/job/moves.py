"""Movements a person asks of a line, with the fields the kernels read."""

from __future__ import annotations

from typing import NamedTuple

from edgewear import codes
from edgewear.case import Case
from edgewear.layout import TICK_S


class Move(NamedTuple):
    """One movement; fields and order are those of `layout.MOVEMENT`."""

    kind: int
    line: int
    duration_ticks: int = 0
    length_m: float = 0.0
    depth_m: float = 0.0
    mass_kg: float = 0.0
    rise_m: float = 0.0
    sit_back_m: float = 0.0
    rise_s: float = 0.0
    drop_s: float = 0.0
    pause_s: float = 0.0
    speed_m_s: float = 0.0
    stop_s: float = 0.0
    bounce_m: float = 0.0
    bounce_hz: float = 0.0
    sway_m: float = 0.0
    sway_hz: float = 0.0
    tool_n: float = 0.0
    cycles: int = 0
    first_stroke: int = 0
    step: int = 0
    person: int = 0
    pattern: int = -1
    cut_ticks: int = 0
    idle_ticks: int = 0
    fatigue: float = 0.0
    edge: int = -1
    variant: int = -1
    at_ticks: int = 0


def ticks(seconds: float) -> int:
    """Whole ticks of a duration, rounded at the boundary once."""
    return round(seconds / TICK_S)


def hold(line: int, duration_s: float) -> Move:
    """Hang still for a while."""
    return Move(codes.HOLD, line, duration_ticks=ticks(duration_s))


def climb(case: Case, pattern: int, line: int, height_m: float, fatigue: float = 0.0) -> Move:
    """Gain a height in strokes; fatigue: share of the way to jerky at the first one."""
    p = case.patterns[pattern]
    return Move(
        codes.STROKES, line, length_m=height_m, rise_m=p.rise_m, sit_back_m=p.sit_back_m,
        rise_s=p.rise_s, drop_s=p.drop_s, pause_s=p.pause_s, person=p.person, pattern=pattern,
        fatigue=fatigue,
    )  # fmt: skip


def let_out(case: Case, pattern: int, line: int, length_m: float) -> Move:
    """Descend by a length of rope, started and stopped as the technique does."""
    p = case.patterns[pattern]
    return Move(
        codes.PAYOUT, line, length_m=length_m, speed_m_s=p.descent_m_s, stop_s=p.stop_s,
        person=p.person, pattern=pattern,
    )  # fmt: skip


def feed(line: int, length_m: float, speed_m_s: float, stop_s: float, cycles: int = 0) -> Move:
    """Move the rope at its anchor end: above 0 takes in, below 0 lets out."""
    return Move(
        codes.FEED, line, length_m=length_m, speed_m_s=speed_m_s, stop_s=stop_s, cycles=cycles
    )


def drop(line: int, depth_m: float, fall_m: float, mass_kg: float, duration_s: float) -> Move:
    """Fall free onto a rope that is straight `fall_m` further down, and hang there."""
    return Move(
        codes.DROP, line, duration_ticks=ticks(duration_s), length_m=fall_m, depth_m=depth_m,
        mass_kg=mass_kg,
    )  # fmt: skip


def swap(line: int) -> Move:
    """Take a section's rope out of use."""
    return Move(codes.SWAP, line)


def load(line: int, depth_m: float, mass_kg: float = 0.0) -> Move:
    """Hang on slowly at a depth."""
    return Move(codes.LOAD, line, depth_m=depth_m, mass_kg=mass_kg)


def unload(line: int) -> Move:
    """Take the weight off."""
    return Move(codes.UNLOAD, line)
