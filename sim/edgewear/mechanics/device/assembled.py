"""`play_run` put together for a device: which parts of the processor's kernels give way there."""

from __future__ import annotations

from collections.abc import Mapping

from edgewear.mechanics.device import field, general
from edgewear.mechanics.device.parts import Compiled, Function, Parts, ids
from edgewear.mechanics.device.run import device_mark, device_step, play_run
from edgewear.mechanics.movement import advance, periods
from edgewear.mechanics.step import stage, step
from edgewear.mechanics.wear import field as lying
from edgewear.mechanics.wear import worst_place


def instead() -> dict[int, Function]:
    """Parts of the processor's kernels that give way on a device."""
    return ids(
        [
            (lying.deposit, field.deposit),
            (lying.travel_on, field.travel_on),
            (lying.fold, field.fold),
            (worst_place.scan, field.scan),
            (worst_place.scan_on, field.scan_on),
            (stage.step_any, general.step_in_a_loop),
            (stage.step_free, general.step_in_a_loop),
            (stage.step_two, general.step_in_a_loop),
            (stage.refine_power, general.no_power),
            (step._settle_static, general.no_static),
        ]
    )


def parts_for(compiled: Compiled, further: Mapping[int, Function] | None = None) -> Function:
    """`play_run` for a device, all that it calls copied.

    Parameters:
        compiled: makes a function of the device from one of Python; the same one for plain Python.
        further: parts that give way on a real device alone, by their `id`.
    """
    parts = Parts(compiled, instead() | dict(further or {}))
    # a step and a mark call what they stand for: their own copies name the processor's part
    parts.of(device_step)
    parts.of(device_mark)
    parts.give_way(ids([(advance._make_step, device_step), (periods.mark, device_mark)]))
    return parts.of(play_run)
