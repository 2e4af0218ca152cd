"""The next tests under the real simulation."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.dataset.files import write_table
from edgewear.errors import DatasetError, UsageError
from edgewear.forecasts.asked import posterior, set_ups
from edgewear.forecasts.candidates import SetUp, Worlds
from edgewear.forecasts.next_tests import next_tests
from edgewear.forecasts.worth import Known, plan
from edgewear.scenario import load_text
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import ComparePlan

TEXT = """\
edgewear: 1
title: ascent over an arris
setting: test
edges: {arris: {radius: 1 mm, surface: steel, roughness: 1}}
ropes: {rope: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {climber: {mass: 90 kg, technique: jerky, system: pre-threaded, start: 8 m}}
options:
  bare: {rope: rope, over: [{edge: arris, after: 20 m, bend: 30 deg}]}
job: [{ascend: 3 m}]
when: {core visible: carry on}
"""
SCENARIO = load_text(TEXT, "ascent.yaml")


def written(folder: Path, columns: dict[str, object]) -> None:
    """A posterior, each row with a value, as learning writes it."""
    arrays = {name: pa.array(values) for name, values in columns.items()}
    schema = pa.schema([pa.field(name, one.type, False) for name, one in arrays.items()])
    write_table(folder, "posterior.parquet", pa.table(arrays, schema=schema))


def one(**changed: object) -> SetUp:
    given = {
        "name": "one", "scenario": SCENARIO, "option": "bare", "looked_for": "sheath worn",
        "looks": (), "cost": 1.0,
    }  # fmt: skip
    return SetUp(**{**given, **changed})  # type: ignore[arg-type]


def test_test_and_job_meet_the_same_worlds() -> None:
    drawn = Worlds(50, 3)
    wanted, own = drawn.demand(SCENARIO, "bare")
    test = drawn.candidate(one())
    assert (test.latent == wanted).all()
    assert test.spread == own
    assert own > np.log(3.0) / 1.645  # the shipped discrepancy at least


def test_a_stage_falls_as_the_wear_grows_also_where_it_never_comes() -> None:
    drawn = Worlds(50, 3)
    worn = drawn.candidate(one()).latent
    climbed = drawn.candidate(one(looked_for="core visible")).latent
    never = worn < 0.0
    assert 0 < never.sum() < 50
    assert (climbed[never] > np.log(2.9)).all()  # of 3 m, less a stroke
    assert np.corrcoef(worn, climbed)[0, 1] < -0.9


def test_the_number_itself_is_drawn_as_in_a_comparison() -> None:
    drawn = Worlds(50, 3)
    known = ScenarioModel.of(SCENARIO, 3).uncertainties("bare")
    column = ComparePlan({"bare": known}, 50, 3, 1.0).block(0, 50)["wear/sheath energy"]
    assert (drawn.number(SCENARIO, "bare", "wear/sheath energy") == np.log(column)).all()
    with pytest.raises(UsageError, match="wear/sheath energy"):
        drawn.number(SCENARIO, "bare", "wear/sheath enrgy")


def test_the_command_ranks_what_was_asked(tmp_path: Path) -> None:
    (tmp_path / "ascent.yaml").write_text(TEXT)
    file = str(tmp_path / "ascent.yaml")
    done = CliRunner().invoke(app, [
        "forecast", "next", file, "--test", file, "--worlds", "60", "--looks", "1 m, 2 m",
        "--vary", "edges/arris/radius=1 mm, 4 mm", "--quiet", "--json",
    ])  # fmt: skip
    assert done.exit_code == 0, done.output
    document = json.loads(done.stdout)
    names = [test["name"] for test in (*document["tests"], *document["others"])]
    assert sorted(names) == ["ascent, radius 1 mm", "ascent, radius 4 mm"]
    assert document["floor"] <= document["factor"]
    assert document["cautions"]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"most": 0}, "1 to 10"),
        ({"worlds": 10}, "50 to 4096"),
        ({"option": "nobody"}, "nobody"),
        ({"tests": []}, "0 tests"),
        ({"tests": [one(cost=0.0)]}, "costs"),
        ({"tests": [one(), one()]}, "two tests"),
        ({"tests": [one(looked_for="peak load")]}, "peak load"),
    ],
)
def test_what_cannot_be_meant_is_refused(asked: dict[str, object], said: str) -> None:
    given: dict[str, object] = {"tests": [one()], "worlds": 50, **asked}
    with pytest.raises(UsageError, match=said):
        next_tests(SCENARIO, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("vary", "looks", "costs"),
    [(["edges"], None, []), ([], "0 m", []), ([], "1 m, 1 m", []), ([], None, [1.0, 2.0])],
)
def test_what_cannot_be_read_is_refused(
    vary: list[str], looks: str | None, costs: list[float], tmp_path: Path
) -> None:
    (tmp_path / "a.yaml").write_text(TEXT)
    with pytest.raises(UsageError):
        set_ups([tmp_path / "a.yaml"], vary, ["core visible"], [looks] if looks else [], costs)


DRAGGED = "reciprocate: {load: 100 kg, travel: 0.5 m, speed: 0.2 m/s, cycles: 4}"
MACHINE = TEXT.replace("ascend: 3 m", DRAGGED)
REPEATED = TEXT.replace("{ascend: 3 m}", "{repeat: {times: 2, steps: [{ascend: 3 m}, "
                        "{lower unloaded: 3 m}]}}")  # fmt: skip


def asked_of(folder: Path, *given: str, texts: tuple[str, ...] = (TEXT, MACHINE)) -> list[SetUp]:
    """Set-ups of a tower and of a bench, with options as typed: word=value."""
    files = []
    for number, text in enumerate(texts):
        files.append(folder / f"test {number}.yaml")
        files[-1].write_text(text)
    typed = [one.split("=") for one in given]
    words = [value for name, value in typed if name == "look-for"]
    looks = [value for name, value in typed if name == "looks"]
    return set_ups(files, [], words, looks, [])


@pytest.mark.parametrize(
    ("given", "words", "looks"),
    [
        ((), ["core visible", "core visible time"], [(), ()]),
        (("look-for=sheath worn",), ["sheath worn"] * 2, [(), ()]),
        (("look-for=core visible time",), ["core visible time"] * 2, [(), ()]),
        (("look-for=third worn", "look-for=parted time"), ["third worn", "parted time"], [(), ()]),
        (("looks=2 m, 1 m", "looks=1 min"), ["core visible", "core visible time"],
         [(1.0, 2.0), (60.0,)]),
        (("looks=none", "looks=1 min"), ["core visible", "core visible time"], [(), (60.0,)]),
    ],
)  # fmt: skip
def test_each_test_looks_for_what_fits_it_or_what_was_typed_for_it(
    given: tuple[str, ...], words: list[str], looks: list[tuple[float, ...]], tmp_path: Path
) -> None:
    found = asked_of(tmp_path, *given)
    assert [one.looked_for for one in found] == words
    assert [one.looks for one in found] == looks


def test_a_climb_in_a_repeat_is_a_climb(tmp_path: Path) -> None:
    assert [one.looked_for for one in asked_of(tmp_path, texts=(REPEATED,))] == ["core visible"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("look-for=core visible",), "test 1.yaml: core visible: nobody climbs"),
        (("look-for=parted",), "test 1.yaml: parted: nobody climbs"),
        (("looks=2 m, 4 m",), "test 1.yaml: --looks 2 m, 4 m"),
        (("looks=1 min",), "test 0.yaml: --looks 1 min"),
        (("looks=2 m", "looks=0 s"), "test 1.yaml: --looks 0 s"),
        (("looks=2 m", "looks=1 s", "looks=1 s"), "3 times for 2 tests"),
        (("look-for=core visibel",), "core visibel"),
    ],
)
def test_what_one_test_cannot_look_for_is_told_with_its_file(
    given: tuple[str, ...], said: str, tmp_path: Path
) -> None:
    with pytest.raises(UsageError, match=said):
        asked_of(tmp_path, *given)


@pytest.mark.long
def test_chosen_tests_need_at_most_six_of_ten_in_the_simulation(tmp_path: Path) -> None:
    """Fifty truths, drawn as the worlds are; eighteen tests of three edges, ropes and setbacks.

    To know the sheath energy. The discrepancy is set to what good forecasts would have earned,
    0.9 to 1.1: with the shipped one no ten tests tell much, chosen or not.
    """
    text = TEXT.replace(
        "[{ascend: 3 m}]", "[{repeat: {times: 2, steps: [{ascend: 6 m}, {lower unloaded: 6 m}]}}]"
    )
    library = (
        "wear: {discrepancy: {value: 1, low: 0.9, high: 1.1, distribution: lognormal, "
        'pedigree: "assumed"}}\n'
    )
    (tmp_path / "library.yaml").write_text(library)
    (tmp_path / "a.yaml").write_text("library: library.yaml\n" + text)
    levers = [
        "edges/arris/radius=1 mm, 4 mm, 8 mm",
        "people/climber/technique=jerky, smooth",
        "options/bare/over/1/after=5 m, 10 m, 20 m",
    ]
    made = set_ups([tmp_path / "a.yaml"], levers, ["core visible"], ["3 m, 6 m, 12 m"], [])
    drawn = Worlds(512, 0)
    tests = [drawn.candidate(each) for each in made]
    wanted = drawn.number(made[0].scenario, "bare", "wear/sheath energy")
    rng = np.random.default_rng(1)
    chosen = [tests.index(each.test) for each in plan(Known(wanted, 0), tests, 6)]

    def left(order: list[int], truth: int) -> float:
        logs = np.zeros(wanted.size)
        logs[truth] = -np.inf
        for number in order:
            shown = tests[number].shown(99)[truth]
            logs = logs + np.log(np.maximum(tests[number].likelihood()[shown], 1e-300))
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        return float(np.sqrt(weights @ wanted**2 - (weights @ wanted) ** 2))

    after_six = np.mean([left(chosen, truth) for truth in range(50)])
    after_ten = np.mean([left(list(rng.permutation(18)[:10]), truth) for truth in range(50)])
    assert after_six <= after_ten


def test_what_was_learned_is_drawn_from_in_place_of_what_is_believed(tmp_path: Path) -> None:
    """Known twice as well as before, what is left to know of the number is what is left of it."""
    chance = np.random.default_rng(4)
    energy = np.exp(np.log(4e8) + 0.1 * chance.standard_normal(400))
    columns = {"population": np.zeros(400, np.int64), "wear/sheath energy": energy}
    written(tmp_path, columns)
    found = posterior(tmp_path)
    assert list(found) == ["wear/sheath energy"]
    drawn = Worlds(50, 3, found)
    logs = drawn.number(SCENARIO, "bare", "wear/sheath energy")
    assert np.min(np.abs(logs[:, None] - np.log(energy)), axis=1).max() < 1e-12
    # fifty draws of a deviation of 0.1, four deviations of it
    assert logs.mean() == pytest.approx(np.log(4e8), abs=4 * 0.1 / np.sqrt(50))
    # the job wears by the same particle: demand over one by believed numbers is the energies' ratio
    worn, _ = drawn.demand(SCENARIO, "bare")
    before, _ = Worlds(50, 3).demand(SCENARIO, "bare")
    believed = Worlds(50, 3).number(SCENARIO, "bare", "wear/sheath energy")
    assert worn - before == pytest.approx(believed - logs, abs=1e-9)
    plan = next_tests(SCENARIO, [one()], know="wear/sheath energy", worlds=50, learned=found)
    assert plan.factor < np.exp(1.645 * 0.1 * 1.5)  # as it was learned, half as much again at most


@pytest.mark.parametrize("column", [["a", "b"], [1.0, float("nan")], [1, 2]])
def test_a_posterior_that_holds_no_numbers_is_refused(tmp_path: Path, column: list[object]) -> None:
    written(tmp_path, {"wear/sheath energy": column})
    with pytest.raises(DatasetError, match="finite numbers"):
        posterior(tmp_path)
    with pytest.raises(DatasetError):
        posterior(tmp_path / "nowhere")
