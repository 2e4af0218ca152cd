"""What lines of different people share."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from edgewear import spelt


class Sharing(Enum):
    """How lines of two people meet."""

    ANCHOR = "anchor"
    PLACE = "place on an edge"
    CROSSING = "crossing"


@dataclass(frozen=True)
class Between:
    """Two lines of two people, and what they share."""

    kind: Sharing
    lines: tuple[str, str]
    people: tuple[str, str]
    where: str  # name of the anchor or edge; of a crossing, between what
    protection: str | None = None  # what lies there under one of them
    apart_m: float | None = None

    @property
    def words(self) -> str:
        """The finding in words."""
        both = f"the {self.lines[0]} and the {self.lines[1]}"
        if self.kind is Sharing.ANCHOR:
            return f"{both} hang on {self.where}: what fails there concerns both people"
        if self.kind is Sharing.CROSSING:
            return f"{both} cross {self.where}: the loaded one saws on the other"
        piece = f" ({self.protection})" if self.protection else ""
        return (
            f"{both} run over {self.where}{piece} {spelt.tenths(self.apart_m)} apart: what moves "
            "or wears through there bares both people's lines"
        )
