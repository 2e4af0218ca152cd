"""Ways of rigging that were tried with the anchors and means at hand, the best first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from edgewear import terms
from edgewear.cautions import all_for

SCHEMA = "edgewear.proposals/1"


@dataclass(frozen=True)
class Proposal:
    """One way of rigging, judged as a typed option is."""

    name: str
    text: str  # of the option, to be pasted below `options:`
    status: tuple[str, ...]
    control: str  # level of control
    left: float | None  # sheath left at the careful end [1]; None: no number is given
    trials: int
    melts: tuple[str, ...] = ()  # edges where most trials melt the sheath: it is not in `left`

    @property
    def meets(self) -> bool:
        """Whether it meets the target."""
        return terms.MEETS in self.status

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        lists = {"status": list(self.status), "melts": list(self.melts)}
        return {**vars(self), **lists, "meets": self.meets}


@dataclass(frozen=True)
class Proposals:
    """Everything that was tried."""

    title: str
    target: float
    seed: int
    tried: tuple[Proposal, ...]  # in the order of a comparison, the best first
    refused: tuple[tuple[str, str], ...]  # name, why it cannot be rigged

    def best(self, count: int) -> tuple[Proposal, ...]:
        """Give the first so many that meet the target.

        Parameters:
            count: at least 1.
        """
        return tuple(one for one in self.tried if one.meets)[:count]

    @property
    def cautions(self) -> tuple[str, ...]:
        """What must stand beside them."""
        return all_for(status for one in self.best(3) or self.tried[:3] for status in one.status)

    def as_json(self) -> dict[str, Any]:
        """All of it as a JSON object."""
        return {
            "schema": SCHEMA,
            "title": self.title,
            "target": self.target,
            "seed": self.seed,
            "meeting": sum(one.meets for one in self.tried),
            "tried": [one.as_json() for one in self.tried],
            "refused": [{"name": name, "reason": reason} for name, reason in self.refused],
            "cautions": list(self.cautions),
        }
