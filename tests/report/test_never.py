"""What an output must never do, held against the page, card, terminal, CSV, Markdown and JSON."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear import cautions
from edgewear.dataset.ranking.model import TOP_MARGIN, OptionResult, Quantiles, Ranking
from edgewear.report import page
from edgewear.report.formats import html, markdown, table_csv, text_document
from edgewear.report.parts import card
from edgewear.report.terminal.comparison import print_ranking
from edgewear.terms import CUTTING, LEVELS, LINE_LOST, MEETS, MISSES, NOT_ACCEPTABLE
from support import rankings

NONE_LEFT = "None of these options meets the target. Change the rigging."


def in_terminal(of: Ranking) -> str:
    """The comparison as a pipe receives it."""
    stream = io.StringIO()
    print_ranking(of, stream)
    return stream.getvalue()


def in_odt(of: Ranking) -> str:
    """The text of the word processor's file."""
    whole = text_document.write(page.sheet([rankings.source_of(of)]))
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        return archive.read("content.xml").decode()


OUTPUTS: dict[str, Callable[[Ranking], str]] = {
    "page": lambda of: page.write([rankings.source_of(of)]),
    "terminal": in_terminal,
    "csv": table_csv.table,
    "markdown": lambda of: markdown.write(page.sheet([rankings.source_of(of)])),
    "text document": in_odt,
    "json": lambda of: json.dumps(of.as_json(), ensure_ascii=False),
}

each_output = pytest.mark.parametrize("output", OUTPUTS)


def row(output: str, text: str, name: str) -> str:
    """The row of an option in the ranked table of an output, as bare text."""
    match output:
        case "page":
            found = re.search(
                rf"<tr[^>]*>((?:(?!</tr>).)*<bdi>{re.escape(name)}</bdi>.*?)</tr>", text
            )
            return re.sub("<[^>]+>", " ", found.group(1)) if found else ""
        case "terminal":
            found = re.search(rf"^ *(?:\d+|-)  {re.escape(name)} .*\n.*\n", text, re.M)
            return found.group(0) if found else ""
        case "csv":
            lines = list(csv.DictReader(io.StringIO(text)))
            one = next(line for line in lines if line["option"] == name)
            return json.dumps({key: one[key] for key in one if key not in ("why", "caution")})
        case "markdown":
            return next(line for line in text.splitlines() if f"| {name} |" in line)
        case "text document":
            found = re.search(
                rf"<table:table-row>((?:(?!</table:table-row>).)*>{re.escape(name)}<.*?)"
                "</table:table-row>",
                text,
            )
            return re.sub("<[^>]+>", " ", found.group(1)) if found else ""
        case _:
            options = json.loads(text)["options"]
            one = next(option for option in options if option["name"] == name)
            kept = ("name", "rank", "status", "control", "margin", "p_core_visible_words")
            return json.dumps({key: one[key] for key in kept})


@each_output
def test_every_output_says_that_it_is_no_permission_and_law_comes_first(output: str) -> None:
    text = " ".join(OUTPUTS[output](rankings.ordinary()).replace("&#x27;", "'").split())
    for words in (cautions.PROJECTION, cautions.LAW_FIRST, cautions.RETIRE):
        assert words in text


@each_output
def test_status_and_level_stand_in_the_row(output: str) -> None:
    of = rankings.ordinary()
    text = OUTPUTS[output](of)
    for option in of.options:
        found = row(output, text, option.name)
        for status in option.status:
            assert status in found
        assert option.control in found


@each_output
def test_options_keep_the_order_of_the_ranking(output: str) -> None:
    of = rankings.ordinary()
    text = OUTPUTS[output](of)
    places = (
        [text.index(row(output, text, o.name).split("\n")[0]) for o in of.options]
        if (output in ("terminal", "markdown"))
        else [text.index(o.name) for o in of.options]
    )
    assert places == sorted(places)


