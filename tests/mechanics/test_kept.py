"""Kept kernels that cannot be read are compiled anew, in words; spoilt machine code never runs."""

from __future__ import annotations

import ast
import os
import pickle
import random
import shutil
import subprocess
import sys
from pathlib import Path

import numba
import pytest
from llvmlite.binding import parse_bitcode

from edgewear.mechanics import cache
from edgewear.mechanics.jit import entry

pytestmark = pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")


def doubled(x):
    """A kernel that compiles in no time."""
    return 2.0 * x


def kernel():
    """What a process makes that has compiled nothing yet."""
    cache._SAID.clear()
    return entry(True)(doubled)


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A folder with the kernel in it: an index and the code."""
    monkeypatch.setattr(cache, "FOLDER", tmp_path)
    assert kernel()(1.5) == 3.0
    again = kernel()
    assert again(1.5) == 3.0
    assert sum(again.stats.cache_hits.values()) == 1  # else nothing below would be read
    return tmp_path


def cut(share):
    return lambda path: path.write_bytes(path.read_bytes()[: int(share * path.stat().st_size)])


def flip(path):
    raw = bytearray(path.read_bytes())
    raw[random.Random(1).randrange(len(raw))] ^= 4
    path.write_bytes(raw)


def folder(path):
    path.unlink()
    path.mkdir()


SPOILT = {
    "empty": cut(0.0),
    "cut at once": cut(0.01),
    "cut in the middle": cut(0.5),
    "cut at the end": cut(0.999),
    "junk": lambda path: path.write_bytes(random.Random(1).randbytes(4_000)),
    "a bit": flip,
    "a folder": folder,
}


@pytest.mark.parametrize("suffix", [".nbi", ".nbc"])
@pytest.mark.parametrize("way", SPOILT)
def test_what_cannot_be_read_is_compiled_anew_and_said_once(way, suffix, kept, capfd):
    (path,) = kept.rglob(f"*{suffix}")
    SPOILT[way](path)
    capfd.readouterr()
    assert kernel()(1.5) == 3.0
    assert capfd.readouterr().err.count("compiled anew") == 1
    if way != "a folder":  # which is somebody's, and stays
        healed = kernel()
        assert healed(1.5) == 3.0
        assert sum(healed.stats.cache_hits.values()) == 1
        assert capfd.readouterr().err == ""


def test_a_kept_kernel_is_machine_code_and_names_alone(kept):
    """What another kernel would be built from takes longer to read than the code; nobody asks."""
    (path,) = kept.rglob("*.nbc")
    (_, _, (code, parts)), *_ = pickle.loads(cache._unsealed(path))
    functions = list(parse_bitcode(parts).functions)
    assert any("doubled" in one.name for one in functions)
    for one in functions:
        (block,) = one.blocks
        assert [step.opcode for step in block.instructions] == ["ret"]
    assert code.startswith(b"\x7fELF") or sys.platform != "linux"


def test_a_kept_kernel_runs_where_it_was_not_compiled(kept):
    """In another process nothing is there but what was kept."""
    told = (
        "from pathlib import Path; from edgewear.mechanics import cache; "
        f"cache.FOLDER = Path({str(kept)!r}); from {__name__} import kernel; "
        "made = kernel(); print(made(1.5), sum(made.stats.cache_hits.values()))"
    )
    paths = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, env=paths)
    assert done.stdout == "3.0 1\n", done.stderr


def test_where_nothing_can_be_kept_it_is_compiled_each_time(tmp_path, monkeypatch, capfd):
    """A file where the folder should be, which stops the one who may do anything as well."""
    monkeypatch.setattr(cache, "FOLDER", tmp_path)
    (tmp_path / doubled.__module__).write_text("mine")
    assert kernel()(1.5) == 3.0
    assert capfd.readouterr().err.count("compiled anew") == 1
    assert (tmp_path / doubled.__module__).read_text() == "mine"


def test_code_that_is_gone_is_made_again_without_a_word(kept, capfd):
    (path,) = Path(kept).rglob("*.nbc")
    path.unlink()
    assert kernel()(1.5) == 3.0
    assert path.is_file()
    assert capfd.readouterr().err == ""


MECHANICS = Path(cache.__file__).parent


def imported_from_outside() -> list[str]:
    """Modules of ours that kernels take something from, as files beside their room."""
    trees = [ast.parse(source.read_text()) for source in MECHANICS.rglob("*.py")]
    nodes = [node for tree in trees for node in ast.walk(tree)]
    named = {node.module for node in nodes if isinstance(node, ast.ImportFrom) and node.module}
    named |= {one.name for node in nodes if isinstance(node, ast.Import) for one in node.names}
    ours = [name.split(".")[1:] for name in named if name.startswith("edgewear.")]
    return sorted({f"{'/'.join(parts)}.py" for parts in ours if parts[0] != "mechanics"})


@pytest.mark.parametrize("name", imported_from_outside())
def test_kernels_are_compiled_anew_where_what_they_take_from_outside_changes(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copied = tmp_path / "edgewear"
    shutil.copytree(MECHANICS, copied / "mechanics", ignore=shutil.ignore_patterns("__pycache__"))
    for other in imported_from_outside():
        shutil.copy(MECHANICS.parent / other, copied / other)
    monkeypatch.setattr(cache, "__file__", str(copied / "mechanics" / "cache.py"))
    before = cache.sources_hash()
    with (copied / name).open("a") as changed:
        changed.write("# another number\n")
    assert cache.sources_hash() != before
