"""Runs on a device: whether there is one, and which of a process's runs go there."""

from __future__ import annotations

import multiprocessing
from functools import cache
from importlib.util import find_spec

import numpy as np
from numpy.typing import NDArray

from edgewear import mechanics
from edgewear.case import Records
from edgewear.errors import DeviceFailed, UsageError
from edgewear.mechanics.device.launch import Device, can_play, given_of, many_of

CPU, CUDA = "cpu", "cuda"
DEVICES = (CPU, CUDA)


def check_device(name: str) -> int:
    """Count the devices of a name; the processor is one.

    Raises:
        UsageError: no such name, or nothing there to use.
    """
    if name == CPU:
        return 1
    if name != CUDA:
        raise UsageError(f"--device {name}: allowed are {' and '.join(DEVICES)}")
    from numba.core import config

    if config.ENABLE_CUDASIM:
        return 1
    if find_spec("numba_cuda") is None:
        raise UsageError("--device cuda needs numba-cuda: pip install 'edgewear[cuda]'")
    from numba import cuda

    if not cuda.is_available():
        raise UsageError(f"--device cuda: no device is found here ({_why(cuda.cuda_error())})")
    return len(cuda.gpus)


def _why(error: object) -> str:
    """What the driver says, in one line."""
    return " ".join(str(error).split())[:200] if error else "the driver finds none"


@cache
def _device(number: int) -> Device:
    """A device with the kernel on it, kept as long as the process lives."""
    return Device(number)


def _mine() -> Device:
    """The device of this process: workers take turns."""
    which = multiprocessing.current_process()._identity or (0,)
    return _device(which[0] % check_device(CUDA))


def play_on_device(
    lines: Records,
    edges: Records,
    people: Records,
    wears: Records,
    tapes: Records,
    variation: NDArray[np.float64],
    behind_m: float,
    travel: int | None = None,
) -> mechanics.Many | None:
    """Play n runs on this process's device as `mechanics.play_many` does; None: it takes none.

    behind_m: rope that may be let out behind the fixed point. travel: strokes whose mark travel is
    kept; None: nothing of the edge is. A run that the device leaves has an `end` that is not DONE.

    Raises:
        DeviceFailed: nothing that these runs could help.
    """
    if not can_play(edges):
        return None
    given = given_of(lines, edges, people, wears, tapes, variation, behind_m=behind_m)
    try:
        return many_of(_mine().play(given, len(lines), travel))
    except Exception as error:  # of the driver, or of numba; a row of its own cannot be at fault
        told = " ".join(str(error).split())[-300:]
        raise DeviceFailed(f"the device failed: {type(error).__name__}: {told}") from error
