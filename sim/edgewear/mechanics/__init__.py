"""Numerics of rope over edges: jitted functions of records and arrays, and nothing else.

One *line* here is one section: a fixed point (anchor end), edges in order, and the person at
depth `depth_m` (downwards). Its buffers are made once and cleared between runs:

    regimes = route(line, edges)                      # REGIME (r,), contact sets by depth
    buffers = allocate(line, edges, person, wear, regimes)
    status = advance(buffers, movement, variation, until_tick, exact, armed, watch)

`advance` plays the movement under way, or begins the one given when none is (`state["busy"]`
is 0). Before a movement begins, set `buffers.state["tick"]` to now. It returns a `Status`:

- DONE: the movement is complete; `state["tick"]` is its end.
- UNTIL: the next step would pass `until_tick`. With exact=False no step is taken that the whole
  movement would not take, so that pieces equal the whole bit for bit; call again with the same
  movement to go on. With exact=True one shortened step ends at `until_tick` and the movement
  is really cut there: `busy` is 0 afterwards and the next movement may be another one.
- CORE_VISIBLE, PARTED, SLACK, WATCH, FULL: after the step in which a bit of the mask `armed`
  first rises, with all bits of that step; call again with the same movement to go on.
- DRAWS: `variation` has no row for the next stroke; call again with a longer array.
- FAILED: not a number, or the step budget is used up.

The first movement on a line is LOAD: everything before it, and everything between UNLOAD and
the next LOAD, leaves the line free of tension.
STROKES climbs until `length_m` of rope (unstretched) is taken in, counted net of the sit-back.
`depth_m` matters for LOAD alone; what else it says is for whoever makes the tape.
FEED moves rope at the anchor end: length_m > 0 hauls. With `cycles` it goes to and fro.

Edges may be edited between calls (protection placed, displaced, wet). Results are read from
`buffers.state` and `buffers.sums` by field name, and through:

- demand(buffers): sheath demand of each cell; `along_m(buffers)` says where the cells are
- worst(buffers): largest exposure [J/m], its cell, the edge (row) that wore it most
- strength(buffers): core loss at the worst place, residual strength [N]
- residual(buffers): energy residual, |in - out| over the sum of absolute flows
- frequencies(buffers): natural frequencies [Hz], sliding and stuck at the last edge
"""

from __future__ import annotations

from edgewear.mechanics.arrays import (
    REGIME,
    STATE,
    SUMS,
    TRACE,
    Buffers,
    allocate,
    along_m,
    clear,
)
from edgewear.mechanics.batch_kernel import Many
from edgewear.mechanics.contacts.contacts_in_plane import route
from edgewear.mechanics.many import play_many
from edgewear.mechanics.results import (
    advance,
    demand,
    demand_before,
    demand_by_edge,
    exposure_by_edge,
    frequencies,
    residual,
    strength,
    worst,
)

__all__ = [
    "REGIME",
    "STATE",
    "SUMS",
    "TRACE",
    "Buffers",
    "Many",
    "advance",
    "allocate",
    "along_m",
    "clear",
    "demand",
    "demand_before",
    "demand_by_edge",
    "exposure_by_edge",
    "frequencies",
    "play_many",
    "residual",
    "route",
    "strength",
    "worst",
]
