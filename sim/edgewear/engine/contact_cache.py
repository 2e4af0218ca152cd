"""Contact sets of sections, laid anew only where a section lies otherwise than before."""

from __future__ import annotations

from edgewear import mechanics
from edgewear.case import Records

LINE_ANYWHERE = ("stiffness_n", "viscous_s", "diameter_m", "rope_kg_m", "device_slip_n")
"""What a line may have otherwise and lie the same."""
EDGE_ANYWHERE = (
    "friction", "static_ratio", "power_exponent", "radius_m", "severity", "wet_factor",
    "thickness_m", "own_radius_m", "spares",
)  # fmt: skip
"""What an edge may have otherwise, the line lying the same."""


class Routes:
    """The contact sets of each section as it lay last."""

    def __init__(self) -> None:
        self._known: dict[int, tuple[bytes, Records]] = {}

    def of(self, row: int, line: Records, edges: Records) -> Records:
        """REGIME (r,) of a section: row of the case's lines, LINE (1,), EDGE (n,)."""
        place = _without(line, LINE_ANYWHERE) + _without(edges, EDGE_ANYWHERE)
        if row not in self._known or self._known[row][0] != place:
            self._known[row] = place, mechanics.route(line, edges)
        return self._known[row][1]


def _without(records: Records, fields: tuple[str, ...]) -> bytes:
    """Bytes of records with some of their fields blank."""
    blank = records.copy()
    for name in fields:
        blank[name] = 0.0
    return blank.tobytes()
