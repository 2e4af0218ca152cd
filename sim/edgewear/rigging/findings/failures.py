"""Every single failure of a rigged person: what holds then, over which edge, drop and swing.

No probabilities: each component is taken to have failed. Force by the impact-force equation with
the dynamic stiffness of the line that holds; the way there by the geometry of the taut line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot, inf, isfinite

from edgewear import spelt
from edgewear.findings.failure import Cause, Failure
from edgewear.findings.limits import Beyond, NoRoom, OffProtection, Travel
from edgewear.geometry.catch import Catch, catch
from edgewear.rigging.beside import Swung, met_by, swung_on
from edgewear.rigging.face import plumb_from
from edgewear.rigging.findings import figures
from edgewear.rigging.findings.careful import no_room, overloads
from edgewear.rigging.findings.control import judged_radius_m, line_of, parts_rope
from edgewear.rigging.findings.independence import Shared
from edgewear.rigging.findings.limits import beyond_limits, tearing
from edgewear.rigging.findings.remarks import leaves
from edgewear.rigging.findings.standing import Place, protected, standing
from edgewear.rigging.laying import depth_of, lay, lay_to
from edgewear.rigging.lengths import LOOP_M, rooms_m
from edgewear.rigging.model import Section
from edgewear.rigging.rig import Layout
from edgewear.rigging.sections import whole
from edgewear.scenario.models.scenario import Scenario
from edgewear.terms import GRAVITY_M_S2

REACH_M = 2.0
"""A person who has swung further than this is out of reach of a line let down to them; assumed."""

BYPASS_SLACK_M = 0.1
"""Slack of the line beside a loaded bypass sling [m]; assumed, 0.05-0.3 m."""


@dataclass(frozen=True)
class _Held:
    """A line that takes the load: how, and over what."""

    section: Section
    touched: tuple[int, ...]  # what it bends over, by place in the section's list
    peak_n: float
    drop_m: float
    swing_m: float
    leaves: OffProtection | None = None  # what protection it swings off
    travel_m: tuple[float, ...] = ()  # along each of `touched`; empty: none
    careful_m: float | None = None  # the careful end of the drop; None: as the drop
    careful_n: float | None = None  # the same of the peak
    swung: Swung | None = None  # the way of the swing; None: it is not known

    @property
    def careful_drop_m(self) -> float:
        return self.drop_m if self.careful_m is None else self.careful_m

    @property
    def careful_peak_n(self) -> float:
        return self.peak_n if self.careful_n is None else self.careful_n


def single_failures(
    scenario: Scenario, option_name: str, person: str, depths: Mapping[int, float]
) -> list[Failure]:
    """Return one row for each component of a person's lines and each step of their job.

    Parameters: `depths`: step of the person's list -> their depth in it [m].

    A line is said to hold if the anchor and the rope bear the
    peak and no edge it runs over can part a rope in one pass.
    """
    places = [Place(step, depth_m) for step, depth_m in depths.items()]
    return [row for rows in failures_at(scenario, option_name, person, places) for row in rows]


def failures_at(
    scenario: Scenario, option_name: str, person: str, places: Iterable[Place]
) -> Iterator[list[Failure]]:
    """Give the rows of each place where a person hangs, as `single_failures` has them."""
    option = scenario.options[option_name]
    site = _Site(scenario, Layout(scenario, option, [person]), person)
    return (list(_Place(site, place).failures()) for place in places)


class _Site:
    """A person's rigging, worked out once for all steps."""

    def __init__(self, scenario: Scenario, layout: Layout, person: str) -> None:
        self.scenario, self.layout, self.person = scenario, layout, person
        self.option = layout.option
        self.shared: list[Shared] = layout.shared(person)

    def is_shared(self, kind: str, name: str) -> Shared | None:
        """Return what both lines share under a name, if anything."""
        return next((s for s in self.shared if s.kind == kind and s.name == name), None)


