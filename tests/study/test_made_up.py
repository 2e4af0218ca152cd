"""Made-up scenarios: runs played many at a time are those played one by one, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from edgewear.engine.batch import play_batch
from edgewear.engine.fast import section_of
from edgewear.layout import Kind
from edgewear.study.compare import drawn
from edgewear.study.model import ScenarioModel
from edgewear.study.plan import ComparePlan
from edgewear.study.task import FIXED
from support.many import assert_the_same, one_by_one
from support.random_scenarios import Ways, random_text
from support.seeds import seeds

FAMILIES = {
    "by bends": Ways(),
    "by places": Ways(surveyed=True),
    "deviated": Ways(deviated=True),
    "let out": Ways(let_out=True),
    "two lines": Ways(surveyed=True, two_lines=True),
    "tired": Ways(),
    "thin sheaths": Ways(surveyed=True),
    "used up": Ways(),
    "too soft": Ways(),
}
A_FAMILY = 12


class Family:
    """Scenarios alike in some way, and what has come of their runs so far."""

    def __init__(self, name, folder, monkeypatch):
        self.name, self.path, self.monkeypatch = name, folder / "scenario.yaml", monkeypatch
        self.runs, self.edges = [], []

    def hold(self, seed):
        """Play one of them both ways."""
        rng = np.random.default_rng([seed, list(FAMILIES).index(self.name)])
        self.path.write_text(random_text(rng, FAMILIES[self.name]))
        model = ScenarioModel.of(self.path, seed)
        ready = model.ready("one")
        assert section_of(ready.case, ready.tape) is not None
        count = int(rng.choice([3, 12, 20]))
        values, replicates = self.drawn(ready, count, rng)
        travel = int(rng.choice([0, 3, 200]))
        arguments = (ready.case, self.tape(ready, rng), values, replicates, seed, travel)
        # nine at once: side by side, and what is left of them one after the other
        self.monkeypatch.setattr("edgewear.engine.batch.ROWS_AT_ONCE", int(rng.choice([9, 1024])))
        slow, slow_edges = one_by_one(self.monkeypatch, *arguments)
        fast, none = play_batch(*arguments, edges=False)
        both, fast_edges = play_batch(*arguments, edges=True)
        told = f"of {self.name}, seed {seed}"
        assert none.size == 0
        assert_the_same(fast, slow, told)
        assert_the_same(both, slow, told)
        assert_the_same(fast_edges, slow_edges, told)
        self.runs.append(slow)
        self.edges.append(slow_edges)

    def drawn(self, ready, count, rng):
        """Draws of all that varies, some of them changed where the family says so."""
        plan = ComparePlan({"one": drawn(ready.case.uncertainties)}, count, 5, 1.0)
        rows = plan.block(0, count)
        values = {name: column for name, column in rows.items() if name not in FIXED}
        if self.name == "thin sheaths":
            for part in ("sheath", "core"):
                values[f"wear/{part} energy"] *= 10.0 ** rng.uniform(-6.0, -1.0, count)
        for name, number, low in (
            ("tired", "people/ann/force ratio", 1.0),  # hardly any push beyond the weight
            ("too soft", "people/ann/body stiffness", 20.0),  # N/m
        ):
            if self.name == name:
                values[number][rng.random(count) < 0.4] = low
        return values, rows["replicate"]

    def tape(self, ready, rng):
        """What is done, mostly with a descent longer than the rope where the family says so."""
        tape = ready.tape.copy()
        if self.name == "used up" and rng.random() < 0.8:
            tape["length_m"][rng.choice(np.flatnonzero(tape["kind"] == Kind.PAYOUT))] = 150.0
        return tape

    def assert_has_what_it_is_for(self):
        """Something of what the family is made for came about, but not in every run."""
        runs, edges = np.concatenate(self.runs), np.concatenate(self.edges)
        assert (edges["demand_max"] > 0.0).any()
        assert (runs["strokes"] > 0).any()
        seen = {
            "tired": runs["status"] == "failed",
            "too soft": runs["status"] == "failed",
            "thin sheaths": np.isfinite(runs["parted_time_s"]),
            "used up": runs["unfinished_step"] > 0,
        }.get(self.name)
        assert seen is None or (seen.any() and not seen.all())


def assert_family(name, numbers, folder, monkeypatch):
    family = Family(name, folder, monkeypatch)
    for seed in numbers:
        family.hold(seed)
    family.assert_has_what_it_is_for()


@pytest.mark.parametrize("name", FAMILIES)
def test_made_up_scenarios_come_out_alike(name, tmp_path, monkeypatch):
    assert_family(name, range(A_FAMILY), tmp_path, monkeypatch)


@pytest.mark.long
@pytest.mark.parametrize("name", FAMILIES)
def test_many_more_of_them_come_out_alike(name, tmp_path, monkeypatch):
    assert_family(name, seeds(400), tmp_path, monkeypatch)
