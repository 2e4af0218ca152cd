"""Ways of rigging that were tried, as files: every way in each, with the cautions."""

from __future__ import annotations

import csv
import json

import pytest

from edgewear import terms
from edgewear.cautions import PROJECTION
from edgewear.findings.inquiries.proposals import Proposal, Proposals
from edgewear.report import write_proposals

TRIED = (
    Proposal("posts, pad <b>", "posts, pad: {anchor: posts}", (terms.MEETS,), "soft", 0.91, 64),
    Proposal("=posts, bare", "posts, bare: {anchor: posts}", (terms.MISSES,), "none", -0.4, 64),
)
FOUND = Proposals("Two posts", 0.7, 0, TRIED, (("hook", "the rope does not reach"),))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    out = tmp_path_factory.mktemp("out")
    assert write_proposals(FOUND, 3, out) == out / "proposals.html"
    return out


def test_the_table_has_every_way_and_why_one_is_not_rigged(folder):
    rows = list(csv.DictReader((folder / "proposals.csv").read_text("utf-8-sig").splitlines()))
    assert [row["meets"] for row in rows] == ["yes", "no", "no"]
    assert [float(row["left"]) for row in rows[:2]] == [0.91, -0.4]
    assert rows[2]["why_not_rigged"] == "the rope does not reach"
    assert not rows[1]["option"].startswith("=")  # a spreadsheet would take it for a formula
    assert all(PROJECTION in row["caution"] for row in rows)


def test_the_page_names_every_way_and_escapes_it(folder):
    page = (folder / "proposals.html").read_text()
    assert "posts, pad &lt;b&gt;" in page
    assert "<b>" not in page
    assert "hook" in page
    assert PROJECTION.partition(":")[0] in page


def test_only_what_meets_the_target_is_there_to_paste(folder):
    assert (folder / "options.yaml").read_text() == "  posts, pad: {anchor: posts}\n"
    assert json.loads((folder / "proposals.json").read_text()) == FOUND.as_json()
