"""A comparison in few words: what decides each place, what all share, what each does."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from edgewear.cautions import for_status
from edgewear.dataset.ranking.model import EdgeSummary, OptionResult, Ranking
from edgewear.dataset.ranking.part import Part
from edgewear.dataset.ranking.why import lies, middle_edge, travel_aside, unfinished, worst_edge
from edgewear.dataset.ranking.why import loaded as bent_over
from edgewear.findings.failure import Cause, Doubt
from edgewear.findings.limits import NoRoom
from edgewear.report.parts import not_counted, rigged_words, sentences, words
from edgewear.terms import BARE, EXTRAPOLATED, UNFINISHED

ROUNDING_DIGITS = 9
"""Of points of sheath, before they are rounded up: what is beyond is how numbers are kept."""

CUTTING_SHORT = "an edge here can part a rope in one pass"


def level(option: OptionResult) -> str:
    """Give an option's level of control; where it is bare, at which edges."""
    bare = dict.fromkeys(edge.edge for edge in option.edges if edge.level == BARE)
    if option.group == 2 and option.control == BARE and bare:
        return f"{BARE} at {', '.join(bare)}"
    return option.control


def decided(ranking: Ranking, option: OptionResult, edge: bool = True) -> str:
    """Say what decides an option's place and, if asked, which edge wears most."""
    said = [_place(ranking, option)]
    edges = loaded(option)
    if edge and option.group < 2 and edges:
        worst = worst_edge(edges)
        said.append(f"{worst.edge}{_whose(worst, several(option))} wears most")
    return "; ".join(part for part in said if part)


def _place(ranking: Ranking, option: OptionResult) -> str:
    if option.group == 3:
        return CUTTING_SHORT
    if option.group == 2:
        return ""
    if option.group == 1:
        return _short(option, ranking.target)
    return _tie(ranking, option) or _level(ranking, option)


def _short(option: OptionResult, target: float) -> str:
    if UNFINISHED in option.status:
        return ""
    if option.margin is None or option.margin.p5 is None:
        return "no figure at the careful end"
    if target <= option.margin.p5:
        return ""
    # as the margin beside it is rounded down, so that the two add up to no less than the target
    lacks = math.ceil(round((target - option.margin.p5) * 100, ROUNDING_DIGITS))
    return f"{lacks} point{'' if lacks == 1 else 's'} short of the target"


def parts(option: OptionResult) -> str:
    """Name the parts above their limit, slings, anchors that people share, and the worst part."""
    found = [part.words for part in option.named_parts if _names(part)]
    return f"Other parts: {'; '.join(found)}." if found else ""


def _level(ranking: Ranking, option: OptionResult) -> str:
    """Say what puts an option below the one before: what it lacks, its level, or sheath left."""
    meeting = [other for other in ranking.options if other.group == 0]
    if option is meeting[0]:
        if len(meeting) == 1:
            return "the only one that meets it"
        if option.behind < meeting[1].behind:
            return f"better status than {_called(meeting[1])}"
        return "highest level" if option.level < meeting[1].level else "most sheath left"
    above = meeting[meeting.index(option) - 1]
    if option.behind > above.behind:
        return f"worse status than {_called(above)}"
    if option.level > above.level:
        return f"lower level than {_called(above)}"
    return f"less sheath left than {_called(above)}"


def _called(option: OptionResult) -> str:
    """Name another option by its rank, or by its name where it has none."""
    return words.quoted(option.name) if option.rank is None else str(option.rank)


def _tie(ranking: Ranking, option: OptionResult) -> str:
    """Name those that an option shares its place with, or cannot be told apart from."""
    same = [
        words.quoted(o.name) for o in ranking.options if o.order == option.order and o is not option
    ]
    if same:
        return f"level with {', '.join(same)}"
    place = ranking.options.index(option)
    above = ranking.options[place - 1] if place else None
    if above is None or above.beats_next is None:
        return ""
    if (above.behind, above.level) != (option.behind, option.level):
        return ""
    if not above.beats_next.told_apart:
        return f"not told apart from {_called(above)}"
    return ""


