"""What happens when a person's weight comes onto their safety line, at the places that matter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from edgewear.findings.rigging import Caught, LongCatch
from edgewear.rigging.findings import figures
from edgewear.rigging.findings.every_step import places
from edgewear.rigging.findings.limits import beyond_limits
from edgewear.rigging.findings.standing import Standing, protected, standing
from edgewear.rigging.lengths import rooms_m
from edgewear.rigging.model import Section
from edgewear.rigging.profile import End
from edgewear.rigging.rig import Layout
from edgewear.scenario.models.scenario import Option, Scenario

ALIKE_M = 0.05
"""Drops that differ by less than this are alike [m]."""


Depths = Mapping[str, Mapping[int, Sequence[float]]]
"""Person -> step -> the depth at which they hang at its end [m], of a repeat several."""


@dataclass(frozen=True)
class _Fall:
    """A catch at the end of one step."""

    step: int
    depth_m: float
    stands: Standing
    moved: figures.Transfer

    @property
    def drop_m(self) -> float:
        return self.moved.drop_m


def work_depth(laid: Layout, section: Section) -> float:
    """Return the depth of the work in a section; its deepest use where nobody stays [m]."""
    depths = laid.profiles[section.person]
    top = max(section.top_m, depths.highest_m)
    bottom = max(min(section.bottom_m, depths.deepest_m), top)
    stays = [s for s in depths.stays if top <= s.depth_m <= bottom]
    works = [s.depth_m for s in stays if s.in_place]
    return max(works or [s.depth_m for s in stays], default=bottom)


def transfers(
    scenario: Scenario, option: Option, laid: Layout, depths: Depths | None = None
) -> tuple[Caught, ...]:
    """Return drop, swing, peak force and clearance when the safety line takes over.

    With the load and the protection that the person has at the end of each step. Of the steps
    with one load two are told: the deepest, and the one with the longest drop if that is longer.

    Parameters: `depths`: person -> step -> where a run has them hang at its end [m], sunk by what
    the rope stretches; None: as planned, on a rope that does not stretch.
    """
    return tuple(
        _caught(scenario, section, fall)
        for section in laid.sections
        if section.role == "safety line"
        for fall in _told(list(_falls(scenario, option, laid, section, depths or {})))
    )


def _falls(
    scenario: Scenario, option: Option, laid: Layout, section: Section, depths: Depths
) -> Iterator[_Fall]:
    """Give a catch at each place that differs in depth, load or protection."""
    known = set()
    hung = places(scenario, section.person, depths.get(section.person, {}))
    ends = tuple(End(*place) for place in hung) or laid.profiles[section.person].ends
    ends = ends or (End(0, work_depth(laid, section)),)
    used = [end for end in ends if section.top_m <= end.depth_m < section.bottom_m]
    for step, depth_m, made in used or [ends[-1]._replace(depth_m=work_depth(laid, section))]:
        stands = standing(scenario, option, section.person, step, made)
        if (round(depth_m, 2), stands) in known:
            continue
        known.add((round(depth_m, 2), stands))
        rigged = protected(option, section, stands.placed)
        moved = figures.transfer(scenario, option, rigged, depth_m, mass_kg=stands.mass_kg)
        yield _Fall(step, depth_m, stands, moved)


def _told(falls: Sequence[_Fall]) -> Iterator[_Fall]:
    """Give, of those with one load, the deepest and the one with the longest drop."""
    for mass_kg in dict.fromkeys(fall.stands.mass_kg for fall in falls):
        mine = [fall for fall in falls if fall.stands.mass_kg == mass_kg]
        deepest = max(mine, key=lambda fall: fall.depth_m)
        longest = max(mine, key=lambda fall: fall.drop_m)
        yield deepest
        if longest.drop_m > deepest.drop_m + ALIKE_M:
            yield longest


def _caught(scenario: Scenario, section: Section, fall: _Fall) -> Caught:
    moved, drop_m = fall.moved, _finite(fall.drop_m)
    careful_m = _finite(moved.careful_drop_m)
    gaps = rooms_m(scenario, fall.depth_m, moved.careful_drop_m)
    return Caught(
        person=section.person,
        line=section.line,
        step=fall.step,
        mass_kg=fall.stands.mass_kg or 0.0,
        carried=fall.stands.carried,
        depth_m=fall.depth_m,
        over=moved.over,
        drop_m=drop_m,
        swing_m=moved.swing_m,
        peak_n=moved.peak_n,
        through_device_m=_finite(moved.slip_m),
        clearance_m={name: _finite(gap) for name, gap in gaps.items()},
        beyond=beyond_limits(scenario, moved.careful_drop_m, moved.careful_peak_n, careful=True),
        drop_careful_m=careful_m,
        peak_careful_n=moved.careful_peak_n,
        made_of=moved.made_of if drop_m is not None else None,
    )


def long_catches(found: Sequence[Caught]) -> tuple[LongCatch, ...]:
    """Return which catches are longer or harder than they should be."""
    every = (LongCatch(one.who, above, one.made_of) for one in found for above in one.beyond)
    return tuple({one.words: one for one in every}.values())  # those that read alike, once


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None
