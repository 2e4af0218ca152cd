"""Chance as a pure function of (seed, replicate, name): every option meets the same world.

A counter-based generator (Philox) is keyed by the seed and a hash of the name; the replicate is
its counter. Nothing depends on the option, the worker, the order of calls, or on which other
draws are made, so adding an uncertainty leaves all the other draws as they were.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Sequence
from functools import lru_cache
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import UsageError

Floats = NDArray[np.float64]

STROKES_A_BLOCK = 64
"""Strokes whose variation is drawn at once."""

DISTRIBUTIONS = ("normal", "lognormal", "uniform", "triangular", "fixed")

_WORDS_A_COUNT = 4  # Philox gives four words for one count
_Z_95 = 1.6448536269514722  # standard normal quantile at 0.95
_WORD = 2**64


def uniforms(seed: int, name: str, first: int, count: int) -> Floats:
    """Draw a stretch of the column that belongs to a name.

    Parameters:
        seed: of the study, 0 to 2**64 - 1.
        name: of the uncertainty.
        first: replicate of the first entry, from 0.
        count: number of entries.

    Returns:
        (count,) [1], strictly between 0 and 1; an entry depends on its replicate alone.

    Raises:
        UsageError: a seed or replicate out of range.
    """
    stream = _stream(key_of(seed, name), _counter(first))
    words = stream.random_raw(_WORDS_A_COUNT * count)[::_WORDS_A_COUNT]
    return ((words >> np.uint64(11)).astype(np.float64) + 0.5) * 2.0**-53


def joint_uniforms(
    seed: int, name: str, leans: Sequence[tuple[str, float]], first: int, count: int
) -> Floats:
    """Draw a stretch of the column of a name that is correlated with others.

    z = sum of loading*z_k + sqrt(1 - sum of loading^2)*z_own, z_k and z_own the standard normals of
    the names' own columns; so correlated columns, too, depend on seed, replicate and names alone.

    Parameters:
        seed, name, first, count: as in `uniforms`.
        leans: (name, loading) [1]; empty gives `uniforms`.

    Returns:
        (count,) [1], strictly between 0 and 1.

    Raises:
        UsageError: loadings that leave nothing of its own.
    """
    own = uniforms(seed, name, first, count)
    if not leans:
        return own
    from scipy.special import ndtr, ndtri

    left = 1.0 - sum(loading * loading for _, loading in leans)
    if left <= 0.0:
        raise UsageError(f"{name}: the squares of its loadings sum to {1.0 - left:.3g}, at most 1")
    z = np.sqrt(left) * ndtri(own)
    for other, loading in leans:
        z = z + loading * ndtri(uniforms(seed, other, first, count))
    shares: Floats = np.clip(ndtr(z), 2.0**-54, 1.0 - 2.0**-53)
    return shares


def quantile(
    distribution: str,
    median: float,
    low: float,
    high: float,
    share: Floats,
    most: float = math.inf,
) -> Floats:
    """Turn shares into values of a distribution.

    Normal and log-normal are given by their median and 90 % interval; where the median is not in
    the middle each half keeps its own width, so that all three figures are met. A normal whose
    interval lies above zero stays above a tenth of its low end: no mass or stiffness is negative
    because a tail reaches far. Uniform and
    triangular run from `low` to `high`, the triangle's peak is the median.

    Parameters:
        distribution: one of DISTRIBUTIONS.
        median, low, high: in the unit of the quantity.
        share: (n,) [1] between 0 and 1.
        most: what nothing can lie above; the distribution is cut there.

    Returns:
        (n,) in the unit of the quantity.

    Raises:
        UsageError: no such distribution, or figures out of order.
    """
    if distribution == "fixed":
        return np.full(share.shape, float(median))
    _check(distribution, median, low, high)
    if distribution == "uniform":
        return low + (high - low) * share
    if distribution == "triangular":
        return _triangle(median, low, high, share)
    share = share * _share_below(distribution, median, high, most)
    if distribution == "lognormal":
        return np.exp(_halves(np.log(median), np.log(low), np.log(high), share))
    values = _halves(median, low, high, share)
    return np.maximum(values, low / 10) if low >= 0 else values


def stroke_block(seed: int, replicate: int, person: str, block: int) -> Floats:
    """Draw how the strokes of one person vary.

    Parameters:
        seed: of the study.
        replicate: from 0.
        person: name.
        block: ordinal of the first stroke divided by STROKES_A_BLOCK.

    Returns:
        (STROKES_A_BLOCK, 2) standard normal [1]: amplitude and timing of each stroke.
    """
    counter = np.array([0, block, replicate, 1], dtype=np.uint64)
    stream = _stream(key_of(seed, f"strokes of {person}"), counter)
    return np.random.Generator(stream).standard_normal((STROKES_A_BLOCK, 2))


def stroke_columns(seed: int, replicates: NDArray[np.int64], person: str, strokes: int) -> Floats:
    """Draw the first strokes of many replicates; what `stroke_block` gives, in a kernel.

    Parameters:
        seed: of the study.
        replicates: (n,) from 0.
        person: name.
        strokes: how many of each replicate.

    Returns:
        (n, strokes, 2) standard normal [1].
    """
    from edgewear.mechanics.normals import draw_normals

    count, size = len(replicates), STROKES_A_BLOCK
    found, words = np.empty((count, strokes, 2)), np.empty(_WORDS_A_COUNT, np.uint64)
    left = np.zeros((count, -(-strokes // size)), np.bool_)
    counters, flat = replicates.astype(np.uint64), found.reshape(count, 2 * strokes)
    key = key_of(seed, f"strokes of {person}")
    draw_normals(key, counters, 2 * size, _layers(), words, flat, left)
    for row, block in zip(*(index.tolist() for index in np.nonzero(left)), strict=True):
        some = found[row, block * size : (block + 1) * size]
        some[:] = stroke_block(seed, int(replicates[row]), person, block)[: len(some)]
    return found


@lru_cache(maxsize=1)
def _layers() -> Floats:
    """Layers of numpy's ziggurat, asked from numpy: of each the normal of a word of size 1."""
    from edgewear.mechanics.normals import LAYERS, layers_of

    stream, width = np.random.Philox(key=0), np.empty(LAYERS)
    generator, state = np.random.Generator(stream), stream.state
    for layer in range(LAYERS):
        # the word, then 0 where the layer asks once more: it is always inside. Not from place 0:
        # numpy takes none from 2.5 on, for it hands out no word before it has made four
        words = [0, layer | 1 << 9, 0, 0]
        stream.state = {**state, "buffer": np.array(words, np.uint64), "buffer_pos": 1}
        width[layer] = generator.standard_normal()
    return layers_of(width)


