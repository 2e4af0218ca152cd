"""Standard normals of many counters at once, bit for bit those that numpy draws.

Numpy's Philox generator (four words of 64 bits a count, ten rounds; J. K. Salmon et al., "Parallel
random numbers: as easy as 1, 2, 3", 2011) feeds its ziggurat (G. Marsaglia and W. W. Tsang, "The
ziggurat method for generating random variables", 2000). To set a generator back for each run took
numpy eight times as long as all its draws do here.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.mechanics.arrays import Floats
from edgewear.mechanics.cache import CACHE
from edgewear.mechanics.jit import entry, inlined, njit

Words = NDArray[np.uint64]

LAYERS = 256
"""Of the ziggurat; the lowest eight bits of a word choose one."""

NEAR = 1e-12
"""Share of a bound within which nothing is decided here: far more than tables and exponentials of
two libraries differ by, far less than is ever met."""

_LOW, _HALF, _ONE = np.uint64(0xFFFFFFFF), np.uint64(32), np.uint64(1)
_TURN = np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157)
_RAISE = np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B)
_LAYER, _SIGN, _SIZE = np.uint64(LAYERS - 1), np.uint64(9), np.uint64(2**52 - 1)
_SHARE, _WORDS = np.uint64(11), np.uint64(4)


@inlined
def _high(one: Any, other: Any) -> Any:
    """Upper 64 bits of a product."""
    a, b = one >> _HALF, one & _LOW
    c, d = other >> _HALF, other & _LOW
    crossed = a * d + ((b * d) >> _HALF)
    also = b * c + (crossed & _LOW)
    return a * c + (crossed >> _HALF) + (also >> _HALF)


@njit
def _count(at: Any, block: Any, replicate: Any, key: Words, words: Words) -> None:
    """Write the four words of a count."""
    a, b, c, d = at, block, replicate, _ONE
    one, other = key[0], key[1]
    for _ in range(10):
        a, b, c, d = (
            _high(_TURN[1], c) ^ b ^ one,
            _TURN[1] * c,
            _high(_TURN[0], a) ^ d ^ other,
            _TURN[0] * a,
        )
        one, other = one + _RAISE[0], other + _RAISE[1]
    words[0], words[1], words[2], words[3] = a, b, c, d


@njit
def _drawn(
    block: Any, replicate: Any, key: Words, layers: Floats, words: Words, out: Floats
) -> Any:
    """Draw the normals of one counter; False: numpy has to decide one of them."""
    taken, n = np.uint64(0), 0
    while n < out.size:
        if taken % _WORDS == 0:
            _count(taken // _WORDS + _ONE, block, replicate, key, words)
        word = words[taken % _WORDS]
        taken += _ONE
        layer = word & _LAYER
        size = float((word >> _SIGN) & _SIZE)
        value = size * layers[0, layer]
        if size >= layers[1, layer] * (1.0 - NEAR):  # there the layer reaches beyond the curve
            if layer == 0 or size <= layers[1, layer] * (1.0 + NEAR):
                return False  # the tail, or too near to tell
            if taken % _WORDS == 0:
                _count(taken // _WORDS + _ONE, block, replicate, key, words)
            share = float(words[taken % _WORDS] >> _SHARE) * 2.0**-53
            taken += _ONE
            low, high = layers[2, layer], layers[2, layer - _ONE]
            curve = math.exp(-0.5 * value * value)
            height = (high - low) * share + low
            if abs(height - curve) <= NEAR * curve:
                return False
            if height > curve:
                continue
        out[n] = -value if (word >> np.uint64(8)) & _ONE else value
        n += 1
    return True


@entry(CACHE)
def draw_normals(
    key: Words, replicates: Words, size: int, layers: Floats, words: Words, out: Floats, left: Any
) -> None:
    """Draw the first normals of n replicates, each block from its counter (0, block, replicate, 1).

    key: (2,). replicates: (n,). size: of a block. layers: (3, LAYERS), from `layers_of`. words:
    (4,), written over. out: (n, k). left: (n, blocks), told where numpy has to draw a block: one of
    128 normals in thirty.
    """
    for row in range(len(replicates)):
        for block in range(left.shape[1]):
            some = out[row, block * size : (block + 1) * size]
            at = np.uint64(block)
            left[row, block] = not _drawn(at, replicates[row], key, layers, words, some)


def layers_of(width: Floats) -> Floats:
    """Layers of the ziggurat, (3, LAYERS): width of a unit, largest size inside, height.

    width: (LAYERS,) of a unit of size in each layer; layer 0 holds the tail.
    """
    edge = width * 2.0**52
    inner = np.concatenate([[edge[-1], 0.0], edge[1:-1]])
    height = np.exp(-0.5 * edge**2)
    height[0] = 1.0
    return np.stack([width, inner / edge * 2.0**52, height])
