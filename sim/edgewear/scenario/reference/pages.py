"""The reference pages of scenario files and of the library, made from the models and entries.

    python -m edgewear.scenario.reference.pages docs/reference

writes the schema and both pages anew.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from edgewear.scenario.checks.names import SEEN
from edgewear.scenario.checks.study_rules import GROUPS
from edgewear.scenario.models.faults import FAULTS, Triggered
from edgewear.scenario.models.gear import (
    Backup,
    Edge,
    Obstacle,
    Protection,
    Rope,
    Sheath,
    Sling,
    Surface,
    SurveyPoint,
    Worn,
)
from edgewear.scenario.models.kit import Lying
from edgewear.scenario.models.observations import OBSERVATIONS, OnSite
from edgewear.scenario.models.people import (
    Detection,
    Person,
    Shifts,
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
    Pass,
    Reaction,
    Shift,
)
from edgewear.scenario.models.steps import STEPS
from edgewear.scenario.models.study import Sample, Study
from edgewear.scenario.models.wear import WearParameters
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.read.validate import quantity_of
from edgewear.scenario.reference.field_texts import field_texts
from edgewear.scenario.reference.limits import LIMITS_TEXT, UNIT_HEAD, limit_rows, unit_rows
from edgewear.scenario.reference.schema import scenario_schema
from edgewear.scenario.text.choices import word_field

_MADE = (
    "<!-- made by `python -m edgewear.scenario.reference.pages docs/reference`; edit the models -->"
)

_INTRO = """# Scenario files

A scenario is a UTF-8 YAML file that says what is there, how it may be rigged and what is done.
Every key is listed here; an unknown key is an error, and all errors of a file are shown at once,
each with its line, its column and its address. An address, such as `edges/coping/radius`, names
one input everywhere: in errors, in a study, in the columns of a dataset. Indices start at 1.

An editor that knows the YAML language server checks a file while it is typed when its first line
is `# yaml-language-server: $schema=../docs/reference/scenario.schema.json`.

YAML's own shortcuts are refused, because a reader of a printed scenario cannot follow them:
anchors and aliases, `<<`, tags, keys given twice, several documents in a file. A name may hold
blanks; a comma in a name needs quotes inside `{}`.

## How quantities are typed

A number with its unit: `2 mm`, `-0.4 m`, `25 min`. A bare number where a unit is due is an error,
and so are `1,5 m` and `1 500 N`. What is not exactly known can be typed as it is:
"""

_SPELLINGS = (
    ("`2 mm`", "a measurement with the accuracy of its kind; exact in `setting: test`"),
    ("`30 m +- 0.5 m`, `30 m +- 2 %`", "a value with half its 90 % interval"),
    ("`3 mm to 8 mm`, `3 to 8 mm`", "anything between, the middle as its value"),
    ("`paced 22 m`, `taped 22 m`", "a distance of the survey, with its accuracy"),
    ("`22 m back`, `4 m down`, `1 m left`", "the negative of `out`, `up`, `along`"),
    ("`{value: 2 mm, low: 1 mm, high: 3 mm}`", "value and 90 % interval; also `distribution`, "
     "`pedigree`"),
)  # fmt: skip

_WORD_BACKED = (
    Anchor, Edge, Rope, Person, Surface, Sheath, Technique, System, Protection, Sling, Backup,
    Deviation, WearParameters, Times, WorkDefaults, Detection, Line, Option,
)  # fmt: skip
"""Models whose keys a word of the library fills in."""


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Set a Markdown table."""
    lines = ["| " + " | ".join(head) + " |", "| " + " | ".join("---" for _ in head) + " |"]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines)


def _keys(model: type[BaseModel], hide: Sequence[str] = (), only: Sequence[str] = ()) -> str:
    """Set a table of a model's keys."""
    texts, rows = field_texts(model), []
    for name, field in model.model_fields.items():
        key = field.alias or name
        if key in (*hide, word_field(model)) or (only and key not in only):
            continue
        due = "required" if field.is_required() and model not in _WORD_BACKED else ""
        rows.append((f"`{key}`", texts.get(name, ""), _kind(field), due))
    return _table(("key", "meaning", "typed as", ""), rows) if rows else "No keys."


def _kind(field: FieldInfo) -> str:
    """Say what is typed for a field."""
    quantity = quantity_of(field)
    if quantity is not None:
        return quantity.dimension
    text = str(field.annotation)
    if "Literal[" in text:
        return "one of " + text.partition("Literal[")[2].partition("]")[0].replace("'", "")
    if text.startswith("dict[") and "tuple" in text:
        return "keys, each with a list"
    if "bool" in text:
        return "`yes` or `no`"
    if "int" in text and "Point" not in text:
        return "whole number"
    if "tuple" in text:
        return "list"
    if "dict" in text or "scenario." in text:
        return "word or keys"
    return "name or text"