def check_seed(seed: int) -> None:
    """Refuse a seed that no generator takes.

    Raises:
        UsageError: it is below 0 or above 2**64 - 1.
    """
    if not 0 <= seed < _WORD:
        raise UsageError(f"seed {seed}: from 0 to {_WORD - 1} is allowed")


class _Streams(threading.local):
    """The generator of each thread, used again: a new one asks the system for entropy first."""

    def __init__(self) -> None:
        self.stream = np.random.Philox(key=0)
        self.fresh = self.stream.state


_STREAMS = _Streams()


def _stream(key: NDArray[np.uint64], counter: NDArray[np.uint64]) -> np.random.Philox:
    """A generator at the place that a key and a counter name, until the next one is asked for."""
    state = _STREAMS.fresh
    state["state"]["key"], state["state"]["counter"] = key, counter
    _STREAMS.stream.state = state
    return _STREAMS.stream


def key_of(seed: int, name: str) -> NDArray[np.uint64]:
    """Give the key of the generator that belongs to a name.

    Raises:
        UsageError: a seed out of range.
    """
    check_seed(seed)
    digest = blake2b(name.encode(), digest_size=8).digest()
    return np.array([seed, int.from_bytes(digest, "little")], dtype=np.uint64)


def _counter(replicate: int) -> NDArray[np.uint64]:
    if not 0 <= replicate < _WORD:
        raise UsageError(f"replicate {replicate}: from 0 on is allowed")
    return np.array([replicate, 0, 0, 0], dtype=np.uint64)


def _check(distribution: str, median: float, low: float, high: float) -> None:
    if distribution not in DISTRIBUTIONS:
        allowed = ", ".join(DISTRIBUTIONS)
        raise UsageError(f"distribution {distribution!r}: allowed are {allowed}")
    if not low <= median <= high:
        raise UsageError(f"a {distribution} of {low} .. {median} .. {high} is out of order")
    if distribution == "lognormal" and low <= 0:
        raise UsageError(f"a lognormal of {low} .. {median} .. {high} reaches zero")


def _halves(median: float, low: float, high: float, share: Floats) -> Floats:
    from scipy.special import ndtri

    z: Floats = ndtri(share) / _Z_95
    return median + np.where(z < 0, (median - low) * z, (high - median) * z)


def _share_below(distribution: str, median: float, high: float, most: float) -> float:
    """Share of a normal or log-normal distribution that lies below `most`, at least its median."""
    from scipy.special import ndtr

    if math.isinf(most) or high <= median:
        return 1.0
    if distribution == "lognormal":
        median, high, most = math.log(median), math.log(high), math.log(most)
    return float(ndtr(_Z_95 * (most - median) / (high - median)))


def _triangle(peak: float, low: float, high: float, share: Floats) -> Floats:
    width = high - low
    if width == 0:
        return np.full(share.shape, float(low))
    rising = low + np.sqrt(share * width * (peak - low))
    falling = high - np.sqrt((1 - share) * width * (high - peak))
    return np.where(share < (peak - low) / width, rising, falling)
