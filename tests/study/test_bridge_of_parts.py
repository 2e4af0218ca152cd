"""What a change is worth is told of the whole plan: a part of one has no worth beside a whole."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.dataset.ranking.option_trials import samples_of
from edgewear.dataset.reading import open_dataset
from edgewear.errors import RunFailed
from edgewear.study.compare import compare
from edgewear.study.model import ScenarioModel
from edgewear.validation.trials import compiled, drawn, played
from support.short_ropes import SHORT, TIED_M

TRIALS = 24

PLACES = pytest.mark.parametrize(("behind", "down"), [(30, 12), (40, 8), (35, 20)])


def text_of(behind: int, down: int, spare_m: float) -> str:
    """A rope that some places of the anchor use up, beside one that none does, with a pad."""
    text = SHORT.format(behind=behind, down=down, rope=behind + down + TIED_M + spare_m,
                        then=", {work: 1 min}, {ascend: 1 m}")  # fmt: skip
    long = f"{behind + down + 40} m"
    text = text.replace(
        "ropes: {",
        f"kit: {{pad: 1}}\nropes: {{blue: {{like: low-stretch 11, length: {long}, stopper: yes}}, ",
    )
    return text.replace(
        "options: {only: {}}", "options: {only: {}, long: {rope: blue, protect: {lip: pad}}}"
    )


@PLACES
@pytest.mark.parametrize("seed", [0, 7])
def test_steps_tell_the_middle_of_trials_as_the_comparison_counts_them(
    behind, down, seed, tmp_path
):
    """Those of a part lie below all others, so that a rope that lasts never looks like a loss.

    In any trials, with any number of them in which the short rope is used up.
    """
    (tmp_path / "m.yaml").write_text(text_of(behind, down, 0.0))
    ranking = compare(tmp_path / "m.yaml", TRIALS, seed, workers=1, out=tmp_path / "out")
    samples = {one.name: one for one in samples_of(open_dataset(ranking.dataset))}
    model, dice = ScenarioModel.of(tmp_path / "m.yaml", seed), np.random.default_rng(seed)
    parts = np.flatnonzero(samples["only"].unfinished)
    whole = np.setdiff1d(np.arange(TRIALS), parts)
    assert min(parts.size, whole.size) >= 5
    for few in range(6):
        chosen = [
            *dice.choice(parts, few, replace=False),
            *dice.choice(whole, 5 - few, replace=False),
        ]
        worlds = tuple(sorted(map(int, chosen)))
        middle = {n: float(np.median(one.margins[chosen])) for n, one in samples.items()}
        for poorer, better in (("only", "long"), ("long", "only")):
            steps = model.bridge(poorer, better, worlds)()
            told = {poorer: steps[0].careful_before, better: steps[-1].careful_after}
            assert (told["only"] is None) == (few >= 3)  # of five
            for name, found in told.items():
                if found is not None:  # the same draws by name and the same kernels: rounding
                    assert found == pytest.approx(middle[name], rel=1e-9)


@PLACES
@pytest.mark.parametrize("spare_m", [0.0, 30.0])
def test_an_observation_is_held_against_whole_runs_alone(behind, down, spare_m):
    case, tape = compiled(text_of(behind, down, spare_m), "only")
    if spare_m:
        assert len(played(case, tape, drawn(case, TRIALS, 0), 0)) == TRIALS
        return
    with pytest.raises(RunFailed, match=r"does not finish the plan, in step 2 .*too short"):
        played(case, tape, drawn(case, TRIALS, 0), 0)
