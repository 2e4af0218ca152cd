"""What melts the sheath is in no figure, and stands beside those of every question alike."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear import terms
from edgewear.findings.inquiries.how_far import End, HowFar, Limit, Place, Stretch
from edgewear.findings.inquiries.proposals import Proposal, Proposals
from edgewear.report.how_far import files as how_far_files
from edgewear.report.how_far.terminal import print_how_far
from edgewear.report.parts import not_counted
from edgewear.report.proposals import files as proposal_files
from edgewear.report.proposals.terminal import print_proposals
from edgewear.scenario import load_text
from edgewear.study.compare import compare
from edgewear.study.limits.asked import asked
from edgewear.study.limits.judging import Case, judged
from edgewear.study.limits.trials import melting_in, trials_of
from support.scenario_files import bench

TRIALS, SEED = 24, 3
WHOLE = 100_000  # columns: nothing is wrapped


def text_of(radius, cover):
    """Two edges, of which one is sharp or blunt, and the other bare or covered."""
    blunt = f"arris: {{radius: {radius} mm,"
    return bench(
        ("edgewear: 1", "edgewear: 1\ntarget: 50 %"),
        ("arris: {radius: 1 mm,", f"lip: {{radius: 1 mm, surface: steel}}\n  {blunt}"),
        ("bend: 30 deg}]", f"bend: 30 deg}}, {{edge: lip, after: 1 m, bend: 30 deg}}]"
                           f"{', protect: {lip: roller}' if cover else ''}"),
    ).source  # fmt: skip


@pytest.mark.parametrize("radius", [1, 150])
@pytest.mark.parametrize("cover", [False, True])
def test_it_is_named_where_a_comparison_names_it(radius, cover, tmp_path):
    text = text_of(radius, cover)
    (tmp_path / "m.yaml").write_text(text)
    ranking = compare(tmp_path / "m.yaml", TRIALS, SEED, workers=1, out=tmp_path / "out")
    scenario = load_text(text, "m.yaml")
    found = melting_in(scenario, trials_of(scenario, "bare", TRIALS, SEED))
    assert not_counted.hot_at({"bare": found}) == not_counted.hot(ranking)
    melts = {"arris": radius == 1, "lip": not cover}  # what is blunt, or rolls, stays cold
    assert set(found) == {edge for edge, hot in melts.items() if hot}
    (question,) = asked(scenario, "people/climber/mass", ("bare",))
    case = Case(text, "m.yaml", None, "bare", 0.5, TRIALS, SEED)
    assert judged(case, question.put, 90.0).melts == found


EDGES = st.lists(st.sampled_from(["lip", "ledge", "rib"]), unique=True, max_size=2).map(tuple)


def told(text):
    """Which edges are told to melt, each time that it is said."""
    return [
        set(part.partition(": ")[2].splitlines()[0].partition(".")[0].split(", "))
        for part in text.split(not_counted.HOT)[1:]
    ]


def printed(found, printer, *more):
    stream = io.StringIO()
    printer(found, *more, stream, WHOLE)
    return stream.getvalue()


def cautions(table):
    return [row["caution"] for row in csv.DictReader(io.StringIO(table))]


@given(st.lists(EDGES, min_size=2, max_size=6), st.booleans())
def test_a_limit_tells_of_its_figures_and_of_no_others(melts, nowhere):
    """Where nothing meets the target, of the closest alone, which is the one figure given."""
    places = tuple(
        Place(float(at), 0.8 - 0.1 * nowhere, 0.7, 0.9, not nowhere, (terms.MEETS,), "", 64, some)
        for at, some in enumerate(melts)
    )
    least, most = End(0.0, None, 0.0, None), End(len(melts) - 2.0, len(melts) - 1.0, 0.0, 1.0)
    limit = Limit("bare", "edges/lip/radius", "m", "length", 1.0, (0.0, len(melts) - 1.0),
                  () if nowhere else (Stretch(least, most),), places,
                  places[0] if nowhere else None)  # fmt: skip
    found = HowFar("made up", 0.7, 64, 0, (limit,))
    figures = melts[:1] if nowhere else melts[:-1]
    due = [{edge for some in figures for edge in some}] if any(figures) else []
    assert told(printed(found, print_how_far)) == due
    assert [told(one) for one in cautions(how_far_files.table(found))] == [due]
    assert str(how_far_files.sheet(found)).count(not_counted.HOT) == len(due)


@given(st.lists(EDGES, min_size=1, max_size=6))
def test_proposals_tell_it_with_each_way_of_rigging(melts):
    tried = tuple(
        Proposal(f"way {at}", f"way {at}: {{}}", (terms.MEETS,), "soft", 0.9, 64, some)
        for at, some in enumerate(melts)
    )
    found = Proposals("made up", 0.7, 0, tried, ())
    due = [set(some) for some in melts if some]
    assert told(printed(found, print_proposals, 3)) == due
    assert [one for text in cautions(proposal_files.table(found)) for one in told(text)] == due
    page = str(proposal_files.sheet(found, 3)).partition("So it is for: ")[2].partition("'note'")[0]
    assert [f"way {at}'" in page for at in range(len(melts))] == [bool(some) for some in melts]
