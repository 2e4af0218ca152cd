"""What cannot be meant of a study is said before anything is written, where it stands."""

from __future__ import annotations

from itertools import product
from types import SimpleNamespace

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from edgewear.errors import Mismatch, ScenarioError, UsageError
from edgewear.scenario.checks.study_rules import GROUPS, _repeated
from edgewear.study.compare import compare
from edgewear.study.sweeping.prepared import prepare
from edgewear.study.sweeping.sweep import dry_run, sweep
from edgewear.study.worker_pool import Inline
from support.studies import SLEEVE

RADII = ["1 mm", "0.1 cm", "0.001 m", "3 mm", "0.3 cm", "3.0 mm", "2 mm"]


def said(path):
    with pytest.raises(ScenarioError) as told:
        prepare(path)
    assert all(problem.line for problem in told.value.problems)
    return [(problem.address, problem.message) for problem in told.value.problems]


@pytest.mark.parametrize(("one", "other"), list(product(RADII, RADII)))
def test_a_value_that_stands_there_twice_is_refused_however_it_is_spelled(one, other, write):
    def metres(text):
        number, unit = text.split()
        return float(number) * {"mm": 1e-3, "cm": 1e-2, "m": 1.0}[unit]

    path = write(f"study: {{grid: {{edges/arris/radius: [2.5 mm, {one}, {other}]}}}}\n")
    if abs(metres(one) - metres(other)) > 1e-9:
        assert prepare(path).plan.rows == 2 * 3
        return
    ((address, message),) = said(path)
    assert address == "study/grid/edges/arris/radius/3"
    assert message.startswith(f"'{other}' is there already")
    assert (f"as '{one}'" in message) == (one != other)


@pytest.mark.parametrize(
    ("address", "values"),
    [("options", "[bare, sleeve, bare]"), ("people/climber/technique", "[jerky, smooth, jerky]")],
)
def test_so_is_a_word(address, values, write):
    ((where, message),) = said(write(f"study: {{grid: {{{address}: {values}}}}}\n"))
    assert where == f"study/grid/{address}/3"
    assert "is there already: each value is due once" in message


class Counted:
    """What a value means, and how often two of them are compared."""

    compared = 0

    def __init__(self, of):
        self.of = of

    def __hash__(self):
        return hash(self.of)

    def __eq__(self, other):
        Counted.compared += 1
        return self.of == other.of


@pytest.mark.parametrize("many", [10, 400, 3_000])
@pytest.mark.parametrize("twice", [False, True])
def test_long_axes_are_not_gone_through_for_each_value(many, twice):
    """As many values as an axis may have, each held against all before it, take a minute."""
    Counted.compared, told = 0, []
    meant = [Counted(index % (many - twice)) for index in range(many)]
    sections = SimpleNamespace(report=lambda path, message: told.append(path[-1]))
    _repeated(sections, "edges/arris/radius", tuple(map(str, range(many))), meant)
    assert told == [many - 1] * twice
    # whole numbers have hashes of their own: what is compared is what is the same, at each look
    assert Counted.compared <= 3 * twice


@pytest.mark.parametrize("address", ["options", "edges/arris/radius", "people/climber/technique"])
def test_an_axis_without_values_is_said(address, write):
    told = said(write(f"study: {{grid: {{{address}: []}}}}\n"))
    assert (f"study/grid/{address}", "has no values: at least one is due") in told


@pytest.mark.parametrize("steps", [2, 3, 40])
@pytest.mark.parametrize(("first", "last"), [("3 mm", "3 mm"), ("3 mm", "3.0 mm"), ("3", "3")])
def test_a_range_of_no_length_is_said(first, last, steps, write):
    span = f"{{from: {first}, to: {last}, steps: {steps}}}"
    ((address, message),) = said(write(f"study: {{grid: {{edges/arris/radius: {span}}}}}\n"))
    assert address == "study/grid"
    assert "from and to are the same" in message


@pytest.mark.parametrize(("first", "last"), [(1.0, 3.0), (2.0, 2.5), (0.8, 9.0)])
@pytest.mark.parametrize("steps", [2, 3, 7])
def test_a_range_turned_round_has_the_same_values(first, last, steps, write):
    def values(low, high):
        span = f"{{from: {low} mm, to: {high} mm, steps: {steps}}}"
        plan = prepare(write(f"study: {{grid: {{edges/arris/radius: {span}}}}}\n")).plan
        return plan.block(0, plan.rows)["edges/arris/radius"][:steps]

    assert values(first, last).tolist() == values(last, first)[::-1].tolist()


