"""Sentences about a rigged option that are no errors but must not go unsaid."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from edgewear import spelt
from edgewear.findings.outside import UnknownPast
from edgewear.findings.rigging import (
    BareEdge,
    HangsUnder,
    NotLedOver,
    OffInCatch,
    OffInWork,
    StandOff,
    SunkOnto,
)
from edgewear.rigging.contacts import Contact, contacts
from edgewear.rigging.findings.control import is_bare, left_in_work, level_at, line_of
from edgewear.rigging.lengths import BODY_M, STANDS_M, stands_on
from edgewear.rigging.model import Section
from edgewear.rigging.profile import Profile
from edgewear.rigging.sections import cut
from edgewear.rigging.survey import STAND_OFF, assumed_outs, held_outs, placed_edges, track
from edgewear.scenario.models.gear import Protection
from edgewear.scenario.models.scenario import Option, Scenario
from edgewear.scenario.text.quantities import Measured
from edgewear.terms import GRAVITY_M_S2, SAFETY


def remarks(
    scenario: Scenario, option: Option, sections: Sequence[Section], found: Sequence[Contact]
) -> tuple[str, ...]:
    """Return what to warn of, in the order of the lines; each sentence once."""
    said = [
        *(bare.words for bare in bare_edges(scenario, option, sections, found)),
        *_contacts(scenario, option, sections, found),
        *_crossings(scenario, sections, found),
        *(one.words for one in sunk_onto(sections, found)),
        *(one.words for one in not_led_over(scenario, option, sections)),
        *(one.words for one in off_in_work(option, sections, found)),
        *(one.remark for one in off_in_catch(option, sections, found)),
        *_close_edges(scenario, sections, found),
        *_rollers(scenario, option, sections, found),
        *_bypasses(option),
        *_backups(option, sections),
        *(one.words for one in unknown_pasts(scenario, sections)),
        *_pasts(scenario, sections),
    ]
    return tuple(dict.fromkeys(said))


def sunk_onto(sections: Sequence[Section], found: Sequence[Contact]) -> tuple[SunkOnto, ...]:
    """Return which lines come onto which edges only once their rope has stretched."""
    return tuple(
        SunkOnto(sections[one.section].line, one.edge, one.sunk_m)
        for one in found
        if one.sunk_m and one.bears_on_edge
    )


def stand_offs(scenario: Scenario, option: Option) -> tuple[StandOff, ...]:
    """Return who is assumed to hang where it decides which edges their lines lie on."""
    found = []
    for who in option.lines:
        assumed = assumed_outs(scenario, option, who)
        if assumed is not None:
            outermost, outs_m = assumed
            moves = _moves([_touched(scenario, option, who, out_m) for out_m in outs_m])
            range_m = STAND_OFF.value, STAND_OFF.low, STAND_OFF.high
            found += [StandOff(who, outermost, range_m, moves)] if moves else []
    return tuple(found)


def under_re_anchors(scenario: Scenario, option: Option) -> tuple[HangsUnder, ...]:
    """Return who is taken to hang so far out below a re-anchor that edges there read as clear."""
    found = []
    for who in option.lines:
        usual_m = track(scenario, option, who)[0]
        for fixed, held_m in held_outs(scenario, option, who):
            met = _touched(scenario, option, who, usual_m)
            onto = [
                f"the {section.line} would lie on {edge}"
                for section, edge in _met(scenario, option, who, held_m)
                if (section.line, edge) not in met
                and (section.role == SAFETY or section.anchor == fixed)
            ]
            if onto:
                outs_m = usual_m, held_m
                found.append(HangsUnder(who, fixed, outs_m, tuple(dict.fromkeys(onto))))
    return tuple(found)


def _moves(met: Sequence[Sequence[tuple[str, str]]]) -> tuple[str, ...]:
    """Say at which ends of the range which lines come onto an edge or leave it.

    Parameters: `met`: line and edge of each contact as assumed, at the nearest, at the furthest.
    """
    moved: dict[tuple[str, str], list[str]] = {}
    for line, edge in dict.fromkeys(contact for some in met for contact in some):
        usual, *ends = [(line, edge) in some for some in met]
        where = ("nearer", "further out")
        other = [end for end, on in zip(where, ends, strict=True) if on is not usual]
        if other:
            move = f"leave {edge}" if usual else f"come onto {edge}"
            moved.setdefault((" or ".join(other), move), []).append(f"the {line}")
    return tuple(
        f"{ends} within that range {' and '.join(lines)} would {move}"
        for (ends, move), lines in moved.items()
    )


def _touched(
    scenario: Scenario, option: Option, person: str, out_m: float
) -> list[tuple[str, str]]:
    """Return line and edge of each contact of a person who hangs so far out."""
    met = _met(scenario, option, person, out_m)
    return [(section.line, edge) for section, edge in met]


def _met(
    scenario: Scenario, option: Option, person: str, out_m: float
) -> list[tuple[Section, str]]:
    """Return section and edge of each contact of a person who hangs so far out."""
    hangs = option.people[person].model_copy(update={"out": Measured.exact(out_m, "m")})
    moved = option.model_copy(update={"people": {**option.people, person: hangs}})
    sections, depths = cut(scenario, moved, person)
    met = contacts(scenario, moved, sections, depths)
    return [(sections[c.section], c.edge) for c in met if c.kind == "edge"]


def gone_below(scenario: Scenario, profiles: Mapping[str, Profile]) -> Iterator[str]:
    """Say who gets below what is said to lie below, or so deep that they stand in it.

    Somebody whose harness is below it is beside it: from there on no fall onto it is judged.
    """
    for who, depths in profiles.items():
        for name, up in scenario.below.items():
            under_m = depths.deepest_m + up.value
            if under_m <= 0.0 and under_m + BODY_M > STANDS_M:
                yield (
                    f"{who} gets so deep that the feet are {spelt.tenths(under_m + BODY_M)} below "
                    f"{name}: is it surveyed right, and is the job meant to end in it?"
                )
            if under_m > 0.0:
                yield (
                    f"{who} gets {spelt.tenths(under_m)} below {name}, which is said to lie below: "
                    "on the way past it a catch would reach it, and from there no fall onto it is "
                    "judged"
                )


def stood_on(scenario: Scenario, profiles: Mapping[str, Profile]) -> Iterator[str]:
    """Say who counts as standing on something below: no fall onto it is judged there."""
    for who, depths in profiles.items():
        for name in scenario.below:
            near = [end.step for end in depths.ends if stands_on(scenario, name, end.depth_m)]
            if near:
                steps = ", ".join(map(str, dict.fromkeys(near)))
                yield (
                    f"{who} ends step {steps} with the feet at most {STANDS_M:g} m from {name}: "
                    "taken to stand on it, so that no fall onto it is judged there"
                )


def _backups(option: Option, sections: Sequence[Section]) -> Iterator[str]:
    """Say which backup devices would let a person run down the line."""
    for section in sections:
        backup, who = line_of(option, section).backup, option.people.get(section.person)
        if backup is None or who is None or section.role != SAFETY:
            continue
        weight_n = who.mass.value * GRAVITY_M_S2
        if backup.slips.low <= weight_n:
            slips = "slips" if backup.slips.value <= weight_n else "may slip"
            yield (
                f"{section.line}: the backup device {slips} at less than the weight of "
                f"{section.person} ({weight_n / 1000:.2f} kN): nothing ends a fall onto it"
            )


def _pasts(scenario: Scenario, sections: Sequence[Section]) -> Iterator[str]:
    """Say which lines are made of a rope that is worn already, and how much."""
    for section in sections:
        rope = scenario.ropes[section.rope]
        if rope.worn:
            worst = max(rope.worn, key=lambda part: part.sheath.high)
            yield (
                f"{section.line}: {section.rope!r} is worn before the job begins, up to "
                f"{worst.sheath.high * 100:.0f} % of the sheath from {worst.from_.value:.2f} m to "
                f"{worst.to.value:.2f} m; a rope counts as worn as its worst part, wherever it lies"
            )


def unknown_pasts(scenario: Scenario, sections: Sequence[Section]) -> tuple[UnknownPast, ...]:
    """Return which lines are made of a piece of a rope of which nothing is known."""
    found = []
    for section in sections:
        cut_from = scenario.ropes[section.rope].cut_from
        if cut_from is not None:
            found.append(UnknownPast(section.line, section.rope, cut_from))
    return tuple(dict.fromkeys(found))


def bare_edges(
    scenario: Scenario, option: Option, sections: Sequence[Section], found: Sequence[Contact]
) -> tuple[BareEdge, ...]:
    """Return which bare edges a status does not tell of, line by line.

    In industrial work a bare edge under a working line has a status; under a safety line, and in
    an alpine setting, it has none.
    """
    said = []
    for line in dict.fromkeys(s.line for s in sections):
        bare = [
            c
            for c in found
            if sections[c.section].line == line
            and is_bare(scenario, option, sections[c.section], c)
        ]
        over = tuple(dict.fromkeys(c.edge for c in bare))
        works = bool(bare) and sections[bare[0].section].role == "working line"
        told = scenario.setting == "alpine" if works else scenario.setting != "test"
        if over and told:
            said.append(BareEdge(line, over, works))
    return tuple(said)


def _contacts(
    scenario: Scenario, option: Option, sections: Sequence[Section], found: Sequence[Contact]
) -> Iterator[str]:
    for contact in found:
        section = sections[contact.section]
        if not contact.bears_on_edge:
            continue
        edge = scenario.edges[contact.edge]
        if contact.at_end:
            yield f"{section.line}: the line reaches the end of {contact.edge}, it would slide off"
        if edge.is_cutting and section.role == "safety line":
            yield (
                f"{section.line}: a catch would load {contact.edge}, an edge that can part a rope "
                "in one pass"
            )
        if edge.is_cutting and level_at(scenario, option, section, contact.edge) != "bare":
            yield (
                f"{contact.edge}: protection on an edge that can part a rope in one pass does not "
                "change the status; if a plate replaces the edge, survey the plate as the edge"
            )


def _crossings(
    scenario: Scenario, sections: Sequence[Section], found: Sequence[Contact]
) -> Iterator[str]:
    """Say how far a working line travels along its edges under load, line by line."""
    travels: dict[str, dict[str, float]] = {}
    for contact in found:
        section = sections[contact.section]
        diameter_m = scenario.ropes[section.rope].diameter.value
        loaded = contact.bears_on_edge and section.role == "working line"
        if loaded and contact.aside_m > diameter_m:
            own = travels.setdefault(section.line, {})
            own[contact.edge] = max(own.get(contact.edge, 0.0), contact.aside_m)
    for line, own in travels.items():
        places = ", ".join(f"{aside_m:.2f} m along {edge}" for edge, aside_m in own.items())
        yield f"{line}: under load the crossing travels {places}"


def not_led_over(
    scenario: Scenario, option: Option, sections: Sequence[Section]
) -> tuple[NotLedOver, ...]:
    """Return which lines count as clear of edges that have no place and that another line names.

    A line whose bends are given says itself what it runs over.
    """
    named = [
        bend.edge
        for pair in option.lines.values()
        for line in (pair.working, pair.safety)
        if line is not None
        for bend in line.over
    ]
    known = placed_edges(scenario)
    without = tuple(dict.fromkeys(edge for edge in named if edge not in known))
    lines = dict.fromkeys(section.line for section in sections if not section.direct)
    return tuple(NotLedOver(line, without) for line in lines) if without else ()


def off_in_work(
    option: Option, sections: Sequence[Section], found: Sequence[Contact]
) -> tuple[OffInWork, ...]:
    """Return which working lines travel further along an edge than their protection reaches."""
    travels: dict[str, dict[str, str]] = {}
    for contact in found:
        section = sections[contact.section]
        piece = left_in_work(option, section, contact)
        if piece is not None:
            said = f"{contact.aside_m:.2f} m along {contact.edge} ({_length_of(piece)})"
            travels.setdefault(section.line, {})[contact.edge] = said
    return tuple(OffInWork(line, tuple(own.values())) for line, own in travels.items())


def _length_of(piece: Protection) -> str:
    return f"a {piece.covers.value:g} m {piece.is_}"


def off_in_catch(
    option: Option, sections: Sequence[Section], found: Sequence[Contact]
) -> tuple[OffInCatch, ...]:
    """Return which safety lines a catch would swing off what protects them."""
    gone: dict[str, list[tuple[str, str]]] = {}
    for contact in found:
        section = sections[contact.section]
        piece = leaves(option, section, contact.edge, contact.aside_m)
        if section.role == SAFETY and piece is not None:
            said = f"{spelt.tenths(contact.aside_m)} along {contact.edge} ({_length_of(piece)})"
            gone.setdefault(section.line, []).append((contact.edge, said))
    return tuple(
        OffInCatch(line, *(tuple(dict.fromkeys(part)) for part in zip(*off, strict=True)))
        for line, off in gone.items()
    )


def leaves(option: Option, section: Section, edge: str, travel_m: float) -> Protection | None:
    """Return the protection that a line leaves when it travels along an edge; None: it does not.

    A piece on the structure reaches half its length to either side of where the line lay; what
    is fixed to the rope goes with it.
    """
    piece = line_of(option, section).protect.get(edge)
    if piece is None or piece.fixed_to == "rope" or travel_m <= 0.5 * piece.covers.value:
        return None
    return piece


def _close_edges(
    scenario: Scenario, sections: Sequence[Section], found: Sequence[Contact]
) -> Iterator[str]:
    """Name neighbours that lie closer together than the rope's contact with them."""
    for number, section in enumerate(sections):
        diameter_m = scenario.ropes[section.rope].diameter.value
        mine = [c for c in found if c.section == number and c.kind == "edge"]
        for a, b in pairwise(mine):
            contact_m = max(scenario.edges[a.edge].radius.value * a.bend_rad, diameter_m)
            if b.setback_m - a.setback_m < contact_m:
                yield (
                    f"{section.line}: {a.edge} and {b.edge} lie closer together than the rope's "
                    "contact with them; each keeps its own bend, and they wear the same rope"
                )


