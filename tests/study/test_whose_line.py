"""What is measured on one person's line is held against that line, whoever else hangs beside."""

from __future__ import annotations

import itertools
from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import edgewear
from edgewear.errors import ScenarioError
from edgewear.study.correction.fitted import Reading
from edgewear.study.correction.site_correction import _stopped, observe
from edgewear.study.correction.unclear import refuse_unclear
from support import rankings

PEOPLE = {"ann": 60, "ben": 110, "cid": 85}
"""Mass [kg]."""


def site(names: tuple[str, ...], observed: str = "", options: tuple[str, ...] = ("rig",)) -> str:
    """People side by side over one lip, each on a line of their own; the further on, the longer."""
    rows = list(enumerate(names))
    people = ", ".join(
        f"{n}: {{mass: {PEOPLE[n]} kg, technique: jerky, system: pre-threaded}}" for n in names
    )
    posts = [f"  post {n}: {{out: -{4 + 2 * k} m, along: {4 * k} m, up: 1 m}}" for k, n in rows]
    lines = ", ".join(f"{n}: {{anchor: post {n}}}" for n in names)
    return "\n".join(
        [
            "edgewear: 1", "title: side by side", "setting: test", "target: 20 %",
            "anchors:", *posts,
            "edges: {lip: {out: 0 m, up: 0 m, radius: 20 mm, surface: steel}}",
            "ropes: {store: {like: low-stretch 11, length: 60 m, stopper: yes}}",
            f"people: {{{people}}}",
            f"lines: {{{lines}}}",
            "all options: {rope: store, protect: {lip: roller}}",
            f"options: {{{', '.join(f'{one}: {{}}' for one in options)}}}",
            "job:", *[f"  {n}: [descend: 10 m, ascend: 5 m]" for n in names],
            *([] if not observed else ["observed:", observed]), "",
        ]
    )  # fmt: skip


def mark(read_m: float, edge: str = "lip", **where: str) -> str:
    told = "".join(f", {key}: {value}" for key, value in where.items())
    return f"  - mark travel: {{edge: {edge}, strokes: [{1000 * read_m:.0f} mm]{told}}}"


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["w1", "w2", "other's", "safety"]),
            st.sampled_from(["kerb", "sill"]),
            st.none() | st.floats(0.005, 0.5),
        ),
        max_size=8,
    ),
    st.lists(st.floats(0.0, 0.6), min_size=1, max_size=3),
)
def test_a_mark_stops_the_work_where_it_passes_a_stop_value_of_its_own_line(edges, read):
    """By hand: the largest travel read against each stop value of that edge of those lines."""
    first = rankings.option("padded").edges[0]
    summaries = tuple(
        replace(first, line=line, edge=edge, mark_stop_m=stop) for line, edge, stop in edges
    )
    option = replace(rankings.option("padded"), edges=summaries)
    one = SimpleNamespace(observation="mark travel", edge="kerb")
    told = _stopped(one, Reading("mark", tuple(read), None, "m", ""), option, ["w1", "w2"])
    due = any(
        max(read) > stop
        for line, edge, stop in edges
        if stop is not None and line in ("w1", "w2") and edge == "kerb"
    )
    assert told.stop == due


def stop_m(found, name: str) -> float:
    """The stop value that the card of somebody's working line states."""
    option = found.before.options[0]
    [stop] = [e.mark_stop_m for e in option.edges if e.edge == "lip" and e.line.startswith(name)]
    return stop


@pytest.mark.parametrize("names", [("ann", "ben"), ("ben", "ann"), ("ann", "ben", "cid")])
def test_the_verdict_is_that_of_the_card_of_whoever_was_watched(names, tmp_path):
    path = tmp_path / "site.yaml"
    path.write_text(site(names, mark(0.001, person=names[0])))
    cards = observe(path, 64, 0, 1, tmp_path / "out")
    stops = {name: stop_m(cards, name) for name in names}
    assert len(set(stops.values())) == len(names)
    for one, other in itertools.permutations(names, 2):
        read_m = 0.5 * (stops[one] + stops[other])
        path.write_text(site(names, mark(read_m, person=one)))
        found = observe(path, 64, 0, 1, tmp_path / "out")
        assert found.readings[0].stop == (read_m > stops[one])
        assert found.readings[0].what == f"mark travel at lip, {one}'s line"


@pytest.mark.parametrize("number", [1, 2, 3])
@pytest.mark.parametrize("said", list(itertools.product([True, False], repeat=3)))
@pytest.mark.parametrize("kind", ["mark travel", "bounce", "inspection"])
def test_a_reading_of_nobody_in_particular_is_refused_where_there_are_several(kind, said, number):
    names = tuple(PEOPLE)[:number]
    told = {
        "mark travel": "{edge: lip, strokes: [5 cm]WHO}",
        "bounce": "{count: 12, in: 10 s, depth: 3 mWHO}",
        "inspection": "{edge: lip, seen: nothingWHO}",
    }[kind]
    each = [told.replace("WHO", f", person: {names[-1]}" if who else "") for who in said]
    text = site(names, "\n".join(f"  - {kind}: {one}" for one in each))
    scenario = edgewear.load(text).scenario
    due = [] if number == 1 else [k for k, who in enumerate(said, 1) if not who]
    found = []
    try:
        refuse_unclear(scenario)
    except ScenarioError as error:
        found = list(error.problems)
    assert [one.address for one in found] == [f"observed/{k}/{kind}/person" for k in due]
    first = text.splitlines().index("observed:") + 1
    assert [one.line for one in found] == [first + k for k in due]
    assert all(repr(name) in one.message for one in found for name in names)


@pytest.mark.parametrize("option", [None, "one", "two"])
@pytest.mark.parametrize("person", [None, "ann"])
def test_of_several_options_the_one_that_was_rigged_is_due(option, person):
    where = {key: name for key, name in (("option", option), ("person", person)) if name}
    text = site(("ann", "ben"), mark(0.05, **where), ("one", "two"))
    due = "option" if option is None else "person" if person is None else ""
    if not due:
        refuse_unclear(edgewear.load(text).scenario)
        return
    with pytest.raises(ScenarioError) as raised:
        refuse_unclear(edgewear.load(text).scenario)
    assert [one.address for one in raised.value.problems] == [f"observed/1/mark travel/{due}"]


def test_somebody_who_hangs_on_no_line_of_the_option_is_refused():
    scenario = edgewear.load(site(("ann", "ben"), mark(0.05, person="ben"))).scenario
    only = scenario.options["rig"]
    alone = only.model_copy(update={"people": {"ann": only.people["ann"]}})
    with pytest.raises(ScenarioError, match="'ben' hangs on no line of option 'rig'"):
        refuse_unclear(scenario.model_copy(update={"options": {"rig": alone}}))


def test_nothing_observed_is_refused():
    with pytest.raises(ScenarioError, match="nothing was observed"):
        refuse_unclear(edgewear.load(site(("ann",))).scenario)