def tied(options: Sequence[OptionResult], option: OptionResult) -> bool:
    """Tell whether an option shares its place with another."""
    return sum(other.order == option.order for other in options) > 1


def loaded(option: OptionResult) -> list[EdgeSummary]:
    """Give the edges that the loaded working line bends over, without frames and deviations."""
    fixed = {str(one["name"]) for one in option.facts.get("drawing", {}).get("anchors", ())}
    return [edge for edge in bent_over(option) if edge.edge not in fixed]


def several(option: OptionResult) -> bool:
    """Tell whether several people's lines belong to an option."""
    drawn = option.facts.get("drawing", {}).get("lines", ())
    return len({line.get("person") for line in drawn}) > 1


def row_status(ranking: Ranking, option: OptionResult) -> tuple[str, ...]:
    """Give the statuses of an option's row: all but a mark that every row would carry."""
    left_out = EXTRAPOLATED if _everywhere(ranking) else None
    return tuple(status for status in option.status if status != left_out)


def _everywhere(ranking: Ranking) -> bool:
    """Tell whether every option has inputs beyond the observations, so that it is said once."""
    return all(EXTRAPOLATED in option.status for option in ranking.options)


def shared(ranking: Ranking, warnings: bool = False) -> list[str]:
    """Give what to mind, each once, with the options that it holds for where not for all.

    Parameters:
        ranking: a comparison.
        warnings: what the rigging warns of too, and of all only what holds for several options;
            `own` gives the rest.
    """
    said = [*_doubts(ranking, whole=warnings), *_distances(ranking, warnings), *_catches(ranking)]
    least = min(2, len(ranking.options)) if warnings else 1
    said += [
        f"{text}{_only(ranking, names)}"
        for text, names in _minded(ranking, warnings).items()
        if len(names) >= least
    ]
    said += _far_from_limits(ranking)
    left_out = {**not_counted.hot(ranking), **not_counted.stuck(ranking)}
    said += [f"{text}{_only(ranking, names)}" for text, names in left_out.items()]
    said += not_counted.faults(list(ranking.scenario.get("faults") or ()), whole=warnings)
    if any(option.looks is not None for option in ranking.options):
        said.append("look at the rope before and after the job, at every edge it lay over")
    return said


def _only(ranking: Ranking, names: Sequence[str]) -> str:
    """Name the options that something holds for, where it does not hold for all."""
    others = [option.name for option in ranking.options if option.name not in names]
    if not others:
        return ""
    if len(others) == 1 and len(names) > 2:
        return f" [all but {others[0]}]"
    return f" [{'; '.join(names)}]"


def _distances(ranking: Ranking, whole: bool) -> list[str]:
    """Say how far inputs lie outside the observations: one sentence a grade.

    Parameters:
        ranking: a comparison.
        whole: with each option's furthest input, not only the furthest of all.
    """
    found: dict[str, dict[str, list[str]]] = {}
    outside = [option for option in ranking.options if EXTRAPOLATED in option.status]
    for option in sorted(outside, key=_furthest, reverse=True):
        grade, most = sentences.distance(option)
        found.setdefault(grade, {}).setdefault(most, []).append(option.name)
    said = []
    for grade, inputs in found.items():
        told = "; ".join(f"{most}{_only(ranking, names)}" for most, names in inputs.items())
        if not whole:
            every = [name for names in inputs.values() for name in names]
            told = f"{next(iter(inputs))}{_only(ranking, every)}"
        said.append(f"{EXTRAPOLATED}, {grade} what the wear law was observed for, most by {told}")
    return said


def _furthest(option: OptionResult) -> float:
    """Give how far the furthest input lies outside; another kind than any observed is furthest."""
    if not option.outside:
        return 0.0
    times = option.outside[0].times
    return math.inf if times is None else times


