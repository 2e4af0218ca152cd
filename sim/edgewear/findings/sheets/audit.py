"""What whoever audits a procedure asks for beside the findings: of what, held to what, by whom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from edgewear.findings.rigging import PointLoad
from edgewear.findings.timeline import Timeline


@dataclass(frozen=True)
class Input:
    """One file as it was read."""

    path: str
    sha256: str  # of its bytes
    text: str
    library_sha256: str | None  # of the user's own library; None: there is none


@dataclass(frozen=True)
class LimitHeld:
    """One limit and where it comes from."""

    name: str
    most: float | None  # None: none is set and none is assumed
    unit: str  # of `most`, SI
    source: str


@dataclass(frozen=True)
class Signature:
    """A line to sign on; name and date are filled in by hand where nobody is named."""

    role: str
    name: str | None


@dataclass(frozen=True)
class StepDone:
    """One step of the plan with nothing wrong: its words beside its number."""

    person: str
    step: int
    words: str
    from_s: float | None  # None: it never began
    to_s: float | None
    depth_m: float | None  # where they hang at its end; None: they do not


@dataclass(frozen=True)
class Audit:
    """Everything that stands on an audit sheet beside the findings."""

    inputs: tuple[Input, ...]  # with two revisions the earlier one first
    changed_lines: tuple[str, ...]  # of the text, from one revision to the other
    versions: Mapping[str, str]
    model: int
    limits: tuple[LimitHeld, ...]
    sign_off: tuple[Signature, ...]
    steps: tuple[StepDone, ...]
    loads: tuple[PointLoad, ...]
    timelines: tuple[Timeline, ...]  # of the faults asked for
