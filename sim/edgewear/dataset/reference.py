"""The reference page of the dataset, made from the table of columns."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.dataset.manifest import SCHEMA
from edgewear.records import TABLES, Column

_WHERE = {
    "plan": ("`plan.parquet`", "one row a run, fixed before the first run is made"),
    "runs": ("`runs/part-*.parquet`", "one row a run: its outcome"),
    "edges": ("`edges/part-*.parquet`", "one row for each line, edge and run; comparisons only"),
    "events": ("`nominal/events.parquet`", "what happened in the nominal run of each option"),
    "wear": ("`nominal/wear.parquet`", "demand along each rope in the nominal run"),
    "timeline": ("`nominal/timeline.parquet`", "samples of the nominal run, rope by rope"),
    "steps": ("`nominal/steps.parquet`", "wear of the nominal run by step"),
}

_HEAD = f"""# Columns of a dataset

This page is made from `edgewear.records`; a test keeps the two equal. Names end in their SI
unit, and every field of every file carries its unit and meaning as metadata. Schema
`{SCHEMA}`: columns may be added within a schema number, and are read as NaN where a dataset of
before lacks them; older numbers stay readable, newer ones are refused.

Beside the tables a dataset holds `manifest.json` (schema, model, versions, seed, and the
sha256 of every file), `scenario.yaml` (as read), `scenario.json` (resolved to SI, with every
option as it is rigged), `README.md` (what it is, and a methods paragraph), `LICENSE.txt` and
`log/` (wall clock and host; outside every checksum).

`plan.parquet` has further columns after the fixed ones: levers and uncertainties, each named
by its address in the scenario, in SI. A value that an option does not have is NaN. Their fields say
also `low`, `high` (of a draw the central 90 %, of a lever its ends), `distribution`, `median`,
`kind`, `group`, `pedigree`, and `alias`, a name that formulas can use.
"""


def page() -> str:
    """Give the page as Markdown."""
    return "\n".join([_HEAD, *(_table(name, columns) for name, columns in TABLES.items())])


def _table(name: str, columns: Sequence[Column]) -> str:
    file, what = _WHERE[name]
    rows = [f"| `{c.name}` | {c.dtype} | {c.unit} | {c.meaning} |" for c in columns]
    head = [f"## {file}", "", f"{what[0].upper()}{what[1:]}.", ""]
    return "\n".join([*head, "| column | type | unit | meaning |", "| --- | --- | --- | --- |",
                      *rows, ""])  # fmt: skip
