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
from edgewear.findings.limits import AboveLimit, Figure
from edgewear.findings.procedure import Findings
from edgewear.procedure.faults import faults
from edgewear.report import print_faults, write_faults
from edgewear.report.formats import html
from edgewear.report.procedure import page as faults_page
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
        worst_failures=(replace(worst, drop_m=3.4, beyond=(LIMIT,)), *others),
        single_failures=tuple(
            replace(row, drop_m=3.4, beyond=(LIMIT,))
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


def told() -> str:
    stream = io.StringIO()
    print_faults(document(), stream, 80)
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
