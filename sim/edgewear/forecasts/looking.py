"""What tests look for, and when, as it was typed for each of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from edgewear.errors import UsageError
from edgewear.forecasts.freeze import read_seen
from edgewear.forecasts.quantities import looked_for

if TYPE_CHECKING:
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.scenario.models.steps import Step

USUAL = "core visible"
READ_OFF = "none"
"""Typed for a test in which nobody looks now and then: the figure is read off."""


@dataclass(frozen=True)
class Looking:
    """What the tests of one file look for."""

    file: str  # for messages
    word: str | None  # None: what fits the test
    looks: str | None  # comma separated; None: read off

    def at(self, scenario: Scenario) -> tuple[str, tuple[float, ...]]:
        """Give what a test looks for, and when: in SI, rising, empty where it is read off.

        Raises:
            UsageError: something that this test cannot look for, or no looks; with the file.
        """
        climbed = _climbs(step for steps in scenario.job.values() for step in steps)
        word = self.word or (USUAL if climbed else f"{USUAL} time")
        asked = looked_for(word)
        if asked.until == "ascended_m" and not climbed:
            raise UsageError(
                f"{self.file}: {word}: nobody climbs in this job; ask for `{word} time`"
            )
        if self.looks is None or self.looks.strip() == READ_OFF:
            return word, ()
        return word, self._when(self.looks, word, asked.dimension)

    def _when(self, typed: str, word: str, dimension: str) -> tuple[float, ...]:
        try:
            found = sorted(read_seen(one, dimension).low for one in typed.split(",") if one.strip())
        except UsageError as error:
            raise UsageError(f"{self.file}: --looks {typed}, for {word!r}: {error}") from error
        if not found or found[0] <= 0.0 or len(set(found)) < len(found):
            raise UsageError(f"{self.file}: --looks {typed}: figures above 0 that differ are due")
        return tuple(found)


def lookings(files: Sequence[str], look_for: Sequence[str], looks: Sequence[str]) -> list[Looking]:
    """Give what each file's tests look for.

    Parameters:
        files: of the tests; look_for, looks: none, one for all files, or one for each in order.

    Raises:
        UsageError: another number of them, or a word for nothing.
    """
    for word in look_for:
        looked_for(word)
    words = _for_each(files, look_for, "--look-for")
    when = _for_each(files, looks, "--looks")
    return [Looking(*one) for one in zip(files, words, when, strict=True)]


def _for_each(files: Sequence[str], typed: Sequence[str], name: str) -> list[str | None]:
    if not typed:
        return [None] * len(files)
    if len(typed) == 1:
        return [typed[0]] * len(files)
    if len(typed) != len(files):
        raise UsageError(
            f"{name} stands {len(typed)} times for {len(files)} tests: once for all of them, or "
            "once for each in order"
        )
    return [*typed]


def _climbs(steps: Iterable[Step]) -> bool:
    """Tell whether somebody climbs, in a repeat too."""
    from edgewear.scenario.models.steps import Ascend, Repeat

    return any(
        isinstance(one, Ascend) or (isinstance(one, Repeat) and _climbs(one.steps)) for one in steps
    )
