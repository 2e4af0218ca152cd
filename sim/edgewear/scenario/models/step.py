"""What every step of a job says of itself: who needs a line, who hangs, who is moved how far."""

from __future__ import annotations

from typing import ClassVar

from edgewear.scenario.models.base import Closed


class JobStep(Closed):
    """What a step says of itself, so that nobody else has to know it by its word."""

    step: str
    hanging: ClassVar[bool] = False
    """Whether nobody makes it without a line of their own."""
    loading: ClassVar[bool] = False
    """Whether the line bears somebody while it is made."""
    holding: ClassVar[bool] = False
    """Whether the line bears its person while it is made, if they hang by then."""
    moving: ClassVar[bool] = False
    """Whether it drags a loaded rope."""
    staying: ClassVar[bool] = False
    """Whether its person stays where they are for a while, hanging."""
    takes_up: ClassVar[bool] = True
    """Whether whoever needs a line for it hangs on that line afterwards."""
    sign: ClassVar[int] = 0
    """Whether its height leads down (1), up (-1) or nowhere (0)."""

    def moved(self, by: str) -> str:
        """Name whom the step moves, `by` being who makes it."""
        return getattr(self, "person", None) or by

    def needs_line(self) -> bool:
        """Tell whether whoever makes it needs a line of their own."""
        return self.hanging

    def hangs_after(self, by: str) -> bool:
        """Tell whether who makes it hangs on their line afterwards, also if not before."""
        return self.hanging and self.takes_up

    def deeper_m(self, person: str, by: str) -> float:
        """By how much the step takes a person down when somebody makes it [m]."""
        if not self.sign or self.moved(by) != person:
            return 0.0
        return self.sign * float(self.height.value)  # type: ignore[attr-defined]

    def let_out_m(self, person: str, by: str) -> float:
        """How much rope is let out at the top of a person's line when somebody makes it [m]."""
        return 0.0

    @property
    def changes(self) -> bool:
        """Whether an edge may be another than before."""
        return False

    @property
    def lifts(self) -> bool:
        """Whether protection is lifted off an edge meanwhile, which the line is loaded over."""
        return False

    def at(self, edge: str) -> bool:
        """Tell whether it is made at an edge."""
        return getattr(self, "edge", None) == edge


class EdgeStep(JobStep):
    """Something done to what lies on an edge, which is another afterwards."""

    edge: str
    """The edge."""

    @property
    def changes(self) -> bool:
        """Whether an edge may be another than before: always."""
        return True


class FromTop(JobStep):
    """A haul or a lower: whose line moves may be somebody else's."""

    loading: ClassVar[bool] = True
    moving: ClassVar[bool] = True

    def needs_line(self) -> bool:
        """Tell whether whoever makes it needs a line of their own: for themself only."""
        return getattr(self, "person", None) is None

    def let_out_m(self, person: str, by: str) -> float:
        """How much rope it lets out at the top of a person's line; below 0: takes in [m]."""
        return self.deeper_m(person, by)

    def hangs_after(self, by: str) -> bool:
        """Tell whether who makes it hangs on their line afterwards: if it moved themself."""
        return self.moved(by) == by
