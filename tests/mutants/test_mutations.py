"""What is changed on purpose: every place of a small source, never words for people or types."""

from __future__ import annotations

import ast
import json
import random
from pathlib import Path

import pytest

from mutants.mutations import mutants
from mutants.rooms import ROOMS, ROOT
from mutants.run import explained, survivors_of

SOURCE = '''
"""Words."""
from typing import TYPE_CHECKING
if TYPE_CHECKING:
    import a
def half(x: "int | None", y: float = 2.0) -> "int | None":
    """More words: 1 < 2."""
    if x is None or not y > 1:
        raise ValueError(f"{x + 1} is too few")
    while x:
        x -= 1
        break
    print(min(x, -3), True)
    return [z for z in x if z]
'''
EXPECTED = [
    (6, "2.0", "4.0"),
    (8, "x is None or not y > 1", "(not (x is None or not y > 1))"),
    (8, "x is None or not y > 1", "(x is None and (not y > 1))"),
    (8, "x is None", "(x is not None)"),
    (8, "not y > 1", "(y > 1)"),
    (8, "y > 1", "(y >= 1)"),
    (8, "1", "2"),
    (9, 'raise ValueError(f"{x + 1} is too few")', "pass"),
    (10, "x", "(not (x))"),
    (11, "x -= 1", "x += 1"),
    (11, "1", "2"),
    (12, "break", "pass"),
    (13, "print(min(x, -3), True)", "pass"),
    (13, "min", "max"),
    (13, "-3", "(3)"),
    (13, "3", "4"),
    (13, "True", "False"),
    (14, "[z for z in x if z]", "None"),
    (14, "z", "True"),
]


def test_every_place_is_changed_once_for_each_way() -> None:
    assert [(m.line, m.before, m.after) for m in mutants("a.py", SOURCE)] == EXPECTED


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_has_sources_and_tests_and_its_mutants_are_python(room: str) -> None:
    files = ROOMS[room].files()
    assert files
    assert all((ROOT / path).exists() for path in ROOMS[room].tests)
    file = random.Random(room).choice(files)
    source = (ROOT / file).read_text("utf-8")
    for one in list(mutants(file, source))[:40]:
        assert one.source != source
        ast.parse(one.source)


def test_what_is_explained_still_stands_in_the_sources() -> None:
    known = explained()
    files = {place[0] for place in known}
    found = {m.place for file in files for m in mutants(file, (ROOT / file).read_text("utf-8"))}
    assert not set(known) - found
    assert all(known.values())


def test_survivors_are_found_again_where_their_lines_have_moved_to(tmp_path: Path) -> None:
    before, now = "x = 1\n\n\n\ny = 1\nz = 2\n", "\nx = 1\n\n\n\ny = 1\n"
    rows = [
        {"room": "a", "file": "a.py", "line": m.line, "kind": m.kind, "before": m.before,
         "after": m.after}
        for m in mutants("a.py", before)
    ]  # fmt: skip
    listed = tmp_path / "survivors.json"
    listed.write_text(json.dumps({"survivors": rows[1:]}), "utf-8")
    [(room, found)] = survivors_of(listed, [("a", m) for m in mutants("a.py", now)])
    assert (room, found.text) == ("a", "y = 1")