class _Place:
    """One person at one depth."""

    def __init__(self, site: _Site, at: Place) -> None:
        self.site, self.step, self.depth_m = site, at.step, at.depth_m
        self.stands = standing(site.scenario, site.option, site.person, at.step, at.made)
        self.working = self._section("working line")
        self.safety = self._section("safety line")

    def _section(self, role: str) -> Section | None:
        mine = [s for s in self.site.layout.sections if s.role == role]
        used = [s for s in mine if s.top_m <= self.depth_m < s.bottom_m] or mine
        if not used:
            return None
        return protected(self.site.option, used[-1], self.stands.placed)

    def failures(self) -> Iterator[Failure]:
        """Give the rows of this place, working line first."""
        if self.working is not None:
            yield from self._of_working(self.working)
        if self.safety is not None:
            yield from self._of_safety(self.safety)

    def _of_working(self, section: Section) -> Iterator[Failure]:
        name, kind = section.anchor, "re-anchor" if isfinite(section.top_m) else "anchor"
        held = self._after_re_anchor(section) if kind == "re-anchor" else self._caught()
        yield self._row(name, kind, section, held, self.site.is_shared("anchor", name))
        rope = self.site.is_shared("rope", section.rope)
        yield self._on_line(section.rope, "rope", section, self._caught(), rope)
        yield self._on_line("device", "device", section, self._caught(), None)
        laid = lay(section, self.depth_m)
        for k in laid.edges:
            item = section.edges[k]
            if item.kind == "edge":
                yield from self._of_edge(section, item.name)
            else:
                shared = self.site.is_shared("anchor", item.name)
                yield self._row(item.name, "deviation", section, self._without(section, k), shared)

    def _of_edge(self, section: Section, edge: str) -> Iterator[Failure]:
        """The line is cut at the edge; what protects it is gone; a bypass sling over it fails."""
        row = self._row(edge, "edge", section, self._caught(), self.site.is_shared("edge", edge))
        yield replace(row, called=f"{section.role} at {edge}")
        line = line_of(self.site.option, section)
        if edge in line.protect:
            piece = self.site.is_shared("protection", edge)
            bare = self._resting(section, 0.0)
            name = f"{line.protect[edge].is_} at {edge}"
            yield self._row(name, "protection", section, bare, piece, bared=edge)
        if edge in line.bypass:
            name, held = f"bypass sling at {edge}", self._resting(section, BYPASS_SLACK_M)
            yield self._row(name, "protection", section, held, None, bared=edge)

    def _of_safety(self, section: Section) -> Iterator[Failure]:
        """Nothing hangs on the safety line: the working line goes on holding."""
        held = self._resting(self.working, 0.0) if self.working is not None else None
        anchor = "re-anchor" if isfinite(section.top_m) else "anchor"
        fixed = self.site.is_shared("anchor", section.anchor)
        yield self._row(section.anchor, anchor, section, held, fixed)
        rope = self.site.is_shared("rope", section.rope)
        yield self._on_line(section.rope, "rope", section, held, rope)
        yield self._on_line("backup device", "device", section, held, None)

    def _resting(self, section: Section, drop_m: float) -> _Held:
        """Return the load back on a section after a fall on it, at the same place."""
        hung = self._hung(section, self.depth_m)
        if drop_m == 0.0:
            return _Held(section, hung.laid.edges, hung.load_n, 0.0, 0.0)
        held = self._fall(section, hung, drop_m)
        return _Held(section, hung.laid.edges, held.peak_n, held.drop_m, 0.0)

    def _hung(self, section: Section, depth_m: float) -> figures.Hung:
        """Return a section under the person and whoever they have taken over."""
        mass_kg, site = self.stands.mass_kg, self.site
        load_n = None if mass_kg is None else mass_kg * GRAVITY_M_S2
        return figures.hang(site.scenario, site.option, section, depth_m, load_n)

    def _fall(self, section: Section, hung: figures.Hung, fall_m: float) -> Catch:
        """Return the catch of a free fall on a section, its device holding."""
        _, dynamic = figures.stiffness_n(self.site.scenario, section)
        return catch(hung.load_n / GRAVITY_M_S2, dynamic, hung.working_length_m, fall_m)

    def _caught(self) -> _Held | None:
        """Return the safety line holding; None without one."""
        return self._on_safety

    @cached_property
    def _on_safety(self) -> _Held | None:
        if self.safety is None:
            return None
        site = self.site
        moved = figures.transfer(
            site.scenario, site.option, self.safety, self.depth_m, mass_kg=self.stands.mass_kg
        )
        return _Held(
            self.safety, moved.touched, moved.peak_n, moved.drop_m, moved.swing_m,
            self._off_protection(self.safety, moved), moved.travel_m,
            moved.careful_drop_m, moved.careful_peak_n,
            swung=swung_on(self.safety, self.depth_m, moved.drop_m),
        )  # fmt: skip

    def _off_protection(self, section: Section, moved: figures.Transfer) -> OffProtection | None:
        """Return which protection the line leaves when the person swings."""
        left = []
        for k, travel_m in zip(moved.touched, moved.travel_m, strict=True):
            item = section.edges[k]
            piece = leaves(self.site.option, section, item.name, travel_m)
            if piece is not None and item.protection is not None:
                left.append(Travel(travel_m, item.name, piece.is_))
        return OffProtection(tuple(left)) if left else None

    def _after_re_anchor(self, section: Section) -> _Held:
        """Return what holds when a re-anchor goes: the line above it, or the safety line first.

        The person falls the slack loop and what the line above it is shorter by the straight way;
        it runs over the edges again that the re-anchor had freed.
        """
        above = self._above(section)
        caught = self._caught()
        laid = lay(section, self.depth_m)
        rope_m = lay_to(above, section.anchor_m).length_m + LOOP_M + laid.length_m
        held = self._on(above, rope_m, laid.points[-2])
        if caught is not None and caught.drop_m < held.drop_m:
            return caught
        return held

    def _above(self, section: Section) -> Section:
        """Return the section that a re-anchor was fixed into, with all the edges below it.

        Its load hangs plumb below its own fixed point, where the person swings to.
        """
        site = self.site
        line = line_of(site.option, section)
        plain = line.model_copy(update={"re_anchor": line.re_anchor[: self._number(section) - 1]})
        last = whole(site.scenario, site.option, site.person, plain, plain.role)[-1]
        led = replace(last, load_m=section.load_m, track_m=section.track_m)
        bare = plumb_from(led, self.depth_m, last.anchor_m[1])
        return protected(site.option, bare, self.stands.placed)

    def _number(self, section: Section) -> int:
        line = line_of(self.site.option, section)
        return line.re_anchor.index(section.anchor) + 1

    def _without(self, section: Section, k: int) -> _Held:
        """Return the line after a deviation or frame has gone: longer by what it was led aside."""
        laid = lay(section, self.depth_m)
        edges = tuple(e for j, e in enumerate(section.edges) if j != k)
        plain = replace(section, edges=edges, track_m=section.face_m)
        return self._on(plain, laid.length_m, laid.points[-2])

    def _on(self, section: Section, rope_m: float, left: tuple[float, float, float]) -> _Held:
        """Return a person fallen onto a section that leaves them a length of rope.

        Parameters: `rope_m`: from its fixed point to the person; `left`: the point they hung
        below until then.
        """
        depth = depth_of(section, rope_m, self.depth_m)
        hung = self._hung(section, depth)
        held = self._fall(section, hung, max(depth - self.depth_m, 0.0))
        last = hung.laid.points[-2]
        beside = hypot(last[0] - left[0], section.anchor_m[1] - left[1])
        return _Held(
            section, hung.laid.edges, held.peak_n, held.drop_m, beside,
            swung=swung_on(section, self.depth_m, held.drop_m, left[1]),
        )  # fmt: skip

    def _on_line(
        self, what: str, kind: str, section: Section, held: _Held | None, shared: Shared | None
    ) -> Failure:
        """Return the row of something that each line has one of."""
        row = self._row(f"{what} on the {section.line}", kind, section, held, shared)
        return replace(row, called=f"{what} on the {section.role}")

    def _row(
        self,
        component: str,
        kind: str,
        section: Section,
        held: _Held | None,
        shared: Shared | None,
        bared: str | None = None,
    ) -> Failure:
        holds, edge, why, cause = self._judge(held, shared, bared)
        stops = holds is not False or cause is Cause.NO_ROOM  # that line does, were the way free
        fallen = held if stops and held is not None and isfinite(held.drop_m) else None
        return Failure(
            component=component,
            called=component,
            kind=kind,
            line=section.line,
            step=self.step,
            person=self.site.person,
            depth_m=self.depth_m,
            holds=holds,
            over_edge=edge,
            drop_m=fallen.drop_m if fallen else None,
            swing_m=fallen.swing_m if fallen else None,
            peak_n=held.peak_n if held else None,
            reachable=holds is not False and fallen is not None and fallen.swing_m <= REACH_M,
            independent=shared is None or not shared.counts,
            why=why,
            beyond=self._beyond(held),
            cause=cause,
            drop_careful_m=fallen.careful_drop_m if fallen else None,
            peak_careful_n=held.careful_peak_n if held else None,
            clearance_m=self._rooms_m(held),
            room=self._tight(held) if held is not None and cause is Cause.NO_ROOM else None,
            into=met_by(self.site.scenario, held.swung) if held is not None else None,
        )

    def _rooms_m(self, held: _Held | None) -> dict[str, float]:
        """Return the way from the feet to what lies below, at the careful end of a drop [m]."""
        if held is None or not 0.0 < held.careful_drop_m < inf:
            return {}
        return rooms_m(self.site.scenario, self.depth_m, held.careful_drop_m)

    def _beyond(self, held: _Held | None) -> tuple[Beyond, ...]:
        """Return what of a drop, a peak and a swing is more than it should be."""
        if held is None:
            return ()
        above = beyond_limits(
            self.site.scenario, held.careful_drop_m, held.careful_peak_n, careful=True
        )
        if held.drop_m > 0.0:
            backup = line_of(self.site.option, held.section).backup
            above = (*above, *tearing(backup, held.careful_peak_n))
        return above if held.leaves is None else (*above, held.leaves)

    def _tight(self, held: _Held) -> NoRoom | None:
        """Return what somebody would come to below before the catch ends."""
        return no_room(self.site.scenario, self.depth_m, held.drop_m, held.careful_drop_m)

    def _judge(
        self, held: _Held | None, shared: Shared | None, bared: str | None
    ) -> tuple[bool | None, str | None, str, Cause]:
        """Return whether a line holds, over which edge, and why, in words and by its cause."""
        if held is None:
            return False, None, "there is no other line", Cause.NO_LINE
        edge = bared or self._sharpest(held)
        takes_both = shared is not None and shared.counts
        if takes_both and shared is not None and shared.kind in ("anchor", "rope"):
            return False, edge, shared.words, Cause.SHARED
        if weak := self._overloaded(held):
            return False, edge, weak, Cause.WEAK
        if tight := self._tight(held):
            return False, edge, tight.words, Cause.NO_ROOM
        if met := met_by(self.site.scenario, held.swung):
            return False, edge, met.words, Cause.NO_ROOM
        cutting = self._cutting(held)
        if cutting is not None:
            return None, cutting, f"{cutting} can part a rope in one pass", Cause.CUTS
        if not isfinite(held.careful_drop_m):
            why = "the backup device may slip at less than the person's weight"
            return None, edge, why, Cause.WEAK
        if shared is not None and shared.kind in ("edge", "protection"):
            cause = Cause.SHARED if takes_both else Cause.HOLDS
            return None if takes_both else True, edge, shared.words, cause
        where = f" over {edge}" if edge else ", clear of edges"
        return True, edge, f"the {held.section.line} holds{where}", Cause.HOLDS

    def _cutting(self, held: _Held) -> str | None:
        """Return the first edge under a line that can part it in one pass.

        Where protection alone has gone, the line travels along no edge, bare or not.
        """
        scenario, section = self.site.scenario, held.section
        diameter_m = scenario.ropes[section.rope].diameter.value
        left = {one.edge for one in held.leaves.travels} if held.leaves is not None else set()
        travels = held.travel_m or (0.0,) * len(held.touched)
        for k, travel_m in zip(held.touched, travels, strict=True):
            item = section.edges[k]
            bare = item.protection is None or item.name in left
            if item.kind == "edge" and parts_rope(scenario, item.name, bare, travel_m, diameter_m):
                return item.name
        return None

    def _sharpest(self, held: _Held) -> str | None:
        """Return the edge with the smallest radius that a line bends over, bare ones first."""
        section = held.section
        scenario = self.site.scenario
        touched = [section.edges[k] for k in held.touched if section.edges[k].kind == "edge"]
        if not touched:
            return None
        return min(
            touched,
            key=lambda e: (e.protection is not None, judged_radius_m(scenario, e.name)),
        ).name

    def _overloaded(self, held: _Held) -> str | None:
        """Say what would not bear the peak; None if all does."""
        scenario = self.site.scenario
        if not isfinite(held.drop_m):
            return "the backup device slips at less than the person's weight"
        rope = scenario.ropes[held.section.rope]
        strength_n = rope.strength.value * rope.strength_factor.value
        peak_n = held.careful_peak_n
        if peak_n > strength_n * rope.termination.value:
            return f"{spelt.kilonewtons(peak_n)} is more than {held.section.rope} holds"
        return overloads(scenario, self.site.option, held.section, peak_n)
