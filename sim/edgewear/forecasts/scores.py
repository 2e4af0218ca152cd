"""Scores of one forecast, given as draws, against what came out; smaller is better.

The log score is proper for intervals and for tests that were stopped: it is the likelihood of what
was seen. Of the two distances (CRPS and interval score) only what every figure inside the interval
seen has in common is counted, so that a coarse look never scores as if it had been a fine one.

Sources: Gneiting and Raftery, Journal of the American Statistical Association 102, 2007 (proper
scores); Gneiting and Ranjan, Journal of Business and Economic Statistics 29, 2011 (CRPS with a
weight); Silverman, Density Estimation, 1986 (width of a kernel); from memory.
"""

from __future__ import annotations

from math import inf, log

import numpy as np
from numpy.typing import NDArray

from edgewear.forecasts.quantities import Seen
from edgewear.percentiles import between

Floats = NDArray[np.float64]

BROAD = log(10.0)
"""Spread of the one part in n + 1 that expects anything: no single surprise scores infinite."""

FINEST = 0.005
"""Half width, as a share, of the interval that a figure read off stands for."""

LEAST_WIDTH = 0.01
"""Least width of a kernel, of the logarithm: no test is read more finely."""


def crps(draws: Floats, seen: Seen, until: float = inf) -> float:
    """Give the part of the continuous ranked probability score that all figures seen share.

    The integral of (F(z) - [z >= y])^2 over all z outside the interval seen; for a figure the
    score itself, mean |x - y| - mean |x - x'| / 2. In the unit of the draws.

    Parameters:
        draws: (n,), infinite where what is looked for never came.
        seen: what came out.
        until: nothing beyond is judged.
    """
    kept = seen.within(until)
    low, high = min(kept.low, until), min(kept.high, until)
    capped = np.minimum(np.asarray(draws, dtype=np.float64), until)
    folded = np.where(capped <= low, capped, np.where(capped >= high, capped - (high - low), low))
    if high == inf:
        folded = np.minimum(capped, low)
    ordered = np.sort(folded)
    ranks = np.arange(1, ordered.size + 1)
    apart = float(np.sum((2 * ranks - ordered.size - 1) * ordered)) / ordered.size**2
    return float(np.mean(np.abs(ordered - low))) - apart


def interval_score(draws: Floats, seen: Seen, until: float = inf, share: float = 0.9) -> float:
    """Give the interval score of the central share: its width, and what was seen lies beyond it.

    width + 2/(1 - share) times the distance to the nearest figure seen. In the unit of the draws;
    infinite where the interval has no end.

    Parameters:
        draws, seen, until: as for `crps`; share: 0 to 1.
    """
    capped = np.minimum(np.asarray(draws, dtype=np.float64), until)
    kept = seen.within(until)
    low, high = (between(capped, (1.0 + way * share) / 2.0) for way in (-1.0, 1.0))
    if low == high == inf:
        return 0.0 if kept.high == inf else inf
    beyond = max(low - min(kept.high, until), min(kept.low, until) - high, 0.0)
    return high - low + 2.0 / (1.0 - share) * beyond


def log_score(draws: Floats, seen: Seen, until: float = inf) -> float:
    """Give minus the logarithm of the probability that a forecast gave to what was seen [nat].

    The draws' logarithms get kernels of Silverman's width; draws that never came count for what
    lies beyond `until`; one part in n + 1 is a broad log-normal. A figure read off stands for half
    a per cent to each side.

    Parameters:
        draws, seen, until: as for `crps`.
    """
    from scipy.special import ndtr

    kept = seen.within(until)
    low, high = (kept.low * (1 - FINEST), kept.high * (1 + FINEST)) if kept.exact else (
        kept.low, kept.high,
    )  # fmt: skip
    centres, widths, never = mixture(draws, until)
    with np.errstate(divide="ignore"):
        ends = np.log([low, high])
    part = ndtr((ends[1] - centres) / widths) - ndtr((ends[0] - centres) / widths)
    beyond = never if kept.high == inf else 0
    return -log((float(part.sum()) + beyond) / (len(draws) + 1))


def mixture(draws: Floats, until: float = inf) -> tuple[Floats, Floats, int]:
    """Give a forecast's log-normal parts: centres and widths of the logarithms, the broad last.

    Parameters:
        draws: (n,); until: as for `crps`.

    Returns: centres and widths, (k + 1,) each, and how many draws never came.
    """
    came = np.asarray(draws, dtype=np.float64)
    came = came[np.isfinite(came)]
    logs = np.log(np.maximum(came, 1e-12))
    width = LEAST_WIDTH
    if logs.size > 1:
        quarter = (between(logs, 0.75) - between(logs, 0.25)) / 1.349
        spread = min(float(np.std(logs, ddof=1)), quarter) or float(np.std(logs, ddof=1))
        width = max(0.9 * spread * logs.size**-0.2, LEAST_WIDTH)
    middle = float(np.median(logs)) if logs.size else log(until) if until < inf else 0.0
    return np.append(logs, middle), np.append(np.full(logs.size, width), BROAD), (
        len(draws) - logs.size
    )  # fmt: skip
