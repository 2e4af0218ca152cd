"""What was understood of a scenario: lines for the terminal, and the resolved document."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from edgewear.scenario.inventory import all_quantities
from edgewear.scenario.models.base import spelled
from edgewear.scenario.models.faults import Fault
from edgewear.scenario.models.gear import Edge, Obstacle, Rope
from edgewear.scenario.models.scenario import Anchor, Line, Option, Scenario
from edgewear.scenario.models.steps import Repeat, Step, Work
from edgewear.scenario.models.walking import crossed_first
from edgewear.scenario.text.quantities import Measured
from edgewear.scenario.text.spelling import meant, spell
from edgewear.scenario.working import beats, ways, work_rows

TYPED = ("measured", "taped", "paced", "class", "given")
"""Bases of values that somebody found or typed; the others are parameters of a library."""


Say = Callable[[Measured], str]
"""How a quantity is spelt: with its range or, where it was measured, without."""


def summary(scenario: Scenario) -> list[str]:
    """Say what was understood, and what each word was taken to mean."""
    lines = [scenario.title, f"setting: {_setting(scenario)}"]
    if scenario.target is not None:
        lines.append(f"target: {_target(scenario.target)}")
    lines += _survey(scenario, meant)
    lines += _section("kit", _kit(scenario))
    for name, option in scenario.options.items():
        lines += [f"option {name}", *_option(option, scenario)]
    for person, steps in scenario.job.items():
        lines += [f"job of {person}", *_steps(scenario, steps, "  ")]
    return lines + _events(scenario)


def brief(scenario: Scenario) -> list[str]:
    """Say it on a screen: a measured distance without its range, a job's steps in one text.

    Options are left out: how they are rigged says more.
    """
    target = "" if scenario.target is None else f"; target {_target(scenario.target)}"
    lines = [scenario.title, f"{_setting(scenario)}{target}", *_survey(scenario, _short)]
    lines += _in_one("kit", _kit(scenario), " ")
    for person, steps in scenario.job.items():
        lines += [f"job of {person}", f"  {'; '.join(_told(scenario, steps))}"]
    lines += _section(
        "faults", {k: _fault(v, len(scenario.job)) for k, v in scenario.faults.items()}
    )
    lines += _in_one("when", _reactions(scenario), ": ")
    lines += _in_one("limits", _limits(scenario), " ")
    lines += _in_one("below", {k: _short(v) for k, v in scenario.below.items()}, " ")
    lines += _in_one("beside", {k: _obstacle(v, _short) for k, v in scenario.beside.items()}, " ")
    return lines + _study(scenario)


def _limits(scenario: Scenario) -> dict[str, str]:
    """Say which limits of a rescue and a catch the scenario sets."""
    typed = {name: getattr(scenario.limits, name) for name in type(scenario.limits).model_fields}
    return {name: meant(found) for name, found in typed.items() if isinstance(found, Measured)}


def _kit(scenario: Scenario) -> dict[str, str]:
    """Say how many of each word of the kit there are, and where those lie that are not on top."""
    found = {}
    for word in scenario.kit:
        lying = scenario.lying(word)
        places = [f"{some.count} {some.words}" for some in lying]
        alike = all(some.at_hand and some.carried_by is None for some in lying)
        found[word] = str(scenario.kit[word]) if alike else ", ".join(places)
    return found


def _in_one(title: str, entries: dict[str, str], joint: str) -> list[str]:
    """Give a section of short entries as one line."""
    said = "; ".join(f"{name}{joint}{text}" for name, text in entries.items())
    return [f"{title}  {said}"] if said else []


def _survey(scenario: Scenario, say: Say) -> list[str]:
    anchors = {k: _anchor(k, v, scenario, say) for k, v in scenario.anchors.items()}
    return [
        *_section("anchors", anchors),
        *_section("edges", {k: _edge(v, say) for k, v in scenario.edges.items()}),
        *_section("ropes", {k: _rope(v, say) for k, v in scenario.ropes.items()}),
        *_section("people", {k: _person(k, scenario, say) for k in scenario.people}),
    ]


def _reactions(scenario: Scenario) -> dict[str, str]:
    return {k: f"{v.do}{f', called by {v.by}' if v.by else ''}" for k, v in scenario.when.items()}


def _events(scenario: Scenario) -> list[str]:
    return [
        *_section("faults", {k: _fault(v, len(scenario.job)) for k, v in scenario.faults.items()}),
        *_section("when", _reactions(scenario)),
        *_section("limits", _limits(scenario)),
        *_section("below", {k: meant(v) for k, v in scenario.below.items()}),
        *_section("beside", {k: _obstacle(v, meant) for k, v in scenario.beside.items()}),
        *_study(scenario),
        *_section("warnings", dict(w.split(": ", 1) for w in scenario.warnings)),
    ]


def _obstacle(found: Obstacle, say: Say) -> str:
    ends = [f"{key} {say(at)}" for key, at in (("from", found.from_), ("to", found.to)) if at]
    return ", ".join([f"{say(found.along)} along", *ends])


def _target(target: float) -> str:
    return f"{spell(100 * target, '%')} sheath left, 5th percentile"


def _short(found: Measured) -> str:
    """Spell a quantity; its range only where a word or a pace stands for it."""
    exact = found.basis in ("measured", "taped")
    return spell(found.value, found.unit) if exact else meant(found)


def _setting(scenario: Scenario) -> str:
    return {
        "industrial": "industrial, two lines for everybody",
        "alpine": "alpine, one line is allowed",
        "test": "test, one line is allowed and typed values are exact",
    }[scenario.setting]


def _section(title: str, entries: dict[str, str]) -> list[str]:
    if not entries:
        return []
    return [title, *(f"  {name}: {text}" for name, text in entries.items())]


def _point(thing: Anchor | Edge, say: Say) -> list[str]:
    axes = (("out", thing.out), ("along", thing.along), ("up", thing.up))
    return [f"{axis} {_word(found, say)}" for axis, found in axes if found is not None]


def _word(found: Measured, say: Say) -> str:
    """Spell a quantity; where a word was typed, the word too."""
    text = say(found)
    if found.basis in ("paced", "taped"):
        return f"{text}, {found.basis}"
    return text


def _anchor(name: str, anchor: Anchor, scenario: Scenario, say: Say) -> str:
    kind = [anchor.kind] + (["releasable"] if anchor.releasable else [])
    said = ", ".join([*kind, f"strength {say(anchor.strength)}", *_point(anchor, say)])
    edge = scenario.legs_over.get(name)
    return f"{said}; {_beside(anchor, edge, scenario.edges[edge])}" if edge else said


def _beside(anchor: Anchor, name: str, edge: Edge) -> str:
    """Say where legs put an anchor, seen from the first edge they lead over."""
    words = (("in front of", "back from"), ("right of", "left of"), ("above", "below"))
    found = []
    for (more, less), own, its in zip(words, _coordinates(anchor), _coordinates(edge), strict=True):
        away = round(own - its, 6)
        if away or more == "above":
            word = more if away > 0 else less
            found.append(f"{spell(abs(away), 'm')} {word}" if away else "level with")
    return f"its legs put it {' and '.join(found)} {name}"


def _coordinates(thing: Anchor | Edge) -> list[float]:
    return [axis.value if axis is not None else 0.0 for axis in (thing.out, thing.along, thing.up)]


def _edge(edge: Edge, say: Say) -> str:
    parts = [edge.is_] if edge.is_ else []
    parts += [edge.surface.name, f"radius {say(edge.radius)}", f"friction {say(edge.friction)}"]
    if edge.condition != "sound":
        parts.append(edge.condition)
    if edge.state != "dry":
        parts.append(edge.state)
    if edge.is_cutting:
        parts.append("cutting edge")
    if edge.from_ is not None and edge.to is not None:
        ends = (edge.from_.metres, edge.to.metres)
        parts.append(" to ".join(f"({x:g}, {y:g}, {z:g}) m" for x, y, z in ends))
    return ", ".join([*parts, *_point(edge, say)])


def _rope(rope: Rope, say: Say) -> str:
    stopper = "stopper" if rope.stopper else "no stopper"
    return ", ".join(
        [
            f"{rope.family} {spell(rope.diameter.value, 'm')}",
            f"{spell(rope.length.value, 'm')} long",
            stopper,
            *([] if say is _short else [f"stiffness {say(rope.stiffness)}"]),
            f"sheath {rope.sheath.name}",
            *([rope.condition] if rope.condition != "new" else []),
        ]
    )


def _person(name: str, scenario: Scenario, say: Say) -> str:
    person = scenario.people[name]
    over = crossed_first(scenario.job.get(name, ()), name)
    parts = [say(person.mass), person.technique.name, person.system.name]
    if person.start is not None:
        begins = f"starts {say(person.start)} below the edge"
        unused = f"start {say(person.start)} not used: the job begins by crossing {over}"
        parts.append(begins if over is None else unused)
    return ", ".join(parts)


def _option(option: Option, scenario: Scenario) -> list[str]:
    found = []
    for person, lines in option.lines.items():
        prefix = f"  {person}, " if len(option.lines) > 1 else "  "
        found.append(f"{prefix}working line: {_line(lines.working)}")
        if lines.safety is not None:
            found.append(f"{prefix}safety line: {_line(lines.safety)}")
        else:
            found.append(f"{prefix}no safety line ({scenario.setting})")
    return found


def _line(line: Line) -> str:
    parts = [f"{line.rope} from {line.anchor}" if line.anchor else line.rope]
    parts += [
        f"over {part.edge} after {meant(part.after)}, bend {meant(part.bend)}" for part in line.over
    ]
    if line.re_anchor:
        parts.append(f"re-anchored at {', '.join(line.re_anchor)}")
    if line.deviations:
        parts.append(f"deviated at {', '.join(d.anchor for d in line.deviations)}")
    if line.high_directional:
        parts.append(f"lifted by {line.high_directional}")
    parts += [f"{protection.is_} at {edge}" for edge, protection in line.protect.items()]
    parts += [f"{sling.is_} past {edge}" for edge, sling in line.bypass.items()]
    if line.shift:
        parts.append(f"shifted {meant(line.shift.by)} every {line.shift.every} strokes")
    return ", ".join(parts)


def _steps(scenario: Scenario, steps: tuple[Step, ...], indent: str) -> list[str]:
    found = []
    for index, step in enumerate(steps, 1):
        if isinstance(step, Repeat):
            found.append(f"{indent}{index}. repeat {step.times} times")
            found += _steps(scenario, step.steps, indent + "   ")
        else:
            found.append(f"{indent}{index}. {step.step}{_details(step)}")
            if isinstance(step, Work):
                found.append(f"{indent}   assumed: {_assumed(scenario, step)}")
    return found


def _told(scenario: Scenario, steps: tuple[Step, ...]) -> list[str]:
    """Say the steps of a job in a few words each, what is assumed of them with them."""
    found = []
    for index, step in enumerate(steps, 1):
        if isinstance(step, Repeat):
            inner = "; ".join(_told(scenario, step.steps))
            found.append(f"{index} {step.times} times ({inner})")
        elif isinstance(step, Work):
            assumed = _assumed(scenario, step)
            found.append(f"{index} {step.step}{_briefly(step)} (assumed: {assumed})")
        else:
            found.append(f"{index} {step.step}{_briefly(step)}")
    return found


def _assumed(scenario: Scenario, step: Work) -> str:
    """Say how somebody is taken to move at work where the step does not say it."""
    said = [one for one in ways(scenario, step).values() if one.said != "step"]
    still = [one for one in said if one.value.value == 0.0]
    moved = [one for one in said if one.value.value != 0.0]
    if not beats(scenario, step):  # nothing keeps that rate
        moved = [one for one in moved if one.field != "bounce_rate"]
    words = [f"no {one.field}" for one in still]
    words += [f"{spelled(one.field)} {meant(one.value)}" for one in moved]
    return ", ".join(words) or "nothing"


def _briefly(step: Step) -> str:
    """Spell what a step says beside its word, without the name of what everybody types first."""
    said = _details(step).removeprefix(": ")
    return f" {said.removeprefix(f'{step.short} ')}" if said else ""


def _details(step: Step | Fault) -> str:
    """Spell what a step or fault says beside its word."""
    parts = []
    for name, field in type(step).model_fields.items():
        value = getattr(step, name)
        word = name == "fault" or (name == "step" and isinstance(value, str))  # what it is
        if word or value == field.default:  # the number of the step that a fault comes with is told
            continue
        text = meant(value) if isinstance(value, Measured) else str(value)
        parts.append(f"{field.alias or name} {text}")
    return f": {', '.join(parts)}" if parts else ""


def _fault(fault: Fault, people: int) -> str:
    """Say what a fault is, and whose step it comes with where that is not typed."""
    anybody = fault.step is not None and people > 1 and getattr(fault, "person", None) is None
    whose = f" (with step {fault.step} of the first to begin it)" if anybody else ""
    return f"{fault.fault}{_details(fault)}{whose}"


def _study(scenario: Scenario) -> list[str]:
    study = scenario.study
    if study is None:
        return []
    entries = {address: f"{len(values)} values" for address, values in study.grid.items()}
    if study.sample:
        over = ", ".join(study.sample.over)
        entries["sample"] = f"{study.sample.method}, {study.sample.rows} rows over {over}"
    if study.table:
        entries["table"] = study.table
    return _section("study", entries)


def summary_document(scenario: Scenario) -> dict[str, Any]:
    """Give the same as a document."""
    return {
        "schema": "edgewear.check/1",
        "title": scenario.title,
        "setting": scenario.setting,
        "target": scenario.target,
        "options": list(scenario.options),
        "taken": taken(scenario),
        "parameters": parameters(scenario),
        "work": work_rows(scenario),
        "warnings": list(scenario.warnings),
    }


def resolved_document(scenario: Scenario) -> dict[str, Any]:
    """Give the whole resolved scenario in SI, with what was taken to mean what."""
    whole: dict[str, Any] = scenario.model_dump(mode="json", exclude={"source", "library_source"})
    return {**whole, "taken": taken(scenario), "parameters": parameters(scenario)}


def taken(scenario: Scenario) -> list[dict[str, Any]]:
    """List what every word and measurement was taken to mean."""
    return [
        {
            "address": address,
            "typed": found.typed,
            "meant": spell(found.value, found.unit),
            "value": found.value,
            "low": found.low,
            "high": found.high,
            "unit": found.unit,
            "basis": f"{found.basis}: {found.pedigree}" if found.pedigree else found.basis,
        }
        for address, found in all_quantities(scenario).items()
        if found.basis in TYPED and not address.startswith("wear/")
    ]


def parameters(scenario: Scenario) -> list[dict[str, Any]]:
    """List the values that a library gave, each with its range and where it comes from."""
    return [
        {
            "address": address,
            "value": found.value,
            "low": None if found.is_exact else found.low,
            "high": None if found.is_exact else found.high,
            "unit": found.unit,
            "pedigree": _pedigree(found),
            "source": found.pedigree,
        }
        for address, found in all_quantities(scenario).items()
        if found.basis not in TYPED or address.startswith("wear/")
    ]


def _pedigree(found: Measured) -> str:
    """Sort a source into one of a few kinds."""
    text = found.pedigree
    for word in ("assumed", "from memory", "fitted"):
        if text.startswith(word):
            return word
    return "source" if text else "fixed"
