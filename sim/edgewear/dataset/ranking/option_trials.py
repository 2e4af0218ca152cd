"""The trials of each option of a comparison, and what puts an option in its place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import terms
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.parts import parts_of
from edgewear.dataset.ranking.statistics import careful, counted_in, dense_places, quantile
from edgewear.dataset.schema import arrays_of
from edgewear.findings.failure import without_room
from edgewear.terms import FAILED, WORKING

if TYPE_CHECKING:
    from edgewear.dataset.reading import Dataset

Columns = dict[str, NDArray[Any]]

NOT_COMPUTED, PARTED, UNFINISHED, HELD = 0, 1, 2, 3

CAREFUL = 0.05
"""The percentile that decides, and the share of the trials around it that explain it."""


class CarefulEnd(NamedTuple):
    """What puts an option in its place at the 5th percentile; a higher one is better."""

    grade: int  # NOT_COMPUTED, PARTED, UNFINISHED or HELD
    value: float  # HELD: margin; PARTED: rope climbed by then [m]; UNFINISHED: less its share


MOST = ("wrap_deg", "peak_tension_n", "flash_temperature_c", "cover_energy_j", "cover_slip_m",
        "bypassed_demand")  # fmt: skip
SOONEST = tuple(
    f"{what}_{when}"
    for what in ("third_worn", "two_thirds_worn", "core_visible")
    for when in ("time_s", "ascended_m")
)
"""What counts of any rope that lay at an edge, if it was swapped; NaN where there is nothing."""


@dataclass(frozen=True)
class Sample:
    """The trials of one option, in the order of the replicates."""

    name: str
    runs: Columns
    edges: Columns
    rigged: Mapping[str, Any]

    @cached_property
    def at_edges(self) -> Columns:
        """The edges with one row a run, line and edge: of several ropes the one worn most there.

        With the most and the first of any of them: forces, use of covers, moments of wear.
        """
        rows: dict[tuple[int, str, str], list[int]] = {}
        for at, key in enumerate(
            zip(*(self.edges[n] for n in ("run", "line", "edge")), strict=True)
        ):
            rows.setdefault(key, []).append(at)
        if len(rows) == len(self.edges["run"]):
            return self.edges
        groups = list(rows.values())
        worn = [max(some, key=lambda at: self.edges["demand_max"][at]) for some in groups]
        found = {name: column[worn] for name, column in self.edges.items()}
        for names, whole in ((MOST, np.fmax), (SOONEST, np.fmin)):
            for name in names:
                found[name] = np.array([whole.reduce(self.edges[name][some]) for some in groups])
        return found

    @property
    def ok(self) -> NDArray[np.bool_]:
        """(n,) whether the trial could be computed."""
        return np.asarray(self.runs["status"] != FAILED)

    @property
    def unfinished(self) -> NDArray[np.bool_]:
        """(n,) whether somebody's plan ended before its last step; older datasets do not tell."""
        return np.asarray(self.ok & (self.runs["unfinished_step"] > 0.0))

    @property
    def margins(self) -> NDArray[np.float64]:
        """(n,) sheath margin; minus infinity where it could not be computed, or is of a part.

        A line that parts has none left, whatever of the plan was still to come.
        """
        whole = ~self.unfinished | ~np.isnan(self.runs["parted_time_s"])
        return careful(self.runs["sheath_margin"], self.ok & whole)

    @property
    def told(self) -> NDArray[np.bool_]:
        """(n,) trials whose wear is told: those of the whole plan, where there are any."""
        whole = np.isfinite(self.margins)
        return whole if whole.any() else self.ok

    @property
    def grades(self) -> NDArray[np.int64]:
        """(n,) NOT_COMPUTED, PARTED, UNFINISHED or HELD."""
        held = np.where(self.unfinished, UNFINISHED, HELD)
        held = np.where(np.isnan(self.runs["parted_time_s"]), held, PARTED)
        computed = self.ok & np.isfinite(self.runs["sheath_margin"])
        return np.where(computed, held, NOT_COMPUTED).astype(np.int64)

    @property
    def values(self) -> NDArray[np.float64]:
        """(n,) what orders the trials inside their grade."""
        grades = self.grades
        parted = np.where(grades == PARTED, self.runs["parted_ascended_m"], 0.0)
        return np.where(grades == HELD, self.margins, parted)

    def careful_end(self) -> CarefulEnd:
        """The grade and value at the 5th percentile, the worst trials first."""
        order = np.lexsort((self.values, self.grades))
        lowest = int(self.grades[order][int(0.05 * (order.size - 1))]) if order.size else 0
        if lowest == NOT_COMPUTED:
            return CarefulEnd(NOT_COMPUTED, 0.0)
        if lowest == UNFINISHED:
            return CarefulEnd(UNFINISHED, -float(self.unfinished.mean()))
        if lowest == PARTED:
            parted = self.values[self.grades == PARTED]
            return CarefulEnd(PARTED, float(np.median(parted)))
        value = quantile(self.margins, 0.05)
        return CarefulEnd(HELD, value) if value is not None else CarefulEnd(NOT_COMPUTED, 0.0)

    @property
    def careful_trials(self) -> NDArray[np.bool_]:
        """(n,) the trials around the 5th percentile, a twentieth of them: what decides the order.

        Those that could not be computed are none of them: they say nothing of what wears. Nor are
        those that did not finish, where others did: they say it of a part.
        """
        order = np.lexsort((self.values, self.grades))
        whole = order[np.isin(self.grades[order], (PARTED, HELD))]
        order = whole if whole.size else order[self.grades[order] == UNFINISHED]
        found = np.zeros(self.ok.size, bool)
        if order.size:
            many = max(round(CAREFUL * self.ok.size), 1)
            failed = self.ok.size - order.size
            first = max(int(CAREFUL * (self.ok.size - 1)) - failed - many // 2, 0)
            found[order[first : first + many]] = True
        return found

    @property
    def careful_counts(self) -> NDArray[np.float64] | None:
        """(n,) how much each trial counts in the careful end of the margin; None: it is none."""
        return counted_in(self.margins, CAREFUL)

    @property
    def touched(self) -> bool:
        """Whether the loaded working line lay over an edge in any trial."""
        working = _lines(self.rigged, WORKING)
        bent = (self.edges["wrap_deg"] > 0) & (self.edges["peak_tension_n"] > 0)
        return bool((bent & np.isin(self.edges["line"], list(working))).any())


def samples_of(dataset: Dataset) -> list[Sample]:
    """Read the trials of every option, in the order of the scenario."""
    plan = arrays_of(dataset.plan(["run", "option", "replicate"]))
    runs, edges = arrays_of(dataset.runs()), arrays_of(dataset.edges())
    samples = []
    for name, rigged in dataset.resolved["options"].items():
        mine = plan["run"][plan["option"] == name]
        of_run = np.isin(runs["run"], mine)
        at_edge = np.isin(edges["run"], mine)
        samples.append(
            Sample(
                name,
                {key: column[of_run] for key, column in runs.items()},
                {key: column[at_edge] for key, column in edges.items()},
                rigged,
            )
        )
    return samples


def places_of(samples: Sequence[Sample]) -> NDArray[np.int64]:
    """Number the outcomes of several options so that a higher number is the better one.

    Returns:
        (options, n)
    """
    grades = np.stack([sample.grades for sample in samples])
    return dense_places(grades, np.stack([sample.values for sample in samples]))


def _lines(rigged: Mapping[str, Any], role: str) -> set[str]:
    return {s["line"] for s in rigged["sections"] if s["role"] == role}


def statuses_of(
    sample: Sample, target: float, parts: Sequence[Part] | None = None
) -> tuple[str, ...]:
    """Give the statuses of an option, the one that decides its group first.

    Parameters:
        sample: its trials.
        target: sheath left at the careful end that was asked for [1].
        parts: what else can fail; one above its limit costs the target. Told by the trials if left
            out.
    """
    if parts is None:
        parts = parts_of(sample.runs, sample.at_edges, sample.rigged)
    over = any(part.counts for part in parts)
    rigged = list(sample.rigged["status"])
    margin = quantile(sample.margins, 0.05)
    held = sample.careful_end().grade == HELD
    if terms.CUTTING in rigged or terms.NOT_ACCEPTABLE in rigged:
        first = [s for s in (terms.CUTTING, terms.NOT_ACCEPTABLE) if s in rigged]
    elif margin is not None and margin >= target and held and not over and not _breaks_off(sample):
        first = [terms.MEETS]
    else:
        first = [terms.MISSES]
    more = []
    if terms.CUTTING not in rigged:
        more += _not_finished(sample)
        more += [terms.LINE_LOST] * _lost(sample, margin)
    more += [terms.OVER_LIMIT] * over
    more += [terms.NO_ROOM] * without_room(sample.rigged.get("doubts", ()))
    more += rigged
    runs = sample.runs
    if extrapolated_in(sample):
        more.append(terms.EXTRAPOLATED)
    if (runs["reason"] == terms.WINDOW_FULL).any():
        more.append(terms.WINDOW_FULL)
    if not sample.ok.all():
        more.append(terms.FAILED)
    return tuple(dict.fromkeys(first + more))


def _breaks_off(sample: Sample) -> bool:
    """Whether somebody's plan ends early with middle values, or at the careful end."""
    grade = sample.careful_end().grade
    some = bool(sample.unfinished.any()) and grade == NOT_COMPUTED
    return bool(sample.rigged.get("ended_early")) or grade in (PARTED, UNFINISHED) or some


def _not_finished(sample: Sample) -> list[str]:
    if _breaks_off(sample):
        return [terms.UNFINISHED]
    return [terms.NOT_ALWAYS] * bool(sample.unfinished.any())


def _lost(sample: Sample, margin: float | None) -> bool:
    """Whether the core shows, or the line parts, at the careful end.

    Where that end falls among trials that could not be computed, or that did not finish, one
    computed trial is enough, and without one nothing was seen of any core: the option misses its
    target, but for another reason.
    """
    grade = sample.careful_end().grade
    if grade in (NOT_COMPUTED, UNFINISHED):
        worn = sample.ok & (sample.runs["sheath_margin"] <= 0)
        return bool(worn.any() or (sample.grades == PARTED).any())
    return margin is None or margin <= 0 or grade == PARTED


def extrapolated_in(sample: Sample) -> tuple[str, ...]:
    """Inputs outside the observations in at least half of the trials that could be computed.

    Few trials reach anywhere; one that failed says nothing of what it would have met.
    """
    texts = sample.runs["extrapolated"][sample.ok].tolist()
    counted = Counter(
        name for text in texts for name in {part.strip() for part in text.split(",")} - {""}
    )
    return tuple(sorted(name for name, times in counted.items() if 2 * times >= len(texts)))
