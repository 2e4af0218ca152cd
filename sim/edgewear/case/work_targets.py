"""Where the numbers of work in place go on a tape: those of a step, a task, or the usual ones."""

from __future__ import annotations

from edgewear.case.model import How, Target
from edgewear.layout import TICK_S, Kind
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.steps import Swing, Work
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.working import beats, ways

MOVES = {
    "bounce": ("bounce_m",),
    "bounce_rate": ("bounce_hz",),
    "sway": ("sway_m",),
    "sway_rate": ("sway_hz",),
    "tool": ("tool_n",),
    "duty": ("duration_ticks", "cut_ticks"),
}
"""How somebody moves at work -> the fields of the movement."""


def work_targets(
    scenario: Scenario, people: tuple[str, ...]
) -> dict[str, tuple[Measured, list[Target]]]:
    """How people move at work in place; what a task or nothing stands for is one number everywhere.

    A step that repeats more than one work, or a swing, keeps its nominal numbers: on the tape they
    cannot be told apart.
    """
    found: dict[str, tuple[Measured, list[Target]]] = {}
    for row, name in enumerate(people):
        for number, step in enumerate(scenario.job.get(name, ()), start=1):
            moves = [s for s in leaves((step,)) if isinstance(s, Work | Swing)]
            if len(moves) != 1 or not isinstance(moves[0], Work):
                continue
            said = ways(scenario, moves[0], f"job/{name}/{number}")
            beating = beats(scenario, moves[0])
            for field, one in said.items():
                fields = MOVES[field]
                if field == "sway_rate" and not beating:
                    fields = ("sway_hz", "bounce_hz")
                if one.value.is_exact or (field == "bounce_rate" and not beating):
                    continue
                how: How = "scale" if field == "duty" else "set"
                targets = found.setdefault(one.address, (one.value, []))[1]
                targets += [Target("tape", (row, number), f, how=how) for f in fields]
                if field == "duty" and isinstance(step, Work):
                    lasts_ticks = moves[0].for_.value / TICK_S
                    still = Target(
                        "tape", (row, number, Kind.HOLD), "duration_ticks", how="shift",
                        power=-lasts_ticks,
                    )  # fmt: skip
                    targets.append(still)
    return found
