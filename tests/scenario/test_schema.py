"""The schema and the pages in the documentation are those of the models."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from edgewear.scenario.models.faults import FAULT, FAULTS
from edgewear.scenario.models.observations import OBSERVATION, OBSERVATIONS
from edgewear.scenario.models.steps import STEP, STEPS
from edgewear.scenario.reference.field_texts import field_texts
from edgewear.scenario.reference.pages import PAGES
from edgewear.scenario.reference.schema import scenario_schema
from edgewear.scenario.text.choices import word_field
from support.scenario_files import EXAMPLES, HERE, ROOT, SHIPPED

SCHEMA = scenario_schema()
VALID = jsonschema.Draft202012Validator(SCHEMA)

STEPS_TYPED = """
- ascend: 5 m
- ascend: {height: 5 m, technique: jerky, system: pre-threaded}
- {ascend: 5 m, technique: jerky}
- descend: 18 m
- descend: {height: 18 m, speed: 0.3 m/s, stop every: 4 m}
- work: 20 min
- work: {for: 25 min, sway: 5 cm, sway rate: 6 per min, bounce: 2 cm, bounce rate: 1 Hz, tool: 80 N}
- swing: 2 m
- swing: {by: 2 m, times: 3}
- cross edge: kerb
- cross edge: {edge: kerb, protection: lifted, for: 40 s}
- pass re-anchor: bolts
- pass re-anchor: {anchor: bolts, for: 2 min}
- pass deviation: frame
- pass deviation: {anchor: frame, for: 2 min}
- place protection: kerb
- place protection: {edge: kerb, with: pad, for: 40 s}
- remove protection: kerb
- remove protection: {edge: kerb, for: 40 s}
- check protection: kerb
- check protection: {edge: kerb, for: 40 s}
- fix bypass sling: kerb
- fix bypass sling: {edge: kerb, for: 3 min}
- remove bypass sling: kerb
- remove bypass sling: {edge: kerb, for: 3 min}
- haul: 10 m
- haul: {height: 10 m, speed: 0.2 m/s, person: casualty, advantage: 3}
- lower: 10 m
- lower: {height: 10 m, speed: 0.2 m/s, person: casualty}
- lower unloaded: 5 m
- lower unloaded: {height: 5 m}
- shift rope: 0.4 m
- shift rope: {by: 0.4 m}
- rest: 5 min
- rest: {for: 5 min}
- inspect
- inspect: edge attendant
- inspect: {by: edge attendant, from: kerb, protection: lifted, for: 30 s}
- swap rope
- swap rope: store 11
- swap rope: {rope: store 11, for: 10 min}
- event: hanging
- event: {name: hanging}
- wait for: hanging
- wait for: {name: hanging}
- take over: casualty
- take over: {person: casualty, for: 4 min}
- reciprocate: {load: 120 kg, travel: 0.5 m, speed: 0.2 m/s, cycles: 40}
- repeat: {times: 2, steps: [{ascend: 5 m}, inspect]}
"""

FAULTS_TYPED = """
- {protection displaced: kerb, after: hanging, delay: 2 min}
- protection displaced: {edge: kerb, at: 10 min}
- {protection worn through: kerb, step: 2}
- {protection not refitted: kerb}
- {sleeve on the wrong side: kerb}
- {rope off the roller: kerb, rate: 1 per h, source: somebody}
- {weather: gritty, at: 5 min}
- {jerky person: lead}
- {jerky person: lead, technique: jerky, step: 3}
- {heavier person: lead, by: 15 kg}
- {second person: lead, mass: 90 kg}
- {wrong rope: old 10.5, person: lead}
- {unknown edge: sheared plate, below: kerb}
- unknown edge
- inspection skipped
- {inspection skipped: lead}
- attendant away
- {attendant away: 10 min, at: 5 min}
- {late reaction: 30 s}
- {anchor fails: posts, step: 3}
- {deviation fails: frame}
- {fast descent: lead, speed: 2 m/s}
- {stopper missing: lead}
- {rope left in the wind: lead, for: 2 h}
- {casualty unresponsive: lead}
- {device jammed: lead, for: 10 min}
- {device dropped: lead}
- {communication lost: 20 min}
"""


OBSERVED = """
- mark travel: {edge: kerb, strokes: [12 cm, 15 cm, 11 cm]}
- bounce: {count: 10, in: 9 s, depth: 12 m, person: lead, option: padded}
- inspection: {edge: kerb, seen: fuzz, after: 12 m}
- {inspection: {edge: kerb, seen: core visible, at: 20 min}, option: padded}
"""


def checker(name: str) -> jsonschema.Draft202012Validator:
    """Validate under one definition of the schema."""
    return jsonschema.Draft202012Validator(
        {"$ref": f"#/$defs/{name}", "$defs": SCHEMA["$defs"], "$schema": SCHEMA["$schema"]}
    )


@pytest.mark.parametrize("name", PAGES)
def test_page_is_the_one_made_now(name: str) -> None:
    kept = (ROOT / "docs" / "reference" / name).read_text()
    assert kept == PAGES[name](), "run python -m edgewear.scenario.reference.pages docs/reference"


def test_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("file", [*SHIPPED, *EXAMPLES], ids=lambda file: file.stem)
def test_file_is_valid_under_the_schema(file: Path) -> None:
    # what an editor's YAML 1.1 or 1.2 reader hands to the schema, truth values and numbers included
    found = list(VALID.iter_errors(yaml.safe_load(file.read_text())))
    assert found == []


@pytest.mark.parametrize("typed", yaml.safe_load(STEPS_TYPED), ids=json.dumps)
def test_every_spelling_of_a_step_is_read_and_valid(typed: Any) -> None:
    text = yaml.load(yaml.safe_dump(typed), Loader=yaml.BaseLoader)
    step = STEP.validate_python(text, by_alias=True, by_name=False)
    assert step.step == (typed if isinstance(typed, str) else next(iter(typed)))
    assert list(checker("Step").iter_errors(typed)) == []


@pytest.mark.parametrize("typed", yaml.safe_load(FAULTS_TYPED), ids=json.dumps)
def test_every_spelling_of_a_fault_is_read_and_valid(typed: Any) -> None:
    text = yaml.load(yaml.safe_dump(typed), Loader=yaml.BaseLoader)
    fault = FAULT.validate_python(text, by_alias=True, by_name=False)
    assert fault.fault == (typed if isinstance(typed, str) else next(iter(typed)))
    assert list(checker("Fault").iter_errors(typed)) == []


@pytest.mark.parametrize("typed", yaml.safe_load(OBSERVED), ids=json.dumps)
def test_every_spelling_of_an_observation_is_read_and_valid(typed: Any) -> None:
    text = yaml.load(yaml.safe_dump(typed), Loader=yaml.BaseLoader)
    seen = OBSERVATION.validate_python(text, by_alias=True, by_name=False)
    assert seen.observation == next(iter(typed))
    assert list(checker("Observation").iter_errors(typed)) == []


def test_every_step_and_fault_is_spelled_above() -> None:
    for typed, models, field in (
        (yaml.safe_load(STEPS_TYPED), STEPS, "step"),
        (yaml.safe_load(FAULTS_TYPED), FAULTS, "fault"),
        (yaml.safe_load(OBSERVED), OBSERVATIONS, "observation"),
    ):
        words = {one if isinstance(one, str) else next(iter(one)) for one in typed}
        assert words == {model.model_fields[field].default for model in models}


BROKEN = [
    ("job", [{"ascend": 5}]),
    ("job", [{"acsend": "5 m"}]),
    ("job", [{"work": {"sway": "5 cm"}}]),
    ("target", 70),
    ("edges", {"kerb": {"out": "1,5 m"}}),
    ("edges", {"kerb": {"radius": "2 N"}}),
    ("ropes", {"rope": {"like": "low-stretch 11"}}),
    ("anchors", {"posts": {"kind": "triple"}}),
    ("bogus", 1),
]


@pytest.mark.parametrize(("key", "value"), BROKEN)
def test_schema_refuses(key: str, value: Any) -> None:
    whole = yaml.safe_load((HERE / "examples" / "machine.txt").read_text())
    assert list(VALID.iter_errors(whole)) == []
    assert list(VALID.iter_errors({**whole, key: value})) != []


def test_every_key_has_a_text() -> None:
    for model in (*STEPS, *FAULTS, *OBSERVATIONS):
        texts = field_texts(model)
        hidden = {word_field(model)}
        missing = [name for name in model.model_fields if name not in texts and name not in hidden]
        assert missing == [], model.__name__
