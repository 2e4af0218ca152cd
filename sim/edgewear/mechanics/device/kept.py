"""The compiled kernel of a device on disk: to make it takes a minute or more."""

from __future__ import annotations

import contextlib
import hashlib
import pickle
from pathlib import Path
from typing import Any

from edgewear.mechanics.cache import FOLDER


class KeptOnDisk:
    """What numba asks before it compiles a kernel, and gives what it has compiled.

    What a record holds is in the sources; other sources have another folder, see `cache`. A file
    that cannot be used counts for nothing.
    """

    def load_overload(self, signature: Any, context: Any) -> Any:
        """The kernel for a signature, or None."""
        from numba.cuda.dispatcher import _Kernel

        with contextlib.suppress(Exception):  # of another release of numba, or cut short
            path = self._path(signature)
            if path is not None:
                return _Kernel._rebuild(**pickle.loads(path.read_bytes()))
        return None

    def save_overload(self, signature: Any, kernel: Any) -> None:
        """Keep a kernel; where that cannot be done, it is compiled again next time."""
        with contextlib.suppress(Exception):
            path = self._path(signature)
            if path is not None:
                path.parent.mkdir(parents=True, exist_ok=True)
                half = path.with_suffix(".unfinished")
                half.write_bytes(pickle.dumps(kernel._reduce_states()))
                half.replace(path)

    def _path(self, signature: Any) -> Path | None:
        import numba_cuda
        from numba import cuda

        if FOLDER is None:
            return None
        layouts = [
            f"{one.ndim}{one.layout}{one.mutable}" for one in getattr(signature, "args", signature)
        ]
        cc = cuda.get_current_device().compute_capability
        told = [numba_cuda.__version__, str(cc), *layouts]
        name = hashlib.sha256("|".join(told).encode()).hexdigest()[:16]
        return FOLDER / "device" / f"{name}.kernel"
