"""What a comparison says: every option's place, margin and the reasons, ready to be printed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from edgewear.dataset.ranking.looks import Looks, WornAt
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.variance_split import SpreadShares
from edgewear.findings.outside import Outside
from edgewear.findings.standing import behind, group_of, lacks_of
from edgewear.terms import LEVELS

SCHEMA = "edgewear.compare/1"

TOP_MARGIN = 0.9999
"""A line that was loaded over an edge never shows more sheath left than this."""


class Documented(Protocol):
    """Anything of a ranking that can be put into a document."""

    def as_json(self) -> Mapping[str, Any]:
        """It as a JSON object."""


@dataclass(frozen=True)
class Quantiles:
    """5th, 50th and 95th percentile; None where it falls among runs that never showed the value."""

    p5: float | None
    p50: float | None
    p95: float | None

    def as_json(self) -> dict[str, float | None]:
        """The three as a JSON object."""
        return {"p5": self.p5, "p50": self.p50, "p95": self.p95}


@dataclass(frozen=True)
class First:
    """When the core first shows, at the careful end: 5th and 50th percentile over all runs."""

    p5: float | None
    p50: float | None

    def as_json(self) -> dict[str, float | None]:
        """The two as a JSON object."""
        return {"p5": self.p5, "p50": self.p50}


@dataclass(frozen=True)
class CoreVisible:
    """When the core first shows, by the clock and by rope climbed."""

    time_s: First
    ascended_m: First

    def as_json(self) -> dict[str, dict[str, float | None]]:
        """Both as a JSON object."""
        return {"time_s": self.time_s.as_json(), "ascended_m": self.ascended_m.as_json()}


@dataclass(frozen=True)
class PairedChance:
    """How often an option beats the one after it when both meet the same trials."""

    other: str
    chance: float  # share of trials, a tie counted half
    error: float  # Monte Carlo standard error of it
    told_apart: bool
    replicates_to_settle: int | None  # None: told apart already, or no number would settle it
    words: str

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {
            "other": self.other,
            "chance": self.chance,
            "error": self.error,
            "told_apart": self.told_apart,
            "replicates_to_settle": self.replicates_to_settle,
            "words": self.words,
        }


@dataclass(frozen=True)
class EdgeSummary:
    """What one edge does to one line over all trials of an option (medians unless said)."""

    line: str
    role: str  # working line, safety line
    edge: str
    protection: str | None
    level: str  # control level at this edge; "" where the line is not loaded
    wrap_deg: float
    strokes: float
    stuck_share: float | None  # of the strokes, inside the stick band; None: no strokes
    sawing_amplitude_m: float
    travel_per_stroke_m: float | None  # end to end, within a stroke; None: no strokes
    mark_travel_m: Quantiles  # percentiles within a job, medians over the trials
    slip_m: float
    energy_j: float
    peak_tension_n: float
    flash_temperature_c: float | None  # None: most trials have no figure
    demand_max: float
    worst_share: float  # share of the trials in which this is the option's worst edge
    mark_stop_m: float | None = None  # a mark that travels further says: stop, the forecast is off
    worn_at: tuple[WornAt, ...] = ()  # a third, two thirds, core visible, by this edge alone
    demand_careful: float | None = None  # of the one or two trials that the margin's p5 is made of
    worst_share_careful: float | None = None  # of the trials around it, with the worst place here
    sideways_careful: float | None = None  # of `demand_careful`, by travel along the edge at most

    @property
    def decides(self) -> tuple[float, float]:
        """How much of the careful end is this edge's doing; the middle's where nobody told."""
        share, demand = self.worst_share_careful, self.demand_careful
        return (
            self.worst_share if share is None else share,
            self.demand_max if demand is None else demand,
        )

    def as_json(self, wear: bool = True) -> dict[str, Any]:
        """All of it as a JSON object; without wear where no wear number may be given."""
        values = dict(vars(self))
        values["mark_travel_m"] = self.mark_travel_m.as_json()
        values["worn_at"] = [worn.as_json() for worn in self.worn_at]
        none: dict[str, object] = {"demand_max": None, "worst_share": None, "worn_at": []}
        none |= dict.fromkeys(("demand_careful", "worst_share_careful", "sideways_careful"))
        return values if wear else {**values, **none}


@dataclass(frozen=True)
class Fact:
    """One thing computed from the trials that explains a place."""

    label: str
    words: str

    def as_json(self) -> dict[str, str]:
        """Both as a JSON object."""
        return {"label": self.label, "words": self.words}


@dataclass(frozen=True)
class BridgeStep:
    """One change on the way from the poorer option to the better one, and what it is worth."""

    change: str
    margin_before: float | None  # nominal, nobody reacting
    margin_after: float | None
    careful_before: float | None = None  # middle of the trials at the poorer one's careful end
    careful_after: float | None = None  # of the same trials

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return dict(vars(self))


@dataclass(frozen=True)
class OptionResult:
    """One option's place in a comparison and everything that is said about it."""

    name: str
    order: int  # from 1; equal margins share it
    rank: int | None  # among those that meet the target; None otherwise
    status: tuple[str, ...]
    control: str
    why_not_higher: dict[str, str]  # control level above -> reason recorded, or "not recorded"
    margin: Quantiles | None  # None: cutting edge, no wear number is given
    margin_error: Quantiles | None  # Monte Carlo standard error of each
    step_error: float | None  # change of the nominal margin at half the step; None: not measured
    p_core_visible: float | None  # share of the trials; None: cutting edge
    p_core_visible_words: str  # "below 3/256" when none of 256 showed it
    p_best: float | None  # chance of coming out first, ties shared; None: not compared
    p_best_error: float | None
    beats_next: PairedChance | None
    core_visible_at: CoreVisible | None
    residual_strength_n: Quantiles | None
    why: str  # one or two sentences
    anchor_peak_n: Quantiles
    peak_tension_n: Quantiles
    stretch_m: Quantiles
    frequency_sliding_hz: float | None  # medians
    frequency_stuck_hz: float | None
    stroke_hz: float | None
    trials: int
    failed: int  # trials that could not be computed
    failed_reasons: tuple[str, ...]
    extrapolated: tuple[str, ...]  # inputs outside the domain of the observations
    energy_residual_max: float
    edges: tuple[EdgeSummary, ...]
    facts: dict[str, Any] = field(default_factory=dict)  # what rigging says: drawing, sections ...
    why_facts: tuple[Fact, ...] = ()
    looks: Looks | None = None
    spread: SpreadShares | None = None  # of the margin; None: cannot be told
    bridge: tuple[BridgeStep, ...] = ()  # from this option to the one before it in the order
    parts: tuple[Part, ...] = ()  # what else can fail, nearest to its limit first
    unfinished: int = 0  # trials in which somebody's plan ended before its last step
    unfinished_step: int | None = None  # the first such step of any trial
    unfinished_reasons: tuple[str, ...] = ()  # of ropes that were used up, each once

    @property
    def outside(self) -> tuple[Outside, ...]:
        """Inputs outside the domain of the observations, with their distance, furthest first."""
        told = self.facts.get("outside", ())
        fields = ("address", "what", "of", "edge", "times", "far")
        return tuple(Outside(**{name: one[name] for name in fields}) for one in told)

    @property
    def worst_part(self) -> Part | None:
        """The part nearest to its limit; a catch that `mind` tells of comes last."""
        others = [part for part in self.parts if part.kind != "backup device"]
        return next(iter([*others, *self.parts]), None)

    @property
    def named_parts(self) -> tuple[Part, ...]:
        """The parts to name beside the status: all above their limit, people on one anchor, worst.

        Catches above their limit stand in `mind`.
        """
        others = [part for part in self.parts if part.kind != "backup device"]
        shared = [part for part in others if len(part.people) > 1 and part.unit == "N"]
        named = [part for part in others if part.over or part.kind == "bypass sling"]
        worst = [] if self.worst_part is None else [self.worst_part]
        return tuple(dict.fromkeys([*named, *worst, *shared]))

    @property
    def group(self) -> int:
        """0 meets the target, 1 misses it, 2 not acceptable, 3 cutting edge."""
        return group_of(self.status)

    @property
    def lacks(self) -> tuple[str, ...]:
        """What is against the option even where it meets the target."""
        return lacks_of(self.status)

    @property
    def behind(self) -> int:
        """What puts it behind others of its group, before its level."""
        return behind(self.status)

    @property
    def level(self) -> int:
        """Place of the option's control level in the hierarchy, 0 best."""
        return LEVELS.index(self.control)

    def as_json(self) -> dict[str, Any]:
        """The option as `compare --json` prints it."""
        return {
            "name": self.name,
            "order": self.order,
            "rank": self.rank,
            "status": list(self.status),
            "control": self.control,
            "why_not_higher": dict(self.why_not_higher),
            "margin": _json(self.margin),
            "margin_error": _json(self.margin_error),
            "step_error": self.step_error,
            "p_core_visible": self.p_core_visible,
            "p_core_visible_words": self.p_core_visible_words,
            "p_best": self.p_best,
            "p_best_error": self.p_best_error,
            "beats_next": _json(self.beats_next),
            "core_visible_at": _json(self.core_visible_at),
            "residual_strength_n": _json(self.residual_strength_n),
            "why": self.why,
            "mind": [str(text) for text in self.facts.get("mind", ())],
            "anchor_peak_n": self.anchor_peak_n.as_json(),
            "stretch_m": self.stretch_m.as_json(),
            "trials": self.trials,
            "failed": self.failed,
            "unfinished": self.unfinished,
            "unfinished_step": self.unfinished_step,
            "unfinished_reasons": list(self.unfinished_reasons),
            "ended_early": list(self.facts.get("ended_early", ())),
            "extrapolated": list(self.extrapolated),
            "outside": [one.as_json() for one in self.outside],
            "edges": [edge.as_json(wear=self.group < 3) for edge in self.edges],
            "why_facts": [fact.as_json() for fact in self.why_facts],
            "looks": _json(self.looks),
            "spread": None if self.spread is None else self.spread._asdict(),
            "bridge": [step.as_json() for step in self.bridge],
            "parts": [part.as_json() for part in self.parts],
            "worst_part": _json(self.worst_part),
        }


