"""What a person is used to, with its times, and where their time goes, in whole ticks."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Literal, NamedTuple

import simpy

Spending = Literal["activity", "waiting", "rest"]


FREE_FALL_M = 0.6
"""Fall until a backup device grips where nothing is said [m]; assumed."""


class Habits(NamedTuple):
    """What a person is used to, with the time it takes."""

    technique: str
    mass_kg: float = 100.0
    tires: float = 0.0  # fatigue a stroke
    passing_s: float = 120.0  # to pass a re-anchor
    deviation_s: float = 40.0  # to pass a deviation
    knot_s: float = 150.0  # to pass a knot
    free_fall_m: float = FREE_FALL_M  # until their backup device grips
    shift_m: float = 0.0  # rope let through at the anchor ...
    shift_every: int = 0  # ... after so many strokes; 0: never
    shift_s: float = 60.0
    stopper: bool = True  # at the end of their rope


class Times(NamedTuple):
    """A person's shift and what it was spent on [ticks]."""

    shift: int
    activity: int
    waiting: int
    rest: int


class Account:
    """Books every tick of a person's shift under one heading."""

    def __init__(self, env: simpy.Environment) -> None:
        """Begin with activity, now."""
        self._env = env
        self.began = self._since = int(env.now)
        self._spending: Spending = "activity"
        self._ticks = {"activity": 0, "waiting": 0, "rest": 0}
        self._closed: int | None = None

    @contextmanager
    def spending(self, what: Spending) -> Iterator[None]:
        """Book what happens inside under a heading; what was going on before goes on after."""
        before = self._turn(what)
        try:
            yield
        finally:
            self._turn(before)

    def close(self, at: int | None = None) -> None:
        """End the shift, now or at a tick since which nothing but waiting went on."""
        if self._closed is None:
            self._closed = int(self._env.now) if at is None else max(at, self._since)
            self._ticks[self._spending] += self._closed - self._since
            self._since = self._closed

    @property
    def since(self) -> int:
        """Tick at which what is going on began."""
        return self._since

    @property
    def times(self) -> Times:
        """The shift so far."""
        self._turn(self._spending)
        return Times(self._since - self.began, **self._ticks)

    def _turn(self, what: Spending) -> Spending:
        if self._closed is None:
            now = int(self._env.now)
            self._ticks[self._spending] += now - self._since
            self._since = now
        before, self._spending = self._spending, what
        return before
