"""Who can see an edge, and whether a look shows what is wrong there."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from math import ceil, inf, log

from edgewear.job.chance import Chance
from edgewear.job.log import Kind
from edgewear.job.site import ATTENDANT, Site
from edgewear.job.worker import Worker
from edgewear.layout import TICK_S
from edgewear.rigging import sees
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.models.walking import leaves
from edgewear.scenario.text.quantities import Measured

LOOKS_EVERY = Measured(
    value=60.0, low=20.0, high=180.0, unit="s", typed="60 s", basis="assumed",
    distribution="lognormal", pedigree="assumed",
)  # fmt: skip
"""Time between two looks of somebody who watches an edge."""

NEVER_S = 1e8
"""A delay beyond this counts as never [s]."""

MISSING_IS_SEEN = 0.95
"""Chance that a look shows protection that is not where it belongs; assumed, as for a bare core."""

WORN = 0.25
"""Sheath wear from which a look that shows it is reported."""


class Detection:
    """What people see, by chance that belongs to the look and not to who asks first."""

    def __init__(self, scenario: Scenario, site: Site, chance: Chance) -> None:
        self.site, self.chance = site, chance
        found = scenario.detection
        self.levels = (0.0, 0.25, 0.5, 1.0)
        self.chances = (
            0.0, found.quarter_worn.value, found.half_worn.value, found.core_visible.value,
        )  # fmt: skip
        self.every = getattr(found, "again", LOOKS_EVERY)
        self._looks: dict[tuple[str, str], int] = {}
        self.attended = attended(scenario)
        self.seen: list[tuple[str, str]] = []  # (edge, by) of each thing that was seen

    def chance_seen(self, demand: float) -> float:
        """Chance that one look at an open edge shows wear of a sheath."""
        if demand >= self.levels[-1]:
            return self.chances[-1]
        upper = bisect_right(self.levels, demand)
        low, high = self.levels[upper - 1], self.levels[upper]
        share = (demand - low) / (high - low)
        return self.chances[upper - 1] + share * (self.chances[upper] - self.chances[upper - 1])

    def can_see(self, who: str, edge: str) -> bool:
        """Tell whether somebody can see an edge from where they are now."""
        if who == ATTENDANT:
            return self.away_ticks() == 0
        worker = self.site.workers.get(who)
        if worker is None or not worker.able:
            return False
        depth_m = worker.depth_m if worker.hanging else -inf
        return sees(depth_m, self.site.edge_depth_m(edge))

    def away_ticks(self) -> float:
        """Ticks until the attendant is at the edges."""
        return max(0.0, self.site.attendant_back - int(self.site.env.now))

    def observers(self, edge: str, by: str | None) -> list[str]:
        """Who may see something at an edge now, in the order in which they are asked."""
        if by is not None:
            return [by] if by == ATTENDANT or self.can_see(by, edge) else []
        people = [name for name in self.site.workers if self.can_see(name, edge)]
        return ([ATTENDANT] if self.attended else []) + people

    def watch_chance(self, what: str, edge: str, line: str = "") -> float:
        """Chance that one look of somebody who watches an edge shows what is wrong there."""
        if what == "protection displaced":
            return MISSING_IS_SEEN
        return self.chances[-1] * self.site.seen_through(edge, line)

    def first(self, what: str, edge: str, by: str | None, line: str = "") -> tuple[str, float]:
        """Who sees first what is wrong at an edge, and after what time [s]; "": nobody can."""
        chance = self.watch_chance(what, edge, line)
        found = [(self.delay_s(edge, who, chance), who) for who in self.observers(edge, by)]
        delay_s, who = min(found, default=(inf, ""))
        return (who, delay_s) if delay_s < NEVER_S else ("", 0.0)

    def delay_s(self, edge: str, by: str, chance: float) -> float:
        """Time until somebody who watches an edge sees what is wrong there [s]; inf: never.

        The first look comes at a moment spread evenly over the time between looks; the number of
        looks it takes follows from the chance of one look.
        """
        if chance <= 0.0:
            return inf
        name = f"watch of {by} at {edge} {self._count(by, edge)}"
        every_s = self.chance.value(f"{name} every", self.every)
        first_s = every_s * self.chance.share(f"{name} first")
        missed = log(1.0 - self.chance.share(f"{name} looks")) / log(1.0 - min(chance, 0.999))
        away_s = self.away_ticks() * TICK_S if by == ATTENDANT else 0.0
        return away_s + first_s + every_s * max(ceil(missed) - 1, 0)

    def _count(self, by: str, edge: str) -> int:
        self._looks[by, edge] = self._looks.get((by, edge), 0) + 1
        return self._looks[by, edge]

    def look(self, worker: Worker, by: str, from_edge: str | None, lifted: bool) -> None:
        """Look once at every edge that can be seen, and say what was seen."""
        edges = [from_edge] if from_edge else list(self.site.scenario.edges)
        demands: dict[int, Mapping[str, float]] = {}  # each section is read once a look
        for edge in edges:
            if self.can_see(by, edge):
                self._look_at(worker, by, edge, lifted, demands)

    def _look_at(
        self,
        worker: Worker,
        by: str,
        edge: str,
        lifted: bool,
        demands: dict[int, Mapping[str, float]],
    ) -> None:
        worn, line_name = 0.0, ""
        for place in self.site.places(edge):
            if place.row not in demands:
                demands[place.row] = self.site.lines[place.row].demand(place.row, WORN)
            demand = demands[place.row].get(edge, 0.0)
            if demand > worn:
                worn, line_name = demand, self.site.case.line_names[place.row]
        through = 1.0 if lifted else self.site.seen_through(edge, line_name)
        if worn >= WORN and self._shows(by, edge, self.chance_seen(worn) * through):
            worker.log.add(
                int(worker.env.now), by, Kind.SEES, worker.step, f"sheath worn at {edge}", worn
            )
            self.seen.append((edge, by))
            what = "core visible" if worn >= 1.0 else "wear seen"
            self.site.tell_seen(what, line_name, worker.step, edge, by)
        if self.site.missing(edge) and self._shows(by, edge, MISSING_IS_SEEN):
            worker.log.add(
                int(worker.env.now),
                by,
                Kind.SEES,
                worker.step,
                f"protection missing at {edge}",
            )
            self.seen.append((edge, by))
            self.site.tell_seen("protection displaced", "", worker.step, edge, by)

    def _shows(self, by: str, edge: str, chance: float) -> bool:
        return self.chance.share(f"look of {by} at {edge} {self._count(by, edge)}") < chance


def attended(scenario: Scenario) -> bool:
    """Tell whether the scenario has somebody at the edges."""
    asked = any(r.by == ATTENDANT for r in scenario.when.values())
    looks = any(
        getattr(step, "by", None) == ATTENDANT
        for steps in scenario.job.values()
        for step in leaves(steps)
    )
    watched = any(
        line is not None and line.attendant == ATTENDANT
        for option in scenario.options.values()
        for both in option.lines.values()
        for line in (both.working, both.safety)
    )
    return asked or looks or watched
