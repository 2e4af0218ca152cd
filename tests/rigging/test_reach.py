"""Steps that nobody can make from where they hang are errors before anything is run."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear.cli import ended
from edgewear.errors import ScenarioError
from edgewear.rigging import problems
from edgewear.scenario import load_text
from edgewear.study.loading import load_riggable

SITE = """edgewear: 1
title: two people below a lip and a ledge
setting: SETTING
anchors:
  west: {out: -3 m, up: 1 m, kind: pair}
  east: {out: -3 m, along: 2 m, up: 1 m, kind: pair}
edges:
  lip:   {out: 0 m, up: 0 m, is: chamfered concrete}
  ledge: {out: 0.4 m, up: -10 m, is: chamfered concrete}
ropes:
  store: {like: low-stretch 11, length: 60 m, stopper: yes}
people:
  ann: {mass: 90 kg}
  bob: {mass: 90 kg}
kit: {pad: 8}
lines:
  ann: {anchor: west, rope: store, protect: {lip: pad, ledge: pad}SAFETY_A}
  bob: {anchor: east, rope: store, protect: {lip: pad, ledge: pad}SAFETY_B}
options: {only: {}}
job:
  ann: [ANN]
  bob: [BOB]
WHEN
"""


def text(ann: str, bob: str = "rest: 1 min", setting: str = "industrial", when: str = "") -> str:
    two = setting == "industrial"
    safety = [f", safety line: {{anchor: {other}}}" if two else "" for other in ("east", "west")]
    found = SITE.replace("SAFETY_A", safety[0]).replace("SAFETY_B", safety[1])
    found = found.replace("SETTING", setting).replace("WHEN", when)
    return found.replace("ANN", ann).replace("BOB", bob)


def found_in(*parts: str, **more: str) -> list[tuple[str, str]]:
    return problems(load_text(text(*parts, **more), "site.yaml"))


WAITS = "cross edge: lip, descend: 12 m, event: hurt, wait for: taken"
TAKES = "wait for: hurt, cross edge: lip, descend: {}, take over: ann, event: taken, descend: 2 m"


@pytest.mark.parametrize(
    ("way", "far"),
    [("12 m", False), ("9.1 m", False), ("14.9 m", False), ("8.9 m", True), ("15.1 m", True)],
)
def test_a_take_over_is_possible_within_three_metres_of_depth(way: str, far: bool) -> None:
    found = found_in(WAITS, TAKES.format(way))
    assert [where for where, _ in found] == (["job/bob/4/take over"] if far else [])
    if far:
        apart = abs(12.0 - float(way.split()[0]))
        assert f"{apart:.1f} m away; at most 3 m is within reach" in found[0][1]


def test_somebody_who_still_moves_may_come_within_reach() -> None:
    """Nobody waits for Ann, so she may be anywhere on her way down: the run has to tell."""
    moving = "cross edge: lip, descend: 12 m"
    near = "cross edge: lip, descend: 4 m, take over: ann"
    assert found_in(moving, near) == []
    # wherever she is, she never gets as deep as that
    on, deep = "wait for: on", "cross edge: lip, descend: 25 m, take over: ann"
    moving = "cross edge: lip, event: on, descend: 12 m, work: 5 min"
    ((where, said),) = found_in(moving, f"{on}, {deep}")
    assert where == "job/bob/4/take over"
    assert "between 1.5 and 13.5 m" in said


def test_what_comes_after_the_take_over_is_no_place_to_be_found_at() -> None:
    """Ann would climb to Bob only after he has taken her over."""
    waits = WAITS + ", wait for: never mind"
    found = found_in(waits.replace("never mind", "taken"), TAKES.format("2 m"))
    assert [where for where, _ in found] == ["job/bob/4/take over"]


def test_repeats_are_written_out() -> None:
    down = "cross edge: lip, repeat: {times: 4, steps: [{descend: 3 m}]}, event: hurt"
    ways = {"12 m": 0, "4 m": 1}
    for way, count in ways.items():
        assert len(found_in(f"{down}, wait for: taken", TAKES.format(way))) == count


def test_whoever_was_taken_over_makes_no_step_of_their_own() -> None:
    ((where, said),) = found_in(f"{WAITS}, ascend: 1 m", TAKES.format("12 m"))
    assert where == "job/ann/5/ascend"
    assert "hangs on the line of 'bob' by then" in said
    assert found_in(f"{WAITS}, rest: 1 min", TAKES.format("12 m")) == []


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ("cross edge: lip, descend: 8 m, cross edge: ledge", None),
        ("cross edge: lip, descend: 20 m, cross edge: ledge", "10.0 m below where 'ledge'"),
        ("cross edge: lip, cross edge: ledge", "10.0 m above where 'ledge'"),
        ("cross edge: lip, descend: 5 m, inspect: {from: lip}", "6.5 m below 'lip'"),
        ("cross edge: lip, descend: 5 m, inspect: {from: lip, by: edge attendant}", None),
        ("inspect: {from: lip}, cross edge: lip", None),
    ],
)
def test_what_is_done_at_an_edge_is_done_within_reach_of_it(steps: str, said: str | None) -> None:
    found = [message for _, message in found_in(steps)]
    assert len(found) == (said is not None)
    assert said is None or said in found[0]


@pytest.mark.parametrize("act", ["place", "remove", "check"])
@pytest.mark.parametrize(
    ("way", "said"),
    [
        ("{lip}, cross edge: lip, descend: 5 m", None),
        ("cross edge: lip, descend: 1.4 m, {lip}", None),  # 1.5 m below the lip by crossing it
        ("cross edge: lip, descend: 1.6 m, {lip}", "3.1 m below 'lip'"),
        ("cross edge: lip, descend: 5.4 m, {ledge}", "3.1 m above 'ledge'"),
        ("cross edge: lip, descend: 5.6 m, {ledge}", None),
        ("cross edge: lip, descend: 12 m, ascend: 11 m, {lip}", None),
    ],
)
def test_protection_is_handled_within_reach_of_its_edge(
    act: str, way: str, said: str | None
) -> None:
    steps = way.format(**{edge: f"{act} protection: {edge}" for edge in ("lip", "ledge")})
    found = [message for _, message in found_in(steps)]
    assert len(found) == (said is not None), found
    assert said is None or f"{said} and cannot {act} protection" in found[0]


def test_crossing_a_second_edge_counts_in_the_depth_of_the_job() -> None:
    """1.5 m below the ledge, 10 m deep, then 40 m down: the rope of 60 m does not reach."""
    ((where, said), *_) = found_in(
        "cross edge: lip, descend: 8 m, cross edge: ledge, descend: 45 m"
    )
    assert where == "ropes/store/length"
    assert "does not reach" in said
    assert found_in("cross edge: lip, descend: 8 m, cross edge: ledge, descend: 40 m") == []


def test_a_rope_is_not_swapped_under_somebody_who_hangs_on_it_alone() -> None:
    swap = "cross edge: lip, swap rope"
    assert [where for where, _ in found_in(swap, setting="alpine")] == ["job/ann/2/swap rope"]
    assert found_in("swap rope, cross edge: lip", setting="alpine") == []
    assert found_in(swap) == []


@pytest.mark.parametrize("do", ["retreat on safety line", "swap rope"])
def test_a_reaction_onto_a_safety_line_needs_one(do: str) -> None:
    when = f"when: {{core visible: {do}}}"
    found = found_in("descend: 5 m", "descend: 5 m", setting="alpine", when=when)
    assert [where for where, _ in found] == ["when/core visible/do"]
    assert "gives 'ann', 'bob' one line" in found[0][1]
    assert found_in("descend: 5 m", when=when) == []


def test_more_in_place_than_the_kit_holds_is_found_before_the_run(tmp_path: Path) -> None:
    short = text("descend: 5 m").replace("kit: {pad: 8}", "kit: {pad: 3}")
    ((where, said),) = problems(load_text(short, "site.yaml"))
    assert where == "kit/pad"
    assert "there are 3, but 4 are in place at the start" in said


def test_the_command_ends_with_65_and_names_line_and_column(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "site.yaml"
    file.write_text(text(WAITS, TAKES.format("2 m")))
    lines = file.read_text().splitlines()
    line = next(n for n, one in enumerate(lines, 1) if one.startswith("  bob: [wait"))
    column = lines[line - 1].index("ann", 10) + 1
    with pytest.raises(ScenarioError) as caught:
        load_riggable(file)
    (problem,) = caught.value.problems
    assert (problem.line, problem.column) == (line, column)
    for command in ("check", "run", "faults"):
        monkeypatch.setattr("sys.argv", ["edgewear", command, str(file)])
        assert ended() == 65
        told = capsys.readouterr()
        assert re.search(rf"site\.yaml:{line}:{column}: job/bob/4/take over: ", told.err)
        assert "at most 3 m is within reach" in told.err


NEEDS = """\
edgewear: 1
title: A rope that may be too short
setting: alpine
target: 60 %
anchors: {{post: {{out: -1 m, up: 0.5 m, kind: pair}}}}
edges: {{rim: {{out: 0 m, up: 0 m, radius: 20 mm, surface: steel}}}}
ropes: {{r: {{like: low-stretch 11, length: {length} m, stopper: yes}}}}
people: {{ann: {{mass: 90 kg}}}}
options: {{one: {{anchor: post, rope: r}}}}
job: [descend: {down} m]
"""


@given(st.integers(100, 250), st.integers(1, 60))
def test_a_rope_that_is_as_long_as_is_said_to_be_needed_reaches(down: int, short: int) -> None:
    """Whatever it lacks: what is said is never less than what it takes, nor a tenth more."""

    def said(length_m: float) -> list[str]:
        scenario = load_text(NEEDS.format(length=length_m, down=down / 10), "made.yaml")
        return [text for _, text in problems(scenario) if "does not reach: the" in text]

    [first] = said(down / 10 + 2.0)
    needed_m = float(first.split("needs ")[1].split(" m ")[0])
    assert not said(needed_m)
    assert said(round(needed_m - 0.1 - short / 1000, 3))
