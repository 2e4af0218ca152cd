"""Names that look like words of ours change nothing: every output is that of plain names.

What is drawn at random belongs to the name of what it varies, so whatever is drawn is computed
once, under plain names, and the names in what was found are then replaced; what is not drawn is
computed under both. Either way an output with the names put back must be the plain one.
"""

from __future__ import annotations

import dataclasses
import html
import io
import json
import re
import zipfile
from collections.abc import Mapping
from enum import Enum
from pathlib import Path
from typing import Any

import pytest

from edgewear.findings.plain import plain as as_json
from edgewear.procedure.faults import faults
from edgewear.report import faults_picture, print_faults, print_ranking, print_run, write_faults
from edgewear.report.parts.sources import Source
from edgewear.report.write import read, write_sources
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_text, summary
from edgewear.study.compare import compare
from edgewear.study.single import simulate

PLAIN = {
    "edge": "qaedgezz",
    "lower edge": "qbedgezz",
    "anchor": "qaanchor",
    "far anchor": "qbanchor",
    "rope": "qarope",
    "person": "qaperson",
    "other": "qbperson",
    "option": "qaoption",
    "other option": "qboption",
    "fault": "qafault",
}
"""What is named -> a name that stands in no word of ours."""

LIKE_OURS: tuple[dict[str, str], ...] = (
    {
        "edge": "peak of roof",
        "lower edge": "drop of 9 m",
        "anchor": "yes",
        "far anchor": "none",
        "rope": "null",
        "person": "NORA",
        "other": "NO",
        "option": "not acceptable",
        "other option": "meets target",
        "fault": "core visible",
    },
    {
        "edge": "bare: no",
        "lower edge": "safety line",
        "anchor": "peak of 7 kN",
        "far anchor": "more than 2 m",
        "rope": "nan",
        "person": "nobody",
        "other": "working line of nobody",
        "option": "cutting edge",
        "other option": "rank 1",
        "fault": "NO",
    },
)

SITE = """
edgewear: 1
title: names
setting: industrial
target: 70 %
anchors:
  {anchor}: {{out: -3 m, up: 1 m, strength: 15 kN}}
  {far anchor}: {{out: -6 m, along: 1 m, up: 1 m, strength: 15 kN}}
edges:
  {edge}: {{out: -0.4 m, up: 0.2 m, radius: 2 mm, surface: steel}}
  {lower edge}: {{out: 0.3 m, up: -1 m, radius: 3 mm, surface: steel}}
ropes:
  {rope}: {{like: low-stretch 11, length: 60 m, stopper: yes}}
people:
  {person}: {{mass: 95 kg, technique: normal, start: 4 m}}
  {other}: {{mass: 80 kg, technique: jerky, start: 4 m}}
lines:
  {person}: {{anchor: {anchor}, rope: {rope}, safety line: {{anchor: {far anchor}, rope: {rope}}}}}
  {other}: {{anchor: {far anchor}, rope: {rope}, safety line: {{anchor: {anchor}, rope: {rope}}}}}
options:
  {option}: {{protect: {{{edge}: pad, {lower edge}: pad}}}}
  {other option}: {{protect: {{{lower edge}: sleeve}}}}
job:
  {person}: [descend: 2 m, rest: 1 min, ascend: 1 m]
  {other}: [rest: 2 min, ascend: 1 m]
faults:
  {fault}: {{protection displaced: {edge}, delay: 30 s}}
when:
  core visible: stop
"""


def site(names: Mapping[str, str]) -> str:
    """The scenario with its names, each quoted as YAML wants it."""
    return SITE.format(**{key: json.dumps(name) for key, name in names.items()})


def renamed(found: Any, names: Mapping[str, str]) -> Any:
    """What was found, with plain names replaced wherever they stand in a text."""
    if isinstance(found, str) and not isinstance(found, Enum):
        return swapped(found, {PLAIN[key]: name for key, name in names.items()})
    if isinstance(found, Mapping):
        return {renamed(key, names): renamed(value, names) for key, value in found.items()}
    if dataclasses.is_dataclass(found) and not isinstance(found, type):
        own = {f.name: renamed(getattr(found, f.name), names) for f in dataclasses.fields(found)}
        return dataclasses.replace(found, **own)
    if isinstance(found, tuple) and hasattr(found, "_replace"):
        return type(found)(*(renamed(one, names) for one in found))
    if isinstance(found, (list, tuple, frozenset, set)):
        return type(found)(renamed(one, names) for one in found)
    return found


def swapped(text: str, names: Mapping[str, str]) -> str:
    """A text with names replaced, the longest first."""
    pattern = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
    return re.sub(pattern, lambda match: names[match.group()], text)


def seen(text: str) -> str:
    """What somebody reads: no markup, no line breaks, no widths of columns or of hyphens."""
    return re.sub(r"[\s─-]+", "", html.unescape(re.sub(r"<[^>]*>", " ", text)))


def same(hostile: str, plain: str, names: Mapping[str, str], what: str) -> None:
    """Hold an output to the plain one, its names put back; names count without their blanks."""
    wanted = swapped(seen(plain), {PLAIN[key]: seen(name) for key, name in names.items()})
    assert seen(hostile) == wanted, what


