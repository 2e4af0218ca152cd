"""Shared gear: how many pieces there are, and where they lie."""

from __future__ import annotations

from edgewear.scenario.models.base import Closed, Count, Duration

TOP, GROUND = "top", "ground"
"""Where kit lies: behind the edges, where people stand; below the work."""


class Lying(Closed):
    """Pieces of shared gear that lie in one place, or that one person carries."""

    count: Count = 1
    """How many."""
    at: str = TOP
    """`top`, `ground`, a fixed point, or any other place by a name of one's own."""
    carried_by: str | None = None
    """Who has them on their harness from beginning to end."""
    fetch: Duration | None = None
    """How long somebody on top takes to fetch one; left out: nobody fetches any."""

    @property
    def at_hand(self) -> bool:
        """Whether it is where the work begins: on top, or with somebody."""
        return self.carried_by is not None or self.at == TOP

    @property
    def words(self) -> str:
        """Where it lies, in words."""
        if self.carried_by is not None:
            return f"carried by {self.carried_by}"
        fetched = "" if self.fetch is None else f", fetched in {self.fetch.typed}"
        return f"{self.place}{fetched}"

    @property
    def place(self) -> str:
        """The place where it lies, in words."""
        return {TOP: "on top", GROUND: "on the ground"}.get(self.at, f"at {self.at}")
