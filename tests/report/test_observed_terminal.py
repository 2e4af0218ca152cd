"""What was measured on site beside its forecast, in 80 columns."""

from __future__ import annotations

import io
from typing import Any

import pytest

from edgewear import cautions
from edgewear.report import print_observed
from edgewear.report.terminal.console import display_width


def document(holds: bool = True) -> dict[str, Any]:
    """A correction as `observe --json` prints it."""
    margin = {"p5": 0.43, "p50": 0.88, "p95": 0.97}
    return {
        "schema": "edgewear.observe/1",
        "replicates": 128,
        "effective": 37.4,
        "holds": holds,
        "headline": "Corrected by what was measured on site.",
        "agreement": "the prediction before agrees with 1 of 2 observations made here, 2 of them "
        "used to correct it",
        "observed": [
            {
                "what": "mark travel at coping",
                "read": [0.09, 0.1],
                "forecast": {"p5": 0.0, "p50": 0.05, "p95": 0.116},
                "unit": "m",
                "words": "inside what was forecast",
            },
            {"what": "nothing seen", "read": [], "forecast": None, "unit": "", "words": "fuzz"},
        ],
        "options": [
            {
                "name": "footings, padded",
                "status": ["meets target"],
                "rank": 1,
                "before": margin,
                "after": {"p5": 0.77, "p50": 0.91, "p95": 0.96} if holds else None,
            },
            {
                "name": "bare",
                "status": ["cutting edge"],
                "rank": None,
                "before": None,
                "after": None,
            },
        ],
        "dataset": "results/x",
        "report": "results/x/observed/report.html" if holds else None,
        "cautions": list(cautions.CAUTIONS),
    }


def printed(holds: bool = True) -> str:
    """The same on a pipe."""
    stream = io.StringIO()
    print_observed(document(holds), stream)
    return stream.getvalue()


def test_readings_margins_and_the_sample_they_rest_on_are_said() -> None:
    text = " ".join(printed().split())
    for words in (
        "90 mm, 100 mm; forecast 0 mm to 116 mm: inside what was forecast",
        "before 43 %, 88 %, 97 %",
        "after 77 %, 91 %, 96 %",
        "37 of 128 trials (effective sample size)",
        "no wear number given",
        cautions.PROJECTION,
        cautions.RETIRE,
    ):
        assert words in text


def test_a_forecast_that_does_not_hold_is_not_corrected() -> None:
    text = printed(holds=False)
    assert "after " not in text
    assert "corrected figures" not in text
    assert "What was measured fits 37 of 128 trials" in text
    assert "page" not in text


@pytest.mark.parametrize("holds", [True, False])
def test_it_fits_80_columns(holds: bool) -> None:
    assert all(display_width(line) <= 80 for line in printed(holds).splitlines())


def test_it_says_with_how_many_observations_the_prediction_agrees() -> None:
    said = " ".join(printed().split())
    assert "The prediction before agrees with 1 of 2 observations made here, 2 of them used" in said


@pytest.mark.parametrize("holds", [True, False])
def test_a_forecast_that_does_not_hold_stands_under_no_other_heading(holds: bool) -> None:
    """Where it is given up, "meets target" and its figures are never read as what counts now."""
    said = printed(holds).partition("meets target")[0]
    assert ("Forecast that does not hold here" in said) != holds
    assert ("Sheath left: careful" in said) == holds


def test_for_lack_of_trials_no_forecast_is_given_up() -> None:
    stream = io.StringIO()
    print_observed({**document(holds=False), "too_few": True}, stream)
    assert "Forecast, not corrected: careful" in stream.getvalue()
    assert "Forecast that does not hold" not in stream.getvalue()
