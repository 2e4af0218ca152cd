"""Scenarios built by hand, without files or the library, for tests of what needs a site."""

from __future__ import annotations

from edgewear.findings.plain import plain
from edgewear.rigging.findings import facts as rigging_facts
from edgewear.scenario.models import gear, people, steps
from edgewear.scenario.models import scenario as models
from edgewear.scenario.text.quantities import Measured


def exact(value, unit="m"):
    return Measured.exact(float(value), unit)


def spread(value, low, high, unit="m", basis="class"):
    return Measured(
        value=value, low=low, high=high, unit=unit, typed=str(value), basis=basis,
        distribution="uniform",
    )  # fmt: skip


def anchor(out=None, up=None, along=None, strength=15e3, **more):
    point = {
        key: exact(value)
        for key, value in (("out", out), ("up", up), ("along", along))
        if value is not None
    }
    return models.Anchor.model_construct(
        **{"out": None, "up": None, "along": None, **point}, strength=exact(strength, "N"), **more
    )


def edge(out=None, up=None, radius=2e-3, friction=0.2, basis="measured", low=None, **more):
    point = {key: exact(value) for key, value in (("out", out), ("up", up)) if value is not None}
    size = spread(radius, low if low is not None else radius, radius, basis=basis)
    return gear.Edge.model_construct(
        **{"out": None, "up": None, **point},
        radius=size,
        friction=exact(friction, "1"),
        surface=gear.Surface.model_construct(name="steel"),
        **more,
    )


def rope(diameter=0.011, stiffness=30e3, length=60.0, **more):
    return gear.Rope.model_construct(
        family="low-stretch",
        type_="A",
        diameter=exact(diameter),
        stiffness=exact(stiffness, "N"),
        dynamic_ratio=exact(1.5, "1"),
        length=exact(length),
        **{"stopper": True, "mass": exact(0.075, "kg/m"), "strength": exact(30e3, "N"),
           "termination": exact(0.65, "1"), "friction_factor": exact(1.0, "1"),
           "sheath": gear.Sheath.model_construct(name="polyamide", toughness=exact(1.0, "1")),
           "stiffness_factor": exact(1.0, "1"), "strength_factor": exact(1.0, "1"), **more},
    )  # fmt: skip


LEVELS = {"roller": "rigid or rolling", "edge plate": "rigid or rolling"}


def protection(kind, friction=0.2, covers=0.6, fixed_to="structure"):
    return gear.Protection.model_construct(
        is_=kind,
        level=LEVELS.get(kind, "soft"),
        friction=exact(friction, "1"),
        covers=exact(covers),
        fixed_to=fixed_to,
    )


def sling(strength=22e3, clamps=4e3, length=0.6):
    return gear.Sling.model_construct(
        is_="bypass sling", strength=exact(strength, "N"), clamps=exact(clamps, "N"),
        length=exact(length), severity=exact(1, "1"),
    )  # fmt: skip


def backup(slips=4e3, arrest=0.5):
    return gear.Backup.model_construct(is_="backup", slips=exact(slips, "N"), arrest=exact(arrest))


def deviation(name, length=0.3, strength=22e3):
    return models.Deviation.model_construct(
        anchor=name, sling=exact(length), strength=exact(strength, "N")
    )


def line(anchor, role="working line", rope="new", protect=None, bypass=None, **more):
    return models.Line.model_construct(
        role=role,
        anchor=anchor,
        rope=rope,
        protect={e: protection(k) if isinstance(k, str) else k for e, k in (protect or {}).items()},
        bypass=bypass or {},
        **more,
    )


def passes(*given):
    return tuple(
        models.Pass.model_construct(edge=name, after=exact(after), bend=exact(bend, "rad"))
        for name, after, bend in given
    )


def person(mass=100.0, **more):
    return people.Person.model_construct(
        mass=exact(mass, "kg"),
        body_stiffness=exact(10e3, "N/m"),
        force_ratio=exact(1.5, "1"),
        **{"start": None, "out": None, "along": None, **more},
    )


def option(working, safety=None, who="lead", **more):
    fields = {
        "lines": {who: models.PersonLines.model_construct(working=working, safety=safety)},
        "people": {who: person()},
        **more,
    }
    return models.Option.model_construct(**fields)


def scenario(options, job=None, anchors=None, edges=None, ropes=None, who="lead", **more):
    fields = {
        "title": "site",
        "setting": "industrial",
        "anchors": anchors or {},
        "edges": edges or {},
        "ropes": ropes or {"new": rope()},
        "people": {who: person()},
        "options": options,
        "job": job if job is not None else {who: (descend(10.0),)},
        "work": people.WorkDefaults.model_construct(
            sway=exact(0.0),
            bounce=exact(0.0),
            bounce_rate=exact(0.5, "1/s"),
            sway_rate=exact(0.2, "1/s"),
            tool=exact(0.0, "N"),
            duty=exact(1.0, "1"),
        ),
        "limits": models.Limits(),
        **more,
    }
    return models.Scenario.model_construct(**fields)


def descend(height):
    return steps.Descend(height=exact(height))


def ascend(height):
    return steps.Ascend(height=exact(height))


def cross(name, **more):
    return steps.CrossEdge(edge=name, **more)


def work(seconds=600.0, sway=None):
    return steps.Work(for_=exact(seconds, "s"), sway=None if sway is None else exact(sway))


def rest(seconds):
    return steps.Rest(for_=exact(seconds, "s"))


def place(name, kind=None):
    return steps.PlaceProtection(edge=name, with_=kind)


def remove(name):
    return steps.RemoveProtection(edge=name)


def take_over(who):
    return steps.TakeOver(person=who)


def repeat(times, *inner):
    return steps.Repeat(times=times, steps=inner)


def lower_unloaded(height):
    return steps.LowerUnloaded(height=exact(height))


def lower(height, who=None):
    return steps.Lower(height=exact(height), person=who)


def haul(height, who=None):
    return steps.Haul(height=exact(height), person=who)


PIER = {
    "parapet posts": anchor(-3.0, 1.0, along=1.5, kind="pair"),
    "far bollards": anchor(-22.0, 0.3, kind="pair"),
    "pier bolts": anchor(0.7, -4.0, kind="pair"),
}
PIER_EDGES = {
    "kerb": edge(-0.4, 0.2, radius=5e-3),
    "flange": edge(0.3, -1.0, radius=2e-3),
    "ledge": edge(0.6, -3.5, radius=14e-3),
}
PIER_JOB = {"lead": (cross("flange"), descend(18.0), ascend(18.0))}


def pier(working, safety="default", **more):
    """A bearing inspection: kerb, flange and ledge below two sets of anchors."""
    if safety == "default":
        pads = dict.fromkeys(("kerb", "flange", "ledge"), "pad")
        safety = line("parapet posts", role="safety line", protect=pads)
    options = more.pop("options", {"only": option(working, safety)})
    return scenario(
        options,
        **{"anchors": PIER, "edges": PIER_EDGES, "job": PIER_JOB, **more},
    )


def facts(scenario, option="only"):
    """What rigging says of an option, as a document has it."""
    return plain(rigging_facts.facts(scenario, option))
