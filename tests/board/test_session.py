"""A scenario under change: undo, saving, what something else writes meanwhile, what is not lost."""

from __future__ import annotations

import difflib
import os
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from pydantic import TypeAdapter

from edgewear.board.editing.changes import Change, changed
from edgewear.board.editing.kept_file import KeptFile
from edgewear.board.editing.retyped import deeper, moved
from edgewear.board.editing.session import Behind, Session, merged
from edgewear.errors import EdgewearError, Locked, ScenarioError, UsageError
from edgewear.scenario import load_scenario
from edgewear.scenario.read.addresses import quantity_due
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import read_quantity
from support.boards import DEMO, SMALL, opened

CHANGES = TypeAdapter(list[Change])
OUT = quantity_due(("anchors", "x", "out"), {}) or Quantity("length")


def made(*changes: dict[str, Any]) -> Sequence[Any]:
    return CHANGES.validate_python(list(changes))


def typed(address: str, value: str) -> Sequence[Any]:
    return made({"do": "set", "address": address, "value": value})


def comments(text: str) -> list[str]:
    return [line.split("#", 1)[1].strip() for line in text.splitlines() if "#" in line]


def a_change(session: Session, rng: random.Random, at: int) -> Sequence[Any]:
    """One of the changes that hands make: a drag, a field, an option more or less."""
    options = list(session.now.scenario.options)  # type: ignore[union-attr]
    way = rng.randrange(8)
    place = {"out": round(rng.uniform(-20, -2), 2), "up": round(rng.uniform(0.0, 1.2), 2)}
    anchor = rng.choice(["lamp footings", "guard posts"])
    return made(
        [
            {"do": "move", "section": "anchors", "name": anchor, **place},
            {"do": "move", "section": "edges", "name": "angle", "up": rng.uniform(-1.2, -0.5)},
            {"do": "deepen", "name": "inspector", "by": round(rng.uniform(-2, 2), 1)},
            {"do": "set", "address": "people/inspector/mass",
             "value": f"{rng.randint(60, 120)} kg"},
            {"do": "set", "address": f"options/{rng.choice(options)}/protect/coping",
             "value": rng.choice(["pad", "roller", "sleeve", "none", ""])},
            {"do": "set", "address": f"options/{rng.choice(options)}/technique",
             "value": rng.choice(["smooth", "jerky", ""])},
            {"do": "copy", "section": "options", "name": rng.choice(options), "to": f"way {at}"},
            {"do": "remove", "section": "options", "name": rng.choice(options)},
        ][way]
    )  # fmt: skip


def edited(folder: Path, edits: int, seed: int) -> None:
    """Make random edits; the file saved after them can be used and has all its comments."""
    session, rng, done = opened(folder), random.Random(seed), 0
    for at in range(edits * 3):
        if done == edits:
            break
        try:
            session.change(session.revision, a_change(session, rng, at))
            done += 1
        except EdgewearError:  # what cannot be used is refused whole
            assert session.now.scenario is not None
    assert done == edits
    session.save(session.revision)
    saved = session.file.path.read_text()
    load_scenario(session.file.path)
    # a comment goes only with the line of an option that was removed; the demo has none there
    assert comments(saved) == comments(DEMO.read_text())
    for _ in range(len(session.undone)):
        session.undo(session.revision)
    if len(session.undone) < 200:
        assert session.now.text == DEMO.read_text() or edits > 190  # the oldest steps are dropped


def test_random_edits_leave_a_file_that_can_be_used(tmp_path: Path) -> None:
    edited(tmp_path, 12, 1)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(5))
def test_two_hundred_random_edits(tmp_path: Path, seed: int) -> None:
    edited(tmp_path, 200, seed)


def lines_changed(session: Session) -> list[str]:
    before, after = DEMO.read_text().splitlines(), session.now.text.splitlines()
    return [one for one in difflib.ndiff(before, after) if one[0] in "+-"]


def test_a_drag_changes_one_line_and_keeps_how_it_was_measured(tmp_path: Path) -> None:
    session = opened(tmp_path)
    drag = {"do": "move", "section": "anchors", "name": "lamp footings", "out": -15.5, "up": 0.35}
    session.change(0, made(drag))
    assert lines_changed(session) == [
        "-   lamp footings: {out: paced 18 m back, up: 0.2 m, kind: pair}",
        "+   lamp footings: {out: paced 15.5 m back, up: 0.35 m, kind: pair}",
    ]


