"""Page, terminal and details say one thing of an edge."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest

from edgewear.report.parts.option_details import details
from edgewear.report.terminal.single_run import print_run
from edgewear.terms import CUTTING
from report.test_small import OUTPUTS
from report.test_terminal import run_document
from support import rankings


def told(output: str, **changes: object) -> str:
    """What an output says of a comparison whose one option runs over one edge."""
    ranking = rankings.ordinary()
    lip = rankings.edge("lip", demand_careful=0.4, worst_share_careful=1.0, **changes)
    made = replace(ranking.options[0], edges=(lip,), looks=None)
    return " ".join(OUTPUTS[output](replace(ranking, options=(made,))).split())


OF_AN_EDGE = ("page", "markdown", "text document", "terminal", "details")


@pytest.mark.parametrize("output", OF_AN_EDGE)
@pytest.mark.parametrize("bend_deg", [2.0, 12.0, 91.0, 164.0])
def test_a_bend_is_told_as_the_most_that_it_came_to(output: str, bend_deg: float) -> None:
    said = told(output, wrap_deg=bend_deg)
    figure = f"{bend_deg:.1f}" if bend_deg < 5.0 else f"{bend_deg:.0f}"
    assert "bend up to" in said or "largest bend" in said
    assert f"bend up to {figure} degrees" in said or f"{figure}°" in said
    assert f"bend {figure}" not in said


@pytest.mark.parametrize("output", OF_AN_EDGE)
@pytest.mark.parametrize("bend_deg", [1e-9, 0.0007, 0.01, 0.049, 0.0501, 0.06])
def test_a_bend_too_small_to_tell_is_below_the_least_figure(output: str, bend_deg: float) -> None:
    said = told(output, wrap_deg=bend_deg)
    assert "up to below" not in said
    if bend_deg < 0.05:  # half of the least figure, which rounds to nothing
        assert "bend below 0.1 degrees" in said or "below 0.1°" in said
    else:
        assert "bend up to 0.1 degrees" in said or "0.1°" in said


@pytest.mark.parametrize("output", OF_AN_EDGE)
@pytest.mark.parametrize(
    ("share", "most"), [(0.0, None), (0.05, None), (0.3, "30 %"), (0.9, "90 %"), (1.0, "all")]
)
def test_travel_along_an_edge_is_named_where_it_wears(
    output: str, share: float, most: str | None
) -> None:
    said = told(output, sideways_careful=0.4 * share)
    assert ("sideways" in said) == (most is not None)
    assert most is None or f"up to {most} of it by travel sideways along the edge" in said


def test_of_a_cutting_edge_no_wear_is_told() -> None:
    option = rankings.ordinary().options[0]
    lip = rankings.edge("lip", demand_careful=0.4, sideways_careful=0.4)
    assert "sideways" in " ".join(text for _, text in details(replace(option, edges=(lip,))))
    cutting = replace(option, edges=(lip,), status=(CUTTING,), why="")
    assert "sideways" not in " ".join(text for _, text in details(cutting))


@pytest.mark.parametrize("demand", [0.005, 0.4, 3.0])
@pytest.mark.parametrize(("share", "most"), [(0.0, None), (0.3, "30 %"), (1.0, "all")])
def test_a_run_names_it_and_the_most_bend_too(
    demand: float, share: float, most: str | None
) -> None:
    document = run_document()
    document["lines"][0]["edges"][0] |= {"demand_max": demand, "sideways_demand": share * demand}
    stream = io.StringIO()
    print_run(document, stream)
    said = " ".join(stream.getvalue().split())
    assert "largest bend" in said
    assert ("sideways" in said) == (most is not None)
    assert most is None or f"up to {most} of it by travel sideways along the edge" in said
