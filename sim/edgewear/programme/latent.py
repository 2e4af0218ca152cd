"""What nobody knows of a programme: numbers asked for, and those that its tests share or not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from edgewear.errors import Problem, ScenarioError
from edgewear.programme.model import Programme, RopeTest
from edgewear.programme.plays import LEFT_OUT

if TYPE_CHECKING:
    from edgewear.case import Uncertainty

Floats = NDArray[np.float64]

SEVERITY = "severity"
"""Name of what is not known of a bench's edges: a factor on the exposure."""

GENERAL = ("wear", "weather", "techniques", "protection", "work", "common")
"""Sections whose numbers are the same in every test."""

OF_THE_STAND = ("edges", "anchors", "over")
"""Sections whose numbers are those of a bench, or of a set-up where no bench is named."""


@dataclass(frozen=True)
class Column:
    """One standard normal number of the latent space."""

    key: str
    """Who shares it and its name; unique."""
    name: str


@dataclass(frozen=True)
class Layout:
    """Which columns the tests of a programme share, and which each has to itself."""

    asked: tuple[str, ...]
    shared: tuple[Column, ...]
    """The asked ones first."""
    private: tuple[tuple[Column, ...], ...]
    """Of each test."""
    known: tuple[tuple[Uncertainty, ...], ...]
    """Uncertainties of each test, the asked ones with what is believed of them before."""
    scopes: tuple[Mapping[str, str], ...]
    """Name -> key, of each test."""
    benches: Mapping[str, Uncertainty]
    """Bench -> the factor on its exposure."""

    def values(self, at: int, shared: Floats, private: Floats) -> dict[str, Floats]:
        """Give the numbers of a test, (n,) each in its unit.

        Parameters:
            at: index of the test.
            shared: (n, k) standard normal; private: (n, p) of this test.
        """
        return dict(self.asked_for(at, shared, private))

    def asked_for(self, at: int, shared: Floats, private: Floats) -> Mapping[str, Floats]:
        """Give the numbers of a test as `values` does, each computed when it is looked up."""
        return _Values(self, at, self._scores(at, shared, private))

    def severity(self, bench: str, shared: Floats) -> Floats:
        """Give the factor on the exposure at a bench, (n,) [1]."""
        one = self.benches.get(bench)
        if one is None:
            return np.ones(len(shared))
        keys = [column.key for column in self.shared]
        return _value(one, shared[:, keys.index(f"bench {bench}|{SEVERITY}")])

    def asked_values(self, shared: Floats) -> dict[str, Floats]:
        """Give the asked numbers, (n,) each in its unit."""
        found = {}
        for k, name in enumerate(self.asked):
            one = next(u for known in self.known for u in known if u.name == name)
            found[name] = _value(one, shared[:, k])
        return found

    def _scores(self, at: int, shared: Floats, private: Floats) -> dict[str, Floats]:
        z = {column.key: shared[:, k] for k, column in enumerate(self.shared)}
        z |= {column.key: private[:, k] for k, column in enumerate(self.private[at])}
        return z

    def _joint(self, at: int, one: Uncertainty, z: Mapping[str, Floats]) -> Floats:
        """The scores of a number that leans on others, as in `engine.draws.joint_uniforms`."""
        own = z[self.scopes[at][one.name]]
        if not one.leans:
            return own
        left = sqrt(1.0 - sum(loading**2 for _, loading in one.leans))
        joint: Floats = left * own
        for other, loading in one.leans:
            joint = joint + loading * z[self.scopes[at][other]]
        return joint


class _Values(Mapping[str, "Floats"]):
    """Numbers of a test, (n,) each; few of many are wanted where only what breaks a rope moved."""

    def __init__(self, layout: Layout, at: int, scores: Mapping[str, Floats]) -> None:
        self._layout, self._at, self._scores = layout, at, scores
        self._known = {one.name: one for one in layout.known[at]}

    def __getitem__(self, name: str) -> Floats:
        one = self._known[name]
        return _value(one, self._layout._joint(self._at, one, self._scores))

    def __iter__(self) -> Iterator[str]:
        return iter(self._known)

    def __len__(self) -> int:
        return len(self._known)


