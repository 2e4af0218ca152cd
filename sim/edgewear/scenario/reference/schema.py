"""The JSON Schema of what people type, for editors; built from the models."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel, TypeAdapter
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from edgewear.scenario.checks.study_rules import GROUPS
from edgewear.scenario.models.faults import FAULTS
from edgewear.scenario.models.gear import (
    Backup,
    Edge,
    Obstacle,
    Protection,
    Rope,
    Sheath,
    Sling,
    Surface,
)
from edgewear.scenario.models.kit import Lying
from edgewear.scenario.models.observations import OBSERVATIONS
from edgewear.scenario.models.people import (
    Detection,
    Person,
    System,
    Technique,
    Times,
    WorkDefaults,
)
from edgewear.scenario.models.places import LINE_KEYS, NOTES
from edgewear.scenario.models.scenario import (
    Anchor,
    Deviation,
    Limits,
    Line,
    Option,
    Reaction,
    Shift,
)
from edgewear.scenario.models.steps import STEPS
from edgewear.scenario.models.study import Sample, Study
from edgewear.scenario.models.wear import WearParameters
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.reference.field_texts import field_texts
from edgewear.scenario.text.choices import word_field
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import json_schema

Schema = dict[str, Any]

_REFERENCE = re.compile(r"#/\$defs/quantity\.([a-z_.]+)")

_TEXT: Schema = {"type": "string", "minLength": 1}
_TIED: Schema = {
    "enum": ["yes", "no", "true", "false", True, False],
    "description": "no: only this spot stands where it is typed; legs are not laid out from it.",
}

_LEGS: Schema = {
    "type": "array",
    "items": _TEXT,
    "minItems": 1,
    "description": "Leg by leg to the load: 4 m back, 1.1 m up, over the parapet.",
}
_LIBRARY_BACKED: tuple[tuple[type[BaseModel], str, str], ...] = (
    (Surface, "surfaces", "like"),
    (Sheath, "sheaths", "like"),
    (Technique, "techniques", "like"),
    (System, "systems", "like"),
    (Protection, "protection", "is"),
    (Sling, "slings", "is"),
    (Backup, "backups", "is"),
)
"""Models that a word may stand for: the library's section, and the key of the word in a mapping."""


LENGTH_FROM = ("length", "record")
"""What says how long a rope is."""


class _Generator(GenerateJsonSchema):
    """Leaves out what helps no editor: titles, and defaults that are models."""

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """Describe the value, not its default."""
        return self.generate_inner(schema["schema"])

    def field_title_should_be_set(self, schema: object) -> bool:
        """Set no titles."""
        return False


def _properties(model: type[BaseModel], hide: Sequence[str] = ()) -> tuple[Schema, list[str]]:
    """Give a model's typed keys with their schemas, and the keys that must be there."""
    whole = TypeAdapter(model).json_schema(
        schema_generator=_Generator, ref_template="#/$defs/{model}"
    )
    if "$ref" in whole:
        whole = whole["$defs"][model.__name__]
    texts = field_texts(model)
    names = {field.alias or name: name for name, field in model.model_fields.items()}
    hidden = {word_field(model), *hide}
    found = {}
    for key, schema in whole["properties"].items():
        if key not in hidden:
            text = texts.get(names[key], "")
            found[key] = {**_without_null(schema), **({"description": text} if text else {})}
    return found, [key for key in whole.get("required", []) if key not in hidden]


def _without_null(schema: Schema) -> Schema:
    """Drop the null of an optional field: nothing is typed instead."""
    schema = {key: value for key, value in schema.items() if key not in ("title", "default")}
    if "anyOf" in schema:
        kept = [_without_null(one) for one in schema["anyOf"] if one.get("type") != "null"]
        flat = [
            inner for one in kept for inner in (one["anyOf"] if set(one) == {"anyOf"} else [one])
        ]
        return flat[0] if len(flat) == 1 else {**schema, "anyOf": flat}
    if "x-quantity" in schema:
        return _ref(f"quantity.{schema['x-quantity']}")
    return schema


def _object(properties: Schema, required: Sequence[str] = (), **more: object) -> Schema:
    found: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
    if required:
        found["required"] = list(required)
    return {**found, **more}


def _word(section: str) -> Schema:
    """Offer a section's words; a user's own library may have others."""
    return {"anyOf": [{"enum": list(built_in()[section])}, _TEXT]}


def _named(schema: Schema) -> Schema:
    return {
        "type": "object",
        "additionalProperties": schema,
        "propertyNames": {"pattern": "^[^/*]{1,200}$"},
    }


