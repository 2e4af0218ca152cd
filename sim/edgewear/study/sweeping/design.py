"""Designs over inputs: shares between 0 and 1, any stretch of rows at a time."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import blake2b
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple, Protocol

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


class Stretch(NamedTuple):
    """Rows of a scrambled Sobol sequence."""

    columns: int
    rows: int  # of all of it
    seed: int
    first: int
    many: int


@dataclass(frozen=True)
class Sobol:
    """A scrambled Sobol sequence; a column depends on its place among the names as well.

    draw: makes its points; see `points_of`.
    """

    names: tuple[str, ...]
    rows: int
    seed: int
    draw: Callable[[Stretch], Floats] = field(default_factory=lambda: points_of)

    def __post_init__(self) -> None:
        """Load what draws it, so that this is done while workers start."""
        if self.draw is points_of:
            load_points()

    def shares(self, first: int, count: int) -> dict[str, Floats]:
        """Make some rows; going on from the last ones costs nothing more."""
        points = self.draw(Stretch(len(self.names), self.rows, self.seed, first, count))
        return {name: points[:, column] for column, name in enumerate(self.names)}


def load_points() -> None:
    """Load what makes points, which takes longer than a thousand rows."""
    import_module("scipy.stats")


_UNDER_WAY: dict[Stretch, qmc.Sobol] = {}
"""The sequence that points were made of last, by the stretch that comes next, of no rows."""


def points_of(wanted: Stretch) -> Floats:
    """Points of a scrambled Sobol sequence, (many, columns) strictly between 0 and 1."""
    engine = _UNDER_WAY.pop(wanted._replace(many=0), None)
    if engine is None:
        engine = _fresh(wanted)
        if wanted.first:
            engine.fast_forward(wanted.first)
    with warnings.catch_warnings():
        # rows that are no power of two lose balance, as the page on designs says
        warnings.simplefilter("ignore", UserWarning)
        points: Floats = engine.random(wanted.many)
    _UNDER_WAY.clear()
    _UNDER_WAY[wanted._replace(first=wanted.first + wanted.many, many=0)] = engine
    return np.clip(points, 2.0**-54, 1 - 2.0**-53, out=points)


def _fresh(wanted: Stretch) -> qmc.Sobol:
    from scipy.stats import qmc

    generator = np.random.default_rng([wanted.seed, _number(wanted.seed, "sobol")])
    bits = max(30, min(64, wanted.rows.bit_length()))
    return qmc.Sobol(wanted.columns, scramble=True, bits=bits, rng=generator)


def design_of(
    method: str,
    names: tuple[str, ...],
    rows: int,
    seed: int,
    draw: Callable[[Stretch], Floats] | None = None,
) -> Design:
    """Make the design that a study asks for.

    Parameters:
        method: sobol, latin hypercube or random.
        names: of its columns.
        rows: of all of it.
        seed: of its draws.
        draw: makes the points of a Sobol sequence; `points_of` by default.

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
        return Sobol(names, rows, seed, draw or points_of)
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
