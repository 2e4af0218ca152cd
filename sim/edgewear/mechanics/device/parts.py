"""The processor's kernels made into functions of a device, from the same Python source.

A kernel is copied with all that it calls, so that a device compiles what the processor compiles.
Some parts give way to others, made for a device: where the wear goes, see `field`, and how a step
is made, see `quick`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import CellType, CodeType, FunctionType
from typing import Any

Function = Callable[..., Any]
Compiled = Callable[[Function], Function]

OURS = "edgewear.mechanics."


class Parts:
    """Copies kernels for a device, each once.

    Parameters:
        compiled: makes a function of the device from one of Python.
        instead: parts that give way to others, by their `id`.
    """

    def __init__(self, compiled: Compiled, instead: Mapping[int, Function]) -> None:
        """Nothing copied yet."""
        self._compiled, self._instead = compiled, dict(instead)
        self._made: dict[int, Function] = {}
        self._kept: list[Function] = []  # so that no other function gets an address of these

    def give_way(self, instead: Mapping[int, Function]) -> None:
        """Let further parts give way, to what is copied from here on."""
        self._instead.update(instead)

    def of(self, part: Function) -> Function:
        """The device's function of a kernel."""
        wanted = self._instead.get(id(part), part)
        if id(wanted) not in self._made:
            self._kept.append(wanted)
            self._made[id(wanted)] = self._compiled(self.plain(wanted))
        return self._made[id(wanted)]

    def plain(self, part: Function) -> Function:
        """A kernel as Python, what it calls being functions of the device."""
        source: Any = getattr(part, "py_func", part)
        known = dict(source.__globals__)
        for name in _names(source.__code__):
            if _is_part(known.get(name)):
                known[name] = self.of(known[name])
        cells = tuple(map(self._cell, source.__closure__ or ()))
        copy = FunctionType(
            source.__code__, known, source.__name__, source.__defaults__, cells or None
        )
        copy.__module__, copy.__qualname__ = source.__module__, source.__qualname__
        return copy

    def _cell(self, cell: CellType) -> CellType:
        inside = cell.cell_contents
        return CellType(self.of(inside)) if _is_part(inside) else cell


def ids(pairs: Iterable[tuple[Function, Function]]) -> dict[int, Function]:
    """Parts and what they give way to, by the parts' `id`."""
    return {id(old): new for old, new in pairs}


def _is_part(found: Any) -> bool:
    """Tell a kernel, compiled or plain, from everything else that a kernel names."""
    source = getattr(found, "py_func", found)
    return isinstance(source, FunctionType) and source.__module__.startswith(OURS)


def _names(code: CodeType) -> set[str]:
    inner = [_names(one) for one in code.co_consts if isinstance(one, CodeType)]
    return set(code.co_names).union(*inner)
