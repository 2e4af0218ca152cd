"""Broken scenarios: the first lines of each file say what must be found, and where.

`# LINE:COLUMN | address | part of the message`
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from edgewear.cli import ended
from edgewear.errors import ScenarioError
from edgewear.scenario import load_scenario

FILES = sorted((Path(__file__).parent / "broken").glob("*.txt"))
EXPECTED = re.compile(r"# (\d+):(\d+) \| (.*?) \| (.*)")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_problem_is_found_at_its_place(file: Path) -> None:
    expected = [m.groups() for m in map(EXPECTED.fullmatch, file.read_text().splitlines()) if m]
    with pytest.raises(ScenarioError) as caught:
        load_scenario(file)
    found = caught.value.problems
    for line, column, address, said in expected:
        assert any(
            (str(p.line), str(p.column), p.address) == (line, column, address) and said in p.message
            for p in found
        ), "\n".join(map(str, found))
    assert len(found) == len(expected), "\n".join(map(str, found))


def test_enough_kinds_are_covered() -> None:
    kinds = Counter(re.sub(r"-\d+$", "", file.stem) for file in FILES)
    assert len(FILES) >= 30
    assert len(kinds) >= 10
    assert min(kinds.values()) >= 2


def test_message_starts_with_its_place() -> None:
    with pytest.raises(ScenarioError) as caught:
        load_scenario(FILES[0])
    assert re.match(r".*bare-number-1\.txt:\d+:\d+: job/2/descend/height: ", str(caught.value))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_command_ends_with_65_and_writes_nothing(
    file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.argv", ["edgewear", "check", str(file)])
    assert ended() == 65
    told = capsys.readouterr()
    assert told.out == ""
    assert re.search(rf"{re.escape(file.name)}:\d+:\d+: ", told.err)
    assert "Traceback" not in told.err
    assert list(tmp_path.iterdir()) == []
