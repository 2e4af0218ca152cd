"""How kernels are compiled: plain IEEE division, no fastmath, no parallel threads.

Kernels allocate nothing and keep no array beyond the call, so they are compiled without
reference counts: with them two thirds of a step's time went into counting.

A kernel that only other kernels call is a *part*. numba would optimise each part with all that it
calls and make machine code of it, again at every level of calls, and use the outermost only. So a
part is only translated to LLVM, and the entry that Python calls is optimised once, with its parts.
"""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Callable
from functools import cached_property, wraps
from itertools import count
from typing import Any

import numba
import numba.core.sigutils
import numpy as np
from llvmlite.binding import Linkage
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import PassManager, register_pass
from numba.core.registry import CPUDispatcher
from numba.core.typed_passes import NativeLowering

from edgewear.mechanics.cache import KeptKernel, one_at_a_time
from edgewear.mechanics.remembered import remembered

Kernel = Callable[..., Any]

_ORDINAL = count()
_WIDE: set[Kernel] = set()
WIDEST = '"prefer-vector-width"="512"'
"""What tells LLVM to take registers of eight numbers, where it would take half of them."""


class _PartLibrary(JITCodeLibrary):
    """Code of a part as it was translated: neither linked, nor optimised, nor executable."""

    def __init__(self, *given: Any, wide: bool = False) -> None:
        """Nothing in it yet; `wide`: see the decorator of that name."""
        super().__init__(*given)
        self.ordinal = next(_ORDINAL)
        self.wide = wide

    def add_ir_module(self, module: Any) -> None:
        """Take a translation; one that is wide is not copied into what is not."""
        for function in module.functions:
            if self.wide and function.blocks:
                function.attributes.add("noinline")
                set.add(function.attributes, WIDEST)  # past the list of names that llvmlite knows
        super().add_ir_module(module)

    def finalize(self) -> None:
        """Leave everything to the entry."""
        self._finalized = True

    def all_linked(self) -> list[JITCodeLibrary]:
        """Give this part and all that it calls, directly or not."""
        return list(dict.fromkeys([self, *self._linking_libraries]))


class _EntryLibrary(JITCodeLibrary):
    """Code of an entry with its parts."""

    def finalize(self) -> None:
        """Link callers before what they call: LLVM leaves out what nothing has asked for yet."""
        self._linking_libraries.sort(key=lambda one: -getattr(one, "ordinal", -1))
        super().finalize()

    def _finalize_final_module(self) -> None:
        """Keep the parts to this entry.

        numba numbers functions as a process compiles them. Two made by one factory have one name
        but for that number; where kernels kept by different processes are loaded together, one
        would run the other's part of the same number.
        """
        for one in self._final_module.functions:
            if one.linkage == Linkage.linkonce_odr and not one.is_declaration:
                one.linkage = Linkage.internal
        super()._finalize_final_module()


@register_pass(mutates_CFG=True, analysis_only=False)
class _PartLowering(NativeLowering):
    """Translate a part to LLVM and tell callers what to link."""

    _name = "edgewear_part_lowering"

    def run_pass(self, state: Any) -> bool:
        """Make nothing executable."""
        library = _PartLibrary(
            state.targetctx.codegen(), state.func_id.func_qualname, wide=state.func_id.func in _WIDE
        )
        state.library, state.flags.no_compile = library, True
        super().run_pass(state)
        stands_for_it = object()
        state["cr"] = state["cr"]._replace(cfunc=stands_for_it)
        state.targetctx.insert_user_function(
            stands_for_it, state["cr"].fndesc, library.all_linked()
        )
        return True


@register_pass(mutates_CFG=True, analysis_only=False)
class _EntryLowering(NativeLowering):
    """Translate an entry, with a library that orders its parts."""

    _name = "edgewear_entry_lowering"

    def run_pass(self, state: Any) -> bool:
        """Optimise everything at once."""
        state.library = _EntryLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        return bool(super().run_pass(state))


