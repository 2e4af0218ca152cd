"""The page and tables of a procedure taken apart say what the terminal says, and the same of it."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from functools import cache
from html import unescape
from pathlib import Path

import pytest

from edgewear.errors import CannotCreate
from edgewear.findings.fates import End, Fate, Fates
from edgewear.findings.limits import AboveLimit, Figure
from edgewear.findings.procedure import Findings
from edgewear.procedure.faults import faults
from edgewear.report import print_faults, write_faults
from edgewear.report.formats import html
from edgewear.report.procedure import fate_words, verdict_words
from edgewear.report.procedure import page as faults_page
from edgewear.scenario import load_text
from procedure.test_faults import scenario

LIMIT = AboveLimit(Figure.DROP, 3.4, 2.0, "EN 12841, from memory")
DROP = "drop of 3.4 m, more than 2 m (EN 12841, from memory)"
NAME = "pad <b>off</b> & =1"


@cache
def document() -> Findings:
    """Real findings, with a drop above its limit, a fall, and a hostile name put into them."""
    found = faults(scenario(), replicates=2, workers=1)
    worst, *others = found.worst_failures
    first, *rest = found.faults
    return replace(
        found,
        worst_failures=(replace(worst, drop_m=3.4, drop_careful_m=3.4, beyond=(LIMIT,)), *others),
        single_failures=tuple(
            replace(row, drop_m=3.4, drop_careful_m=3.4, beyond=(LIMIT,))
            if (row.component, row.step) == (worst.component, worst.step)
            else row
            for row in found.single_failures
        ),
        faults=(replace(first, names=(NAME,), p_nothing_holds=0.5), *rest),
    )


def markup() -> str:
    return html.page(faults_page.sheet(document()))


def shown() -> str:
    body = markup().partition("<main>")[2].partition("<script>")[0]
    return " ".join(unescape(re.sub("<[^>]+>", "", body.replace("><", "> <"))).split())


def test_without_details_what_is_held_against_it_stays() -> None:
    stream = io.StringIO()
    print_faults(document(), stream, 80)
    short = " ".join(stream.getvalue().split())
    assert short.count("--details") == 1
    assert "--details" not in told()
    left_out = told().partition("If one thing failed")[2].partition("If one fault happened")[0]
    assert left_out
    assert left_out not in short
    for text in verdict_words.listed(document().verdict):
        assert text in short


def told() -> str:
    stream = io.StringIO()
    print_faults(document(), stream, 80, details=True)
    return " ".join(stream.getvalue().split())


@pytest.mark.parametrize(
    "said",
    [
        DROP,
        "3.4 m!",
        "nothing would hold in 1 of 2 trials",
        "Every fault is reported as having happened",
        "A projection, not permission",
        "19 of 20 such rescues are quicker",
        "no rescue shown",
    ],
)
def test_page_and_terminal_say_the_same(said: str) -> None:
    assert said in shown()
    assert said in told()


def test_every_caution_is_on_the_page_and_no_name_is_markup() -> None:
    text = shown()
    assert all(" ".join(caution.split()) in text for caution in document().cautions)
    assert NAME in text
    assert "<b>" not in markup()


def test_the_spreadsheet_has_every_row_with_its_words_and_cautions() -> None:
    rows = list(csv.DictReader(io.StringIO(faults_page.failures_csv(document()))))
    assert len(rows) == len(document().single_failures)
    assert {row["beyond"] for row in rows} >= {DROP}
    assert all(row["caution"].startswith("A projection, not permission") for row in rows)
    assert {row["holds"] for row in rows} <= {"yes", "no", ""}
    every = list(csv.DictReader(io.StringIO(faults_page.faults_csv(document()))))
    assert len(every) == len(document().faults) + len(document().table)
    assert every[0]["names"] == NAME
    assert {row["step"] for row in every} >= {"", "1", "5"}


def test_a_formula_stays_text_in_the_spreadsheet() -> None:
    first, *others = document().faults
    evil = replace(document(), faults=(replace(first, names=("=1+1",)), *others))
    rows = csv.DictReader(io.StringIO(faults_page.faults_csv(evil)))
    assert next(iter(rows))["names"] == "'=1+1"


def test_the_folder_has_page_tables_picture_and_document(tmp_path: Path) -> None:
    page = write_faults(document(), tmp_path / "out")
    assert page == tmp_path / "out" / "faults.html"
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {
        "faults.html", "single-failures.csv", "faults.csv", "fates.csv", "worst-run.svg",
        "faults.json",
    }  # fmt: skip
    assert not re.search(r'(src|href)="', page.read_text())  # nothing is fetched
    (tmp_path / "file").write_text("")
    with pytest.raises(CannotCreate):
        write_faults(document(), tmp_path / "file" / "out")


ALONE = """
edgewear: 1
title: who is left hanging
setting: industrial
target: 50 %
anchors:
  post: {out: -6 m, up: 1 m, kind: pair}
  rail: {out: -6 m, up: 1 m, along: 1.5 m, kind: pair, releasable: yes}
  beam: {out: -6 m, up: 1 m, along: 3 m, kind: pair}
  hook: {out: -6 m, up: 1 m, along: 4.5 m, kind: pair}
