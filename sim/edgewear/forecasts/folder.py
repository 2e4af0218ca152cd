"""All forecasts of a folder beside what came out of their tests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from edgewear.errors import EdgewearError, UsageError
from edgewear.findings.learning.scores import Discrepancy, Part, Scored, Scores
from edgewear.forecasts.coverage import Share, place, reliability, share_of
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
    scored = tuple(_scored(*pair) for pair in pairs)
    blind = [one for one in scored if one.blind]
    places = [place(f.draws, s.seen, f.until) for f, s in pairs if _blind(f, s)]
    inside = share_of([one.inside for one in blind]) if blind else None
    return Scores(
        folder=folder,
        scored=scored,
        waiting=waiting,
        refused=refused,
        coverage=None if inside is None else _part(inside),
        mean_log_score=float(np.mean([one.log_score for one in blind])) if blind else None,
        reliability=tuple((at, _part(one)) for at, one in reliability(places)) if places else (),
        discrepancy=_discrepancy([pair for pair in pairs if _blind(*pair)]),
    )


def _blind(forecast: Frozen, came_out: CameOut) -> bool:
    """Tell whether a forecast was frozen no later than the day of its test."""
    return forecast.day <= came_out.on


def _scored(forecast: Frozen, came_out: CameOut) -> Scored:
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
    )


def _discrepancy(pairs: Sequence[Pair]) -> Discrepancy | None:
    """What the blind forecasts of wear say; those with another discrepancy count alike.

    The factors are of the exposure itself, whatever discrepancy a library had.
    """
    judged = [pair for pair in pairs if len(pair[0].at_factors)]
    if not judged:
        return None
    tests = [
        crossings(f.factors, f.at_factors, came_out.seen, f.until) for f, came_out in judged
    ]  # fmt: skip
    latest = max((f for f, _ in judged), key=lambda f: f.frozen)
    found = earned(tests, latest.discrepancy)
    return Discrepancy(
        count=found.count,
        bias=_part(found.bias),
        spread=_part(found.spread),
        factor=_part(found.factor),
        now=_part(found.now),
        verdict=found.verdict.value,
        entry=found.entry(),
    )


def _part(found: Share | Range) -> Part:
    return Part(found.value, found.low, found.high)