def _passes(state: Any, lowering: type[NativeLowering]) -> list[PassManager]:
    """The passes of numba with another lowering."""
    manager = DefaultPassBuilder.define_nopython_pipeline(state)
    manager.passes = [
        (lowering if made is NativeLowering else made, told) for made, told in manager.passes
    ]
    return [manager]


class _PartCompiler(CompilerBase):
    def define_pipelines(self) -> list[PassManager]:
        return _passes(self.state, _PartLowering)


class _EntryCompiler(CompilerBase):
    def define_pipelines(self) -> list[PassManager]:
        return _passes(self.state, _EntryLowering)


class _Part(CPUDispatcher):
    """A part; called from Python, as tests do, it is compiled on its own."""

    def add_overload(self, made: Any) -> None:
        """Keep a translation, for those who call the part from a kernel."""
        self.overloads[tuple(made.signature.args)] = made

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """Take numbers for numbers: numba would translate a part anew for every constant."""
        plain = {name: numba.types.unliteral(one) for name, one in kws.items()}
        return super().get_call_template(tuple(map(numba.types.unliteral, args)), plain)

    @cached_property
    def _alone(self) -> Kernel:
        return entry(False)(self.py_func)

    def __call__(self, *given: Any) -> Any:
        """Call the part alone."""
        return self._alone(*given)


class _Entry(CPUDispatcher):
    """A kernel that Python calls."""

    def compile(self, signature: Any) -> Any:
        """Compile it, or load it where another process has compiled it meanwhile.

        Nothing of what is made is given back before the end, so nobody looks for it.
        """
        if tuple(numba.core.sigutils.normalize_signature(signature)[0]) in self.overloads:
            return super().compile(signature)
        collects = gc.isenabled()
        gc.disable()
        try:
            with contextlib.ExitStack() as alone:
                if isinstance(self._cache, KeptKernel):
                    alone.enter_context(one_at_a_time(self.py_func.__name__))
                alone.enter_context(remembered())
                return super().compile(signature)
        finally:
            if collects:
                gc.enable()


def _options(**more: bool) -> dict[str, Any]:
    plain = {"nopython": True, "boundscheck": None, "error_model": "numpy"}
    return {**plain, "no_cfunc_wrapper": True, **more}


def _part(function: Kernel, inline: bool) -> Kernel:
    if numba.config.DISABLE_JIT:
        return function
    told = _options(_nrt=False, no_cpython_wrapper=True, forceinline=inline)
    part: Kernel = _Part(function, {}, told, _PartCompiler)
    return part


def njit(function: Kernel) -> Kernel:
    """Compile a kernel that other kernels call."""
    return _part(function, False)


def wide(function: Kernel) -> Kernel:
    """Compile a kernel of loops over lanes, with the widest registers that the processor has."""
    _WIDE.add(function)
    return njit(function)


def inlined(function: Kernel) -> Kernel:
    """Compile a kernel into each place it is called from."""
    return _part(function, True)


def _fields(given: Any) -> Any:
    """Give record arrays whose fields Python reads as attributes, on the same memory."""
    if isinstance(given, tuple):
        return type(given)(*map(_fields, given)) if hasattr(given, "_fields") else given
    if isinstance(given, np.ndarray) and given.dtype.names:
        return given.view(np.recarray)
    return given


def _plainly(function: Kernel) -> Kernel:
    """Run an entry as plain Python, under a debugger or for coverage; bounds are checked."""

    @wraps(function)
    def played(*given: Any) -> Any:
        with np.errstate(all="ignore"):
            return function(*map(_fields, given))

    return played


def entry(cache: bool) -> Callable[[Kernel], Kernel]:
    """Compile a kernel that Python calls, kept on disk if `cache`."""

    def compiled(function: Kernel) -> Kernel:
        if numba.config.DISABLE_JIT:
            return _plainly(function)
        made = _Entry(function, {}, _options(), _EntryCompiler)
        if cache:
            made._cache = KeptKernel(function)
        kernel: Kernel = made
        return kernel

    return compiled