@pytest.mark.parametrize(
    ("before", "wanted_m", "after"),
    [
        ("paced 18 m back", -2.5, "paced 2.5 m back"),
        ("paced 18 m back", 0.5, "paced 0.5 m"),
        ("taped 450 mm", 1.25, "taped 1250 mm"),
        ("-2.6 m", 3.0, "3 m"),
        ("2 m +- 10 cm", 4.0, "4 m +- 10 cm"),
        ("2 m to 3 m", 4.0, "4 m"),
        (None, 0.25, "0.25 m"),
        ({"value": "2 m", "low": "1 m", "high": "4 m"}, 3.0,
         {"value": "3 m", "low": "2 m", "high": "5 m"}),
    ],
)  # fmt: skip
def test_a_place_is_typed_anew_in_the_words_of_before(before: Any, wanted_m: float, after: Any):
    found = moved(before, wanted_m, OUT)
    assert found == after
    assert read_quantity(found, OUT, {}).value == pytest.approx(wanted_m, abs=1e-9)


def test_the_longest_ways_go_deeper_together() -> None:
    steps: list[Any] = [{"descend": "14 m"}, {"work": {"for": "5 min"}}, {"ascend": "3 m"},
                        {"ascend": {"height": "14 m", "technique": "jerky"}}]  # fmt: skip
    deeper(steps, 1.5)
    assert steps[0] == {"descend": "15.5 m"}
    assert steps[2:] == [
        {"ascend": "3 m"},
        {"ascend": {"height": "15.5 m", "technique": "jerky"}},
    ]
    with pytest.raises(UsageError):
        deeper([{"work": "5 min"}], 1.0)


def test_what_cannot_be_used_is_refused_whole_with_its_place(tmp_path: Path) -> None:
    session = opened(tmp_path)
    both = [
        {"do": "set", "address": "people/inspector/mass", "value": "1 m"},
        {"do": "set", "address": "edges/angle/radius", "value": "9 mm"},
    ]
    with pytest.raises(ScenarioError) as refused:
        session.change(0, made(*both))
    (problem,) = refused.value.problems
    assert (problem.address, problem.line) == ("people/inspector/mass", 19)
    assert session.now.text == DEMO.read_text()
    assert not session.dirty


def test_undo_and_redo_go_through_every_text(tmp_path: Path) -> None:
    session = opened(tmp_path)
    texts = [session.now.text]
    for mass in ("70 kg", "71 kg", "72 kg"):
        session.change(session.revision, typed("people/inspector/mass", mass))
        texts.append(session.now.text)
    for text in reversed(texts[:-1]):
        session.undo(session.revision)
        assert session.now.text == text
    assert not session.dirty
    for text in texts[1:]:
        session.redo(session.revision)
        assert session.now.text == text
    with pytest.raises(UsageError):
        session.redo(session.revision)


def test_a_page_that_is_behind_changes_nothing(tmp_path: Path) -> None:
    session = opened(tmp_path)
    session.change(0, typed("people/inspector/mass", "70 kg"))
    text = session.now.text
    for late in (lambda: session.change(0, typed("target", "10 %")), lambda: session.undo(0)):
        with pytest.raises(Behind):
            late()
    assert session.now.text == text


def test_nothing_is_written_before_it_is_saved(tmp_path: Path) -> None:
    session = opened(tmp_path)
    session.change(0, typed("target", "55 %"))
    assert session.file.path.read_text() == DEMO.read_text()
    session.save(session.revision)
    assert session.file.path.read_text() == session.now.text
    assert os.listdir(tmp_path) == ["job.yaml"]


def test_a_file_that_says_it_all_is_not_written(tmp_path: Path) -> None:
    session = opened(tmp_path)
    before = session.file.path.stat().st_mtime_ns
    with pytest.raises(UsageError):
        session.save(0)
    assert session.file.path.stat().st_mtime_ns == before


def test_what_was_not_saved_is_taken_up_again(tmp_path: Path) -> None:
    session = opened(tmp_path)
    session.change(0, typed("target", "55 %"))
    again = Session.open(KeptFile(tmp_path / "job.yaml"))
    assert again.now.text == session.now.text
    assert again.dirty
    again.undo(again.revision)
    assert again.now.text == DEMO.read_text()


