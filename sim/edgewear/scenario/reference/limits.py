"""What every file that comes in is held to, for the reference page; numbers live in the code."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear import incoming
from edgewear.errors import MOST_SHOWN
from edgewear.scenario.checks.amounts import LIMITS
from edgewear.scenario.text.units import DIMENSIONS, Dimension, spell_units

UNIT_HEAD = ("kind", "units", "largest", "smallest but 0")


def unit_rows() -> list[tuple[str, ...]]:
    """Every kind of quantity with its units and the sizes it may have."""
    return [
        (
            d.name,
            f"`{spell_units(d)}`",
            _size(d.most, d),
            _size(d.least, d) if d.least else "",
        )
        for d in DIMENSIONS.values()
    ]


def _size(size: float, dimension: Dimension) -> str:
    return f"{size:g} {dimension.unit}".removesuffix(" 1")


LIMITS_TEXT = (
    "Every file that is handed in comes through one door: a regular file (no pipe, no device), "
    "UTF-8 with or without a mark at its beginning, without control characters, also such as an "
    "escape of YAML or JSON spells. What is beyond a limit is refused with its place before "
    f"anything runs; of each file the first {MOST_SHOWN} problems are told."
)


def limit_rows() -> Sequence[tuple[str, str]]:
    """Every limit of a file and of what it asks for."""
    files = [(f"bytes of a {kind.what}", f"{kind.most_bytes:,}") for kind in incoming.KINDS]
    return [
        *files,
        ("levels of a YAML file", f"{incoming.MOST_DEPTH}"),
        ("values of a YAML file", f"{incoming.MOST_VALUES:,}"),
        ("characters of a value or a cell", f"{incoming.MOST_TEXT:,}"),
        ("characters of a key", f"{incoming.MOST_KEY}"),
        ("columns of a table", f"{incoming.MOST_COLUMNS:,}"),
        ("cells of a table", f"{incoming.MOST_CELLS:,}"),
        ("bytes of a parquet table, unpacked", f"{incoming.MOST_UNPACKED:,}"),
        *LIMITS,
    ]
