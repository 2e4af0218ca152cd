"""A device that is none: its functions run by Python, one thread after the other."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from edgewear.layout import MOVEMENT
from edgewear.mechanics.arrays import STATE, SUMS, TRACE, WORK_ROWS, Floats
from edgewear.mechanics.device.assembled import parts_for
from edgewear.mechanics.device.field import SPARE
from edgewear.mechanics.device.launch import ROOM_CELLS, width_of
from edgewear.mechanics.device.run import Given, Own


class PlainDevice:
    """What `launch.Device` is, in plain Python: the same arrays for run after run."""

    def __init__(self) -> None:
        """Begin with nothing worn."""
        self.play_run = parts_for(lambda function: function)
        self.played = 0
        self.own = Own(
            _own(STATE), _own(SUMS), _own(STATE), _own(SUMS), _own(MOVEMENT), np.zeros(3),
            np.zeros(WORK_ROWS * 16), np.zeros((1, 2 * (ROOM_CELLS + SPARE))), _own(TRACE, 0),
        )  # fmt: skip

    def play(self, given: Given, count: int, travel: int | None = None) -> Floats:
        """Play n runs, as `launch.Device.play`."""
        shown = Given(*map(_shown, given))
        found = np.zeros((count, width_of(travel)))
        with np.errstate(all="ignore"):
            for run in range(count):
                self.play_run(run, shown, self.own, found)
        assert not self.own.pending.any(), "what a run wore is cleared for the next"
        self.played += count
        return found


def _own(dtype: Any, count: int = 1) -> Any:
    return np.zeros(count, dtype).view(np.recarray)


def _shown(records: Any) -> Any:
    """Arrays whose records Python reads by attributes."""
    return records.view(np.recarray) if records.dtype.names else records


def taken_for_a_device(monkeypatch: pytest.MonkeyPatch) -> PlainDevice:
    """Let this process find one device, a plain one."""
    device = PlainDevice()
    monkeypatch.setattr("edgewear.engine.devices.cuda.check_device", lambda name: 1)
    monkeypatch.setattr("edgewear.engine.devices.cuda._mine", lambda: device)
    return device
