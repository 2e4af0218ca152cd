"""A movement that is cut at its very first tick leaves nothing behind, live as in a replay."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from edgewear.case import compile_case
from edgewear.engine.play import play
from edgewear.engine.player import Player
from edgewear.engine.results.outcome import edge_rows
from edgewear.engine.run_job import perform
from edgewear.job.faults import Injected
from edgewear.scenario.models import faults as typed
from engine.test_faults import site

STOPPING = {
    "unresponsive": typed.CasualtyUnresponsive(person="ann"),
    "jammed": typed.DeviceJammed(person="ann"),
    "dropped": typed.DeviceDropped(person="ann"),
    "post goes": typed.AnchorFails(anchor="post"),
    "bolt goes": typed.AnchorFails(anchor="bolt"),
}


@cache
def begun(way: str) -> tuple[int, ...]:
    """The ticks at which something begins or ends, and those beside them."""
    scenario = site(way)
    log = perform(scenario, compile_case(scenario, "plain"), scenario.when).log
    ticks = {entry.tick for entry in log}
    return tuple(sorted(tick + more for tick in ticks for more in (0, 1)))


@pytest.mark.parametrize("name", STOPPING)
def test_the_same_sections_are_in_use_live_and_replayed(name: str) -> None:
    """Bit for bit, for each column and every tick at which a step begins or ends, and the next."""
    way = "re-anchor: [bolt]"
    scenario = site(way).model_copy(update={"faults": {name: STOPPING[name]}})
    case = compile_case(scenario, "plain")
    for tick in begun(way):
        one = Injected(name, STOPPING[name], tick=tick)
        done = perform(scenario, case, scenario.when, faults=[one])
        player = Player(case)
        assert play(player, case.batch(done.tape, {}, 1)) == done.ticks
        assert sorted(done.player.in_use) == sorted(player.in_use), tick
        live, again = edge_rows(done.player), edge_rows(player)
        for column in live.dtype.names:  # nan: none, in both
            np.testing.assert_equal(live[column], again[column], err_msg=f"{column} at {tick}")
