"""The trade's observations through `learn`: the same tests that the library's law was fitted to."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ndtr

from edgewear.case import compile_case
from edgewear.engine.draws import quantile, uniforms
from edgewear.programme.learn.run import learn
from edgewear.programme.learn.state import POPULATIONS
from edgewear.programme.likelihood import log_likelihood
from edgewear.programme.model import Programme
from edgewear.programme.plays import simulated
from edgewear.programme.reading import load_programme
from edgewear.validation import trade_tests
from edgewear.validation.fit import CORE_LOSS
from edgewear.validation.fit import Tests as Fitted
from edgewear.validation.trials import compiled
from support.tree import ROOT
from twins.weighed_fit import core_section, weighed

FILE = ROOT / "scenarios" / "tests" / "trade.yaml"
SHEATH, CORE = "wear/sheath energy", "wear/core energy"
WORLDS = 12
PARTICLES = 512
EYE = 0.03
"""Error of T1's looks, as the file has it."""


@pytest.fixture(scope="module")
def trade() -> Programme:
    return load_programme(FILE)


def test_the_file_holds_the_set_ups_that_the_library_is_fitted_to(trade: Programme) -> None:
    for test in trade:
        one = getattr(trade_tests, test.name)
        height = "3 m" if test.name == "T4" else one.height
        times = one.times if test.name == "T5" else 1
        case, _ = compiled(replace(one, height=height, times=times).text)
        mine = compile_case(test.scenario, test.option)
        for name in ("wear", "lines", "edges"):
            assert getattr(mine, name).tobytes() == getattr(case, name).tobytes(), name
        # all that varies but the cold share, which the fit holds
        drawn = {u.name: (u.median, u.low, u.high) for u in mine.uncertainties}
        wanted = {u.name: (u.median, u.low, u.high) for u in case.uncertainties}
        assert {name for name in wanted if drawn[name] != wanted[name]} == {"wear/cold share"}
        assert one.used_to_fit


def test_learning_counts_worlds_as_the_fit_does(trade: Programme) -> None:
    fitted = Fitted(WORLDS, 3, "weighted")
    sheath = fitted.sheath_energy()
    core = fitted.core_energy(sheath) / core_section(fitted.played(trade_tests.T5))
    found = {}
    for test in trade:
        played = fitted.played(getattr(trade_tests, test.name))
        values = {**played.values, SHEATH: sheath, CORE: core}
        figures = simulated(test, values, np.arange(WORLDS), 3)
        found[test.name] = (figures, log_likelihood(test, figures))
    # the same runs, demand scaled back: rounding
    bounds = np.exp(found["T2"][1] + found["T4"][1])
    assert bounds == pytest.approx(fitted.weights(sheath), rel=1e-6)
    (early, late) = found["T1"][0].values()
    between = (early < 1.0) & (late > 1.0)
    shares = ndtr(np.log(late) / EYE) - ndtr(np.log(early) / EYE)
    assert np.exp(found["T1"][1]) == pytest.approx(shares, rel=1e-6)
    assert between.sum() >= WORLDS / 2  # 9 of 10 are drawn to break there
    (lost,) = found["T5"][0].values()
    drawn = quantile("normal", *CORE_LOSS, uniforms(3, "T5 core loss", 0, WORLDS))
    # the fit reads the core's energy off that leaves so much
    assert lost == pytest.approx(np.clip(drawn, 0.05, 0.6), abs=1e-6)


@pytest.mark.long
@pytest.mark.parametrize("seed", [0, 1])
def test_what_is_learned_is_what_weighing_worlds_gives(
    seed: int, tmp_path: Path, trade: Programme
) -> None:
    """Median and 90 % of both energies, against the fit's worlds weighed, without a sampler.

    Within three deviations of both, that of the sample from its own populations, four a pass; at
    least what as many independent draws as particles would have.
    """
    import pyarrow.parquet as pq

    beliefs = {name: (one.value, one.low, one.high) for name, one in trade.asked.items()}
    twin = weighed(2000, seed + 5, beliefs, EYE)
    learn(trade, tmp_path, particles=PARTICLES, seed=seed, workers=None)
    table = pq.read_table(tmp_path / "posterior.parquet")
    for name in (SHEATH, CORE):
        logs = np.log(np.asarray(table.column(name)))
        populations = 1 + int(np.max(table.column("population")))
        parts = np.quantile(logs.reshape(populations, -1), (0.05, 0.5, 0.95), axis=1)
        independent = np.array([2.1, 1.25, 2.1]) * logs.std()
        independent /= np.sqrt(PARTICLES / POPULATIONS * populations)
        own = np.maximum(parts.std(axis=1, ddof=1) / np.sqrt(populations), independent)
        error = np.hypot(own, twin.error(name, twin.as_learned))
        off = np.quantile(logs, (0.05, 0.5, 0.95)) - twin.quantiles(name, twin.as_learned)
        assert (np.abs(off) <= 3 * error).all(), (name, off, error)
