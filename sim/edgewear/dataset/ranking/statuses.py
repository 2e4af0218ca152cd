"""The statuses of an option, by what rigging says of it and what its trials came to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from edgewear import terms
from edgewear.dataset.ranking.option_trials import HELD, NOT_COMPUTED, PARTED, UNFINISHED, Sample
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.parts import parts_of
from edgewear.dataset.ranking.statistics import quantile
from edgewear.findings.failure import without_room


def statuses_of(
    sample: Sample, target: float, parts: Sequence[Part] | None = None
) -> tuple[str, ...]:
    """Give the statuses of an option, the one that decides its group first.

    Parameters:
        sample: its trials.
        target: sheath left at the careful end that was asked for [1].
        parts: what else can fail; one above its limit costs the target. Told by the trials if left
            out.
    """
    if parts is None:
        parts = parts_of(sample.runs, sample.edges, sample.rigged)
    over = any(part.counts for part in parts)
    rigged = list(sample.rigged["status"])
    margin = quantile(sample.margins, 0.05)
    held = sample.careful_end().grade == HELD
    if terms.CUTTING in rigged or terms.NOT_ACCEPTABLE in rigged:
        first = [s for s in (terms.CUTTING, terms.NOT_ACCEPTABLE) if s in rigged]
    elif margin is not None and margin >= target and held and not over and not _breaks_off(sample):
        first = [terms.MEETS]
    else:
        first = [terms.MISSES]
    more = []
    if terms.CUTTING not in rigged:
        more += _not_finished(sample)
        more += [terms.LINE_LOST] * _lost(sample, margin)
    more += [terms.OVER_LIMIT] * over
    more += [terms.NO_ROOM] * without_room(sample.rigged.get("doubts", ()))
    more += rigged
    runs = sample.runs
    if extrapolated_in(sample):
        more.append(terms.EXTRAPOLATED)
    if (runs["reason"] == terms.WINDOW_FULL).any():
        more.append(terms.WINDOW_FULL)
    if not sample.ok.all():
        more.append(terms.FAILED)
    return tuple(dict.fromkeys(first + more))


def _breaks_off(sample: Sample) -> bool:
    """Whether somebody's plan ends early with middle values, or at the careful end."""
    grade = sample.careful_end().grade
    some = bool(sample.unfinished.any()) and grade == NOT_COMPUTED
    return bool(sample.rigged.get("ended_early")) or grade in (PARTED, UNFINISHED) or some


def _not_finished(sample: Sample) -> list[str]:
    if _breaks_off(sample):
        return [terms.UNFINISHED]
    return [terms.NOT_ALWAYS] * bool(sample.unfinished.any())


def _lost(sample: Sample, margin: float | None) -> bool:
    """Whether the core shows, or the line parts, at the careful end.

    Where that end falls among trials that could not be computed, or that did not finish, one
    computed trial is enough, and without one nothing was seen of any core: the option misses its
    target, but for another reason.
    """
    grade = sample.careful_end().grade
    if grade in (NOT_COMPUTED, UNFINISHED):
        worn = sample.ok & (sample.runs["sheath_margin"] <= 0)
        return bool(worn.any() or (sample.grades == PARTED).any())
    return margin is None or margin <= 0 or grade == PARTED


def extrapolated_in(sample: Sample) -> tuple[str, ...]:
    """Inputs outside the observations in at least half of the trials that could be computed.

    Few trials reach anywhere; one that failed says nothing of what it would have met.
    """
    texts = sample.runs["extrapolated"][sample.ok].tolist()
    counted = Counter(
        name for text in texts for name in {part.strip() for part in text.split(",")} - {""}
    )
    return tuple(sorted(name for name, times in counted.items() if 2 * times >= len(texts)))
