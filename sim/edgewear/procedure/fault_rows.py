"""What the runs with faults come to: rows of the table, the weakest steps, the worst of all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from math import inf
from statistics import median
from typing import Any, NamedTuple

from edgewear.findings.fates import Fates
from edgewear.findings.faults import Baseline, FaultRow, Soonest, Spread, StepRow
from edgewear.percentiles import HIGH, LOW, MIDDLE, kept_to, known
from edgewear.procedure.fates import HANGS
from edgewear.procedure.fault_plan import Wanted
from edgewear.procedure.fault_runs import Trial


class Came(NamedTuple):
    """Runs in which the fault came about, each with the run of the same world without it."""

    fates: list[Trial]
    without: list[Trial]


class Rows:
    """Reads the rows of a `faults` document out of the fates of all runs."""

    def __init__(
        self,
        plan: Sequence[Wanted],
        fates: Sequence[Sequence[Trial]],
        steps: Mapping[tuple[str, int], str],
    ) -> None:
        """Keep what was run."""
        self.plan, self.fates, self.steps = list(plan), list(fates), dict(steps)
        self._without = list(fates[0])

    def baseline(self) -> Baseline:
        """The procedure with nothing wrong."""
        fates = [fate for fate in self._without if not fate.failed]
        margins = [f.margin for f in fates]
        return Baseline(_spread(margins), _share(fates, _core_shows), len(fates))

    def faults(self) -> tuple[FaultRow, ...]:
        """Every fault alone, then every pair."""
        return tuple(
            FaultRow(**self._row(index, wanted))
            for index, wanted in enumerate(self.plan)
            if wanted.faults and not wanted.step
        )

    def table(self) -> tuple[StepRow, ...]:
        """Every fault at every step."""
        return tuple(
            StepRow(
                fault=wanted.names[0],
                person=wanted.person,
                step=wanted.step,
                words=wanted.inside or self.steps.get((wanted.person, wanted.step), ""),
                **self._row(index, wanted),
            )
            for index, wanted in enumerate(self.plan)
            if wanted.step
        )

    def weakest(self) -> tuple[StepRow, ...]:
        """Each step with the fault that costs most there, the weakest step first."""
        best: dict[tuple[str, int], StepRow] = {}
        for row in self.table():
            key = row.person, row.step
            if row.trials and (key not in best or _badness(row) > _badness(best[key])):
                best[key] = row
        ordered = sorted(best.values(), key=_badness, reverse=True)
        return tuple(row for row in ordered if _costs(row))

    def worst(self, fates: Sequence[Fates]) -> int:
        """The combination with the worst outcome: for people first.

        Parameters:
            fates: of the people in each combination.
        """
        rows = [
            (fates[index].gravity, _badness(FaultRow(**self._row(index, wanted))), -index)
            for index, wanted in enumerate(self.plan)
            if wanted.faults and not wanted.step
        ]
        return -max(rows)[-1] if rows else 0

    def _row(self, index: int, wanted: Wanted) -> dict[str, Any]:
        """Fields of `FaultRow`, by name because two classes take them."""
        came, every = self._came(index), self.fates[index]
        fates = came.fates
        lost = [before.margin - fate.margin for fate, before in zip(*came, strict=True)]
        seen = Counter(f.seen_by for f in fates if f.seen_by)
        return {
            "names": wanted.names,
            "trials": len(fates),
            "failed": sum(1 for f in every if f.failed),
            "did_not_come": sum(1 for f in every if not f.failed and f.fault_s == inf),
            "margin_lost": median(lost) if lost else None,
            "margin": _spread([f.margin for f in fates]),
            "p_core_visible": _share(fates, _core_shows),
            "p_parted": _share(fates, lambda f: f.parted_s < inf),
            "p_nothing_holds": _share(fates, lambda f: f.fell),
            "p_left_hanging": _share(fates, lambda f: HANGS in f.gravity),
            "fault_to_core_visible_s": _soonest([_until_core(f) for f in fates]),
            "seen_by": seen.most_common(1)[0][0] if seen else None,
            "seen_share": sum(seen.values()) / len(fates) if fates else None,
            "seen_after_share": _share(fates, lambda f: f.seen_s < inf),
            "time_to_act_s": _soonest([_to_act(f) for f in fates]),
            "worst_place": Counter(f.worst for f in fates).most_common(1)[0][0] if fates else None,
        }

    def _came(self, index: int) -> Came:
        pairs = [
            (fate, before)
            for fate, before in zip(self.fates[index], self._without, strict=False)
            if fate.fault_s < inf and not fate.failed and not before.failed
        ]
        return Came([fate for fate, _ in pairs], [before for _, before in pairs])


def _until_core(fate: Trial) -> float:
    """From the fault to the core showing [s]; the core may show before a fault: then at once."""
    return max(fate.core_s - fate.fault_s, 0.0)


def _to_act(fate: Trial) -> float:
    """From somebody seeing it to the core showing [s]; nothing if nobody sees it before."""
    if fate.core_s == inf:
        return inf
    return max(fate.core_s - fate.seen_s, 0.0)


def _core_shows(fate: Trial) -> bool:
    return fate.core_s < inf


def _share(fates: Sequence[Trial], true: Callable[[Trial], bool]) -> float | None:
    return sum(1 for f in fates if true(f)) / len(fates) if fates else None


def _spread(values: Sequence[float]) -> Spread | None:
    if not values:
        return None
    return Spread(*(kept_to(values, share) for share in (LOW, MIDDLE, HIGH)))


def _soonest(times_s: Sequence[float]) -> Soonest:
    """The time that 19 of 20 do not come before; none where it falls among those that never do."""
    return Soonest(known(kept_to(times_s, LOW)) if times_s else None)


def _badness(row: FaultRow) -> tuple[float, ...]:
    """Order of rows: lives, then the core, then the sheath, then how soon."""
    soon = row.fault_to_core_visible_s.p5
    return (
        row.p_nothing_holds or 0.0,
        row.p_left_hanging or 0.0,
        row.p_parted or 0.0,
        row.p_core_visible or 0.0,
        row.margin_lost if row.margin_lost is not None else -inf,
        -(soon if soon is not None else inf),
    )


def _costs(row: FaultRow) -> bool:
    """Tell whether a fault at a step changes anything."""
    lost, lives = row.margin_lost, row.p_nothing_holds or row.p_left_hanging
    return bool(lives or row.p_core_visible or (lost and lost > 0.0))
