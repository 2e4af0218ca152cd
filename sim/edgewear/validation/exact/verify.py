"""What the code must reproduce exactly, with the error found: `self-check --verify`.

Published answers and closed forms, each worked by the same functions that every job uses. A row
holds where its error does not exceed its tolerance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from edgewear.validation.exact.row import Row

SCHEMA = "edgewear.verify/1"


@dataclass(frozen=True)
class Verification:
    """All rows."""

    rows: tuple[Row, ...]

    @property
    def ok(self) -> bool:
        """Whether every error lies within its tolerance."""
        return all(row.ok for row in self.rows)

    def as_json(self) -> dict[str, Any]:
        """Give the document that `self-check --verify --json` prints."""
        return {"schema": SCHEMA, "checks": [{**asdict(row), "ok": row.ok} for row in self.rows]}

    def lines(self) -> Iterator[str]:
        """Give it as the terminal shows it."""
        for row in self.rows:
            word = "ok" if row.ok else "NOT OK"
            yield f"{word:7} {row.error:9.2e} of {row.tolerance:8.1e}  {row.name}  ({row.source})"
        good = sum(row.ok for row in self.rows)
        yield f"{good} of {len(self.rows)} within their tolerance"

    def page(self) -> str:
        """Give it as a page of the documentation."""
        head = "| what | source | error | tolerance |\n| --- | --- | --- | --- |\n"
        return head + "".join(
            f"| {row.name} | {row.source} | {row.error:.1e} | {row.tolerance:.1e} |\n"
            for row in self.rows
        )


def verify(full: bool = False) -> Verification:
    """Work every exact answer and every laboratory set-up."""
    from edgewear.validation.exact.lines import lines
    from edgewear.validation.exact.oscillator import oscillator
    from edgewear.validation.exact.published import published
    from edgewear.validation.exact.ropes import exact
    from edgewear.validation.exact.steps import steps

    groups = (published, oscillator, exact, steps, lines)
    return Verification(tuple(row for group in groups for row in group(full)))