@each_output
def test_an_option_that_misses_the_target_has_no_rank(output: str) -> None:
    of = rankings.ordinary()
    text = OUTPUTS[output](of)
    first = {
        "page": lambda found: found.split()[0] == "none",
        "terminal": lambda found: found.split()[0] == "-",
        "csv": lambda found: json.loads(found)["rank"] == "",
        "markdown": lambda found: found.split("|")[1].strip() == "none",
        "text document": lambda found: found.split()[0] == "none",
        "json": lambda found: json.loads(found)["rank"] is None,
    }[output]
    for option in of.options:
        assert first(row(output, text, option.name)) == (MEETS not in option.status)


@each_output
def test_where_none_is_left_the_headline_says_to_change_the_rigging(output: str) -> None:
    poor = rankings.option("bare", rank=None, status=(MISSES,))
    of = rankings.ranking(poor, headline=NONE_LEFT)
    text = OUTPUTS[output](of)
    if output != "csv":
        assert NONE_LEFT in " ".join(text.split())
    assert MISSES in row(output, text, "bare")
    assert not card.offered(poor)


@each_output
def test_a_cutting_edge_has_no_wear_number(output: str) -> None:
    of = rankings.ordinary()
    text = OUTPUTS[output](of)
    found = row(output, text, "over the sheet")
    assert CUTTING in found
    assert "%" not in found
    if output == "csv":
        cells = json.loads(found)
        assert {cells[f"margin_{end}"] for end in ("p5", "p50", "p95")} == {""}
    if output == "json":
        assert json.loads(found)["margin"] is None


def test_the_part_of_a_cutting_edge_forecasts_nothing() -> None:
    of = rankings.ordinary()
    text = page.write([rankings.source_of(of)])
    part = text.split('<section id="d1-o5"', 1)[1].split("</section>", 1)[0]
    assert "can part a rope in one pass" in part
    for words in ("sheath worn", "Look at the rope", "first visible", "d1-o5-wear"):
        assert words not in part
    assert "sheath worn" in text.split('<section id="d1-o4"', 1)[1].split("</section>", 1)[0]
    assert not card.offered(of.options[4])


@each_output
def test_no_loaded_contact_reads_as_a_whole_sheath(output: str) -> None:
    barely = rankings.option("barely", margin=Quantiles(TOP_MARGIN, TOP_MARGIN, TOP_MARGIN))
    text = OUTPUTS[output](rankings.ranking(barely))
    found = row(output, text, "barely")
    assert "100" not in found
    assert "99" in found


@each_output
def test_a_line_whose_core_is_visible_is_lost_and_nothing_lighter_is_offered(output: str) -> None:
    of = rankings.ordinary()
    text = OUTPUTS[output](of)
    assert LINE_LOST in row(output, text, "bollards padded")
    assert not re.search(r"light (work|duty|use)|downgrade", text, re.I)


@pytest.mark.parametrize("output", [name for name in OUTPUTS if name != "json"])
def test_what_a_worn_rope_would_still_hold_is_not_for_riggers(output: str) -> None:
    text = OUTPUTS[output](rankings.ordinary())
    assert not re.search(r"residual strength|22(\.0)? kN|19000|22000", text)


@each_output
def test_none_of_the_trials_reads_below_three_over_their_number(output: str) -> None:
    text = OUTPUTS[output](rankings.ordinary())
    assert "below 3/256" in row(output, text, "re-anchored")
    assert "0 of 256" not in text


def test_chances_of_coming_out_first_are_never_round_without_being_certain() -> None:
    text = OUTPUTS["markdown"](rankings.ordinary())
    line = [one for one in text.splitlines() if one.startswith("| bollards bare")][-1]
    assert "below 3/256" in line


NEVER = re.compile(r"\b(safe|safely|validated|green|guaranteed?)\b|[✓✔☑✅]", re.I)
COLOUR = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b(?!\w)")


@each_output
def test_no_output_promises_or_colours(output: str) -> None:
    text = OUTPUTS[output](rankings.ordinary())
    assert not NEVER.search(text)
    for colour in COLOUR.findall(text):
        full = "".join(c * 2 for c in colour) if len(colour) == 3 else colour
        channels = [int(full[i : i + 2], 16) for i in (0, 2, 4)]
        # greys: channels within 10 of 255, too little to be seen as a colour
        assert max(channels) - min(channels) <= 10, colour


