"""What a scenario file becomes: words looked up, options merged, everything in SI."""

from __future__ import annotations

import pickle
from math import radians
from pathlib import Path

import pytest
from pydantic import ValidationError

from edgewear.errors import ScenarioError
from edgewear.scenario import Scenario, load_scenario, load_text, summary
from support.scenario_files import BENCH, EXAMPLES, HERE, ROOT, SHIPPED, bench

CHOICES = load_scenario(HERE / "examples" / "choices.txt")


@pytest.mark.parametrize("file", [*SHIPPED, *EXAMPLES], ids=lambda file: file.stem)
def test_file_is_read(file: Path) -> None:
    scenario = load_scenario(file)
    assert scenario.options
    assert scenario.source == file.read_text()
    assert summary(scenario)[0] == scenario.title


def test_values_are_in_si() -> None:
    line = bench().options["bare"].lines["climber"].working
    assert line.over[0].bend.value == pytest.approx(radians(30), rel=1e-15)  # one rounding
    assert line.over[0].after.value == 20.0
    assert bench().edges["arris"].radius.value == 0.001


def test_stiffness_follows_from_the_elongation() -> None:
    rope = CHOICES.ropes["old 10.5"]
    # K = 100 kg * g / e: derived
    assert rope.stiffness.value == pytest.approx(981 / 0.036, rel=1e-12)
    assert rope.stiffness.low == pytest.approx(981 / rope.elongation.high, rel=1e-12)
    assert rope.diameter.typed == "low-stretch 10.5"


@pytest.mark.parametrize(
    ("typed", "stiffness_n"),
    [
        # derived: force over the strain stated, 300 lbf = 1334.466 N
        ("2.6 % at 300 lbf", 1334.466 / 0.026),
        ("4 % at 10 % of strength", 3000.0 / 0.04),
        ("5 % at 2 kN", 2000.0 / 0.05),
    ],
)
def test_other_statements_of_elongation(typed: str, stiffness_n: float) -> None:
    change = f"{{like: low-stretch 11, strength: 30 kN, elongation: {typed}, length: 80 m}}"
    rope = bench(("{like: low-stretch 11, length: 80 m}", change)).ropes["rope"]
    assert rope.stiffness.value == pytest.approx(stiffness_n, rel=1e-6)  # percent to 6 digits
    assert rope.stiffness.basis == "assumed"


def test_own_stiffness_replaces_the_elongation_of_the_word() -> None:
    rope = bench(("length: 80 m", "length: 80 m, stiffness: 41 kN")).ropes["rope"]
    assert rope.stiffness.value == 41_000.0
    assert rope.elongation is None


def test_class_brings_a_range_and_a_measurement_its_accuracy() -> None:
    kerb, flange = CHOICES.edges["kerb"].radius, CHOICES.edges["flange"].radius
    assert (kerb.basis, flange.basis) == ("class", "measured")
    assert (kerb.low, kerb.high) == (0.003, 0.008)
    assert flange.high / flange.low < kerb.high / kerb.low
    assert CHOICES.edges["kerb"].surface.name == "masonry"


def test_paced_distance_is_wide_and_behind_the_face() -> None:
    out = CHOICES.anchors["far bollards"].out
    assert out is not None
    assert (out.value, out.basis, out.typed) == (-22.0, "paced", "paced 22 m back")
    assert out.high - out.low > 2.0


@pytest.mark.parametrize(
    ("edge", "cutting"),
    [
        ("{radius: 0.7 mm, surface: steel}", True),
        ("{radius: 0.75 mm, surface: steel}", False),
        ("{radius: 5 mm, surface: steel, condition: burred}", True),
        ("{is: flashing or sheet}", True),
        ("{is: broken rock}", True),  # the lower end of its class counts, 0.5 mm
        ("{is: rolled-section steel arris}", False),
    ],
)
def test_cutting_edge(edge: str, cutting: bool) -> None:
    scenario = bench(("{radius: 1 mm, surface: steel}", edge), setting="alpine")
    assert scenario.edges["arris"].is_cutting is cutting


