"""What a dataset's own documents may say; they may have been written by somebody else."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from edgewear.errors import DatasetError, shortened, visible

_ODD = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError, RecursionError)


@contextmanager
def as_a_study_writes(root: str | Path) -> Iterator[None]:
    """Read what `scenario.json` and the manifest say; what cannot be read is said with the folder.

    Their files are as the manifest says, so whoever wrote them wrote the manifest too.

    Raises:
        DatasetError: they lack something, or say it in a way that no study does.
    """
    try:
        yield
    except _ODD as error:
        what = shortened(visible(f"{type(error).__name__}: {error}"), 200)
        raise DatasetError(
            f"{root}: scenario.json, a table or manifest.json says what no study of this edgewear "
            f"writes ({what})"
        ) from error


def odd_in_about(about: Mapping[str, object]) -> str | None:
    """Name the first thing that the manifest says about a study and that cannot be."""
    return next((n for n, can_be in _ABOUT.items() if n in about and not can_be(about[n])), None)


def _text(value: object) -> bool:
    return isinstance(value, str)


def _texts(value: object) -> bool:
    return isinstance(value, list) and all(map(_text, value))


def _whole(least: int, most: int) -> Callable[[object], bool]:
    def can_be(value: object) -> bool:
        return type(value) is int and least <= value <= most

    return can_be


def _positive(value: object) -> bool:
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and math.isfinite(value)
        and value > 0
    )


def _set(value: object) -> bool:
    return isinstance(value, list) and len(value) == 3 and all(map(_text, value[:2]))


_ABOUT: dict[str, Callable[[object], bool]] = {
    "file": _text,
    "title": _text,
    "setting": lambda value: value is None or _text(value),
    "target": lambda value: value is None or _positive(value),
    "seed": _whole(0, 2**64 - 1),
    "replicates": _whole(1, 10**12),
    "travel": _whole(0, 10**12),
    "changes": _texts,
    "device": _text,
    "on_device": _texts,
    "edges": lambda value: isinstance(value, bool),
    "structural": _texts,
    "sets": lambda value: isinstance(value, list) and all(map(_set, value)),
}
