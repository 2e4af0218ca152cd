"""A procedure taken apart as a page to print and tables for a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.failure import Failure
from edgewear.findings.fates import Fate, Fates
from edgewear.findings.faults import StepRow
from edgewear.findings.plain import plain
from edgewear.findings.procedure import Findings
from edgewear.findings.rescue import STAGES
from edgewear.findings.verdict import Verdict
from edgewear.report.drawings import pictures
from edgewear.report.drawings.fault_chart import faults_picture
from edgewear.report.formats import document as d
from edgewear.report.formats import html
from edgewear.report.formats.table_csv import neutral, number
from edgewear.report.parts import words
from edgewear.report.procedure import fate_words, verdict_words
from edgewear.report.procedure import words as fault_words
from edgewear.report.procedure.words import Cell, cells
from edgewear.report.terminal.console import Console
from edgewear.report.terminal.difference import print_difference
from edgewear.report.terminal.faults import worst_pairs
from edgewear.report.write import write_files

PAGE = "faults.html"


def write_faults(found: Findings, out: Path) -> Path:
    """Write page, tables, picture and document into a folder and give the path of the page.

    Parameters:
        out: folder, made where it is missing; older files of the same names are replaced.

    Raises:
        CannotCreate, CannotWrite: the folder or a file cannot be written.
    """
    document = json.dumps(found.as_json(), ensure_ascii=False, indent=1, allow_nan=False)
    files = {
        PAGE: html.page(sheet(found)),
        "single-failures.csv": "\ufeff" + failures_csv(found),
        "faults.csv": "\ufeff" + faults_csv(found),
        "fates.csv": "\ufeff" + fates_csv(found),
        "worst-run.svg": pictures.standalone(faults_picture(found.timeline)),
        "faults.json": document + "\n",
    }
    write_files(out, {name: text.encode() for name, text in files.items()})
    return out / PAGE


def sheet(found: Findings) -> d.Sheet:
    """Put the page together: what holds, the weakest steps, faults, rescue, what it rests on."""
    parts: list[tuple[str, str, list[d.Block]]] = [
        (verdict_words.HEADING, "verdict", _verdict(found.verdict)),
        ("What becomes of people, the worst first", "fates", _fates(found)),
        ("What both lines depend on", "shared", _listing(found.shared)),
        (
            "What lines of two people share",
            "between",
            _listing(one.words for one in found.between),
        ),
        ("If one thing failed: the worst step for each", "failures", _failures(found)),
        ("Weakest steps: the fault that would cost most there", "steps", _steps(found)),
        ("If one fault happened", "faults", _faults(found)),
        ("With the rates given, in one job", "rates", _listing(map(fault_words.rate, found.rates))),
        ("Rescue from each place of work", "rescue", _rescues(found)),
        ("What the revision changes", "difference", _difference(found)),
        ("The worst run over time", "run", _picture(found)),
        ("Cautions", "cautions", _listing(found.cautions)),
    ]
    status = words.STATUS_JOIN.join(found.status)
    decided = [("status of the rigging", d.run(d.Strong(status)))] if status else []
    revision = str(found.revision or "not stated")
    blocks: list[d.Block] = [
        d.Paragraph(("A procedure taken apart: every single failure, every fault",), "over"),
        d.Facts(
            (
                ("rigged as", (d.Name(found.option),)),
                *decided,
                ("revision", (d.Name(revision),)),
                ("trials of each fault and pair", (str(found.replicates),)),
                ("seed", (str(found.seed),)),
            )
        ),
        *_listing(found.mind),
        d.Paragraph(d.run(d.Strong(PROJECTION), " " + LAW_FIRST), "caution"),
        d.Paragraph((found.conditional,)),
        *(d.Section((title,), name, tuple(inside)) for title, name, inside in parts if inside),
    ]
    whole = d.Section(d.run(d.Name(found.title)), "top", tuple(blocks), level=1)
    return d.Sheet(found.title, (found.title, f"revision {revision}"), (whole,))


def _verdict(verdict: Verdict) -> list[d.Block]:
    said = verdict_words.remedy(verdict)
    more: list[d.Block] = [d.Paragraph((d.Name(said),))] if said else []
    return [*_listing(verdict_words.listed(verdict)), *more]


def _listing(points: Iterable[str]) -> list[d.Block]:
    found = tuple((d.Name(text),) for text in points)
    return [d.Listing(found)] if found else []


def _table(
    caption: str, heads: Sequence[str], rows: Iterable[Sequence[Cell]], texts: int
) -> d.Table:
    """A table whose first columns are words, the others figures."""
    columns = tuple(d.Column(head, place >= texts) for place, head in enumerate(heads))
    return d.Table(caption, columns, tuple(tuple(map(_cell, row)) for row in rows))


def _cell(shown: Cell) -> d.Cell:
    return d.cell(d.Strong(shown.text) if shown.grave else d.Name(shown.text))


def _failures(found: Findings) -> list[d.Block]:
    worst, every = found.worst_failures, found.single_failures
    if not worst:
        return []
    people = dict.fromkeys(row.person for row in worst)
    tables = [
        _table(
            f"{person}: {len(mine)} components, each at its worst step",
            fault_words.FAILURE,
            [_with_step_words(row) for row in mine],
            4,
        )
        for person in people
        if (mine := [row for row in worst if row.person == person])
    ]
    said = [f"{who}: {text}" for who, text in fault_words.minded(worst)]
    all_rows = [[Cell(row.person), *_with_step_words(row)] for row in every]
    heads = ("person", *fault_words.FAILURE)
    whole = _table("Every component at every step", heads, all_rows, 5)
    return [
        *tables,
        d.Paragraph((fault_words.ABOVE,), "note"),
        *_listing([*said, *found.carried]),
        d.Fold(f"All {len(all_rows)} rows", (whole,)),
    ]


def _with_step_words(row: Failure) -> list[Cell]:
    """Cells of a single failure, with what is done in its step beside the number."""
    called, step, *rest = fault_words.failure(row)
    said = f"{step.text} ({row.step_words})" if row.step_words else step.text
    return [called, step._replace(text=said), *rest]


def _steps(found: Findings) -> list[d.Block]:
    rows = found.weakest_steps
    if not rows:
        return [d.Paragraph((fault_words.NO_COST,))]
    heads = ("person", "step", "what is done", "if this happened", "what it would cost")
    weakest = [
        cells(row.person, str(row.step), row.words, row.fault, fault_words.cost(row))
        for row in rows
    ]
    every = [
        [*cells(row.person, str(row.step), row.words), *fault_words.fault(row)]
        for row in found.table
        if row.trials
    ]
    whole = _table(
        "Every fault at every step",
        ("person", "step", "what is done", *fault_words.FAULT),
        every,
        4,
    )
    return [
        _table("The weakest step first", heads, weakest, len(heads)),
        d.Fold(f"All {len(every)} rows: fault by step", (whole,)),
    ]


def _faults(found: Findings) -> list[d.Block]:
    rows = found.faults
    alone = [row for row in rows if len(row.names) == 1]
    pairs = worst_pairs([row for row in rows if len(row.names) > 1 and row.trials])
    fallen = [
        f"{' and '.join(row.names)}: {'; '.join(said)}"
        for row in [*alone, *pairs]
        if (said := fault_words.fallen(row))
    ]
    blocks: list[d.Block] = [
        _table("Each fault alone", fault_words.FAULT, map(fault_words.fault, alone), 1),
        *_listing(
            [*fallen, *fault_words.without_any(found.without_faults), *fault_words.left_out(rows)]
        ),
        d.Paragraph((fault_words.TIMES,), "note"),
    ]
    if pairs:
        table = _table(
            "Pairs, the worst first", fault_words.FAULT, map(fault_words.fault, pairs), 1
        )
        blocks.append(d.Fold(f"All {len(pairs)} pairs", (table,)))
    return blocks


def _fates(found: Findings) -> list[d.Block]:
    """Everybody's fate with each fault alone; pairs and steps in which somebody is badly off."""
    came = [one for one in found.fates if one.came]
    if not came:
        return []
    alone = [one for one in came if len(one.names) == 1 and not one.step]
    grave = [one for one in alone if fate_words.is_grave(one)]
    more = [one for one in came if one not in alone and fate_words.is_grave(one)]
    planned = found.fates_without_faults
    plan = [text] if (text := fate_words.of_the_plan(planned)) else []
    told = [f"{fate_words.happened(one)}: {fate_words.consequence(one)}" for one in alone]
    blocks = _listing([*plan, *told])
    if plan:
        blocks.append(_fate_table("Everybody, with no fault at all", [planned]))
    if grave:
        blocks.append(_fate_table("Everybody, with each fault that drops or leaves one", grave))
    blocks.append(d.Paragraph((fate_words.TIMES,), "note"))
    if more:
        table = _fate_table("Pairs of faults, and faults at each step", more)
        blocks.append(d.Fold(f"All {len(more)} further ones", (table,)))
    return blocks


