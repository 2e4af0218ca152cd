"""From a file of tests to a forecast, a score and a plan."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from pathlib import Path

import pytest
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.errors import UsageError
from edgewear.forecasts.asked import set_ups
from edgewear.forecasts.folder import score_folder
from edgewear.forecasts.from_programme import candidates_in, named_test, programme_at, seen_in
from edgewear.forecasts.looking import lookings
from edgewear.forecasts.quantities import Seen
from edgewear.programme.reading import programme_text
from support.programmes import TOWER


def test_what_was_seen_is_told_in_metres_and_seconds() -> None:
    first, smooth, _, machine = programme_text(TOWER).tests
    found = seen_in(first, "core visible")
    assert (found.low, found.high) == pytest.approx((3.0, 4.0), abs=1e-2)  # a stroke's last bit
    timed = seen_in(machine, "core visible time")
    # 90 cycles of twice 0.5 m at 0.05 m/s, and what it takes to turn round
    assert 1800.0 <= timed.low <= 1.1 * 1800.0
    assert timed.high == inf
    assert seen_in(smooth, "sheath worn") == Seen(0.0, 0.5)
    load = seen_in(smooth, "anchor peak")
    assert (load.low, load.high) == pytest.approx((1000 - 164.5, 1000 + 164.5), abs=0.1)
    with pytest.raises(UsageError, match="nothing was seen"):
        seen_in(smooth, "core visible")


def test_tests_still_to_be_made_are_candidates(tmp_path: Path) -> None:
    planned = TOWER.replace("    seen: [{core visible: {not by: 3 m, by: 4 m}}]\n", "    cost: 3\n")
    (tmp_path / "tests.yaml").write_text(planned)
    found = set_ups([tmp_path / "tests.yaml"], [], ["core visible"], [], [])
    assert [(one.name, one.cost) for one in found] == [("T1", 3.0)]


def test_a_file_whose_tests_are_all_made_says_so(tmp_path: Path) -> None:
    (tmp_path / "tests.yaml").write_text(TOWER)
    with pytest.raises(UsageError, match=r"tests.yaml: all tests were made already"):
        set_ups([tmp_path / "tests.yaml"], [], [], [], [])


def test_planned_tests_of_a_tower_and_of_a_machine_look_for_what_fits() -> None:
    read = programme_text(TOWER)
    unmade = replace(read, tests=tuple(one.planned() for one in read))
    (looking,) = lookings(["tests.yaml"], [], [])
    found = candidates_in(unmade, looking, 1.0)
    words = {one.name.split(",")[0]: one.looked_for for one in found}
    assert words == {"T1": "core visible", "T2": "core visible", "M1": "core visible time"}
    (asked,) = lookings(["tests.yaml"], ["core visible"], [])
    with pytest.raises(UsageError, match=r"tests\.yaml: core visible: nobody climbs"):
        candidates_in(unmade, asked, 1.0)


def test_a_scenario_is_no_file_of_tests(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("edgewear: 1\ntitle: none\n")
    assert programme_at(tmp_path / "a.yaml") is None
    with pytest.raises(UsageError, match="edgewear tests: 1"):
        named_test(tmp_path / "a.yaml", "T1")


def test_a_test_is_forecast_and_scored_from_its_file(tmp_path: Path) -> None:
    (tmp_path / "tests.yaml").write_text(TOWER)
    file, out = str(tmp_path / "tests.yaml"), str(tmp_path / "forecasts")
    frozen = ["forecast", "freeze", file, "--test", "T1", "--replicates", "8", "--out", out]
    assert CliRunner().invoke(app, frozen).exit_code == 0
    path = str(tmp_path / "forecasts" / "t1.forecast.yaml")
    done = CliRunner().invoke(app, ["forecast", "enter", path, "--from", file])
    assert done.exit_code == 0, done.output
    (one,) = score_folder(Path(out)).scored
    assert (one.low, one.high) == pytest.approx((3.0, 4.0), abs=1e-2)  # as above
    for wrong in ([], ["--seen", "3 m", "--from", file]):
        done = CliRunner().invoke(app, ["forecast", "enter", path, *wrong])
        assert isinstance(done.exception, UsageError)
