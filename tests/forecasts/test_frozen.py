"""Frozen forecasts: written once, tampering seen, scored over a folder."""

from __future__ import annotations

import json
import re
from math import inf
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from edgewear.cli.commands import app
from edgewear.errors import CannotCreate, EdgewearError, Mismatch, UsageError
from edgewear.forecasts import folder as folders
from edgewear.forecasts.freeze import enter, freeze, read_seen
from edgewear.forecasts.frozen import Frozen, read_came_out, read_frozen, write_once
from edgewear.forecasts.quantities import LOOKED_FOR, Seen
from edgewear.records import RUN
from edgewear.scenario import load_text

TEXT = """\
edgewear: 1
title: ascent over an arris
setting: test
edges: {arris: {radius: 1 mm, surface: steel, roughness: 1}}
ropes: {rope: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {climber: {mass: 90 kg, technique: jerky, system: pre-threaded, start: 8 m}}
options:
  bare: {rope: rope, over: [{edge: arris, after: 20 m, bend: 30 deg}]}
job:
  - repeat: {times: 2, steps: [{ascend: 5 m}, {lower unloaded: 5 m}]}
when: {core visible: carry on}
"""
DAY = "2999-12-31"  # a test is made after its forecast was frozen, whenever this runs


@pytest.fixture(scope="module")
def frozen(tmp_path_factory: pytest.TempPathFactory) -> tuple[Frozen, Path]:
    """A forecast of the real simulation."""
    where = tmp_path_factory.mktemp("forecasts")
    return freeze(load_text(TEXT, "ascent.yaml"), "core visible", where, replicates=24)


def made(name: str, scale: float = 1.0) -> Frozen:
    """A forecast without a simulation: the sheath breaks at 4 m or so."""
    rng = np.random.default_rng(7)
    ropes = 4.0 * np.exp(0.1 * rng.standard_normal(8))
    factors = np.array([1 / 9, 1 / 3, 1.0, 3.0, 9.0])
    return Frozen(
        name, "2026-05-01T08:00:00Z", "0", 2, "a.yaml", "a" * 64, "b" * 64, (), "bare",
        "core visible", 20.0, 0, (1.0, 1 / 3, 3.0),
        np.sort(scale * 4.0 * np.exp(0.7 * rng.standard_normal(64))),
        factors, scale * ropes[:, None] / factors,
    )  # fmt: skip


def put(
    where: Path, name: str, seen: str | None = None, on: str = DAY, rope: str | None = None
) -> Path:
    """Write a made-up forecast, and perhaps what came out, of a rope called like it."""
    path = where / f"{name}.forecast.yaml"
    write_once(path, made(name).body())
    if seen is not None:
        enter(path, seen, on, rope=name if rope is None else rope)
    return path


def test_a_forecast_is_read_as_it_was_frozen(frozen: tuple[Frozen, Path]) -> None:
    first, path = frozen
    again = read_frozen(path)
    assert again.body() == first.body()
    assert again.seal == first.seal
    assert len(again.draws) == 24
    assert list(again.draws) == sorted(again.draws)
    assert again.until == pytest.approx(10.0, abs=1e-3)  # two ascents of 5 m


def test_a_multiple_of_the_exposure_breaks_the_sheath_earlier(
    frozen: tuple[Frozen, Path],
) -> None:
    at = frozen[0].at_factors
    assert at.shape == (32, 5)
    with np.errstate(invalid="ignore"):  # never less never
        assert not (np.diff(at, axis=1) > 0.0).any()
    assert (at[:, -1] < at[:, 2]).all()


def test_nothing_is_written_twice(frozen: tuple[Frozen, Path]) -> None:
    path = frozen[1]
    before = path.read_bytes()
    with pytest.raises(CannotCreate, match="written once"):
        freeze(load_text(TEXT, "ascent.yaml"), "core visible", path.parent, replicates=24)
    assert path.read_bytes() == before


def test_what_came_out_is_written_once_and_carries_the_seal(tmp_path: Path) -> None:
    path = put(tmp_path, "one")
    found, file = enter(path, "3 m to 4 m", DAY)
    assert read_came_out(file).seen == Seen(3.0, 4.0)
    assert found.forecast == read_frozen(path).seal
    with pytest.raises(CannotCreate):
        enter(path, "1 m to 2 m", DAY)


NUMBER = re.compile(r"\d")