def _fate_table(caption: str, every: Sequence[Fates]) -> d.Table:
    rows = [fate_words.row(one, person) for one in every for person in one.people]
    return _table(caption, fate_words.HEADS, rows, len(fate_words.HEADS))


def _rescues(found: Findings) -> list[d.Block]:
    rows = found.rescues
    if not rows:
        return []
    shown = [fate_words.place(one, way) for one in rows for way in one.ways if way.shown]
    told = [
        f"{fate_words.at(one)}: {fate_words.rescue(way)}"
        for one in rows
        for way in one.ways
        if way.shown
    ]
    wear = [
        cells(
            f"{one.person}, step {one.step}", way.method, edge.line, edge.edge,
            words.percent(min(edge.demand, 9.99)), words.kilonewtons(edge.peak_n),
        )
        for one in rows
        for way in one.ways
        for edge in way.wear
        if edge.peak_n > 0
    ]  # fmt: skip
    heads = ("from", "how", "line", "edge", "sheath worn", "tension")
    blocks = _listing([*fate_words.not_shown(rows), *told, *fate_words.cores(rows)])
    if shown:
        blocks.append(_table("Rescues that are shown", fate_words.PLACES, shown, 3))
        worn = _table("By the rescue alone", heads, wear, 4)
        blocks.append(d.Fold("Wear of every line at every edge", (worn,)))
    return [*blocks, d.Paragraph((fate_words.TIMES,), "note")]


