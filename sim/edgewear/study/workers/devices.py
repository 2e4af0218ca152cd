"""A study on a device: whether there is one, what it plays, how many workers keep it busy."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from edgewear.study.model import ScenarioModel

WORKERS_A_DEVICE = 8
"""One prepares and reads 100,000 rows a second and more, a device plays half a million; sixteen
found no memory on one of 139 GiB, in a sweep of four million rows."""


def on_device(model: ScenarioModel, device: str) -> ScenarioModel:
    """Let a device play what it can.

    Parameters:
        model: of the scenario.
        device: of `devices.cuda.DEVICES`.

    Raises:
        UsageError: there is no such device.
    """
    if device == "cpu":
        return model
    from edgewear.engine.devices.cuda import check_device

    check_device(device)
    return replace(model, device=device)


def on_device_of(model: ScenarioModel, options: Iterable[str]) -> tuple[str, ...]:
    """Name the options that the model's device plays, as far as their own numbers tell.

    Parameters:
        model: with its device.
        options: names.
    """
    if model.device == "cpu":
        return ()
    from edgewear.engine.batch import suits_a_device

    found = []
    for option in options:
        ready = model.ready(option)
        if suits_a_device(ready.case, ready.tape, ready.follows, model.edges):
            found.append(option)
    return tuple(found)


def busy_workers(wanted: int, device: str) -> int:
    """Give no more workers than keep the devices busy: each has its share of their memory for good.

    Parameters:
        wanted: how many there would be without a device.
        device: of `devices.cuda.DEVICES`.
    """
    if device == "cpu":
        return wanted
    from edgewear.engine.devices.cuda import check_device

    return min(wanted, WORKERS_A_DEVICE * check_device(device))