def _catches(ranking: Ranking) -> list[str]:
    """Say once what is above its limit in a catch: the worst with its reason, then the others."""
    found: dict[tuple[str, str], dict[str, Mapping[str, Any]]] = {}
    for option in ranking.options:
        for one in option.facts.get("catches", ()):
            worst = found.setdefault((str(one["who"]), str(one["figure"])), {})
            worst[option.name] = max(one, worst.get(option.name, one), key=_found)
    said = []
    for (who, _), rows in found.items():
        by_figure: dict[str, list[str]] = {}
        for name, row in rows.items():
            by_figure.setdefault(str(row["short"]), []).append(name)
        (_, first), *others = sorted(by_figure.items(), key=lambda pair: -_found(rows[pair[1][0]]))
        rest = "".join(f"; {short}{_only(ranking, names)}" for short, names in others)
        told = _alike([rows[name] for name in first])
        said.append(f"if the working line is lost, {who}: {told}{_only(ranking, first)}{rest}")
    return said


def _found(row: Mapping[str, Any]) -> float:
    """How large a figure of a catch is; null: without end."""
    return math.inf if row["found"] is None else float(row["found"])


def _alike(rows: Sequence[Mapping[str, Any]]) -> str:
    """Say a figure that several options share, with what it is made of if that is alike too."""
    told = {str(row["told"]) for row in rows}
    return told.pop() if len(told) == 1 else str(rows[0].get("plain", rows[0]["told"]))


FEW = 3
"""So many components are named on a terminal where their failure leaves a doubt."""


def _doubt(row: Mapping[str, Any]) -> Doubt:
    """Make a doubt of what a dataset holds of it."""
    person, parts = str(row["person"]), tuple(map(str, row["components"]))
    cause = Cause(row.get("cause", Cause.WEAK.value))
    said = row.get("room")
    room = None if said is None else NoRoom.kept(said)
    return Doubt(person, parts, tuple(row["steps"]), row["holds"], str(row["why"]), cause, room)


def _doubts(ranking: Ranking, whole: bool) -> list[str]:
    """Say once whom nothing would hold, what they would reach, or what nobody knows, and why."""
    found: dict[str, dict[str, list[str]]] = {}
    failing: dict[str, list[str]] = {}
    for option in ranking.options:
        for doubt in map(_doubt, option.facts.get("doubts", ())):
            left, why = _left(doubt)
            failing.setdefault(left, []).extend(doubt.components)
            names = found.setdefault(left, {}).setdefault(why, [])
            names += [option.name] * (option.name not in names)
    said = []
    for left, whys in found.items():
        parts = list(dict.fromkeys(failing[left]))
        named = whole or len(parts) <= FEW
        one = " or ".join(parts) if named else "a part of the rigging"
        alike: dict[str, list[str]] = {}
        for text, names in whys.items():
            alike.setdefault(_only(ranking, names), []).append(text)
        why = "; ".join(f"{', '.join(texts)}{only}" for only, texts in alike.items())
        said.append(f"if {one} failed, {left}: {why}")
    return said


def _left(doubt: Doubt) -> tuple[str, str]:
    """Say in what state a failure leaves somebody, and what is different from option to option."""
    if doubt.room is not None:
        return f"{doubt.person} {doubt.room.what}", doubt.room.short
    if doubt.cause is Cause.NO_ROOM:
        return f"{doubt.person} is not held clear", f"{doubt.person} {doubt.why}"
    if doubt.holds is None:
        return f"not known whether {doubt.person} is held", doubt.why
    return f"nothing would hold {doubt.person}", doubt.why


def _far_from_limits(ranking: Ranking) -> list[str]:
    """Name, of all parts that no option names, the one nearest to its limit."""
    left = [part for option in ranking.options for part in option.named_parts if not _names(part)]
    if not left:
        return []
    worst = max(left, key=lambda part: part.used)
    return [f"nearest to its limit: {worst.words}"]


def _names(part: Part) -> bool:
    """Tell whether a part is named with its option: near its limit, a sling, or shared."""
    return part.near or part.kind == "bypass sling" or len(part.people) > 1