def _difference(found: Findings) -> list[d.Block]:
    if found.difference is None:
        return []
    told = io.StringIO()
    print_difference(Console(told, 100), found.difference)
    return [d.Code(told.getvalue().strip())]


def _picture(found: Findings) -> list[d.Block]:
    caption = (f"{found.timeline.title}.",)
    return [d.Figure(faults_picture(found.timeline), caption, "worst-run", wide=True)]


FAILURE_COLUMNS = (
    "person", "component", "kind", "line", "step", "step_words", "depth_m", "holds", "independent",
    "over_edge", "drop_m", "drop_careful_m", "swing_m", "peak_n", "peak_careful_n", "clearance",
    "reachable", "beyond", "why", "caution",
)  # fmt: skip
FAULT_COLUMNS = (
    "names", "person", "step", "step_words", "trials", "margin_lost", "p_core_visible", "p_parted",
    "p_nothing_holds", "p_left_hanging", "fault_to_core_visible_p5_s", "seen_by", "seen_share",
    "seen_after_share", "time_to_act_p5_s", "caution",
)  # fmt: skip
FATE_COLUMNS = (
    "names", "person_of_step", "step", "inside", "came", "seen_by", "person", "end", "drop_m",
    "swing_m", "catch_holds", "catch_why", "lost", "showing", "holds", "still_p95_s",
    "hangs_from_s", "hangs_to_s", "hangs_at_s", "coming_to", "coming_at_m",
    "goes_on", "as_without",
    "noticed_by", "noticed_how", "method", "rescuer", "rescuer_at",
    *(f"{stage}_p95_s" for stage in STAGES), "above_limit", "ends_at", "missing",
    "caution",
)  # fmt: skip
CAUTION = f"{PROJECTION} {LAW_FIRST}"


def failures_csv(found: Findings) -> str:
    """Every single failure at every step, for a spreadsheet."""
    rows = [
        {
            **plain(row),
            "beyond": "; ".join(one.words for one in row.beyond),
            "clearance": "; ".join(f"{number(m)} m to {k}" for k, m in row.clearance_m.items()),
            "caution": CAUTION,
        }
        for row in found.single_failures
    ]
    return _csv(FAILURE_COLUMNS, rows)


def faults_csv(found: Findings) -> str:
    """Every fault, every pair and every fault at every step, for a spreadsheet."""
    rows = [
        {
            **plain(row),
            "names": " + ".join(row.names),
            "step_words": row.words if isinstance(row, StepRow) else "",
            "fault_to_core_visible_p5_s": row.fault_to_core_visible_s.p5,
            "time_to_act_p5_s": row.time_to_act_s.p5,
            "caution": CAUTION,
        }
        for row in [*found.faults, *found.table]
    ]
    return _csv(FAULT_COLUMNS, rows)


def fates_csv(found: Findings) -> str:
    """Everybody's fate with each fault, each pair and each fault at each step, the worst first.

    Without names, at the end: with no fault at all.
    """
    every = (*found.fates, found.fates_without_faults)
    rows = [_fate_row(one, person) for one in every for person in one.people]
    return _csv(FATE_COLUMNS, rows)


def _fate_row(one: Fates, person: Fate) -> dict[str, object]:
    way = person.rescue
    rescued = {} if way is None else {
        **plain(way),
        **{f"{stage}_p95_s": way.careful_s(stage) for stage in STAGES},
    }  # fmt: skip
    return {
        **rescued,
        **plain(person),
        "names": " + ".join(one.names),
        "person_of_step": one.person or None,
        "step": one.step or None,
        "inside": one.inside or None,
        "came": one.came,
        "still_p95_s": person.still.p95_s if person.still else None,
        "above_limit": ", ".join(person.late),
        "seen_by": one.seen_by,
        "missing": "; ".join(person.missing) or None,
        "lost": "; ".join(person.lost) or None,
        "showing": "; ".join(person.showing) or None,
        "caution": CAUTION,
    }


def _csv(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_field(row.get(column)) for column in columns])
    return stream.getvalue()


def _field(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return number(value)
    return str(value) if isinstance(value, int) else neutral(str(value))
