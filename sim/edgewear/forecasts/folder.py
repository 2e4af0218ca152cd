"""All forecasts of a folder beside what came out of their tests.

Five figures of one pulled rope are five forecasts of one test: what makes one come out makes the
others come out. So they count as one together, in coverage, in reliability and for the discrepancy.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from edgewear.errors import EdgewearError, UsageError
from edgewear.findings.learning.scores import Discrepancy, Part, Scored, Scores
from edgewear.forecasts.coverage import Share, below_levels, place, share_of
from edgewear.forecasts.earned import Range, crossings, earned
from edgewear.forecasts.frozen import (
    FORECAST,
    SEEN,
    CameOut,
    Frozen,
    read_came_out,
    read_frozen,
)
from edgewear.forecasts.quantities import looked_for
from edgewear.forecasts.scores import crps, interval_score, log_score
from edgewear.percentiles import between

Pair = tuple[Frozen, CameOut]

CENTRAL = 0.9


def score_folder(folder: Path) -> Scores:
    """Score every forecast of a folder whose test was entered.

    A file whose seal is broken, or an outcome that belongs to another forecast, is named and not
    counted.

    Raises:
        UsageError: no such folder, or no forecast in it.
    """
    paths = sorted(folder.glob(f"*{FORECAST}"))
    if not paths:
        raise UsageError(f"{folder}: no forecasts there; `edgewear forecast freeze` writes them")
    pairs, waiting, refused = list[Pair](), list[str](), list[tuple[str, str]]()
    for path in paths:
        beside = path.with_name(path.name.removesuffix(FORECAST) + SEEN)
        try:
            forecast = read_frozen(path)
            if beside.exists():
                pairs.append((forecast, _belonging(forecast, beside)))
            else:
                waiting.append(forecast.name)
        except EdgewearError as error:
            refused.append((path.name, str(error)))
    return _scores(str(folder), pairs, tuple(waiting), tuple(refused))


def _belonging(forecast: Frozen, path: Path) -> CameOut:
    found = read_came_out(path)
    if found.forecast != forecast.seal:
        raise UsageError(f"{path}: belongs to another forecast, or this one was replaced after it")
    return found


def _scores(
    folder: str,
    pairs: Sequence[Pair],
    waiting: tuple[str, ...],
    refused: tuple[tuple[str, str], ...],
) -> Scores:
    tests = tests_of(pairs)
    scored = tuple(_scored(*pair, test) for pair, test in zip(pairs, tests, strict=True))
    blind = [one for one in scored if one.blind]
    mine = [one.test for one in blind]
    places = [place(f.draws, s.seen, f.until) for f, s in pairs if _blind(f, s)]
    inside = share_of(means_of([one.inside for one in blind], mine)) if blind else None
    scores = means_of([one.log_score for one in blind], mine)
    return Scores(
        folder=folder,
        scored=scored,
        waiting=waiting,
        refused=refused,
        coverage=None if inside is None else _part(inside),
        mean_log_score=float(np.mean(scores)) if blind else None,
        reliability=tuple(
            (at, _part(share_of(means_of(parts, mine)))) for at, parts in below_levels(places)
        )
        if places
        else (),
        discrepancy=_discrepancy(
            [(pair, test) for pair, test in zip(pairs, tests, strict=True) if _blind(*pair)]
        ),
    )


def tests_of(pairs: Sequence[Pair]) -> list[int]:
    """Number the tests that figures are of, from 1 as they first come.

    Figures of one scenario, option and changes that were seen on one day are of one test, unless
    what came out names the rope: another rope is another test. A figure that names none there goes
    with the first that is named, so that what was left out makes no test of its own.
    """
    named: dict[tuple[object, ...], str] = {}
    for pair in pairs:
        if pair[1].rope:
            named.setdefault(_same(*pair), pair[1].rope)
    keys = [(*_same(f, s), s.rope or named.get(_same(f, s), "")) for f, s in pairs]
    numbers = {key: number for number, key in enumerate(dict.fromkeys(keys), 1)}
    return [numbers[key] for key in keys]


def _same(forecast: Frozen, came_out: CameOut) -> tuple[object, ...]:
    """What figures of one test have in common, whatever they are called."""
    return forecast.scenario_sha256, forecast.changes, forecast.option, came_out.on


def means_of(values: Sequence[float], tests: Sequence[int]) -> list[float]:
    """Give the mean of each test's figures, so that each test counts once."""
    each: dict[int, list[float]] = {}
    for value, test in zip(values, tests, strict=True):
        each.setdefault(test, []).append(value)
    return [float(np.mean(figures)) for figures in each.values()]


def _blind(forecast: Frozen, came_out: CameOut) -> bool:
    """Tell whether a forecast was frozen no later than the day of its test."""
    return forecast.day <= came_out.on


def _scored(forecast: Frozen, came_out: CameOut, test: int) -> Scored:
    draws, seen, until = forecast.draws, came_out.seen, forecast.until
    where = place(draws, seen, until)
    return Scored(
        name=forecast.name,
        looked_for=forecast.looked_for,
        dimension=looked_for(forecast.looked_for).dimension,
        frozen=forecast.day,
        on=came_out.on,
        blind=_blind(forecast, came_out),
        p5=between(draws, 0.05),
        p50=between(draws, 0.5),
        p95=between(draws, 0.95),
        low=seen.low,
        high=seen.high,
        place=(where.low, where.high),
        inside=where.inside(CENTRAL),
        log_score=log_score(draws, seen, until),
        crps=crps(draws, seen, until),
        interval_score=interval_score(draws, seen, until, CENTRAL),
        seal=forecast.seal,
        test=test,
    )


def _discrepancy(pairs: Sequence[tuple[Pair, int]]) -> Discrepancy | None:
    """What the blind forecasts of wear say; those with another discrepancy count alike.

    The factors are of the exposure itself, whatever discrepancy a library had.
    """
    judged = [pair for pair, _ in pairs if len(pair[0].at_factors)]
    if not judged:
        return None
    tests = [test for pair, test in pairs if len(pair[0].at_factors)]
    figures = [
        crossings(f.factors, f.at_factors, came_out.seen, f.until) for f, came_out in judged
    ]  # fmt: skip
    latest = max((f for f, _ in judged), key=lambda f: f.frozen)
    found = earned(figures, latest.discrepancy, tests)
    return Discrepancy(
        count=found.count,
        forecasts=len(judged),
        bias=_part(found.bias),
        spread=_part(found.spread),
        factor=_part(found.factor),
        now=_part(found.now),
        verdict=found.verdict.value,
        entry=found.entry(),
    )


def _part(found: Share | Range) -> Part:
    return Part(found.value, found.low, found.high)
