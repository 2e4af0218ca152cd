"""Designs over inputs: shares between 0 and 1, any stretch of rows at a time."""

from __future__ import annotations

import warnings
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.engine.draws import uniforms
from edgewear.errors import UsageError

if TYPE_CHECKING:
    from scipy.stats import qmc

Floats = NDArray[np.float64]

_ROUNDS = 6
_MIX = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB))


class Design(Protocol):
    """Rows of shares, one column a name."""

    def shares(self, first: int, count: int) -> dict[str, Floats]:
        """Rows `first` to `first + count`: name -> (count,) strictly between 0 and 1."""


@dataclass(frozen=True)
class Random:
    """Independent draws; a column depends on its name and the seed alone."""

    names: tuple[str, ...]
    seed: int

    def shares(self, first: int, count: int) -> dict[str, Floats]:
        """Draw some rows."""
        return {name: uniforms(self.seed, name, first, count) for name in self.names}


@dataclass(frozen=True)
class LatinHypercube:
    """Every one of `rows` equal slices of each input is hit once.

    The order of the slices is a permutation that is computed entry by entry (a Feistel network
    of keyed hashes, walked until it falls inside), so a stretch of rows needs no other row in
    memory, and a column depends on its name and the seed alone.
    """

    names: tuple[str, ...]
    rows: int
    seed: int

    def shares(self, first: int, count: int) -> dict[str, Floats]:
        """Make some rows."""
        row = np.arange(first, first + count, dtype=np.uint64)
        found = {}
        for name in self.names:
            slices = permuted(row, self.rows, _number(self.seed, name))
            within = uniforms(self.seed, name, first, count)
            found[name] = np.clip((slices + within) / self.rows, 2.0**-54, 1 - 2.0**-53)
        return found


@dataclass
class Sobol:
    """A scrambled Sobol sequence; a column depends on its place among the names as well."""

    names: tuple[str, ...]
    rows: int
    seed: int
    _engine: qmc.Sobol = field(init=False, repr=False)
    _at: int = field(default=0, repr=False)

    def __post_init__(self) -> None:
        """Load what draws it, so that this is done while workers start."""
        self._engine = self._fresh()

    def shares(self, first: int, count: int) -> dict[str, Floats]:
        """Make some rows; going on from the last ones costs nothing more."""
        if self._at > first:
            self._engine, self._at = self._fresh(), 0
        if first > self._at:
            self._engine.fast_forward(first - self._at)
        with warnings.catch_warnings():
            # rows that are no power of two lose balance, as the page on designs says
            warnings.simplefilter("ignore", UserWarning)
            points: Floats = self._engine.random(count)
        self._at = first + count
        np.clip(points, 2.0**-54, 1 - 2.0**-53, out=points)
        return {name: points[:, column] for column, name in enumerate(self.names)}

    def _fresh(self) -> qmc.Sobol:
        from scipy.stats import qmc

        generator = np.random.default_rng([self.seed, _number(self.seed, "sobol")])
        bits = max(30, min(64, self.rows.bit_length()))
        return qmc.Sobol(len(self.names), scramble=True, bits=bits, rng=generator)


def design_of(method: str, names: tuple[str, ...], rows: int, seed: int) -> Design:
    """Make the design that a study asks for.

    Raises:
        UsageError: no such method, or nothing to vary.
    """
    if not names:
        raise UsageError("the sample is over nothing that varies in any option")
    if method == "random":
        return Random(names, seed)
    if method == "latin hypercube":
        return LatinHypercube(names, rows, seed)
    if method == "sobol":
        return Sobol(names, rows, seed)
    raise UsageError(f"method {method!r}: allowed are sobol, latin hypercube, random")


def permuted(row: NDArray[np.uint64], rows: int, key: int) -> NDArray[np.float64]:
    """Give the places of some rows in a permutation of 0 .. rows - 1.

    Parameters:
        row: (n,) below `rows`.
        rows: length of the permutation.
        key: chooses it.

    Returns:
        (n,) whole numbers as floats, exact up to 2**53.
    """
    half = np.uint64(max((rows - 1).bit_length() + 1, 2) // 2)
    place = _crossed(row, half, key)
    outside = place >= rows
    while outside.any():
        place[outside] = _crossed(place[outside], half, key)
        outside = place >= rows
    return place.astype(np.float64)


def _crossed(value: NDArray[np.uint64], half: np.uint64, key: int) -> NDArray[np.uint64]:
    """One pass through the network: a permutation of 0 .. 4**half - 1."""
    mask = (np.uint64(1) << half) - np.uint64(1)
    left, right = value >> half, value & mask
    with np.errstate(over="ignore"):
        for turn in range(_ROUNDS):
            salt = np.uint64((key + turn * 0x9E3779B97F4A7C15) % 2**64)
            left, right = right, left ^ (_mixed(right + salt) & mask)
    return (left << half) | right


def _mixed(value: NDArray[np.uint64]) -> NDArray[np.uint64]:
    value = (value + _MIX[0]) * _MIX[1]
    value = (value ^ (value >> np.uint64(29))) * _MIX[2]
    return value ^ (value >> np.uint64(32))


def _number(seed: int, name: str) -> int:
    return int.from_bytes(blake2b(f"{seed} {name}".encode(), digest_size=8).digest(), "little")
