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
    """The contact sets of each section as it lay the last few times."""

    def __init__(self, most: int = 1) -> None:
        """Know nothing yet; `most` of each section are kept."""
        self._known: dict[int, dict[bytes, Records]] = {}
        self._most = most

    def of(self, row: int, line: Records, edges: Records) -> Records:
        """REGIME (r,) of a section: row of the case's lines, LINE (1,), EDGE (n,)."""
        place = _without(line, LINE_ANYWHERE) + _without(edges, EDGE_ANYWHERE)
        known = self._known.setdefault(row, {})
        if place not in known:
            if len(known) >= self._most:
                known.clear()
            known[place] = mechanics.route(line, edges)
        return known[place]


def _without(records: Records, fields: tuple[str, ...]) -> bytes:
    """Bytes of records with some of their fields blank."""
    blank = records.copy()
    for name in fields:
        blank[name] = 0.0
    return blank.tobytes()
