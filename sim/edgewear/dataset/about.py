"""What a dataset says of itself to people: a README with a methods paragraph, and a licence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from edgewear.cautions import CAUTIONS, WEAR_AGREES
from edgewear.dataset.manifest import SCHEMA, Manifest

README, LICENCE = "README.md", "LICENSE.txt"

RIGHTS = """\
The authors of edgewear claim no rights in what edgewear computes. These data were computed from
scenario.yaml beside this file; whoever made them says under which terms they may be used, and where
nothing is said, ask. edgewear itself is licensed under the Apache License 2.0.
"""

TABLES = (
    ("plan.parquet", "every run: option, replicate, what was chosen and drawn, by address"),
    ("runs/", "the outcome of every run, in the order of the plan"),
    ("edges/", "the outcome at every edge of every run, where it was kept"),
    ("nominal/", "one run of each option with nominal values: events, course, wear"),
    ("scenario.yaml", "the scenario as it was read"),
    ("scenario.json", "the same in SI, and each option as it is rigged"),
    ("manifest.json", "seed, versions, and the sha256 of every file"),
)


def readme(manifest: Manifest) -> str:
    """Write the README of a finished dataset."""
    title = str(manifest.about.get("title") or "an edgewear dataset")
    files = "\n".join(f"- `{name}`: {what}" for name, what in TABLES)
    cautions = "\n".join(f"- {caution}" for caution in CAUTIONS)
    return f"""\
# {title}

Computed with edgewear; schema `{SCHEMA}`. Numbers are in SI; every column says its unit and
meaning, inputs also their range, distribution and where they come from, in the metadata of its
parquet field.

{files}

`edgewear sweep --verify .` checks every file; `edgewear replay . RUN` plays a row again.

## Methods

{methods(manifest)}

## Before you use it

{cautions}

## Licence

{RIGHTS}"""


def methods(manifest: Manifest) -> str:
    """Describe how a study was made, in a paragraph fit for a paper."""
    versions = dict(manifest.versions)
    with_ = ", ".join(f"{name} {versions[name]}" for name in versions if name not in _ELSEWHERE)
    sentences = [
        f"Sheath wear was projected with edgewear {versions.get('edgewear', '')} "
        f"(model {manifest.model}; {with_}).",
        "It plays a job on ropes as events; between them each rope is a string that stretches and "
        "lies taut over its edges, with friction at each contact, and its sheath wears by friction "
        "work weighted by pressure and speed.",
        f"The wear law {WEAR_AGREES}.",
        *_designed(manifest.kind, manifest.about),
        *_on_a_device(manifest.about),
        f"Of {manifest.rows:,} runs {manifest.failed:,} failed; each of those keeps its reason.",
        f"Draws are functions of the seed ({manifest.about.get('seed')}), the name of the input "
        "and the number of the trial alone.",
        f"The study is identified by {manifest.study[:16]}.",
    ]
    return " ".join(sentences)


_ELSEWHERE = ("edgewear", "cpu")


def _designed(kind: str, about: Mapping[str, Any]) -> Iterator[str]:
    """What was run."""
    if kind == "compare":
        yield (
            f"Each option was played in {about.get('replicates')} trials under common random "
            "draws of all inputs that are not known exactly."
        )
        return
    study = about.get("study") or {}
    if grid := study.get("grid"):
        yield f"Every combination of {_listed(grid)} was run."
    if study.get("table"):
        yield f"Values came from the table {study['table']}."
    if sample := study.get("sample"):
        over = ", ".join(map(str, sample.get("over") or ()))
        yield (
            f"Inputs not known exactly ({over}) were sampled {sample.get('rows')} times by "
            f"{sample.get('method')}."
        )
    if (times := about.get("replicates", 1)) != 1:
        yield f"Each was played {times} times with other strokes."


def _on_a_device(about: Mapping[str, Any]) -> Iterator[str]:
    """Where runs were played, if not all by the processor."""
    if device := about.get("device"):
        yield (
            f"What a device ({device}) plays, one person on one line over one edge, was played "
            "there, to 1e-9 as a processor does, and the rest by a processor."
        )


def _listed(grid: Mapping[str, Any]) -> str:
    return ", ".join(f"{name} ({len(values)} values)" for name, values in grid.items())


def citation(version: str) -> str:
    """Write the citation file of the software, CFF 1.2.0."""
    return f"""\
cff-version: 1.2.0
message: If you use edgewear in research, cite it, its version and the model number of your data.
type: software
title: edgewear
abstract: >-
  An event-driven simulation of ropes over edges that projects sheath wear and compares ways of
  rigging a job. A projection, not permission.
authors:
  - name: The edgewear developers
version: {version}
license: Apache-2.0
keywords: [rope access, sheath wear, friction, stick-slip, uncertainty]
"""


__all__ = ["LICENCE", "README", "RIGHTS", "citation", "methods", "readme"]