@pytest.mark.parametrize("which", ["one.forecast.yaml", "one.seen.yaml"])
def test_any_figure_changed_later_is_seen(tmp_path: Path, which: str) -> None:
    """One digit in every twentieth place, so that every line has its turn."""
    put(tmp_path, "one", "3 m to 4 m")
    path = tmp_path / which
    whole = path.read_text()
    for match in list(NUMBER.finditer(whole))[::20]:
        other = str((int(match[0]) + 1) % 10)
        path.write_text(whole[: match.start()] + other + whole[match.end() :])
        read = read_frozen if "forecast" in which else read_came_out
        with pytest.raises(EdgewearError):
            read(path)
        found = folders.score_folder(tmp_path)
        assert (len(found.scored), len(found.refused)) == (0, 1)
    path.write_text(whole + "# a comment changes nothing\n")
    assert len(folders.score_folder(tmp_path).scored) == 1


def test_an_outcome_of_another_forecast_is_not_counted(tmp_path: Path) -> None:
    put(tmp_path, "one", "3 m to 4 m")
    put(tmp_path, "two")
    (tmp_path / "one.seen.yaml").rename(tmp_path / "two.seen.yaml")
    found = folders.score_folder(tmp_path)
    assert found.scored == ()
    assert found.waiting == ("one",)
    assert "another forecast" in found.refused[0][1]


def test_a_forecast_made_after_its_test_is_shown_and_not_counted(tmp_path: Path) -> None:
    put(tmp_path, "late", "3 m to 4 m", on="2026-04-30")
    found = folders.score_folder(tmp_path)
    assert [one.blind for one in found.scored] == [False]
    assert found.coverage is None
    assert found.discrepancy is None


def test_a_folder_adds_up(tmp_path: Path) -> None:
    for number, seen in enumerate(("3 m to 4 m", "at least 20 m", "4.5 m", "at most 1 m")):
        put(tmp_path, f"test {number}", seen)
    found = folders.score_folder(tmp_path)
    blind = found.scored
    assert found.coverage is not None
    assert found.coverage.value == pytest.approx(sum(one.inside for one in blind) / 4, abs=1e-12)
    assert found.mean_log_score == pytest.approx(np.mean([o.log_score for o in blind]), abs=1e-12)
    assert found.discrepancy is not None
    assert found.discrepancy.count == 4
    assert json.dumps(found.as_json(), allow_nan=False)


@pytest.mark.parametrize(
    ("typed", "dimension", "seen"),
    [
        ("3 m to 4 m", "length", Seen(3.0, 4.0)),
        ("12 min", "time", Seen(720.0, 720.0)),
        ("at least 5 m", "length", Seen(5.0, inf)),
        ("at most 40 %", "share", Seen(0.0, 0.4)),
    ],
)
def test_what_was_seen_is_read(typed: str, dimension: str, seen: Seen) -> None:
    assert read_seen(typed, dimension) == seen


@pytest.mark.parametrize("typed", ["3 kg", "at last 5 m", "", "at least", "four metres"])
def test_what_is_no_interval_is_refused(typed: str) -> None:
    with pytest.raises(UsageError):
        read_seen(typed, "length")


def test_everything_a_test_looks_for_is_a_column() -> None:
    columns = {column.name for column in RUN}
    for one in LOOKED_FOR.values():
        assert {one.column, *filter(None, [one.until])} <= columns


def test_what_is_no_forecast_is_refused_by_line(tmp_path: Path) -> None:
    path = tmp_path / "x.forecast.yaml"
    path.write_text("edgewear: 1\n")
    with pytest.raises(EdgewearError, match=r"x\.forecast\.yaml:1:1"):
        read_frozen(path)
    body = made("x").body()
    del body["until"]
    other = tmp_path / "y.forecast.yaml"
    write_once(other, body)
    with pytest.raises(EdgewearError, match="until"):
        read_frozen(other)
    path.write_text("edgewear forecast: 1\nname: x\n")
    with pytest.raises(Mismatch):
        read_frozen(path)


def test_the_commands_go_from_freeze_to_score(tmp_path: Path) -> None:
    (tmp_path / "ascent.yaml").write_text(TEXT)
    out = str(tmp_path / "forecasts")
    done = CliRunner().invoke(app, [
        "forecast", "freeze", str(tmp_path / "ascent.yaml"), "--name", "first",
        "--replicates", "8", "--json", "--out", out,
    ])  # fmt: skip
    assert done.exit_code == 0, done.output
    file = json.loads(done.stdout)["file"]
    enter(Path(file), "3 m to 4 m")
    done = CliRunner().invoke(app, ["forecast", "score", out])
    assert done.exit_code == 0, done.output
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "not permission" in done.stdout
