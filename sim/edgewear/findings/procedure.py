"""Everything that was found of a procedure taken apart: what terminal, page and tables are of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from edgewear.findings.between import Between
from edgewear.findings.difference import Difference
from edgewear.findings.failure import Failure
from edgewear.findings.fates import Fates
from edgewear.findings.faults import Baseline, FaultRow, Rate, StepRow
from edgewear.findings.plain import plain
from edgewear.findings.rescue import PlaceRescue
from edgewear.findings.sheets.audit import Audit
from edgewear.findings.timeline import Timeline
from edgewear.findings.verdict import Verdict

UNHARMED = Fates((), "", 0, True, None, ())
"""Nobody of whom anything could be told."""

SCHEMA = "edgewear.faults/1"


@dataclass(frozen=True)
class Findings:
    """One procedure, rigged one way."""

    title: str
    revision: str | None
    option: str
    status: tuple[str, ...]  # of the rigging
    edge_levels: Mapping[str, str]
    mind: tuple[str, ...]
    verdict: Verdict
    seed: int
    replicates: int
    conditional: str
    single_failures: tuple[Failure, ...]
    worst_failures: tuple[Failure, ...]
    carried: tuple[str, ...]
    faults: tuple[FaultRow, ...]
    table: tuple[StepRow, ...]
    weakest_steps: tuple[StepRow, ...]
    without_faults: Baseline
    rates: tuple[Rate, ...]
    fates: tuple[Fates, ...]  # with each fault, each pair, each fault at each step: worst first
    rescues: tuple[PlaceRescue, ...]
    shared: tuple[str, ...]  # by both lines of a person
    between: tuple[Between, ...]  # by lines of two people
    timeline: Timeline
    cautions: tuple[str, ...]
    difference: Difference | None = None  # from another revision to this one
    fates_without_faults: Fates = UNHARMED  # what the plan does to people, with nothing wrong
    audit: Audit | None = None  # what an audit asks for beside, where it was asked for

    def as_json(self) -> dict[str, Any]:
        """The document of `faults --json`."""
        found = {name: plain(value) for name, value in vars(self).items()}
        for name in ("difference", "audit"):
            if found[name] is None:
                del found[name]
        return {"schema": SCHEMA, **found}
