"""Work in place: nothing is pushed that nobody said, and what is assumed is said."""

from __future__ import annotations

import pytest

from edgewear.case import compile_case
from edgewear.engine.run_job import record_tape
from edgewear.errors import ScenarioError
from edgewear.layout import TICK_S, Kind
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import Scenario, load_text, summary
from edgewear.scenario.read.libraries import built_in
from edgewear.validation.bench_tests import HOUR
from edgewear.validation.observations import row_of
from edgewear.validation.trade_tests import T8

TASKS = sorted(built_in()["tasks"])


def hour(work: str) -> Scenario:
    """The hour of work, told in other words."""
    return load_text(HOUR.replace("work: 60 min", f"work: {work}"), "hour")


def moved(scenario: Scenario) -> dict[str, float]:
    """How the person moves, and for how long they move and hang still [s]."""
    tape = record_tape(scenario, compile_case(scenario, "bare"))
    mine = tape[tape["step"] == 3]
    (row,) = mine[mine["kind"] == Kind.WORK]
    still = mine[mine["kind"] == Kind.HOLD]["duration_ticks"].sum() * TICK_S
    fields = ("bounce_m", "bounce_hz", "sway_m", "sway_hz", "tool_n")
    return {**{f: float(row[f]) for f in fields}, "still_s": float(still),
            "moves_s": float(row["duration_ticks"] * TICK_S)}  # fmt: skip


@pytest.mark.parametrize(
    "work",
    ["60 min", "{for: 60 min, tool: 0 N}", "{for: 60 min, tool: 0 N, bounce: 0 mm, sway: 20 cm}"],
)
def test_no_tool_and_no_bounce_unless_said(work: str) -> None:
    found = moved(hour(work))
    assert found["tool_n"] == found["bounce_m"] == 0.0
    assert found["moves_s"] + found["still_s"] == 3600.0


def test_a_duty_typed_is_kept() -> None:
    found = moved(hour("{for: 60 min, duty: 25 %}"))
    assert (found["moves_s"], found["still_s"]) == (900.0, 2700.0)


@pytest.mark.parametrize("task", TASKS)
def test_a_task_brings_its_numbers_and_what_is_typed_wins(task: str) -> None:
    scenario = hour(f"{{for: 60 min, task: {task}}}")
    found, own = moved(scenario), scenario.tasks[task]
    assert (found["tool_n"], found["bounce_m"]) == (own.tool.value, own.bounce.value)
    assert found["moves_s"] == pytest.approx(3600 * own.duty.value, abs=TICK_S)
    assert moved(hour(f"{{for: 60 min, task: {task}, tool: 33 N}}"))["tool_n"] == 33.0
    # each value of a task that is not nothing has a range and says where it comes from
    for word, entry in built_in()["tasks"][task].items():
        assert entry in ("0 mm", "0 N") or {"value", "low", "high", "pedigree"} <= set(entry), word


def test_an_unknown_task_is_refused_with_the_word_that_may_be_meant() -> None:
    with pytest.raises(ScenarioError, match="did you mean 'hand drilling'"):
        hour("{for: 60 min, task: hand driling}")


def test_check_and_the_facts_say_everything_that_is_assumed() -> None:
    scenario = hour("{for: 60 min, task: grinding, tool: 80 N}")
    said = "\n".join(summary(scenario))
    assert "assumed: bounce 5 mm (2 mm to 15 mm)" in said
    assert "tool" not in said.split("assumed: ")[1].splitlines()[0]  # typed
    rows = {row.what: row for row in facts(scenario, "bare").work}
    assert set(rows) == {"bounce", "bounce rate", "sway", "sway rate", "tool", "duty"}
    assert (rows["tool"].said, rows["tool"].value) == ("step", 80.0)
    assert (rows["duty"].said, rows["duty"].low, rows["duty"].high) == ("task", 0.3, 0.8)
    assert rows["duty"].address == "tasks/grinding/duty"
    usual = {row.what: row.said for row in facts(hour("60 min"), "bare").work}
    assert set(usual.values()) == {"usual"}


def test_what_is_assumed_of_work_is_drawn() -> None:
    case = compile_case(hour("{for: 60 min, task: grinding, tool: 80 N}"), "bare")
    names = {u.name for u in case.uncertainties}
    assert {"tasks/grinding/bounce", "tasks/grinding/duty", "tasks/grinding/sway"} <= names
    assert "tasks/grinding/tool" not in names


def test_an_hour_of_ordinary_work_over_padded_edges_leaves_the_rope_fit() -> None:
    # common practice, no published source: such a rope goes back to work
    row = row_of(T8, 64, 0)
    assert row.ok
    assert row.p95 is not None
    assert row.p95 < 0.5  # also the careful end