edges: {lip: {out: 0.2 m, up: 0 m, radius: 60 mm, surface: steel}}
ropes: {store: {like: low-stretch 11, length: 60 m, stopper: yes}}
people: {ann: {mass: 100 kg}, bob: {mass: 90 kg}}
kit: {KIT: 1}
lines:
  ann: {anchor: post, rope: store, safety line: {anchor: rail, rope: store}}
  bob: {anchor: beam, rope: store, safety line: {anchor: hook, rope: store}}
options: {only: {}}
job:
  ann: [cross edge: lip, descend: 6 m, work: 5 min]
  bob: [rest: 20 min]
faults:
  post goes: {anchor fails: post, step: 3}
  both go: {anchor fails: rail, step: 3}
  faints: {casualty unresponsive: ann, step: 3}
when: {parted: call rescue}
below: {ground: -25 m}
"""


@cache
def rescued(kit: str) -> Findings:
    return faults(load_text(ALONE.replace("KIT", kit), "alone.yaml"), replicates=1, workers=1)


@pytest.mark.parametrize("kit", ["rescue sling", "pad"])
def test_every_fate_is_the_same_in_terminal_page_table_and_document(kit: str) -> None:
    found = rescued(kit)
    stream = io.StringIO()
    print_faults(found, stream, 80, details=True)
    body = html.page(faults_page.sheet(found)).partition("<main>")[2].partition("<script>")[0]
    page = " ".join(unescape(re.sub("<[^>]+>", "", body.replace("><", "> <"))).split())
    terminal = " ".join(stream.getvalue().split())
    table = list(csv.DictReader(io.StringIO(faults_page.fates_csv(found))))
    written = [
        (one, person) for one in (*found.fates, found.fates_without_faults) for person in one.people
    ]
    told_of = (*found.as_json()["fates"], found.as_json()["fates_without_faults"])
    plain = [person for one in told_of for person in one["people"]]
    assert len(table) == len(written) == len(plain)
    ends = set()
    for row, known, (one, person) in zip(table, plain, written, strict=True):
        assert (row["person"], row["end"]) == (known["person"], known["end"])
        assert (row["person"], row["end"]) == (person.person, person.end.value)
        assert row["missing"] == "; ".join(known["missing"]) == "; ".join(person.missing)
        rescuer = known["rescue"]["rescuer"] if known["rescue"] else ""
        assert row["rescuer"] == rescuer
        if len(one.names) == 1 and not one.step and one.came and person.gravity:
            told = fate_words.fate(person)
            assert told in terminal
            assert told in page
            ends.add((person.end, person.rescue is not None))
    assert (End.HANGS, kit == "rescue sling") in ends
    both = next(one for one in found.fates if set(one.names) == {"post goes", "both go"})
    assert both.people[0].end is End.FALLS
    assert "falls: nothing holds" in terminal
    assert "falls: nothing holds" in page


def test_the_worst_off_come_first() -> None:
    gravities = [one.gravity for one in rescued("pad").fates]
    assert gravities == sorted(gravities, reverse=True)
    assert rescued("pad").fates[0].people[0].end is End.FALLS


@pytest.mark.parametrize("names", [("a", "b"), ("a and b", "c"), ("rain", "rain"), ("'", "x' and")])
def test_a_pair_reads_nowhere_like_two_faults_that_happen_alone(names) -> None:
    """Terminal and page name a pair as one thing, whatever its faults are called."""
    hurt = Fate("ann", End.FALLS, "nothing")
    pair = Fates(names, "", 0, True, None, (hurt,), trials=64, as_grave=1)
    alone = [Fates((name,), "", 0, True, None, (replace(hurt, end=End.PLAN),)) for name in names]
    found = replace(document(), fates=(pair, *alone))
    joined = " and ".join(f"'{name}'" for name in names)
    stream = io.StringIO()
    print_faults(found, stream, 80)
    said = " ".join(stream.getvalue().split())
    assert f"- {joined} together: in 1 of 64 trials: ann" in said
    assert f"- {joined}:" not in said
    assert fate_words.happened(pair) == f"{' and '.join(names)} together"
    assert [fate_words.happened(one) for one in alone] == list(names)