def _rollers(
    scenario: Scenario, option: Option, sections: Sequence[Section], found: Sequence[Contact]
) -> Iterator[str]:
    """Say what a roller does to the edge after it."""
    for number, section in enumerate(sections):
        line = option.lines[section.person]
        kinds = (line.safety or line.working) if section.role == "safety line" else line.working
        mine = [c for c in found if c.section == number and c.loaded]
        for a, b in pairwise(mine):
            rolling = a.edge in kinds.protect and kinds.protect[a.edge].is_ == "roller"
            fixed = b.edge not in kinds.protect or kinds.protect[b.edge].is_ != "roller"
            if rolling and fixed and b.kind == "edge":
                yield (
                    f"{section.line}: the roller at {spelt.quoted(a.edge)} no longer keeps the "
                    f"rope still; its stretch now saws at {spelt.quoted(b.edge)}, and the bounce "
                    f"reaches {section.anchor}"
                )


def _bypasses(option: Option) -> Iterator[str]:
    for pair in option.lines.values():
        for line in (pair.working, pair.safety):
            for edge, sling in (line.bypass if line else {}).items():
                yield (
                    f"{edge}: the bypass sling holds as much as its weakest part, "
                    f"{spelt.kilonewtons(sling.holds_n)}, and nothing backs it up"
                )
