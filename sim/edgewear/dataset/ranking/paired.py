"""How often one option beats another in the same trials, and whether they are told apart."""

from __future__ import annotations

from edgewear import spelt
from edgewear.dataset.ranking.model import OptionResult, PairedChance
from edgewear.dataset.ranking.option_trials import Sample, places_of
from edgewear.dataset.ranking.statistics import (
    TWO_SIDED_95,
    chance_of_beating,
    difference_error,
    quantile,
    replicates_to_settle,
    share_error,
)


def paired_chance(
    option: OptionResult, other: OptionResult, mine: Sample, others: Sample, seed: int
) -> PairedChance:
    """Say how often an option beats another, and whether the trials tell them apart.

    They are told apart when the difference of their 5th percentiles is larger than 1.96 of its
    Monte Carlo standard error and what half the step changes in both.
    """
    places = places_of([mine, others])
    chance, trials = chance_of_beating(*places), places.shape[1]
    low = quantile(mine.margins, 0.05), quantile(others.margins, 0.05)
    error = difference_error(mine.margins, others.margins, 0.05, seed)
    if low[0] is None or low[1] is None or error is None:
        clear = mine.careful_end().grade != others.careful_end().grade
        said = (
            "the grades differ"
            if clear
            else f"cannot be told apart from {spelt.quoted(other.name)}"
        )
        return PairedChance(other.name, chance, share_error(chance, trials), clear, None, said)
    difference = abs(low[0] - low[1])
    step = (option.step_error or 0.0) + (other.step_error or 0.0)
    apart = difference > max(TWO_SIDED_95 * error, step)
    settle = None
    if not apart and difference > step:
        settle = replicates_to_settle(difference, error, trials)
    said = _apart_words(other.name, apart, difference, settle)
    return PairedChance(other.name, chance, share_error(chance, trials), apart, settle, said)


def _apart_words(other: str, apart: bool, difference: float, settle: int | None) -> str:
    other = spelt.quoted(other)
    if apart:
        return f"told apart from {other}"
    if difference == 0:
        return f"level with {other} in every way that counts"
    if settle is None:
        return f"cannot be told apart from {other}; more trials would not settle it"
    return f"cannot be told apart from {other}; about {settle} replicates would settle it"
