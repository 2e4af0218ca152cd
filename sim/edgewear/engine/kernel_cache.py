"""Where compiled kernels are kept, for whoever may not touch the kernels."""

from __future__ import annotations

from pathlib import Path


def kernel_cache_folder() -> Path | None:
    """Folder of the kernels compiled from these sources; None: compiled anew in every process."""
    from edgewear.mechanics.cache import cache_folder

    return cache_folder()