class TestMerging:
    def test_all_options_reach_every_option(self) -> None:
        for option in CHOICES.options.values():
            assert option.lines["lead"].working.rope == "store 11"

    def test_option_wins_over_all_options(self) -> None:
        safety = CHOICES.options["posts, rollers"].lines["lead"].safety
        assert safety is not None
        assert safety.anchor == "far bollards"

    def test_safety_line_lies_on_the_same_protection_unless_it_has_its_own(self) -> None:
        shared = CHOICES.options["bollards padded"].lines["lead"]
        assert shared.safety is not None
        assert shared.safety.shares_protection
        assert shared.safety.protect == shared.working.protect
        own = (
            load_scenario(ROOT / "scenarios" / "demo.yaml")
            .options["footings, padded"]
            .lines["inspector"]
            .safety
        )
        assert own is not None
        assert not own.shares_protection

    def test_protection_is_merged_edge_by_edge(self) -> None:
        text = (HERE / "examples" / "choices.txt").read_text()
        text = text.replace(
            "all options: {rope: store 11,",
            "all options: {protect: {kerb: pad, ledge: pad}, rope: store 11,",
        ).replace("{anchor: far bollards}", "{anchor: far bollards, protect: {kerb: none}}")
        options = load_text(text, "x").options
        assert set(options["bollards bare"].lines["lead"].working.protect) == {"ledge"}
        assert options["bollards padded"].lines["lead"].working.protect["flange"].is_ == "sleeve"

    def test_lines_of_a_person_stand_between(self) -> None:
        scenario = load_scenario(HERE / "examples" / "rescue.txt")
        lines = scenario.options["padded"].lines
        assert {name: own.working.anchor for name, own in lines.items()} == {
            "casualty": "beam A",
            "rescuer": "beam B",
        }
        assert all("coping" in own.working.protect for own in lines.values())

    def test_technique_of_an_option_reaches_its_people(self) -> None:
        scenario = bench(("bare: {rope: rope,", "bare: {technique: smooth, rope: rope,"))
        assert scenario.options["bare"].people["climber"].technique.name == "smooth"
        assert scenario.people["climber"].technique.name == "jerky"


def test_scenario_is_frozen() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        CHOICES.title = "another"  # type: ignore[misc]


def test_machine_needs_no_people() -> None:
    scenario = load_scenario(HERE / "examples" / "machine.txt")
    assert list(scenario.job) == ["machine"]
    assert scenario.people["machine"].mass.value == 120.0


def test_test_setting_takes_typed_values_as_exact() -> None:
    assert bench().people["climber"].mass.is_exact
    assert not bench(setting="alpine").people["climber"].mass.is_exact


def test_industrial_job_needs_two_lines() -> None:
    with pytest.raises(ScenarioError, match="no safety line for 'climber'"):
        bench(("length: 80 m", "length: 80 m, stopper: yes"), setting="industrial")


def test_alpine_job_may_have_one() -> None:
    assert bench(setting="alpine").options["bare"].lines["climber"].safety is None


class TestOwnLibrary:
    LIBRARY = """\
ropes:
  store rope:
    family: low-stretch
    type: A
    diameter: 10.2 mm
    strength: 27 kN
    elongation: {value: 3 %, low: 2.5 %, high: 3.5 %, pedigree: own pull tests}
    sheath share: 40 %
    mass: 64 g/m
    sheath: polyester
"""

    def with_library(self) -> Scenario:
        text = BENCH.replace("title: Bench", "title: Bench\nlibrary: own.yaml")
        text = text.replace("like: low-stretch 11", "like: store rope")
        return load_text(text, "bench.yaml", self.LIBRARY)

    def test_own_words_are_known(self) -> None:
        rope = self.with_library().ropes["rope"]
        assert rope.stiffness.value == pytest.approx(32_700.0, rel=1e-12)
        assert rope.sheath.name == "polyester"
        assert rope.elongation is not None
        assert rope.elongation.pedigree == "own pull tests"

    def test_it_is_read_from_beside_the_scenario(self, tmp_path: Path) -> None:
        (tmp_path / "own.yaml").write_text(self.LIBRARY)
        text = BENCH.replace("title: Bench", "title: Bench\nlibrary: own.yaml")
        (tmp_path / "bench.yaml").write_text(text.replace("low-stretch 11", "store rope"))
        scenario = load_scenario(tmp_path / "bench.yaml")
        assert scenario.library_source == self.LIBRARY
        again = load_text(scenario.source, "elsewhere.yaml", scenario.library_source)
        assert again.ropes == scenario.ropes

    def test_problem_in_it_is_told_with_its_file(self) -> None:
        text = BENCH.replace("title: Bench", "title: Bench\nlibrary: own.yaml")
        with pytest.raises(ScenarioError) as caught:
            load_text(text, "bench.yaml", "roops: {}\n")
        assert {p.file for p in caught.value.problems} == {"bench.yaml", "own.yaml"}

    def test_missing_file_is_told(self) -> None:
        text = BENCH.replace("title: Bench", "title: Bench\nlibrary: nowhere.yaml")
        with pytest.raises(ScenarioError, match="nowhere"):
            load_text(text, "bench.yaml")


def test_observation_names_what_is_there() -> None:
    seen = "observed:\n  - mark travel: {edge: arris, strokes: [12 cm, 15 cm]}\n"
    scenario = bench(("job:", f"{seen}job:"))
    assert [length.value for length in scenario.observed[0].strokes] == [0.12, 0.15]
    with pytest.raises(ScenarioError, match=r"observed/1/mark travel/edge: 'aris' is not defined"):
        bench(("job:", f"{seen.replace('arris', 'aris')}job:"))
    with pytest.raises(ScenarioError, match=r"option: 'bar' is not defined under options"):
        bench(("job:", f"{seen.replace('edge: arris', 'option: bar, edge: arris')}job:"))


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_scenario_travels_to_a_worker_whole(file: Path) -> None:
    scenario = load_scenario(file)
    assert pickle.loads(pickle.dumps(scenario)) == scenario
    assert load_text(scenario.source, scenario.path) == scenario
