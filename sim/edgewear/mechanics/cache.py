"""Keep numba's on-disk cache apart for every state of the kernel sources."""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import pickle
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, Any, ClassVar

import numba
from llvmlite.binding import parse_assembly, parse_bitcode
from numba.core.caching import (
    CompileResultCacheImpl,
    FunctionCache,
    IndexDataCacheFile,
    _CacheLocator,
)

OUTSIDE = ("layout.py", "terms.py")
"""Files beside this room whose numbers are compiled into kernels."""


def sources_hash() -> str:
    """Hash of every kernel source and of what they take from outside, as 16 hexadecimal digits."""
    here = Path(__file__).parent
    digest = hashlib.sha256(numba.__version__.encode())
    for source in [*sorted(here.rglob("*.py")), *(here.parent / name for name in OUTSIDE)]:
        digest.update(
            source.relative_to(here.parent).as_posix().encode() + b"\0" + source.read_bytes()
        )
    return digest.hexdigest()[:16]


def _writable(folder: Path) -> bool:
    """Whether a file can be made in `folder`, which is created if it is missing."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def cache_folder() -> Path | None:
    """Folder for compiled kernels of these sources, or None where nothing can be written.

    `EDGEWEAR_CACHE` names another parent folder; else the user's cache folder is taken.
    numba itself looks at the file of the entry alone, so the folder carries the sources' hash.
    """
    named = os.environ.get("EDGEWEAR_CACHE")
    parents = [Path(named)] if named else []
    base = os.environ.get("XDG_CACHE_HOME")
    with contextlib.suppress(RuntimeError):  # no home folder
        parents.append((Path(base) if base else Path.home() / ".cache") / "edgewear")
    for parent in parents:
        folder = parent / f"kernels-{sources_hash()}"
        if _writable(folder):
            return folder
    return None


FOLDER = cache_folder()
CACHE = FOLDER is not None
"""Whether entry points may be kept on disk; else they are compiled afresh in every process."""


class _Place(_CacheLocator):
    """Place of a kernel: the same for every copy of these sources, wherever it lies."""

    def __init__(self, function: Callable[..., Any], file: str) -> None:
        self._py_file = file  # numba names it in warnings
        self._line = function.__code__.co_firstlineno
        self._folder = str(Path(FOLDER or "") / function.__module__)

    def get_cache_path(self) -> str:
        """Give the folder of the kernel's module."""
        return self._folder

    def get_source_stamp(self) -> str:
        """Give the same always: other sources have another folder."""
        return ""

    def get_disambiguator(self) -> str:
        """Tell functions of one name apart."""
        return str(self._line)

    @classmethod
    def from_function(cls, function: Callable[..., Any], file: str) -> _Place:
        """Make the place of a function."""
        return cls(function, file)


class _Results(CompileResultCacheImpl):
    """What is kept of a kernel: machine code, without what another kernel would be built from.

    Only Python calls what is kept. To read the rest takes as long as all else about a kernel.
    """

    _locator_classes: ClassVar = [_Place]

    def reduce(self, made: Any) -> Any:
        """Give what is kept."""
        (name, kind, (code, parts)), *more = super().reduce(made)
        return (name, kind, (code, _named_alone(parts))), *more


def _named_alone(parts: bytes) -> bytes:
    """Give LLVM's functions by name, empty: numba looks there for what the machine code holds."""
    made = [one.name for one in parse_bitcode(parts).functions if not one.is_declaration]
    empty = (f'define void @"{name}"() {{ ret void }}' for name in made)
    named: bytes = parse_assembly("\n".join(empty)).as_bitcode()
    return named


_SEAL = hashlib.sha256().digest_size


class _Sealed(IndexDataCacheFile):
    """Files of a kernel, each with its sha256 before it: machine code that changed is never run.

    What cannot be read counts as never made, so it is compiled and written anew.
    """

    @contextlib.contextmanager
    def _open_for_write(self, filepath: str) -> Iterator[IO[bytes]]:
        held = io.BytesIO()
        yield held
        content = held.getvalue()
        with super()._open_for_write(filepath) as stream:
            stream.write(hashlib.sha256(content).digest() + content)

    def _load_index(self) -> dict[Any, str]:
        content = _unsealed(Path(self._index_path))
        if content is None:
            return {}
        stream = io.BytesIO(content)
        if pickle.load(stream) != self._version:
            return {}
        stamp, known = pickle.load(stream)
        return known if stamp == self._source_stamp else {}

    def _load_data(self, name: str) -> Any:
        content = _unsealed(Path(self._data_path(name)))
        if content is None:
            raise FileNotFoundError(name)  # for numba: not made yet
        return pickle.loads(content)


def _unsealed(path: Path) -> bytes | None:
    """Give what a file holds; None: it is not there, or not as it was written."""
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        _say(f"{path}: {error.strerror}")
        return None
    if hashlib.sha256(raw[_SEAL:]).digest() == raw[:_SEAL]:
        return raw[_SEAL:]
    _say(f"{path}: is not as it was written")
    return None


_SAID: list[str] = []


def _say(what: str) -> None:
    """Say once a process that a kernel is compiled anew: it takes a while, and nothing is lost."""
    if not _SAID:
        with contextlib.suppress(OSError, ValueError, AttributeError):  # no stream to say it on
            words = "a kept kernel cannot be used and is compiled anew, up to a minute"
            sys.stderr.write(f"edgewear: {words} ({ascii(what)[1:-1]})\n")
    _SAID.append(what)


class KeptKernel(FunctionCache):
    """What was compiled of a kernel, on disk."""

    _impl_class = _Results

    def __init__(self, function: Callable[..., Any]) -> None:
        """Look for nothing yet."""
        super().__init__(function)
        self._cache_file = _Sealed(
            cache_path=self._cache_path,
            filename_base=self._impl.filename_base,
            source_stamp=self._impl.locator.get_source_stamp(),
        )

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep what was compiled; where it cannot be kept, the next process compiles it again."""
        try:
            super().save_overload(sig, data)
        except OSError as error:
            _say(f"{error.filename}: cannot be kept: {error.strerror}")


@contextlib.contextmanager
def one_at_a_time(name: str) -> Iterator[None]:
    """Let one process after the other compile the kernel `name`; those who wait find it made.

    Where files cannot be locked, each compiles for itself.
    """
    with contextlib.ExitStack() as kept:
        with contextlib.suppress(ImportError, OSError):
            import fcntl

            if FOLDER is not None:
                handle = kept.enter_context((FOLDER / f"{name}.lock").open("w"))
                fcntl.flock(handle, fcntl.LOCK_EX)
        yield