def _minded(ranking: Ranking, warnings: bool) -> dict[str, list[str]]:
    """Give each text, catches above a limit left out, with the options it holds for."""
    found: dict[str, list[str]] = {}
    for option in ranking.options:
        known = {str(one["words"]) for one in option.facts.get("catches", ())}
        known |= {_doubt(one).words for one in option.facts.get("doubts", ())}
        texts = [text for text in rigged_words.mind(option.facts) if text not in known]
        texts += [str(text) for text in option.facts.get("warnings", ()) if warnings]
        for text in dict.fromkeys(texts):
            found.setdefault(text, []).append(option.name)
    return found


def own(ranking: Ranking, option: OptionResult) -> list[str]:
    """Give what is to mind of one option alone."""
    if len(ranking.options) == 1:
        return []
    found = _minded(ranking, warnings=True)
    return [text for text, names in found.items() if names == [option.name]]


def course(option: OptionResult) -> str:
    """Say in a sentence or two what the rope does at the edge that decides, and at the next."""
    if option.group == 3:
        return option.why
    if option.failed == option.trials:
        return option.why
    said, edges = unfinished(option), loaded(option)
    if not edges:
        return f"{said} The loaded working line bends over no edge.".strip()
    whose = several(option)
    worst = worst_edge(edges)
    others = [edge for edge in edges if edge is not worst and edge.decides[1] > 0]
    then = ""
    if others:
        second = max(others, key=lambda edge: edge.decides[1])
        took = words.percent(second.decides[1])
        then = f"; then {second.edge}{_whose(second, whose)}, {took}"
    told = f"{worst.edge}{_whose(worst, whose)} ({lies(worst)}): {_slides(worst)}{then}."
    return f"{said} {told}{_other_cause(option)}".strip()


def _whose(edge: EdgeSummary, whose: bool) -> str:
    return f" on {edge.line}" if whose else ""


def _each(edge: EdgeSummary) -> str:
    """Say how much of the rope one stroke drags over an edge, where that is known."""
    if edge.travel_per_stroke_m is None:
        return ""
    if edge.travel_per_stroke_m == 0:
        return "lies still in most strokes, "
    return f"{words.metres(edge.travel_per_stroke_m)} of rope a stroke, "


def _slides(edge: EdgeSummary) -> str:
    return (
        f"{_each(edge)}{words.metres(edge.slip_m)} in all under up to "
        f"{words.kilonewtons(edge.peak_tension_n)}, {_worn(edge)}"
    )


def _worn(edge: EdgeSummary) -> str:
    """Say how much of the sheath goes at the careful end, which decides, and in the middle."""
    if edge.demand_careful is None:
        return f"{words.percent(edge.demand_max)} of the sheath (middle)"
    careful, middle = map(words.percent, (edge.demand_careful, edge.demand_max))
    beside = [travel_aside(edge), f"middle {middle}" if careful != middle else ""]
    told = "; ".join(part for part in beside if part)
    return f"{careful} of the sheath{f' ({told})' if told else ''}"


def _other_cause(option: OptionResult) -> str:
    """Name the edge that wears most in the middle of the trials, where it is another one."""
    edges = loaded(option)
    middle = middle_edge(edges)
    if middle is worst_edge(edges) or middle.demand_max <= 0:
        return ""
    share = words.percent(middle.demand_max)
    where = f"{middle.edge}{_whose(middle, several(option))}"
    return f" In the middle of the trials {where} wears most, {share}."


def first_look(option: OptionResult) -> str:
    """Say when to look at the rope first, during the job; the rest stands among the details."""
    when = option.looks
    if when is None or option.group == 3:
        return ""
    first = sentences.moments(when.first_ascended_m, when.first_time_s, when.first_strokes)
    told = f"Look at the rope first after {first}." if first else ""
    if when.stop is None:
        return told
    stop = f"{when.stop.words[:1].upper()}{when.stop.words[1:]}."
    return f"{told} {stop}" if when.first_is_due else stop


def cautions(ranking: Ranking, said: Sequence[str]) -> list[str]:
    """Give the cautions of a comparison that have not been said before."""
    known = {*said, *(for_status([EXTRAPOLATED]) if _everywhere(ranking) else ())}
    return [text for text in ranking.cautions if text not in known]