def marked_up(text: str) -> list[str]:
    """The tags of a page, less what the length of names decides: pictures' lines, a card's type."""
    tags = re.findall(r"<[^>]*>", re.sub(r"<svg.*?</svg>", "", text, flags=re.S))
    return [re.sub(r'<main class="s\d">', "<main>", tag) for tag in tags]


def same_page(hostile: str, plain: str, names: Mapping[str, str], what: str) -> None:
    """Hold a page to the plain one, its markup too: nothing turns bold or into a warning."""
    same(hostile, plain, names, what)
    wanted = [
        swapped(tag, {PLAIN[key]: name for key, name in names.items()}) for tag in marked_up(plain)
    ]
    assert marked_up(hostile) == wanted, what


@pytest.fixture(scope="module")
def compared(tmp_path_factory: pytest.TempPathFactory) -> Source:
    """A comparison under plain names, as the report reads it."""
    scenario = load_text(site(PLAIN), "names.yaml")
    out = tmp_path_factory.mktemp("compared")
    compare(scenario, replicates=8, workers=1, out=out)
    return read(out)


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Faults under plain names."""
    path = tmp_path_factory.mktemp("faults") / "names.yaml"
    path.write_text(site(PLAIN))
    return faults(path, replicates=2, workers=1)


@pytest.mark.parametrize("names", LIKE_OURS)
def test_what_is_understood_and_rigged_and_run_once(names: dict[str, str]) -> None:
    plain, hostile = (load_text(site(one), "names.yaml") for one in (PLAIN, names))
    same("\n".join(summary(hostile)), "\n".join(summary(plain)), names, "check")
    for key in ("option", "other option"):
        rigged = [
            json.dumps(as_json(facts(scenario, one[key])), ensure_ascii=False)
            for scenario, one in ((hostile, names), (plain, PLAIN))
        ]
        same(*rigged, names, f"rigging of {names[key]}")
        runs = [simulate(hostile, names[key]), simulate(plain, PLAIN[key])]
        same(*(json.dumps(run, ensure_ascii=False) for run in runs), names, "run --json")
        printed = [io.StringIO(), io.StringIO()]
        for document, stream in zip(runs, printed, strict=True):
            print_run(document, stream, width=400)
        same(*(stream.getvalue() for stream in printed), names, "run")


@pytest.mark.parametrize("names", LIKE_OURS)
def test_what_is_compared(compared: Source, names: dict[str, str], tmp_path: Path) -> None:
    hostile = renamed(compared, names)
    documents = [json.dumps(s.ranking.as_json(), ensure_ascii=False) for s in (hostile, compared)]
    same(*documents, names, "compare --json")
    printed = [io.StringIO(), io.StringIO()]
    for source, stream in zip((hostile, compared), printed, strict=True):
        print_ranking(source.ranking, stream, width=400)
    same(*(stream.getvalue() for stream in printed), names, "compare")
    write_sources([hostile], tmp_path / "hostile")
    write_sources([compared], tmp_path / "plain")
    written = sorted(p.relative_to(tmp_path / "plain") for p in (tmp_path / "plain").rglob("*.*"))
    assert len(written) >= 6
    for path in written:
        texts = [_text(tmp_path / which / path) for which in ("hostile", "plain")]
        (same_page if path.suffix == ".html" else same)(*texts, names, str(path))


@pytest.mark.parametrize("names", LIKE_OURS)
def test_what_can_go_wrong(found: Any, names: dict[str, str], tmp_path: Path) -> None:
    hostile = renamed(found, names)
    documents = [json.dumps(one.as_json(), ensure_ascii=False) for one in (hostile, found)]
    same(*documents, names, "faults --json")
    printed = [io.StringIO(), io.StringIO()]
    for one, stream in zip((hostile, found), printed, strict=True):
        print_faults(one, stream, width=400, details=True)
    same(*(stream.getvalue() for stream in printed), names, "faults")
    same(faults_picture(hostile.timeline), faults_picture(found.timeline), names, "picture")
    write_faults(hostile, tmp_path / "hostile")
    write_faults(found, tmp_path / "plain")
    for path in sorted((tmp_path / "plain").rglob("*.*")):
        other = tmp_path / "hostile" / path.relative_to(tmp_path / "plain")
        (same_page if path.suffix == ".html" else same)(_text(other), _text(path), names, path.name)


def _text(path: Path) -> str:
    if path.suffix != ".odt":
        return path.read_text("utf-8")
    with zipfile.ZipFile(path) as packed:
        return packed.read("content.xml").decode()


def test_a_decision_made_from_a_sentence_would_show() -> None:
    def marked(found: str) -> str:
        return f"{found}!" if "drop of" in found else found

    plain = marked(f"over {PLAIN['lower edge']}")
    with pytest.raises(AssertionError):
        same(marked(renamed(f"over {PLAIN['lower edge']}", LIKE_OURS[0])), plain, LIKE_OURS[0], "")