def _list(schema: Schema) -> Schema:
    return {"type": "array", "items": schema, "minItems": 1}


def _ref(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _tagged(models: Sequence[type[BaseModel]], field: str) -> Schema:
    """Describe steps or faults in all their spellings."""
    words = [m.model_fields[field].default for m in models if not _properties(m)[1]]
    plain = [{"enum": words}] if words else []
    return {"anyOf": [*plain, *(_spellings(model, field) for model in models)]}


def _spellings(model: type[BaseModel], field: str) -> Schema:
    """Describe `{descend: 18 m}`, `{descend: {height: 18 m}}` and keys beside the word."""
    word = model.model_fields[field].default
    properties, required = _properties(model)
    if "steps" in properties:
        properties["steps"] = _list(_ref("Step"))
    inner: list[Schema] = [_object(properties, required)]
    short = str(getattr(model, "short", ""))
    if short:
        inner.append({k: v for k, v in properties[short].items() if k != "description"})
    beside = {key: schema for key, schema in properties.items() if key != word}
    text = (model.__doc__ or "").splitlines()[0]
    return _object({**beside, word: {"anyOf": inner}}, [word], description=text)


def _definitions() -> Schema:
    """Describe everything that is referred to."""
    number = {"type": ["string", "number"]}
    shapes = {"enum": ["fixed", "normal", "lognormal", "uniform", "triangular"]}
    found: Schema = {
        "Range": _object(
            {
                "value": number,
                "low": number,
                "high": number,
                "distribution": shapes,
                "pedigree": _TEXT,
            },
            ["value"],
            description="A value with the central 90 % of what it may be.",
        ),
        "SurveyPoint": _object(*_properties(_model("SurveyPoint"))),
        "Pass": _object(*_properties(_model("Pass"))),
        "Worn": _object(*_properties(_model("Worn"))),
        "Shifts": _object(*_properties(_model("Shifts"))),
        "Step": _tagged(STEPS, "step"),
        "Fault": _tagged(FAULTS, "fault"),
        "Observation": _tagged(OBSERVATIONS, "observation"),
    }
    for model, section, key in _LIBRARY_BACKED:
        properties = {key: _word(section), **_properties(model, hide=("is", "name"))[0]}
        found[model.__name__] = {"anyOf": [_word(section), _object(properties)]}
    found["Deviation"] = {"anyOf": [_TEXT, _object(_properties(Deviation)[0], ["anchor"])]}
    found["Shift"] = {
        "anyOf": [
            {"type": "string", "pattern": "^.+ every [0-9]+ (?:strokes?|cycles)$"},
            _object(*_properties(Shift)),
        ]
    }
    found["Line"] = _object(_line_keys())
    person = {**_line_keys(), "safety line": {"anyOf": [_ref("Line"), {"const": "none"}]}}
    found["PersonLines"] = _object(person)
    found["Option"] = _object({**person, **_option_keys()})
    return found


def _model(name: str) -> type[BaseModel]:
    from edgewear.scenario.models import gear, people
    from edgewear.scenario.models import scenario as models

    for module in (gear, models, people):
        if hasattr(module, name):
            found: type[BaseModel] = getattr(module, name)
            return found
    raise KeyError(name)


def _line_keys() -> Schema:
    """Describe what may be said of a line."""
    own, _ = _properties(Line)
    texts = {key: own[key].get("description", "") for key in LINE_KEYS}
    schemas = {
        "anchor": _TEXT,
        "rope": _TEXT,
        "over": _list(_ref("Pass")),
        "protect": _named({"anyOf": [{"const": "none"}, _ref("Protection")]}),
        "re-anchor": _list(_TEXT),
        "deviations": _list(_ref("Deviation")),
        "high directional": _TEXT,
        "bypass": _named({"anyOf": [{"const": "none"}, _ref("Sling")]}),
        "shift": _ref("Shift"),
        "backup": _ref("Backup"),
        "attendant": _TEXT,
        "turned": own["turned"],
        "tail": own["tail"],
        "knots": own["knots"],
        "slack": own["slack"],
    }
    return {key: {**schemas[key], "description": texts[key]} for key in LINE_KEYS}


def _option_keys() -> Schema:
    """Describe what may be said of an option beside its lines."""
    own, _ = _properties(Option, hide=("lines", "people"))
    return {
        "lines": _named(_ref("PersonLines")),
        "technique": _ref("Technique"),
        "system": _ref("System"),
        **own,
    }


def _study() -> Schema:
    """Describe a study."""
    own, _ = _properties(Study)
    value = {"type": ["string", "number"]}
    span = _object({"from": value, "to": value, "steps": {"type": "integer", "minimum": 2}})
    span["required"] = ["from", "to", "steps"]
    sample, required = _properties(Sample)
    sample["over"] = _list({"anyOf": [{"enum": list(GROUPS)}, _TEXT]})
    return _object(
        {
            **own,
            "grid": {
                "type": "object",
                "additionalProperties": {"anyOf": [value, _list(value), span]},
                "description": "Address -> values; every combination is run.",
            },
            "sample": _object(sample, required),
            "skip": _list({"type": "object", "additionalProperties": value}),
        }
    )


def _kit() -> Schema:
    """How many there are; or where they lie, perhaps in several places."""
    count = {
        "anyOf": [{"type": "integer", "minimum": 1}, {"type": "string", "pattern": "^[0-9]+$"}]
    }
    lying = _object(_properties(Lying)[0])
    return {"anyOf": [count, lying, _list(lying)]}


def scenario_schema() -> Schema:
    """Build the schema of a whole scenario file."""
    anchor = {"is": _word("anchors"), "legs": _LEGS, "tied": _TIED}
    rope, _ = _properties(Rope)
    rope |= {
        "like": _word("ropes"),
        "sheath": _ref("Sheath"),
        "condition": _word("rope conditions"),
        "record": {
            "anyOf": [_TEXT, _object({"file": _TEXT, "rope": _TEXT}, ["file"])],
            "description": rope["record"].get("description", ""),
        },
    }
    edge, _ = _properties(Edge)
    edge |= {"is": _word("edge classes"), "surface": _ref("Surface"), "tied": _TIED}
    reaction, _ = _properties(Reaction)
    amount = {"anyOf": [{"type": "string"}, {"type": "number"}, _ref("Range")]}
    properties: Schema = {
        "edgewear": {"enum": [1, "1"], "description": "Format of this file."},
        "title": _TEXT,
        "setting": {"enum": ["industrial", "alpine", "test"]},
        "target": {"type": "string", "pattern": r"^[0-9]+(?:\.[0-9]+)?\s*%$"},
        "library": {**_TEXT, "description": "Path of a library of one's own, beside this file."},
        "anchors": _named(_object({**_properties(Anchor)[0], **anchor})),
        "edges": _named(_object(edge)),
        "ropes": _named({**_object(rope), "anyOf": [{"required": [k]} for k in LENGTH_FROM]}),
        "people": _named(_object(_properties(Person)[0])),
        "kit": _named(_kit()),
        "all options": _ref("Option"),
        "lines": _named(_ref("PersonLines")),
        "options": {**_named(_ref("Option")), "minProperties": 1},
        "job": {"anyOf": [_list(_ref("Step")), _named(_list(_ref("Step")))]},
        "faults": _named(_ref("Fault")),
        "when": _named({"anyOf": [reaction["do"], _object(reaction, ["do"])]}),
        "study": _study(),
        "observed": _list(_ref("Observation")),
        "limits": _object(_properties(Limits)[0]),
        "below": _named(_length()),
        "beside": _named(_object(*_properties(Obstacle))),
        "wear": _object(_properties(WearParameters)[0]),
        "times": _object(_properties(Times)[0]),
        "work": _object(_properties(WorkDefaults)[0]),
        "techniques": _named(_object(_technique())),
        "weather": _named(amount),
        "detection": _object(_properties(Detection)[0]),
        "notes": _object(dict.fromkeys(NOTES, _TEXT)),
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "edgewear scenario",
        **_object(properties, ["edgewear", "title", "setting", "options", "job"]),
        "$defs": _with_quantities(properties),
    }


def _with_quantities(properties: Schema) -> Schema:
    """Describe everything that is referred to, each kind of quantity once."""
    found = _definitions()
    for name in sorted(set(_REFERENCE.findall(json.dumps([properties, found])))):
        dimension, accuracy, directions = name.split(".")
        quantity = Quantity(dimension.replace("_", " "), accuracy, directions=directions)
        found[f"quantity.{name}"] = json_schema(quantity)
    return dict(sorted(found.items()))


def _technique() -> Schema:
    """Describe what may be changed of a technique of the library; its word stays."""
    found = _properties(Technique)[0]
    return {key: value for key, value in found.items() if key != "name"}


def _length() -> Schema:
    """Describe a height of what lies below."""
    from edgewear.scenario.models.base import Up

    return _without_null(TypeAdapter(Up).json_schema())