def _value(one: Uncertainty, z: Floats) -> Floats:
    from scipy.special import ndtr

    from edgewear.study.plan import values_of

    return values_of(one, np.clip(ndtr(z), 2.0**-54, 1.0 - 2.0**-53))


def layout(programme: Programme, known: Sequence[Sequence[Uncertainty]]) -> Layout:
    """Lay the latent space of a programme out.

    Parameters:
        programme: its tests that were made.
        known: the uncertainties of each test's case.

    Raises:
        ScenarioError: a number is asked for on which no test depends.
    """
    _refuse_unknown(programme, known)
    mine = tuple(tuple(_with_beliefs(programme, some)) for some in known)
    scopes = [_scopes(programme, test, some) for test, some in zip(programme, mine, strict=True)]
    counts = Counter(key for scope in scopes for key in dict.fromkeys(scope.values()))
    names = {key: name for scope in scopes for name, key in scope.items()}
    asked = [f"all|{name}" for name in programme.asked]
    benches = {test.bench for test in programme} & set(programme.benches)  # sorted below
    several = [key for key in counts if counts[key] > 1 and key not in asked]
    shared = [Column(key, names[key]) for key in (*asked, *several)]
    shared += [Column(f"bench {bench}|{SEVERITY}", SEVERITY) for bench in sorted(benches)]
    taken = {column.key for column in shared}
    private = tuple(
        tuple(Column(key, name) for name, key in scope.items() if key not in taken)
        for scope in scopes
    )
    return Layout(
        tuple(programme.asked), tuple(shared), private, mine, tuple(scopes), _benches(programme)
    )


def _refuse_unknown(programme: Programme, known: Sequence[Sequence[Uncertainty]]) -> None:
    there = {one.name for some in known for one in some}
    problems = [
        Problem(programme.path, 0, 0, f"asked/{name}", "no test depends on this number")
        for name in programme.asked
        if name not in there
    ]
    if problems:
        raise ScenarioError(problems)


def _with_beliefs(programme: Programme, known: Sequence[Uncertainty]) -> list[Uncertainty]:
    """Uncertainties of a test that vary; the asked ones as they are believed to be."""
    found = []
    for one in known:
        if one.name in LEFT_OUT:
            continue
        belief = programme.asked.get(one.name)
        if belief is not None:
            one = replace(
                one, distribution=belief.distribution, median=belief.value, low=belief.low,
                high=belief.high, leans=(),
            )  # fmt: skip
        if one.distribution != "fixed":
            found.append(one)
    return found


def _scopes(programme: Programme, test: RopeTest, known: Sequence[Uncertainty]) -> dict[str, str]:
    """Name -> key of everything that a test draws, what its numbers lean on among it."""
    names = {one.name: one.kind for one in known}
    for one in known:
        for other, _ in one.leans:
            names.setdefault(other, "epistemic")
    return {name: f"{_who(programme, test, name, kind)}|{name}" for name, kind in names.items()}


def _who(programme: Programme, test: RopeTest, name: str, kind: str) -> str:
    """Say who shares a number."""
    section = name.split("/")[0]
    if name in programme.asked:
        return "all"
    if kind == "aleatory":
        return f"batch {test.batch}" if test.batch else f"test {test.name}"
    if section in GENERAL:
        return "all"
    if section in OF_THE_STAND and test.bench:
        return f"bench {test.bench}"
    if section == "job":
        return f"test {test.name}"
    return f"set-up {test.scenario_name}"


def _benches(programme: Programme) -> dict[str, Uncertainty]:
    from edgewear.case.model import Uncertainty

    return {
        name: Uncertainty(
            f"benches/{name}", "wear", one.distribution, one.value, one.low, one.high, "1",
            "epistemic", one.pedigree,
        )
        for name, one in programme.benches.items()
    }  # fmt: skip