def written_by_another(session: Session, old: str, new: str) -> str:
    text = session.file.path.read_text()
    assert old in text
    other = text.replace(old, new)
    session.file.path.write_text(other)
    os.utime(session.file.path, ns=(1, 1))  # another moment, however coarse the clock
    return other


def test_a_file_changed_underneath_is_read_again_where_nothing_is_lost(tmp_path: Path) -> None:
    session = opened(tmp_path)
    other = written_by_another(session, "98 kg", "99 kg")
    assert session.look()
    assert session.now.text == other
    assert not session.dirty
    assert not session.look()


def test_a_file_changed_underneath_is_never_written_over(tmp_path: Path) -> None:
    session = opened(tmp_path)
    session.change(0, typed("target", "55 %"))
    other = written_by_another(session, "98 kg", "99 kg")
    with pytest.raises(UsageError):
        session.save(session.revision)
    assert session.file.path.read_text() == other
    session.put_on_top(session.revision)
    session.save(session.revision)
    both = DEMO.read_text().replace("98 kg", "99 kg").replace("target: 60 %", "target: 55 %")
    assert session.file.path.read_text() == both


def test_the_other_text_can_be_taken_and_ones_own_had_back(tmp_path: Path) -> None:
    session = opened(tmp_path)
    session.change(0, typed("target", "55 %"))
    mine = session.now.text
    other = written_by_another(session, "98 kg", "99 kg")
    assert session.look()
    session.take_file(session.revision)
    assert session.now.text == other
    session.undo(session.revision)
    assert session.now.text == mine


def test_a_draft_of_another_text_asks_which_one_stays(tmp_path: Path) -> None:
    session = opened(tmp_path)
    session.change(0, typed("target", "55 %"))
    written_by_another(session, "98 kg", "99 kg")
    again = Session.open(KeptFile(tmp_path / "job.yaml"))
    assert again.beside is not None
    again.put_on_top(again.revision)
    assert "99 kg" in again.now.text
    assert "55 %" in again.now.text


def test_one_board_a_file(tmp_path: Path) -> None:
    session = opened(tmp_path)
    with session.file.held(), pytest.raises(Locked), session.file.held():
        pass
    assert os.listdir(tmp_path) == ["job.yaml"]


def test_two_hands_are_put_together_value_by_value() -> None:
    base = {"a": "1", "b": {"c": "2", "d": "3"}, "e": ["x"], "gone": "4", "theirs gone": "5"}
    mine = {"a": "9", "b": {"c": "2", "d": "3", "f": "6"}, "e": ["x"], "theirs gone": "5"}
    theirs = {"a": "1", "b": {"c": "7", "d": "3"}, "e": ["x", "y"], "gone": "4"}
    both = {"a": "9", "b": {"c": "7", "d": "3", "f": "6"}, "e": ["x", "y"]}
    assert merged(base, mine, theirs) == both


def test_a_field_in_braces_is_a_mapping(tmp_path: Path) -> None:
    session = opened(tmp_path, SMALL)
    session.change(0, typed("anchors/bollard/out", "{value: -6 m, low: -7 m, high: -5 m}"))
    scenario = session.now.scenario
    assert scenario is not None
    out = scenario.anchors["bollard"].out
    assert out is not None
    assert (out.low, out.high) == (-7.0, -5.0)
    for broken in ("{value: -6 m", "[a, b", "{a: 1} b"):
        with pytest.raises(EdgewearError):
            session.change(session.revision, typed("anchors/bollard/out", broken))


def test_an_empty_field_takes_away_what_was_typed(tmp_path: Path) -> None:
    session = opened(tmp_path, SMALL)
    session.change(0, typed("options/padded/protect/lip", ""))
    assert "protect" not in session.now.text
    assert session.now.text.count("# behind the hut") == 1


def test_changes_leave_the_values_they_are_made_of() -> None:
    data = {"job": [{"descend": "4 m"}], "people": {"hand": {}}}
    after = changed(
        data, made({"do": "insert", "address": "job", "at": 2, "value": "{ascend: 1 m}"})
    )
    assert data == {"job": [{"descend": "4 m"}], "people": {"hand": {}}}
    assert after["job"] == [{"descend": "4 m"}, {"ascend": "1 m"}]


def test_down_stays_down() -> None:
    up = quantity_due(("edges", "x", "up"), {})
    assert up is not None
    assert moved("4 m down", -3.0, up) == "3 m down"
