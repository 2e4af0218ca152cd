"""The eight factors by which NASA-STD-7009 has a model's results judged, scored by ourselves.

The factors, their levels of 0 to 4 and the words of the levels are from memory of the standard of
2008; read the standard itself before anything rests on them. A level counts where its evidence is
there for anybody to look at; the next one says what is missing.
"""

from __future__ import annotations

from typing import NamedTuple

from edgewear.cautions import WEAR_AGREES


class Factor(NamedTuple):
    """One factor, as we score ourselves."""

    name: str
    level: int  # 0, nothing to show, to 4
    means: str  # what the level asks for
    evidence: tuple[tuple[str, str], ...]  # words, page or file below the repository; "": none
    missing: str  # for the next level


TOP = 4
"""Highest level."""

FACTORS = (
    Factor(
        "Verification", 3, "numerical errors are estimated by a formal method",
        (
            ("exact and published answers beside the computed ones",
             "docs/reference/verification.md"),
            ("slow twins of the kernels, written from the page", "tests/twins"),
            ("every nominal run again at half the step, its change told",
             "docs/reference/dataset.md"),
        ),
        "error bounds for every figure of every run, not of nominal margins alone",
    ),
    Factor(
        "Validation", 1, "the model agrees with simple referents",
        (
            (f"wear: {WEAR_AGREES}; all but one bench without a published source",
             "docs/reference/observations.md"),
            ("loads, drops and hauls against hand calculations",
             "docs/reference/hand-calculations.md"),
        ),
        "tests of whole set-ups by people other than us, forecast blind and scored",
    ),
    Factor(
        "Input pedigree", 1, "inputs can be traced to informal documentation",
        (
            ("every number of the library with its interval and where it is from",
             "docs/reference/library.md"),
            ("what is assumed is marked in every output",
             "docs/explanation/what-the-numbers-mean.md"),
        ),
        "measured values with uncertainty for the numbers that decide, below",
    ),
    Factor(
        "Results uncertainty", 2, "uncertainty is computed, part of it from opinion",
        (
            ("all that is uncertain is drawn in every comparison",
             "docs/explanation/what-the-numbers-mean.md"),
            ("the law's own discrepancy, a factor of 3 to either side, is opinion",
             "sim/edgewear/scenario/library/wear.yaml"),
        ),
        "a discrepancy that blind forecasts have earned",
    ),
    Factor(
        "Results robustness", 3, "sensitivity is known for most inputs, case by case",
        (
            ("which inputs decide, alone and with others, for any scenario",
             "docs/how-to/find-what-matters.md"),
            ("how far an input may go before a target is missed", "docs/how-to/find-how-far.md"),
        ),
        "the same for the form of the law: rivals are run, but not in every answer",
    ),
    Factor(
        "Use history", 0, "nothing to show",
        (("no job is known in which it was used and looked at afterwards", ""),),
        "jobs whose ropes were inspected against what was projected",
    ),
    Factor(
        "Model management", 2, "processes are written down and followed",
        (
            ("how it is changed and tested, and by which contracts", "DEVELOPERS.md"),
            ("a model number that rises when results change, and by how much", "docs/CHANGELOG.md"),
            ("version, hashes and seed in every dataset", "docs/reference/dataset.md"),
        ),
        "somebody outside who looks at whether they are followed",
    ),
    Factor(
        "People's qualifications", 0, "nothing to show",
        (("who runs it, and who reads what comes out, is not ours to know", ""),),
        "named, competent people for each use; only a user can score this",
    ),
)  # fmt: skip
"""In the order of the standard."""


def lowest() -> int:
    """Give the level of the weakest factor, by which the whole is to be read."""
    return min(factor.level for factor in FACTORS)
