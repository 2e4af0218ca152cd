"""What `check` accepts is run, compared and swept without a crash, or fails with a reason."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from fuzz.accepted import GIVEN_UP, accepted, compare_fell, run_fell
from fuzz.kinds import SCENARIOS


@pytest.mark.parametrize(
    ("typed", "address"), [("mass: 105 kg", "people/inspector/mass"),
                           ("load: 120 kg", "job/1/reciprocate/load")])  # fmt: skip
@pytest.mark.parametrize("zeros", [1, 2, 3])
def test_a_weight_with_zeros_too_many_is_refused_at_its_place(
    typed: str, address: str, zeros: int
) -> None:
    """No rope's section is long enough for it to hang there, which only a run would find."""
    text = next(text for text in SCENARIOS if typed in text)
    heavy = text.replace(typed, typed.replace(" kg", "0" * zeros + " kg"))
    if "load" in typed and zeros == 1:
        assert run_fell(load_text(heavy, "heavy.yaml")) == ""
        return
    with pytest.raises(ScenarioError) as caught:
        load_text(heavy, "heavy.yaml")
    assert [one.address for one in caught.value.problems] == [address]


@pytest.mark.parametrize("most", ["400 kg", "399.9 kg"])
def test_the_heaviest_that_is_accepted_can_be_played_everywhere(most: str) -> None:
    """A climb may be given up, in words; nothing else fails."""
    for text in SCENARIOS:
        heavy = re.sub(r"(?<=mass: )[\d.]+ kg", most, text)
        if heavy != text:
            assert run_fell(load_text(heavy, "heavy.yaml"), (GIVEN_UP,)) == ""


def test_some_of_the_mutants_are_accepted() -> None:
    """Else the counts below would count nothing."""
    assert any(accepted(seed) is not None for seed in range(60))


def test_a_ratio_of_nothing_is_refused() -> None:
    """A rope whose dynamic stiffness is none at all was accepted, and divided by."""
    assert accepted(17_609) is None


@pytest.mark.long
@pytest.mark.parametrize("first", range(0, 80_000, 500))
def test_all_that_is_accepted_runs(first: int) -> None:
    """About one mutant in sixteen is accepted: some 5,000 runs in all."""
    found = {seed: accepted(seed) for seed in range(first, first + 500)}
    fell = {seed: run_fell(one) for seed, one in found.items() if one is not None}
    assert {seed: said for seed, said in fell.items() if said} == {}


@pytest.mark.long
@pytest.mark.parametrize("first", range(100_000, 116_000, 100))
def test_all_that_is_accepted_compares_observes_and_sweeps(first: int, tmp_path: Path) -> None:
    """Some 1,000 in all, with two trials of each option."""
    fell = {}
    for seed in range(first, first + 100):
        scenario = accepted(seed)
        if scenario is not None and (said := compare_fell(scenario, tmp_path / f"{seed}")):
            fell[seed] = said
    assert fell == {}
