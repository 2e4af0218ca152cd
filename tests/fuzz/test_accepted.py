"""What `check` accepts is run, compared and swept without a crash, or fails with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from edgewear.scenario import load_text
from fuzz.accepted import accepted, compare_fell, run_fell
from fuzz.kinds import SCENARIOS


def test_what_is_accepted_and_cannot_be_run_says_at_which_step() -> None:
    """A person of 1,050 kg, whom `check` cannot know to be more than the rope's steps follow."""
    text = next(text for text in SCENARIOS if "mass: 105 kg" in text)
    heavy = load_text(text.replace("mass: 105 kg", "mass: 1050 kg"), "heavy.yaml")
    assert run_fell(heavy) == ""


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