def _first_line(model: type[BaseModel]) -> str:
    return (model.__doc__ or "").strip().splitlines()[0]


def _section(title: str, text: str, *tables: str) -> str:
    return "\n\n".join([f"## {title}", text, *tables])


def scenario_page() -> str:
    """Make the reference page of scenario files."""
    units = _table(UNIT_HEAD, unit_rows())
    spellings = _table(("typed", "taken to mean"), _SPELLINGS)
    limits = _section("limits of files", LIMITS_TEXT, _table(("what", "at most"), limit_rows()))
    parts = [_MADE, _INTRO.rstrip(), spellings, units, *_sections(), *_job(), *_rest(), limits]
    return "\n\n".join(parts) + "\n"


def _sections() -> list[str]:
    """Set the sections about what is there."""
    top = [
        ("`edgewear`", "Format of the file: 1."),
        ("`title`", "What the job is."),
        ("`setting`", "`industrial`: two lines for everybody, stoppers. `alpine`: one line is "
         "allowed. `test`: one line is allowed, typed values are exact."),
        ("`target`", "Sheath left that is wanted, 5th percentile; `compare` needs it."),
        ("`library`", "A library of one's own, beside this file: sections as in the built-in one."),
        ("`below`", "What lies below, with its height: `-22 m` or `22 m down`; for clearances."),
        ("`notes`", f"For the page: {', '.join(NOTES)}."),
    ]  # fmt: skip
    return [
        _section("Top", "Keys at the top that hold one value.", _table(("key", "meaning"), top)),
        _section(
            "anchors",
            "Fixed points, each with a name. Coordinates: `out` from the face, `along` it, `up`. "
            "Instead of coordinates, `legs` lead from the anchor over the edges to the load: "
            "`4 m back, 1.1 m up, over the parapet` puts the anchor 4 m behind the parapet and "
            "1.1 m above it; legs with `out` or `in` say the way on. Coordinates typed for a "
            "spot of legs carry the other spots along, unless it says `tied: no`.",
            _keys(Anchor),
        ),
        _section(
            "edges",
            "Where a line may bend. Either `out` and `up` of an edge that runs along the face, or "
            "`from` and `to`; neither where bends are given under `over`.",
            _keys(Edge),
            "`from` and `to`:",
            _keys(SurveyPoint),
            "`surface` is a word of the library, or:",
            _keys(Surface, hide=("name",)),
        ),
        _section(
            "ropes",
            "Kinds of rope in the store; every line takes a piece of its own.",
            _keys(Rope),
            "`sheath` is a word of the library, or:",
            _keys(Sheath, hide=("name",)),
            "`worn` lists parts of a rope that has a past, worst first or not:",
            _keys(Worn),
        ),
        _section(
            "people",
            "Who hangs on the ropes. `edge attendant` is known without being defined.",
            _keys(Person),
            "`technique` is a word of the library, or:",
            _keys(Technique, hide=("name",)),
            "`system` is a word of the library, or:",
            _keys(System, hide=("name",)),
            "`shift`:",
            _keys(Shifts),
        ),
        *_options(),
    ]


def _options() -> list[str]:
    """Set the section about options."""
    return [
        _section(
            "options",
            "Ways of rigging the job. `all options` holds what they share; `lines` holds what is "
            "said of one person's lines; the nearest word wins. Protection and bypass slings are "
            "merged edge by edge, and `none` takes one away. `safety line` takes the same keys as "
            "a line; it lies on the working line's protection unless it has its own `protect`. An "
            "edge that a `place protection` step names is bare until then.",
            _keys(Line, only=LINE_KEYS),
            _keys(Option, hide=("lines", "people")),
            "`technique` and `system` set how everybody moves in this option.",
            "`over`, the path given directly:",
            _keys(Pass),
            "`protect` maps an edge to a word of the library, or to:",
            _keys(Protection),
            "`bypass` maps an edge to a word of the library, or to:",
            _keys(Sling),
            "`backup` is a word of the library, or:",
            _keys(Backup),
            "`deviations` lists anchors, or:",
            _keys(Deviation),
            "`shift` is typed `0.4 m every 10 strokes`, or:",
            _keys(Shift),
        )
    ]


def _job() -> list[str]:
    """Set the sections about the job and its faults."""
    trigger = tuple(f.alias or n for n, f in Triggered.model_fields.items())
    return [
        _section(
            "job",
            "A list of steps, or a list for each person, done side by side. A step is typed by its "
            "word: `- inspect`, `- descend: 18 m`, `- ascend: {height: 18 m, technique: jerky}`.",
        ),
        *_words_of(STEPS, "step"),
        _section(
            "faults",
            "What goes wrong, each under a name, typed by its word: "
            "`{protection displaced: coping, after: hanging, delay: 2 min}`. Every fault may have:",
            _keys(Triggered),
        ),
        *_words_of(FAULTS, "fault", trigger),
    ]


