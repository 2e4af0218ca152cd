"""Everything of an option that can fail beside the sheath: its share used, at the careful end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.ranking.part import Part
from edgewear.percentiles import HIGH, between
from edgewear.terms import FAILED

Columns = dict[str, NDArray[Any]]

IN_WORK = "in work"


def parts_of(runs: Columns, edges: Columns, rigged: Mapping[str, Any]) -> tuple[Part, ...]:
    """Give each part once, by what it is nearest to: over its limit first, then the most used.

    The careful end of a load or of wear is the 95th percentile over the trials; what rigging alone
    tells (catches, rescues, people together) is told without friction, the careful end too.

    Parameters:
        runs: columns of `records.RUN` of one option.
        edges: columns of `records.EDGE` of the same option.
        rigged: what rigging says of it.
    """
    ok = runs["status"] != FAILED
    if not ok.any():
        return ()
    at_edges = np.isin(edges["run"], runs["run"][ok])
    here = {name: column[at_edges] for name, column in edges.items()}
    whole = {name: column[ok] for name, column in runs.items()}
    found: dict[tuple[str, str, tuple[str, ...]], Part] = {}
    for part in (*_bearing(whole, rigged), *_slings(here, rigged), *_covers(here, rigged)):
        key = part.kind, part.name, part.lines
        if key not in found or part.used > found[key].used:
            found[key] = part
    named = Counter((part.kind, part.name) for part in found.values())
    told = [
        replace(part, one_of_several=named[part.kind, part.name] > 1) for part in found.values()
    ]
    return tuple(sorted(told, key=lambda part: (not part.over, -part.used)))


def _bearing(runs: Columns, rigged: Mapping[str, Any]) -> Iterator[Part]:
    """What bears a load or ends a fall, with the trials' own peaks where they tell more."""
    for row in rigged.get("bears", ()):
        if row["most"] is None:
            continue
        load = inf if row["load"] is None else float(row["load"])  # null: nothing ends it
        if row["case"] == IN_WORK:
            load = max(load, _peak_n(runs, row) + float(row["others"]))
        yield Part(
            kind=str(row["kind"]),
            name=str(row["name"]),
            lines=tuple(row["lines"]),
            people=tuple(row["people"]),
            how="drop" if row["unit"] == "m" else "load",
            case=str(row["case"]),
            used=load / float(row["most"]),
            load=load,
            most=float(row["most"]),
            unit=str(row["unit"]),
        )


def _peak_n(runs: Columns, row: Mapping[str, Any]) -> float:
    """Largest load of the trials on an anchor or a working line at the careful end [N].

    A run tells of its hardest anchor alone. Of one that is it in half of them or fewer, no less
    than its peaks there count, and nothing in all others: what it bears is at least that.
    """
    if row["kind"] == "rope":
        mine = runs["worst_line"] == row["lines"][0]
        return _high(runs["peak_tension_n"][mine])
    mine, peaks_n = runs["anchor_peak_name"] == row["name"], runs["anchor_peak_n"]
    often = 2 * mine.sum() > mine.size
    return _high(peaks_n[mine] if often else np.where(mine, peaks_n, 0.0))


def _slings(edges: Columns, rigged: Mapping[str, Any]) -> Iterator[Part]:
    """How much of each bypass sling is worn, and what it bears."""
    for sling in rigged.get("slings", ()):
        mine = (edges["line"] == sling["line"]) & (edges["edge"] == sling["edge"])
        worn = _high(edges["bypassed_demand"][mine]) * float(sling["wears"])
        load_n = _high(edges["peak_tension_n"][mine])
        name, line = str(sling["name"]), str(sling["line"])
        yield _in_work("bypass sling", name, line, "wear", worn, 1.0, "1")
        yield _in_work("bypass sling", name, line, "load", load_n, float(sling["holds_n"]), "N")


def _covers(edges: Columns, rigged: Mapping[str, Any]) -> Iterator[Part]:
    """How much of each piece of protection is worn through, and how far it is dragged off."""
    for cover in rigged.get("covers_hold", ()):
        mine = (edges["line"] == cover["line"]) & (edges["edge"] == cover["edge"])
        name, line = str(cover["name"]), str(cover["line"])
        for how, column, most, unit in (
            ("used up", "cover_energy_j", cover["energy_j"], "J"),
            ("dragged off", "cover_slip_m", cover["slip_m"], "m"),
        ):
            if most is not None:
                load = _high(edges[column][mine])
                yield _in_work("protection", name, line, how, load, float(most), unit)


def _in_work(
    kind: str, name: str, line: str, how: str, load: float, most: float, unit: str
) -> Part:
    """A part of one line, as the work uses it."""
    return Part(kind, name, (line,), (), how, IN_WORK, load / most, load, most, unit)


def _high(values: NDArray[Any]) -> float:
    """The careful end of what wears or bears; 0 where there is nothing."""
    finite = values[np.isfinite(values)]
    return between(np.asarray(finite, dtype=np.float64), HIGH) if finite.size else 0.0
