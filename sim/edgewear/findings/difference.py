"""What a revision of a procedure changes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from edgewear.findings.plain import APART, plain


@dataclass(frozen=True)
class Both:
    """A figure at its careful end, before and after."""

    p5: tuple[float | None, float | None]


@dataclass(frozen=True)
class StatusChange:
    """A status that came or went."""

    status: str
    words: str
    change: str


@dataclass(frozen=True)
class LevelChange:
    """An edge whose level of control is another."""

    edge: str
    words: str
    change: str


@dataclass(frozen=True)
class FaultChange:
    """A fault that both revisions know."""

    names: tuple[str, ...]
    margin_lost: tuple[float | None, float | None]
    p_core_visible: tuple[float | None, float | None]
    seen_by: tuple[str | None, str | None]
    fault_to_core_visible_s: Both
    time_to_act_s: Both
    changed: tuple[str, ...]  # which of the figures
    change: str


@dataclass(frozen=True)
class FailureChange:
    """A component at its worst step."""

    component: str
    person: str
    step: int
    step_words: str
    words: tuple[str, ...]
    change: str
    called: str = field(default="", metadata=APART)


@dataclass(frozen=True)
class FateChange:
    """What becomes of somebody with a fault that both revisions know."""

    names: tuple[str, ...]
    person: str
    words: str
    change: str


@dataclass(frozen=True)
class RescueChange:
    """The rescue of one person from one place of work."""

    person: str
    step: int
    step_words: str
    words: tuple[str, ...]
    change: str


@dataclass(frozen=True)
class Alike:
    """How many are alike in both."""

    faults: int
    single_failures: int
    rescues: int


@dataclass(frozen=True)
class Difference:
    """Two revisions side by side."""

    titles: tuple[str, str]
    revisions: tuple[str, str]
    status: tuple[StatusChange, ...]
    edge_levels: tuple[LevelChange, ...]
    fates: tuple[FateChange, ...]
    faults: tuple[FaultChange, ...]
    only_before: tuple[tuple[str, ...], ...]
    only_after: tuple[tuple[str, ...], ...]
    single_failures: tuple[FailureChange, ...]
    rescues: tuple[RescueChange, ...]
    components_only_before: tuple[str, ...]
    components_only_after: tuple[str, ...]
    alike: Alike
    p_core_visible_without_faults: tuple[float | None, float | None]

    def as_json(self) -> dict[str, Any]:
        """The difference as documents have it."""
        found = {name: plain(value) for name, value in vars(self).items() if name != "titles"}
        return {"from": self.titles[0], "to": self.titles[1], **found}