def _words_of(models: Sequence[type[BaseModel]], field: str, hide: Sequence[str] = ()) -> list[str]:
    """Set a section for each word that chooses a model."""
    return [
        "\n\n".join(
            [f"### {m.model_fields[field].default}", _first_line(m), _short(m), _keys(m, hide)]
        )
        for m in models
    ]


def _short(model: type[BaseModel]) -> str:
    short = str(getattr(model, "short", ""))
    return f"Short spelling: its value is `{short}`." if short else "No short spelling."


def _rest() -> list[str]:
    """Set the sections about reactions, studies and parameters."""
    return [
        _section(
            "when",
            f"What is done when something is seen: {', '.join(SEEN)}, an event of the job or a "
            "fault. Typed as a word or with:",
            _keys(Reaction),
        ),
        _section(
            "observed",
            "What was measured on site, a list; `observe` corrects the forecast with it. Every "
            "entry may have:",
            _keys(OnSite),
        ),
        *_words_of(OBSERVATIONS, "observation", tuple(OnSite.model_fields)),
        _section(
            "beside",
            "What stands beside the work, each with a name: whoever is caught and swings must not "
            "come to it.",
            _keys(Obstacle),
        ),
        _section(
            "kit",
            "Shared gear, each word with how many pieces there are: `pad: 6`. Those lie on top. "
            "Others are typed with where they lie, `rescue sling: {carried by: rescuer}`, or as a "
            "list of places. A rescue uses what its rescuer carries, what lies on top if they "
            "stand there, what lies at a fixed point that they pass, and what can be fetched; "
            "work uses what lies on top or is carried.",
            _keys(Lying),
        ),
        _section("limits", "What a rescue and a catch must keep to.", _keys(Limits)),
        _section(
            "study",
            "What `sweep` varies. `*` in an address stands for every name or number. A range is "
            "`{from: 2 m, to: 38 m, steps: 10}`.",
            _keys(Study),
            f"`sample`; groups are {', '.join(GROUPS)}:",
            _keys(Sample),
        ),
        _section(
            "Parameters",
            "These sections replace values of the library; all their keys may be left out. "
            "`weather` maps dry, wet, gritty and icy to a factor on wear; `techniques` changes "
            "numbers of the library's techniques, such as `techniques: {jerky: {rise: 0.35 m}}`.",
            "`wear`:",
            _keys(WearParameters),
            "`times`:",
            _keys(Times),
            "`work`:",
            _keys(WorkDefaults),
            "`detection`:",
            _keys(Detection),
        ),
    ]


def library_page() -> str:
    """Make the reference page of the library."""
    parts = [
        _MADE,
        "# Library\n\nEvery value that a word brings, with the central 90 % of what it may be and "
        "where it comes from. A library of one's own has the same sections and may add words or "
        "replace them: `library: my-ropes.yaml` in the scenario.",
    ]
    for section, words in built_in().items():
        parts.append(f"## {section}")
        if all(isinstance(e, dict) and "value" not in e for e in words.values()):
            for word, entry in words.items():
                parts += [f"### {word}", _entry(entry)]
        else:
            parts.append(_entry(words))
    return "\n\n".join(parts) + "\n"


def _entry(entry: Mapping[str, Any]) -> str:
    """Set a table of an entry's values."""
    rows = []
    for key, found in entry.items():
        if isinstance(found, dict) and "value" not in found:
            rows.append((key, "a table, see the file", "", "", ""))
        elif isinstance(found, dict):
            ends = f"{found['low']} to {found['high']}" if "low" in found else ""
            shape = found.get("distribution", "normal" if ends else "")
            rows.append((key, str(found["value"]), ends, shape, found.get("pedigree", "")))
        else:
            rows.append((key, str(found), "", "", ""))
    return _table(("key", "value", "90 % interval", "distribution", "pedigree"), rows)


def schema_text() -> str:
    """Give the schema as it is kept in the documentation."""
    return json.dumps(scenario_schema(), indent=1, ensure_ascii=False) + "\n"


PAGES = {
    "scenario.schema.json": schema_text,
    "scenario.md": scenario_page,
    "library.md": library_page,
}
"""File under `docs/reference` -> what makes it."""


def write_pages(folder: Path) -> None:
    """Write the schema and the pages.

    Parameters:
        folder: `docs/reference`.
    """
    for name, make in PAGES.items():
        (folder / name).write_text(make(), encoding="utf-8")


if __name__ == "__main__":
    write_pages(Path(sys.argv[1]))
