"""Wear of bypass slings: what the edge would have done to the rope, it does to them."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import mechanics
from edgewear.case import Batch, Case, Records
from edgewear.case.edge_conditions import BYPASS, Condition
from edgewear.engine.play import play
from edgewear.engine.player import Draws, Player, steady
from edgewear.engine.results.outcome import RunOutcome
from edgewear.layout import EDGE
from edgewear.rigging.findings.control import line_of
from edgewear.scenario.models.scenario import Scenario

HOLDS = 1e9
"""Factor on strength and core, so that nothing parts while only exposure is wanted."""

Place = tuple[int, int]
"""Section and edge."""


class SlingWear(NamedTuple):
    """A bypass sling after a run."""

    name: str  # kind and edge
    wear: float  # 1: what breaks a sheath of polyamide like the rope's
    retire: bool  # it carried the load over an edge
    peak_n: float  # largest tension beside the edge
    holds_n: float  # its weakest part, sling or clamps, at the low end


def sling_wear(
    scenario: Scenario, case: Case, tape: Records, draws: Draws = steady
) -> list[SlingWear]:
    """Wear of every sling that took an edge's wear from the rope.

    A sling is clamped to the line and moves with it, so it meets the edge as the rope would. The
    tape is played again with the wear put back, and what is then more at the edge is the sling's.

    Parameters:
        scenario, case: the option as it was played.
        tape: MOVEMENT (m,) of what was done.
        draws: the strokes' variation.
    """
    places = sorted({(c[0], c[1]) for c in case.conditions if c[2] == BYPASS})
    if not places:
        return []
    without = _met(case, tape, draws)
    with_wear = _met(replace(case, variants=_worn(scenario, case)), tape, draws)
    return [
        _sling(
            scenario,
            case,
            place,
            with_wear[place].exposure_j_m - without[place].exposure_j_m,
            without[place].peak_n,
        )
        for place in places
        if place in without
    ]


def _sling(
    scenario: Scenario,
    case: Case,
    place: Place,
    exposure: NDArray[np.float64],
    peak_n: float,
) -> SlingWear:
    row, edge = place
    section = case.rigged.sections[row]
    name = section.edges[edge].name
    sling = line_of(scenario.options[case.option], section).bypass[name]
    toughness = scenario.ropes[section.rope].sheath.toughness.value
    withstands = float(case.wear["sheath_j_m"][row]) / toughness
    largest = float(exposure.max(initial=0.0))
    return SlingWear(
        name=f"{sling.is_} at {name}",
        wear=largest / withstands,
        retire=largest > 0.0,
        peak_n=peak_n,
        holds_n=sling.holds_n,
    )


def _worn(scenario: Scenario, case: Case) -> Records:
    """Variants with the bare edge's severity, times the sling's, where a sling carries the load."""
    conditions = [Condition(*c) for c in case.conditions]
    changed = np.array(case.variants, EDGE)
    for index, condition in enumerate(conditions):
        if condition.cover == BYPASS:
            section = case.rigged.sections[condition.row]
            name = section.edges[condition.edge].name
            sling = line_of(scenario.options[case.option], section).bypass[name]
            bare = conditions.index(condition._replace(cover=None))
            changed["severity"][index] = case.variants["severity"][bare] * sling.severity.value
    return changed


class Slung:
    """What bypass slings keep from the rope, trial by trial.

    A sling meets the edge as the rope would: the tape is played again with the bare edge's wear put
    back, and what is then more at the edge is the sling's.

    Parameters:
        case: the option.
    """

    def __init__(self, case: Case) -> None:
        """Prepare lines that nothing wears through."""
        conditions = [Condition(*c) for c in case.conditions]
        self._bare = {
            variant: conditions.index(one._replace(cover=None))
            for variant, one in enumerate(conditions)
            if one.cover == BYPASS
        }
        self._places = {(conditions[v].row, conditions[v].edge) for v in self._bare}
        self._player = Player(case) if self._bare else None

    @property
    def replays(self) -> bool:
        """Whether there are slings, so that a run is played again."""
        return self._player is not None

    def write(
        self,
        batch: Batch,
        run: int,
        draws: Draws,
        done: RunOutcome,
        movements: Records | None = None,
    ) -> None:
        """Fill in the demand that slings kept from the rope of a run that was played.

        Parameters:
            batch, run, draws, movements: as they were played.
            done: what came out; rows of edges with a sling are written to.
        """
        if self._player is None:
            return
        variants, wear = batch.variants[run : run + 1].copy(), batch.wear[run : run + 1].copy()
        for variant, bare in self._bare.items():
            variants["severity"][0, variant] = variants["severity"][0, bare]
        wear["breaking_n"] *= HOLDS
        wear["core_j_m"] *= HOLDS
        once = batch.row(run, variants=variants, wear=wear)
        play(self._player, once, 0, draws, movements=movements)
        case = self._player.case
        for row, rope, buffers in self._player.pieces():
            demands = mechanics.demand_by_edge(buffers)
            for edge, name in enumerate(case.edge_names[row]):
                if (row, edge) in self._places:
                    here = (
                        (done.edges["line"] == case.line_names[row])
                        & (done.edges["rope"] == rope)
                        & (done.edges["edge"] == name)
                    )
                    left = np.maximum(demands[edge] - done.edges["demand_max"][here], 0.0)
                    done.edges["bypassed_demand"][here] = left


class _AtEdge(NamedTuple):
    exposure_j_m: NDArray[np.float64]  # of each cell, from this edge
    peak_n: float


def _met(case: Case, tape: Records, draws: Draws) -> dict[Place, _AtEdge]:
    """What the rope met at each edge of a section in use."""
    wear = case.wear.copy()
    wear["breaking_n"] *= HOLDS
    wear["core_j_m"] *= HOLDS
    player = Player(replace(case, wear=wear))
    play(player, player.case.batch(tape, {}, 1), draws=draws)
    found: dict[Place, _AtEdge] = {}
    for row, _, buffers in player.pieces():
        for edge, field in enumerate(mechanics.exposure_by_edge(buffers)):
            peak_n = float(buffers.sums["peak_n"][edge])
            before = found.get((row, edge))
            if before is not None:
                field, peak_n = np.maximum(field, before.exposure_j_m), max(peak_n, before.peak_n)
            found[row, edge] = _AtEdge(field, peak_n)
    return found
