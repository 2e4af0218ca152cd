"""Kernels compiled in parts: an entry gives what plain Python gives, and so does a part alone."""

from __future__ import annotations

import importlib.util
import math
import re
import threading
from contextlib import nullcontext
from itertools import count, permutations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numba.core.bytecode import FunctionIdentity
from numba.core.types.functions import BaseFunction

from edgewear.mechanics import cache, jit
from edgewear.mechanics.jit import entry, inlined, njit


@njit
def _square(x: float) -> Any:
    return min(x * x, 1e9)


@inlined
def _cube(x: float) -> Any:
    return x * _square(x)


@njit
def _either(n: int, x: float) -> Any:
    return _square(x) if n == 2 else _cube(x)


@njit
def _never(x: float) -> Any:
    """Calls what nobody else calls, from where nobody comes."""
    y = 0.0
    if False:
        y = abs(_cube(x))
    return y


def _sum(values: Any) -> Any:
    total = 0.0
    for i in range(values.shape[0]):
        total += _either(i, values[i]) + _never(values[i]) + min(values[i], 0.5)
    return total


VALUES = np.array([0.25, 3.0, 5.0, -2.0])


def test_an_entry_gives_what_its_parts_say() -> None:
    exact = 0.25**3 + 3.0**3 + 5.0**2 - 2.0**3 + (0.25 + 0.5 + 0.5 - 2.0)  # all exact in binary
    assert entry(False)(_sum)(VALUES) == exact


def test_a_part_alone_gives_the_same() -> None:
    assert [_either(n, 3.0) for n in (1, 2)] == [27.0, 9.0]
    assert isinstance(_either(1, 3.0), float)


def test_a_part_is_translated_once_and_nothing_executable_is_made_of_it() -> None:
    entry(False)(_sum)(VALUES)
    entry(False)(_sum)(VALUES[1:])
    assert len(_square.signatures) == 1
    (made,) = _square.overloads.values()
    assert not callable(made.entry_point)


def test_constants_make_no_second_translation() -> None:
    entry(False)(_twice)(3.0)
    assert len(_either.signatures) == 1


def _twice(x: float) -> Any:
    return _either(2, x) + _either(3, x)


@pytest.mark.parametrize("counted", [None, 7, 8, 97, 98, 997, 998])
def test_what_numba_is_asked_once_makes_the_same_code(
    monkeypatch: pytest.MonkeyPatch, counted: int | None
) -> None:
    """Also where the number by which numba counts functions gets a digit longer in between."""
    if counted is not None:
        monkeypatch.setattr(FunctionIdentity, "_unique_ids", count(counted))
    asks = BaseFunction.get_call_type
    remembering = _code_of(_fresh())
    assert BaseFunction.get_call_type is asks  # given back
    monkeypatch.setattr(jit, "remembered", nullcontext)
    assert remembering == _code_of(_fresh())
    assert "fmul" in remembering


def _fresh() -> Any:
    """An entry with parts of its own: numbers of several types, constants, records of arrays."""

    @njit
    def part(n: int, x: float, values: Any) -> Any:
        total = 0.0
        for i in range(n):
            total += max(values[i] * 2.0, x) * 2 + abs(values[i + 1]) * n + (i * 2) ** 2
        return min(total, 1e9) * x if n % 2 == 0 or x > 2 else math.exp(total * x)

    return entry(False)(lambda values: part(2, 2.0, values) + part(values.shape[0] - 1, 3, values))


def _code_of(made: Any) -> str:
    """What LLVM made of an entry, without the numbers that numba counts functions by.

    Names that hold them are kept as texts, whose lengths go with the numbers.
    """
    made(VALUES)
    (code,) = made.inspect_llvm().values()
    return re.sub(r"B\d+v\d+|v\d+|\d+c\d+|\[\d+ x i8\]", "", code)


def test_who_compiles_the_same_waits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "FOLDER", tmp_path)
    entered = threading.Event()

    def enter(name: str) -> None:
        with cache.one_at_a_time(name):
            entered.set()

    with cache.one_at_a_time("one"):
        enter("other")  # another kernel is free
        entered.clear()
        waits = threading.Thread(target=enter, args=("one",))
        waits.start()
        assert not entered.wait(0.2)
    waits.join(10.0)
    assert entered.is_set()


def test_without_a_folder_everybody_compiles(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache, "FOLDER", tmp_path / "none")
    with cache.one_at_a_time("one"), cache.one_at_a_time("one"):
        pass


def _long(number: int) -> Any:
    """A part of a family that differ in a number alone, too long to be copied into its callers."""

    @njit
    def part(x: float) -> Any:
        for _ in range(3):
            for factor in (0.5, 0.25, 2.0, 4.0, 0.5, 0.75, 1.25, 0.5):
                x = math.sqrt(x * factor + number) + math.exp(-x) + math.sin(x)
                x = math.atan2(x, factor) + math.hypot(x, number) + math.cos(x) + 2.0
        return x

    return part


def _in_turn(parts: list[Any], name: str) -> Any:
    """A kernel that calls three parts one after the other, under a name of its own."""
    first, then, last = parts

    def kernel(x: float) -> Any:
        return first(x) + 10.0 * then(x) + 100.0 * last(x)

    kernel.__qualname__ = name
    return kernel


@pytest.mark.parametrize("order", range(2))
def test_kernels_that_number_their_parts_alike_run_each_its_own(
    order: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As kernels do that different processes compiled and one has loaded."""
    orders = list(permutations((1, 2, 3)))
    for numbers in orders[order:] + orders[:order]:
        monkeypatch.setattr(FunctionIdentity, "_unique_ids", count(10**6))
        parts = [_long(number) for number in numbers]
        kernel = _in_turn(parts, f"kernel_{order}_{numbers}".replace(" ", ""))
        plain = _in_turn([getattr(one, "py_func", one) for one in parts], "plain")
        assert entry(False)(kernel)(0.7) == plain(0.7)


def test_a_copy_of_the_sources_elsewhere_finds_what_was_compiled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cache, "FOLDER", tmp_path / "kept")
    found = []
    for checkout in ("one", "other"):
        copy = _imported(tmp_path / checkout)
        assert copy.tripled(3.0) == 9.0
        found.append(sum(copy.tripled.stats.cache_hits.values()))
    assert found == [0, 1]


def _imported(folder: Path) -> Any:
    """A module with one kept kernel, from a file in a folder of its own."""
    folder.mkdir()
    file = folder / "kept_kernel.py"
    file.write_text(
        "from edgewear.mechanics.jit import entry\n\n\n"
        "@entry(True)\ndef tripled(x):\n    return 3.0 * x\n"
    )
    spec = importlib.util.spec_from_file_location("kept_kernel", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