def test_the_card_says_status_level_and_that_it_is_no_permission() -> None:
    of = rankings.ordinary()
    text = " ".join(card.write(of, of.options[0]).replace("&#x27;", "'").split())
    for words in (cautions.PROJECTION, cautions.LAW_FIRST, cautions.RETIRE, MEETS):
        assert words in text
    assert of.options[0].control in text
    assert not NEVER.search(text)
    assert "%" not in re.sub("<[^>]+>", "", text.split("<main", 1)[1])  # no margin on site


def test_the_edges_of_a_cutting_option_carry_no_wear_number_either() -> None:
    of = rankings.ordinary()
    for option, told in zip(of.options, of.as_json()["options"], strict=True):
        for edge in told["edges"]:
            assert (edge["demand_max"] is None) == (CUTTING in option.status)
            assert (edge["worst_share"] is None) == (CUTTING in option.status)
    assert any(CUTTING in option.status and option.edges for option in of.options)


def test_a_loaded_bare_edge_is_not_acceptable_in_industrial_work() -> None:
    of = rankings.ordinary()
    for output in OUTPUTS:
        assert NOT_ACCEPTABLE in row(output, OUTPUTS[output](of), "bollards bare")
        text = " ".join(OUTPUTS[output](of).split())
        if output != "csv":
            assert "protect the edge" in text


def test_why_not_a_higher_level_is_told() -> None:
    of = rankings.ordinary()
    for output in ("page", "markdown", "text document", "json"):
        text = OUTPUTS[output](of)
        assert "no anchor clear of the edge" in text
        assert "not recorded" in text


margins = st.one_of(st.just(TOP_MARGIN), st.floats(-30, TOP_MARGIN), st.floats(0.985, TOP_MARGIN))


@st.composite
def options(draw: st.DrawFn) -> OptionResult:
    """Any option a dataset may give."""
    group = draw(st.sampled_from([(MEETS,), (MISSES,), (NOT_ACCEPTABLE,), (CUTTING,)]))
    values = sorted(draw(margins) for _ in range(3))
    cutting = group == (CUTTING,)
    return rankings.option(
        "one option",
        status=group,
        rank=1 if group == (MEETS,) else None,
        control=draw(st.sampled_from(LEVELS[1:])),
        margin=None if cutting else Quantiles(*values),
        p_core_visible_words="" if cutting else "below 3/256",
    )


@settings(max_examples=60)
@given(options())
def test_rows_hold_for_any_option(option: OptionResult) -> None:
    of = rankings.ranking(option)
    for output in ("terminal", "csv", "json"):
        found = row(output, OUTPUTS[output](of), option.name)
        assert option.status[0] in found
        if output == "terminal":
            shown = re.findall(r"(-?\d+) %", found)
            assert all(int(percent) < 100 for percent in shown)
        elif option.margin is not None:
            cells = json.loads(found)
            values = cells["margin"].values() if output == "json" else [cells["margin_p95"]]
            assert all(float(value) < 1 for value in values)
        if option.margin is None:
            assert "%" not in found


def test_the_policy_lets_no_style_or_script_in_but_its_own() -> None:
    text = page.write([rankings.source_of(rankings.hostile())])
    assert text.count("<script") == 1
    assert text.count("<style") == 1
    assert "default-src 'none'" in text
    assert "unsafe" not in text
    assert not re.search(r"\son\w+=", re.sub(r"&lt;.*?&gt;", "", text.split("<script", 1)[0]))
    assert not re.search(r"(src|href|action)\s*=\s*[\"']?(https?:)?//", text)
    assert html.asset("sort.js") in text


def test_replaced_status_would_be_seen() -> None:
    """A twin whose status is taken away must fail the check of rows above."""
    of = rankings.ordinary()
    mute = replace(of, options=(replace(of.options[2], status=("",)),))
    assert MISSES not in row("terminal", in_terminal(mute), "bollards padded")
