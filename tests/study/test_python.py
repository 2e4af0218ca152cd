"""The way in from Python: the how-to page runs, and a changed scenario is what it says."""

from __future__ import annotations

import re

import pytest

import edgewear
from edgewear.errors import ScenarioError, UsageError
from support.tree import ROOT

PAGE = ROOT / "docs" / "how-to" / "compute-from-python.md"
BLOCK = re.compile(r"^```python\n(.*?)^```", re.S | re.M)
ASCENT = ROOT / "scenarios" / "reference-ascent.yaml"


def test_the_page_runs_from_top_to_bottom(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("matplotlib").use("Agg")
    monkeypatch.chdir(ROOT)
    blocks = BLOCK.findall(PAGE.read_text())
    assert len([line for line in blocks[0].splitlines() if line]) <= 5
    room: dict[str, object] = {}
    for block in blocks:
        exec(compile(block, str(PAGE), "exec"), room)


def test_a_number_is_what_its_text_would_be() -> None:
    model = edgewear.load(ASCENT)
    typed = model.with_({"edges/arris/radius": "3 mm"})
    number = model.with_({"edges/*/radius": 0.003})
    radius = number.scenario.edges["arris"].radius
    assert radius.value == typed.scenario.edges["arris"].radius.value == 0.003
    assert edgewear.load(number.text).scenario.edges["arris"].radius.value == 0.003
    assert model.scenario.edges["arris"].radius.value == 0.001


def test_a_path_its_text_and_a_mapping_are_the_same() -> None:
    from edgewear.scenario.text.tree import parse_tree

    text = ASCENT.read_text()
    apart = {"path", "source"}
    wanted = edgewear.load(ASCENT).scenario.model_dump(exclude=apart)
    assert edgewear.load(text).scenario.model_dump(exclude=apart) == wanted
    data = parse_tree(text, "text").data
    assert edgewear.load(data).scenario.model_dump(exclude=apart) == wanted


def test_every_address_that_leads_nowhere_is_named() -> None:
    with pytest.raises(ScenarioError) as found:
        edgewear.load(ASCENT).with_({"edges/aris/radius": "1 mm", "peple/x": "1 kg"})
    assert [problem.address for problem in found.value.problems] == ["edges/aris/radius", "peple/x"]


@pytest.mark.parametrize("rate_hz", [0.0, -1.0, float("nan"), 20_000.0])
def test_a_rate_out_of_range_is_refused(rate_hz: float) -> None:
    with pytest.raises(UsageError, match="rate_hz"):
        edgewear.load(ASCENT).run(rate_hz=rate_hz)


def test_samples_come_at_the_rate_asked_for() -> None:
    times = edgewear.load(ASCENT).run(rate_hz=50.0).timeline()["time_s"].to_numpy()
    # a sample falls on the end of the first step that is due or late; steps last 15 ms at most
    gaps_s = times[1:-1] - times[:-2]
    assert gaps_s.size > 500
    assert gaps_s.min() > 0.02 - 1e-9
    assert gaps_s.max() < 0.035 + 1e-9