@dataclass(frozen=True)
class Ranking:
    """A comparison's result: the options in order, and what has to be said above them."""

    title: str
    setting: str  # industrial, alpine or test
    seed: int
    replicates: int
    target: float
    headline: str
    options: tuple[OptionResult, ...]  # in order
    dataset: str  # path of the folder
    report: str | None  # path of the page; None: no page was written
    cautions: tuple[str, ...]
    notes: tuple[str, ...]  # e.g. which options cannot be told apart
    scenario: dict[str, Any]  # resolved, SI
    scenario_text: str  # as read
    scenario_sha256: str
    provenance: dict[str, Any]  # versions, model, cpu target
    words: tuple[dict[str, Any], ...] = ()  # address, typed, meaning, low, high, unit, source
    parameters: tuple[dict[str, Any], ...] = ()  # address, value, low, high, unit, pedigree

    def option(self, name: str) -> OptionResult:
        """The option called `name`; raises KeyError when there is none."""
        for option in self.options:
            if option.name == name:
                return option
        raise KeyError(name)

    def as_json(self) -> dict[str, Any]:
        """The ranking as `compare --json` prints it."""
        return {
            "schema": SCHEMA,
            "title": self.title,
            "setting": self.setting,
            "seed": self.seed,
            "replicates": self.replicates,
            "target": self.target,
            "headline": self.headline,
            "options": [option.as_json() for option in self.options],
            "dataset": self.dataset,
            "report": self.report,
            "cautions": list(self.cautions),
            "notes": list(self.notes),
        }


def sheath_left(margin: float | None, touched: bool = True) -> str:
    """A margin as "sheath left" in whole per cent, rounded down, never 100 % after a contact."""
    if margin is None:
        return "none given"
    percent = math.floor(margin * 100 + 1e-9)
    if touched and percent >= 100:
        percent = 99
    return f"{percent} %"


def chance_words(count: int, trials: int) -> str:
    """A share of trials as a rigger reads it."""
    if trials == 0:
        return "no trials"
    if count == 0:
        return none_of(trials)
    return f"{count} of {trials}"


def none_of(trials: int) -> str:
    """Say what none of N trials tells: "below 3/N"; three trials or fewer tell no share."""
    return f"below 3/{trials}" if trials > 3 else f"none of {trials}"


def _json(one: Documented | None) -> Mapping[str, Any] | None:
    return None if one is None else one.as_json()