@pytest.mark.parametrize("word", GROUPS)
@pytest.mark.parametrize("cut", [1, -1])
def test_a_group_that_is_mistyped_is_named(word, cut, write):
    typed = word[:cut] + word[cut:][1:]  # a letter left out
    study = f"study: {{sample: {{rows: 8, over: [{typed}]}}}}\n"
    ((address, message),) = said(write(study))
    assert address == "study/sample/over/1"
    assert f"did you mean '{word}'?" in message


@pytest.mark.parametrize("typed", ["zzz", "everything", "1"])
def test_what_is_like_no_group_hears_them_all(typed, write):
    ((_, message),) = said(write(f"study: {{sample: {{rows: 8, over: [{typed}]}}}}\n"))
    assert all(word in message for word in GROUPS)


@pytest.mark.parametrize("options", [["bare"], ["bare", "sleeve"]])
@pytest.mark.parametrize("radii", [["1 mm"], ["1 mm", "3 mm"]])
@pytest.mark.parametrize("left", [0, 1])
def test_a_grid_of_which_nothing_is_left_is_refused(options, radii, left, write, tmp_path):
    points = list(product(options, radii))
    skip = ", ".join(f"{{options: {o}, edges/arris/radius: {r}}}" for o, r in points[left:])
    grid = f"{{options: [{', '.join(options)}], edges/arris/radius: [{', '.join(radii)}]}}"
    path = write(f"study: {{grid: {grid}, skip: [{skip}]}}\n")
    if left:
        assert prepare(path).plan.rows == left
        return
    with pytest.raises(ScenarioError, match="study/skip: leaves out every combination"):
        sweep(path, tmp_path / "out", executor=Inline())
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("kind", ["csv", "parquet"])
@pytest.mark.parametrize(
    ("address", "cells", "axis"),
    [
        ("people/climber/mass", ["70 kg", "80 kg"], "[75 kg]"),
        ("edges/arris/radius", ["1 mm", "2 mm"], "[1 mm, 3 mm]"),
        ("people/climber/technique", ["jerky", "smooth"], "[jerky]"),
    ],
)
def test_an_address_in_the_table_and_in_the_grid_is_refused(
    kind, address, cells, axis, write, tmp_path
):
    table = pa.table({address: cells})
    if kind == "csv":
        (tmp_path / "runs.csv").write_text("\n".join([address, *cells]) + "\n")
    else:
        pq.write_table(table, tmp_path / "runs.parquet")
    path = write(f"study: {{table: runs.{kind}, grid: {{{address}: {axis}}}}}\n")
    with pytest.raises(ScenarioError, match=f"study/grid/{address}: is a column of the table"):
        sweep(path, tmp_path / "out", executor=Inline())
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("workers", [0, -1, -8])
def test_a_dry_run_refuses_workers_that_a_run_refuses(workers, write):
    with pytest.raises(UsageError, match=f"workers: {workers}; at least 1 is allowed"):
        dry_run(write("study: {replicates: 2}\n"), workers)


@pytest.mark.parametrize("replicates", [20, 33])
def test_a_folder_of_another_kind_of_study_is_said_to_be_that_alone(replicates, write, tmp_path):
    path = write("study: {replicates: 3}\ntarget: 50 %\n", SLEEVE)
    compare(path, replicates=replicates, out=tmp_path / "out", workers=1)
    with pytest.raises(Mismatch) as told:
        sweep(path, tmp_path / "out", executor=Inline())
    assert "holds another study: a compare, not a sweep. Choose" in str(told.value)


def test_nothing_of_this_hinders_a_sound_study(write):
    radii = ", ".join(f"{mm:g} mm" for mm in np.arange(1.0, 4.0, 0.5))
    masses = "{from: 90 kg, to: 70 kg, steps: 3}"
    grid = f"{{edges/arris/radius: [{radii}], people/climber/mass: {masses}}}"
    skip = "[{edges/arris/radius: 1 mm}]"
    assert prepare(write(f"study: {{grid: {grid}, skip: {skip}}}\n")).plan.rows == 2 * 5 * 3
