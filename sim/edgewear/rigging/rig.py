"""An option rigged: its lines cut into sections, its level of control, its statuses."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from edgewear.errors import UsageError
from edgewear.findings.limits import HardHaul
from edgewear.findings.rigging import BareEdge, NotLedOver, OffInCatch, OffInWork
from edgewear.rigging.catch_contacts import with_catches
from edgewear.rigging.contacts import Contact, contacts
from edgewear.rigging.findings.control import (
    covered,
    edge_levels,
    lowest,
    statuses,
    why_not_higher,
)
from edgewear.rigging.findings.drawing import drawing
from edgewear.rigging.findings.further.flat import flat_climbs
from edgewear.rigging.findings.further.hanging import climbs_too_close, too_close
from edgewear.rigging.findings.further.hauls import hard_hauls
from edgewear.rigging.findings.further.idle import idle_deviations
from edgewear.rigging.findings.further.pulled import pulled_past
from edgewear.rigging.findings.further.short import short_of_re_anchors, short_ropes
from edgewear.rigging.findings.independence import Shared, shared_by
from edgewear.rigging.findings.remarks import (
    bare_edges,
    gone_below,
    not_led_over,
    off_in_catch,
    off_in_work,
    remarks,
    stood_on,
)
from edgewear.rigging.laying import lay
from edgewear.rigging.model import Rigged, Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.sections import cut, whole
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.terms import WORKING


def rig(scenario: Scenario, option_name: str, person: str | None = None) -> Rigged:
    """Rig an option of a scenario.

    Parameters: `option_name`: a key of its options; `person`: whose lines; everybody's if None.

    Raises: UsageError for a name the scenario does not have.
    """
    option = option_of(scenario, option_name)
    people = list(option.lines) if person is None else [_known(person, option)]
    return rigged(Layout(scenario, option, people), option_name)


def rigged(laid_out: Layout, option_name: str) -> Rigged:
    """Judge an option whose lines are laid out."""
    scenario, option = laid_out.scenario, laid_out.option
    shared = [s for who in laid_out.profiles for s in laid_out.shared(who)]
    control = lowest(laid_out.levels.values())
    starts_m = {who: depths.start_m for who, depths in laid_out.profiles.items()}
    return Rigged(
        option=option_name,
        sections=laid_out.sections,
        start_depth_m=next(iter(starts_m.values())),
        control=control,
        why_not_higher=why_not_higher(option, control),
        status=laid_out.statuses([s for s in shared if s.counts]),
        edge_levels=laid_out.levels,
        drawing=drawing(scenario, laid_out.covered, laid_out.profiles),
        warnings=(
            *remarks(scenario, option, laid_out.sections, laid_out.loadable),
            *gone_below(scenario, laid_out.profiles),
            *stood_on(scenario, laid_out.profiles),
            *too_close(scenario, option, laid_out.sections, laid_out.profiles),
            *climbs_too_close(scenario, option, laid_out.sections, laid_out.profiles),
            *laid_out.idle_deviations,
            *(one.words for one in laid_out.hard_hauls),
            *(
                one.words
                for one in pulled_past(scenario, option, laid_out.sections, laid_out.profiles)
            ),
            *flat_climbs(scenario, option, laid_out.sections, laid_out.profiles),
            *short_ropes(scenario, option, laid_out.profiles),
            *short_of_re_anchors(scenario, option, laid_out.profiles),
        ),
        starts_m=starts_m,
        shared=tuple(s.words for s in shared),
    )


class Layout:
    """The sections of some people of an option, and where they touch edges over the job."""

    def __init__(
        self,
        scenario: Scenario,
        option: Option,
        people: Sequence[str],
        hung_m: Mapping[str, Sequence[float]] | None = None,
    ) -> None:
        """Cut and lay their lines.

        Parameters: `hung_m`: person -> depths from which they may fall, beside those planned [m].
        """
        self.scenario, self.option = scenario, option
        self.profiles: dict[str, Profile] = {}
        self.levels: dict[str, str] = {}
        sections: list[Section] = []
        found: list[Contact] = []
        self.loadable: list[Contact] = []  # contacts with what a catch adds on safety lines
        for who in people:
            mine, self.profiles[who] = cut(scenario, option, who)
            touched = contacts(scenario, option, mine, self.profiles[who])
            self._add_levels(who, mine, touched)
            fallen_m = (hung_m or {}).get(who, ())
            caught = with_catches(scenario, option, mine, touched, self.profiles[who], fallen_m)
            self.loadable += [replace(c, section=c.section + len(sections)) for c in caught]
            found += [replace(c, section=c.section + len(sections)) for c in touched]
            sections += mine
        self.sections, self.contacts = tuple(sections), tuple(found)
        self.covered = tuple(covered(scenario, option, section) for section in sections)

    def _add_levels(self, who: str, mine: Sequence[Section], touched: Sequence[Contact]) -> None:
        freed = freed_edges(self.scenario, self.option, who, mine, self.profiles[who])
        sunk_onto = {c.edge for c in touched if c.sunk_m and mine[c.section].role == WORKING}
        freed = [edge for edge in freed if edge not in sunk_onto]
        levels = edge_levels(self.scenario, self.option, mine, touched, freed)
        for edge, level in levels.items():
            self.levels[edge] = lowest([level, self.levels.get(edge, level)])

    def shared(self, who: str) -> list[Shared]:
        """Return what both lines of a person depend on."""
        stays = self.profiles[who].stays
        return shared_by(self.scenario, self.option, who, self.sections, self.contacts, stays)

    def statuses(self, counting: Sequence[Shared]) -> tuple[str, ...]:
        """Return the statuses that geometry decides."""
        words = [s.words for s in counting]
        return statuses(self.scenario, self.option, self.sections, self._judged(), words)

    @property
    def bare_edges(self) -> tuple[BareEdge, ...]:
        """What no status tells of bare edges."""
        return bare_edges(self.scenario, self.option, self.sections, self.loadable)

    @property
    def not_led_over(self) -> tuple[NotLedOver, ...]:
        """What lines are taken to be clear of because no place is given."""
        return not_led_over(self.scenario, self.option, self.sections)

    @property
    def off_in_work(self) -> tuple[OffInWork, ...]:
        """Where a working line leaves its protection in work."""
        return off_in_work(self.option, self.sections, self.loadable)

    @property
    def off_in_catch(self) -> tuple[OffInCatch, ...]:
        """Where a catch would swing a safety line off its protection."""
        return off_in_catch(self.option, self.sections, self.loadable)

    @property
    def hard_hauls(self) -> tuple[HardHaul, ...]:
        """Hauls of the plan that are too hard for one person."""
        return tuple(hard_hauls(self.scenario, self.option, self.covered, self.profiles))

    @property
    def idle_deviations(self) -> tuple[str, ...]:
        """What is said of deviations that carry nothing."""
        found = idle_deviations(
            self.scenario, self.option, self.sections, self.loadable, self.profiles
        )
        return tuple(found)

    def _judged(self) -> list[Contact]:
        """Return contacts of working lines in work, of safety lines in a catch.

        Where both lines share the load all the time nobody falls onto either.
        """
        found = self.contacts if self.option.both_lines_loaded else self.loadable
        return list(found)


def freed_edges(
    scenario: Scenario, option: Option, person: str, used: Sequence[Section], depths: Profile
) -> list[str]:
    """Return the edges that re-anchors, deviations or a high directional take the line off.

    An edge is freed if the line would touch it at the deepest point of the job without them, the
    last section in use, with them, does not, and nobody works while the line still lies over
    it: only a passage may.
    """
    line = option.lines[person].working
    plain = line.model_copy(update={"re_anchor": (), "deviations": (), "high_directional": None})
    working = [s for s in used if s.role == "working line"]
    if plain == line or not working:
        return []
    last = working[-1]
    straight = whole(scenario, option, person, plain, line.role)[-1]
    straight = replace(straight, load_m=last.load_at(depths.deepest_m), track_m=())
    kept = {last.edges[k].name for k in lay(last, depths.deepest_m).edges}
    kept |= _worked_over(working, depths)
    names = [straight.edges[k].name for k in lay(straight, depths.deepest_m).edges]
    return [name for name in names if name not in kept]


def _worked_over(working: Sequence[Section], depths: Profile) -> set[str]:
    """Return the edges that a line lies over while somebody works at a place."""
    found: set[str] = set()
    for stay in depths.stays:
        for section in working:
            if stay.works and section.top_m <= stay.depth_m < section.bottom_m:
                laid = lay(section, stay.depth_m)
                found |= {section.edges[k].name for k in laid.edges}
    return found


def option_of(scenario: Scenario, name: str) -> Option:
    """Return an option by its name.

    Raises: UsageError for a name the scenario does not have.
    """
    if name not in scenario.options:
        raise UsageError(f"no option {name!r}: there are {', '.join(scenario.options)}")
    return scenario.options[name]


def _known(person: str, option: Option) -> str:
    if person not in option.lines:
        raise UsageError(f"no lines for {person!r}: there are {', '.join(option.lines)}")
    return person
