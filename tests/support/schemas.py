"""JSON Schemas of the documents that scripts are written against."""

from __future__ import annotations

from typing import Any

Schema = dict[str, Any]

STATUS = [
    "meets target",
    "misses target",
    "not acceptable: protect the edge",
    "cutting edge",
    "line lost",
    "a part above its limit",
    "no room for a catch",
    "not independent",
    "one line",
    "extrapolated",
    "window full",
    "failed",
]
CONTROL = [
    "edge avoided",
    "re-anchored or deviated",
    "rigid or rolling",
    "soft",
    "bypass",
    "bare",
]
ROLE = ["working line", "safety line"]

TEXT: Schema = {"type": "string", "minLength": 1}
NUMBER: Schema = {"type": "number"}
COUNT: Schema = {"type": "integer", "minimum": 0}
SHARE: Schema = {"type": "number", "minimum": 0, "maximum": 1}
POSITIVE: Schema = {"type": "number", "minimum": 0}


def fields(**properties: Schema) -> Schema:
    """An object that has at least these keys."""
    return {"type": "object", "required": list(properties), "properties": properties}


def several(item: Schema, least: int = 0) -> Schema:
    return {"type": "array", "items": item, "minItems": least}


def maybe(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}


def one_of(*values: str) -> Schema:
    return {"enum": list(values)}


HAPPENED = maybe(fields(time_s=POSITIVE, step=COUNT | {"minimum": 1}, ascended_m=POSITIVE))
CAUTIONS = several(TEXT, least=1)
STATUSES = several(one_of(*STATUS))

RUN_EDGE = fields(
    name=TEXT,
    wrap_deg=POSITIVE,
    protection=maybe(TEXT),
    slips=COUNT,
    slip_m=POSITIVE,
    energy_j=POSITIVE,
    sawing_amplitude_m=POSITIVE,
    mark_travel_m=maybe(fields(p5=maybe(POSITIVE), p50=maybe(POSITIVE), p95=maybe(POSITIVE))),
    peak_tension_n=POSITIVE,
    flash_temperature_c=maybe(NUMBER),
    demand_max=POSITIVE,
    sideways_m=POSITIVE,
    sideways_demand=POSITIVE,
    rope={"type": "integer", "minimum": 1},
)
RUN_LINE = fields(
    name=TEXT,
    role=one_of(*ROLE),
    edges=several(RUN_EDGE),
    peak_tension_n=POSITIVE,
    anchor_peak_n=POSITIVE,
    stretch_m=POSITIVE,
    natural_frequency_hz=fields(sliding=maybe(POSITIVE), stuck=maybe(POSITIVE)),
    sheath_margin=maybe({"type": "number", "maximum": 1}),
    sheath_demand_max=POSITIVE,
    core_visible=HAPPENED,
    core_loss=SHARE,
    residual_strength_n=POSITIVE,
    parted=HAPPENED,
    ropes=several(
        fields(
            rope={"type": "integer", "minimum": 1},
            sheath_margin={"type": "number", "maximum": 1},
            sheath_demand_max=POSITIVE,
            core_loss=SHARE,
            residual_strength_n=POSITIVE,
        ),
        least=1,
    ),
)
RUN = fields(
    schema={"const": "edgewear.run/1"},
    option=TEXT,
    status=STATUSES,
    lines=several(RUN_LINE, least=1),
    slings=several(fields(name=TEXT, wear=POSITIVE, retire={"type": "boolean"})),
    bare_edge=several({"type": "object"}),
    extrapolated=several(TEXT),
    energy_residual=POSITIVE,
    events=several(fields(time_s=POSITIVE, who=TEXT, what=TEXT), least=1),
    cautions=CAUTIONS,
)

OPTION = fields(
    name=TEXT,
    order=COUNT | {"minimum": 1},
    rank=maybe(COUNT | {"minimum": 1}),
    status=several(one_of(*STATUS), least=1),
    control=one_of(*CONTROL),
    margin=maybe(fields(p5=NUMBER, p50=NUMBER, p95=NUMBER)),
    p_core_visible=maybe(SHARE),
    p_best=maybe(SHARE),
    core_visible_at=maybe(
        fields(
            time_s=fields(p5=maybe(POSITIVE), p50=maybe(POSITIVE)),
            ascended_m=fields(p5=maybe(POSITIVE), p50=maybe(POSITIVE)),
        )
    ),
    residual_strength_n=maybe(fields(p5=POSITIVE, p50=POSITIVE, p95=POSITIVE)),
    why=TEXT,
)
COMPARE = fields(
    schema={"const": "edgewear.compare/1"},
    seed={"type": "integer"},
    replicates=COUNT,
    target=SHARE,
    headline=TEXT,
    options=several(OPTION, least=1),
    dataset=TEXT,
    report=maybe(TEXT),
    cautions=CAUTIONS,
)

FAULTS = fields(
    schema={"const": "edgewear.faults/1"},
    single_failures=several(
        fields(
            component=TEXT,
            step={"type": ["integer", "string"]},
            holds={"type": "boolean"},
            over_edge=maybe(TEXT),
            drop_m=maybe(POSITIVE),
            swing_m=maybe(POSITIVE),
            peak_n=maybe(POSITIVE),
        ),
        least=1,
    ),
    faults=several(
        fields(
            names=several(TEXT, least=1),
            margin_lost=maybe(NUMBER),
            p_core_visible=maybe(SHARE),
            fault_to_core_visible_s=maybe(fields(p5=maybe(POSITIVE))),
            seen_by=maybe(TEXT),
            time_to_act_s=maybe(fields(p5=maybe(NUMBER))),
        ),
        least=1,
    ),
    weakest_steps=several({"type": "object"}, least=1),
    cautions=CAUTIONS,
)
