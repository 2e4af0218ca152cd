"""How parts and the kernel of a device are compiled; to import this takes numba-cuda.

NVVM inlines what it is given until one function is left, and its time grows faster than the size
of that function. So what is not in the loop over steps stays a function that is called. Numba
hands a module to NVVM once for every way that leads to it; once is enough. Numbers that a caller
writes out are numbers, or each of them would have a translation of its own.
"""

from __future__ import annotations

import re
from typing import Any

from numba import cuda, float64
from numba.core.types.misc import unliteral
from numba.cuda.codegen import CUDACodeLibrary
from numba.cuda.descriptor import cuda_target
from numba.cuda.dispatcher import CUDADispatcher

from edgewear.mechanics.device import columns, pieces, quick, quick_step
from edgewear.mechanics.device.field import add_both, swept
from edgewear.mechanics.device.parts import Function, ids
from edgewear.mechanics.lanes.slip import slip
from edgewear.mechanics.movement.mover import minimum_jerk, ramped
from edgewear.mechanics.step import flow
from edgewear.mechanics.wear.wear import worn_rate

SHARED = (columns.ROWS, columns.BLOCK_THREADS)


def column() -> Any:
    """A column of shared memory for each thread of a block."""
    return cuda.shared.array(SHARED, float64), cuda.threadIdx.x


ONLY_THERE = ids([(columns.column, column)])
"""What only a device has."""
IN_THE_LOOP = {
    getattr(part, "py_func", part).__code__
    for part in (
        slip, flow.asked, flow.springs, flow.flows, flow.early, worn_rate, minimum_jerk,
        ramped, add_both, swept, quick_step.taken_in, quick_step.stepped, quick_step.after,
        quick_step.later, quick_step.stands, quick_step.too_open,
        quick_step.wears, pieces.piece, pieces.opened, pieces._begin, pieces._at, pieces.further,
        pieces.tried, columns.fill, columns.book, columns._book_flows, columns._book_line,
        columns._book_slip, columns._book_flash, columns.keep, columns._keep_edge, column,
        quick.fixed_of, quick.line_before, quick.keep_line, quick.nearer,
        quick._ends, quick._looks, quick._go,
    )
}  # fmt: skip
"""What every quick step calls, once or a few times: copied to where it is called."""
LARGE = 60
"""Instructions, before any is optimised, from which on a function is called and not copied."""


CALL = re.compile(r'^\s*(%"[^"]*") = call i32 @"_ZN8edgewear')


def all_well(text: str) -> str:
    """LLVM of a module in which no call of ours fails: none raises an error.

    A caller that might return at once after a call would keep the threads of a warp apart from
    there to its own end, each going on alone: they meet again where all must come by.
    """
    made: list[str] = []
    for function in re.split(r"(?m)^(?=define )", text):
        calls = {found[1] for line in function.splitlines() if (found := CALL.match(line))}
        if calls:
            told = re.compile("|".join(map(re.escape, sorted(calls))))
            function = "\n".join(
                line if CALL.match(line) else told.sub("0", line) for line in function.split("\n")
            )
        made.append(function)
    return "".join(made)


class OnceLibrary(CUDACodeLibrary):
    """Code with what it calls, each module once."""

    @property
    def llvm_strs(self) -> list[str]:
        """The modules as NVVM takes them."""
        found: list[str] | None = getattr(self, "_llvm_strs", None)
        if found is None:
            found = self._llvm_strs = [all_well(str(module)) for module in self.modules]
        return found

    @property
    def modules(self) -> list[Any]:
        """The own module and those of all that is called, directly or not."""
        found: dict[Any, None] = {self._module: None}
        for library in self._linking_libraries:
            found.update(dict.fromkeys(library.modules))
        return list(found)


class _Part(CUDADispatcher):
    """A function of the device."""

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """Take numbers for numbers."""
        plain = {name: unliteral(one) for name, one in kws.items()}
        return super().get_call_template(tuple(map(unliteral, args)), plain)

    def compile_device(self, args: Any, return_type: Any = None) -> Any:
        """Translate the part; a large one is called."""
        known = args in self.overloads
        made = super().compile_device(args, return_type)
        if not known and self.py_func.__code__ not in IN_THE_LOOP:
            function = made.library.get_function(made.fndesc.llvm_func_name)
            if sum(len(block.instructions) for block in function.blocks) >= LARGE:
                function.attributes.add("noinline")
        return made


def part(function: Function) -> Function:
    """Compile a function of the device."""
    inline = function.__code__ in IN_THE_LOOP
    told = cuda.jit(device=True, forceinline=inline)(function).targetoptions
    made: Function = _Part(function, targetoptions=told)
    return made


def kernel(function: Function) -> Any:
    """Compile what is called from outside; linked as it is, for a linker would inline again."""
    cuda_target.target_context.codegen()._library_class = OnceLibrary
    return cuda.jit(function, lto=False)  # as a decorator it would forget `lto`
