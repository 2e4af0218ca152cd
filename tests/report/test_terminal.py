"""The terminal's comparison and run: 80 columns, plain when piped, readable for any name."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear import cautions
from edgewear.report.terminal import console
from edgewear.report.terminal.comparison import print_ranking
from edgewear.report.terminal.single_run import print_run
from support import rankings


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def run_document() -> dict[str, Any]:
    """A run as `run --json` prints it."""
    edge = {
        "name": "kerb", "rope": 1,
        "wrap_deg": 41.0, "protection": None, "slips": 102, "slip_m": 4.21,
        "energy_j": 812.0, "sawing_amplitude_m": 0.061,
        "mark_travel_m": {"p5": 0.031, "p50": 0.052, "p95": 0.083}, "peak_tension_n": 2310.0,
        "flash_temperature_c": 84.0, "demand_max": 0.59, "sideways_m": 0.0, "sideways_demand": 0.0,
    }  # fmt: skip
    line = {
        "name": "lead's working line", "role": "working line", "edges": [edge],
        "peak_tension_n": 2310.0, "anchor_peak_n": 1840.0, "stretch_m": 0.83,
        "natural_frequency_hz": {"sliding": 0.55, "stuck": 0.83}, "sheath_margin": 0.41,
        "sheath_demand_max": 0.59, "core_visible": None, "core_loss": 0.0,
        "residual_strength_n": 21000.0, "parted": None,
        "ropes": [{"rope": 1, "sheath_margin": 0.41}],
    }  # fmt: skip
    return {
        "schema": "edgewear.run/1", "option": "bollards bare", "status": ["misses target"],
        "lines": [line], "slings": [], "bare_edge": [], "extrapolated": [],
        "energy_residual": 1e-6,
        "events": [
            {"time_s": 0.0, "who": "lead", "what": "begins", "detail": "descend", "step": 1},
            {"time_s": 425.0, "who": "lead", "what": "ends", "detail": "descend", "step": 1},
        ],
        "cautions": list(cautions.CAUTIONS),
    }  # fmt: skip


def compared(width: int = 80, hostile: bool = False) -> str:
    """A comparison as a pipe receives it."""
    stream = io.StringIO()
    print_ranking(rankings.hostile() if hostile else rankings.ordinary(), stream, width)
    return stream.getvalue()


def ran(**changes: Any) -> str:
    """A run as a pipe receives it."""
    stream = io.StringIO()
    print_run(run_document() | changes, stream)
    return stream.getvalue()


@pytest.mark.parametrize("hostile", [False, True])
@pytest.mark.parametrize("width", range(40, 133))
def test_no_line_is_wider_than_the_terminal(width: int, hostile: bool) -> None:
    for line in compared(width, hostile).splitlines():
        assert console.display_width(line) <= width


def test_a_pipe_receives_plain_characters_only() -> None:
    for text in (compared(), ran()):
        text.encode("ascii")
        assert "\x1b" not in text
    assert "\x1b" not in compared(hostile=True)


def test_a_terminal_shows_emphasis_unless_asked_not_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    shown = Terminal()
    print_ranking(rankings.ordinary(), shown)
    assert "\x1b[1m" in shown.getvalue()
    assert "\x1b[3" not in shown.getvalue()  # weight, never colour
    monkeypatch.setenv("NO_COLOR", "1")
    shown = Terminal()
    print_ranking(rankings.ordinary(), shown)
    assert "\x1b" not in shown.getvalue()


def test_a_hostile_name_cannot_move_the_cursor() -> None:
    assert "[31mred" in compared(hostile=True)
    assert "\x1b" not in console.printable("\x1b[31mred\x07")


def test_the_headline_comes_first_and_the_paths_last() -> None:
    text = compared()
    assert text.index("2 of 4 options meet") < text.index("rank option")
    last = text.rstrip().splitlines()[-1]
    assert last == "page, beside its dataset: results/pier/report.html"
    stream = io.StringIO()
    print_ranking(replace(rankings.ordinary(), report="elsewhere/report.html"), stream)
    assert stream.getvalue().rstrip().splitlines()[-2:] == [
        "page     elsewhere/report.html",
        "dataset  results/pier",
    ]


def test_a_run_says_what_the_edge_did_in_the_units_of_the_site() -> None:
    text = ran()
    for words in (
        "41 %",
        "2.3 kN",
        "1.8 kN",
        "0.8 m",
        "41 deg",
        "4.2 m",
        "52 mm",
        "83 mm",
        "0:00 to 7:05",
    ):
        assert words in text
    assert "bare" in text
    assert "residual" not in text
    assert "21" not in text.replace("2.1", "")


def test_a_run_whose_core_shows_says_that_the_line_is_lost() -> None:
    line = run_document()["lines"][0]
    moment = {"time_s": 912.0, "step": 3, "ascended_m": 7.4}
    text = ran(lines=[line | {"core_visible": moment, "sheath_margin": -0.2}])
    assert "after 15 min, step 3, 7.4 m climbed: the line is lost" in text
    assert "-20 %" in text


def test_a_run_over_a_cutting_edge_says_what_its_figures_are_for() -> None:
    assert "not for a decision" in " ".join(ran(status=["cutting edge"]).split())
    assert "not for a decision" not in " ".join(ran().split())


def test_a_run_never_shows_a_whole_sheath_after_a_loaded_contact() -> None:
    line = run_document()["lines"][0]
    assert "99 %" in ran(lines=[line | {"sheath_margin": 0.99999}])
    assert "100 %" in ran(lines=[line | {"sheath_margin": 1.0, "edges": []}])


def test_a_safety_line_without_edges_is_printed_too() -> None:
    line = run_document()["lines"][0] | {"name": "lead's safety line", "edges": []}
    assert "No edge on this line." in ran(lines=[line])


@given(st.text(max_size=200), st.integers(20, 100))
def test_filling_keeps_every_visible_word_and_the_width(text: str, width: int) -> None:
    lines = console.fill(text, width, "  ", "    ")
    assert all(console.display_width(line) <= width for line in lines)
    joined = "".join("".join(lines).split())
    assert joined == "".join(console.printable(text).split())


@given(st.text(min_size=1, max_size=60), st.integers(4, 40))
def test_shortened_texts_fit_and_say_that_they_were_cut(text: str, width: int) -> None:
    cut = console.shorten(text, width)
    assert console.display_width(cut) <= width
    assert cut == console.printable(text) or cut.endswith("...")


def test_a_figure_keeps_its_unit_and_a_name_is_never_cut() -> None:
    assert console.fill("under up to 1.9 kN there", 17) == ["under up to", "1.9 kN there"]
    edge = {**run_document()["lines"][0]["edges"][0], "name": "the upper west parapet of pier four"}
    shown = ran(lines=[run_document()["lines"][0] | {"edges": [edge]}])
    column = [line[2:30].split("  ")[0].strip() for line in shown.splitlines()]
    assert edge["name"] in " ".join(column)
    assert "..." not in shown


@given(st.lists(st.integers(1, 60), min_size=1, max_size=3), st.integers(30, 90))
def test_columns_of_texts_share_the_room_and_none_is_wider_than_it_needs(
    widths: list[int], room: int
) -> None:
    given_out = console.shared_out(widths, room)
    assert all(0 < one <= wide for one, wide in zip(given_out, widths, strict=True))
    assert sum(given_out) <= room or given_out == widths
    if sum(widths) >= room:
        assert sum(given_out) >= room - len(widths)  # whole cells: less than one each is lost


def test_wide_scripts_count_double() -> None:
    assert console.display_width("橋脚") == 4
    assert console.display_width("e\u0301") == 1


def test_no_page_is_named_where_none_was_written() -> None:
    stream = io.StringIO()
    print_ranking(replace(rankings.ordinary(), report=None), stream)
    assert "page " not in stream.getvalue()


def test_a_bare_edge_is_named_with_the_line_the_time_and_how_long() -> None:
    bare = {"line": "lead's working line", "edge": "kerb", "from_s": 65.0, "for_s": 1500.0}
    assert "kerb, on lead's working line, from 1:05, for 25 min" in ran(bare_edge=[bare])


@pytest.mark.parametrize("rounds", [1, 2, 7, 200])
def test_a_repeat_is_one_line_of_the_timeline_however_many_its_rounds(rounds: int) -> None:
    def event(time_s: float, what: str, detail: str) -> dict[str, Any]:
        return {"time_s": time_s, "who": "ann", "what": what, "step": 1, "detail": detail}

    made = [event(60.0 * n, "made", "descend 8 m") for n in range(rounds)]
    ends = event(60.0 * rounds, "ends", "repeat")
    text = ran(events=[event(0.0, "begins", "repeat"), *made, ends])
    assert text.count("ann") == 1
    assert "descend 8 m" not in text


@pytest.mark.parametrize("role", ["working line", "safety line"])
@pytest.mark.parametrize("form", ["{}", "mason {}", "{} below gate bolts", "ann {} below low"])
def test_the_heading_of_a_line_says_what_it_is_once(form: str, role: str) -> None:
    line = run_document()["lines"][0] | {"name": form.format(role), "role": role}
    (heading,) = [row for row in ran(lines=[line]).splitlines() if role in row]
    assert heading.count(role) == 1
    assert heading.strip() == form.format(role)
