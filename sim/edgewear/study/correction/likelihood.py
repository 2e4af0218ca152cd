"""How well each sampled world fits what was measured on site: logarithms of likelihoods."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.stock.looks import FLOOR as FLOOR
from edgewear.stock.looks import LEAST_BELIEVED as LEAST_BELIEVED
from edgewear.stock.looks import NEAR as NEAR
from edgewear.stock.looks import SEEN as SEEN
from edgewear.stock.looks import believed as believed
from edgewear.stock.looks import effective as effective
from edgewear.stock.looks import inspection as inspection
from edgewear.stock.looks import weights as weights
from edgewear.terms import WORKING

Floats = NDArray[np.float64]

TAPE_M = 0.005
"""Reading error of a travel, one standard deviation [m]; common practice, no published source."""

TAPE_SHARE = 0.05
"""Further reading error, as a share of the travel; assumed."""

LEAST_TRAVEL_M = 0.001
"""A mark that does not move is read as at most this [m]."""

BOUNCE_SHARE = 0.10
"""Error of a bounce count against the model's frequency, one standard deviation; assumed."""

BODY_LENGTH_M = 3.5
"""Rope as soft as the person's body: K/k_body of a usual rope [m]; assumed."""

Z95 = 1.6449


def travel(read_m: Floats, p5_m: Floats, p50_m: Floats, p95_m: Floats) -> Floats:
    """Log likelihood of travels read, log-normal about each world's own strokes.

    Parameters:
        read_m: (k,) travels of a mark, one a stroke [m].
        p5_m, p50_m, p95_m: (n,) percentiles within the job of each world [m].

    Returns: (n,)
    """
    read = np.maximum(read_m, LEAST_TRAVEL_M)[:, None]
    middle = np.maximum(np.nan_to_num(p50_m), LEAST_TRAVEL_M)
    high = np.maximum(np.nan_to_num(p95_m), middle)
    low = np.clip(np.nan_to_num(p5_m), LEAST_TRAVEL_M, middle)
    strokes = np.log(high / low) / (2 * Z95)
    spread = np.sqrt(strokes**2 + TAPE_SHARE**2 + (TAPE_M / np.maximum(read, middle)) ** 2)
    off = (np.log(read) - np.log(middle)) / spread
    return np.asarray(_floored(-0.5 * off**2 - np.log(spread)).sum(axis=0))


def bounce(read_hz: float, depth_m: float, world_hz: Floats, world_depth_m: float) -> Floats:
    """Log likelihood of a bounce count, the frequency scaled to the depth it was counted at.

    Rope and body are springs in a row: f is proportional to (length + body length)^(-1/2).

    Parameters:
        read_hz: bounces over time.
        depth_m: below the last edge, where it was counted [m].
        world_hz: (n,) frequency of each world, rope stuck at the last edge.
        world_depth_m: below the last edge, where that holds [m].

    Returns: (n,)
    """
    scale = math.sqrt((world_depth_m + BODY_LENGTH_M) / (depth_m + BODY_LENGTH_M))
    with np.errstate(invalid="ignore"):
        off = np.log(read_hz / (np.maximum(world_hz, 1e-3) * scale)) / BOUNCE_SHARE
    return np.asarray(_floored(np.nan_to_num(-0.5 * off**2, nan=math.log(FLOOR))))


def _floored(log_likelihood: Floats) -> Floats:
    return np.maximum(log_likelihood, math.log(FLOOR))


def chosen(weight: Floats, count: int) -> NDArray[np.int64]:
    """Choose worlds in proportion to their weights, by systematic resampling without chance.

    Parameters:
        weight: (n,), summing to 1.
        count: how many, repeats allowed.

    Returns: (count,) indices, ascending.
    """
    at = (np.arange(count) + 0.5) / count
    found = np.searchsorted(np.cumsum(weight), at)
    return np.minimum(found, len(weight) - 1).astype(np.int64)


def below_last_edge_m(rigged: Mapping[str, Any], person: str) -> float:
    """Rope below the last edge where a person first hangs on the working line [m]."""
    for section in rigged["sections"]:
        if section["role"] == WORKING and section["person"] == person:
            edges = section["edges"]
            below = float(edges[-1]["below_m"] if edges else section["free_m"][-1])
            start = float((rigged.get("starts_m") or {}).get(person, rigged["start_depth_m"]))
            return max(below - (float(section["work_depth_m"]) - start), 0.5)
    return 1.0
