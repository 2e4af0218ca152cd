"""The audit sheet: the page of a procedure taken apart, with what it was made of and is held to."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from edgewear.findings.procedure import Findings
from edgewear.findings.rigging import PointLoad
from edgewear.findings.sheets.audit import Audit, LimitHeld, StepDone
from edgewear.findings.timeline import Timeline
from edgewear.report.drawings.fault_chart import faults_picture
from edgewear.report.formats import document as d
from edgewear.report.formats import html
from edgewear.report.parts import words
from edgewear.report.procedure.page import sheet
from edgewear.report.write import write_files

SIGNED = "What this sheet says was computed from the input below. It is signed for by people."
LOADS = (
    "At work, in a rescue and in the hardest catch; friction is left out, which is the careful "
    "end. Each fixing bears all of it if the other fails."
)
CHANGED = (
    "Lines that went (-) and came (+). What got better or worse by it stands above, each figure "
    "before and now; both revisions met the same trials."
)


def write_audit(found: Findings, path: Path) -> None:
    """Write the audit sheet as one self-contained page.

    Parameters:
        found: with `audit`.

    Raises:
        CannotCreate, CannotWrite: the file cannot be written.
    """
    write_files(path.parent, {path.name: html.page(audit_sheet(found)).encode()})


def audit_sheet(found: Findings) -> d.Sheet:
    """Put the sheet together: who signs, what it is of, the findings, then what they rest on."""
    audit, whole = found.audit, sheet(found)
    if audit is None:
        return whole
    before = [
        _section("Signed for", "signed", _signed(audit)),
        _section("Held to", "held", [_limits(audit.limits)]),
    ]
    after = [
        _section("The steps, with nothing wrong", "plan", [_steps(audit.steps)]),
        _section("Loads on fixed points", "loads", _loads(audit.loads)),
        _section("The course of each fault asked for", "courses", _courses(audit.timelines)),
        _section("What was changed in the input", "changed", _changed(audit)),
        _section("The input as it was read", "input", _inputs(audit)),
        _section("What it was computed with", "versions", [_versions(audit)]),
    ]
    (top,) = (one for one in whole.blocks if isinstance(one, d.Section))
    head, rest = top.blocks[:2], top.blocks[2:]
    shown = [one for one in (*before, *rest, *after) if not _is_empty(one)]
    blocks = (*head, _facts(audit), *shown)
    running = (*whole.running, f"input {audit.inputs[-1].sha256[:12]}")
    return d.Sheet(whole.title, running, (d.Section(top.title, "top", blocks, level=1),))


def _section(title: str, identity: str, blocks: Sequence[d.Block]) -> d.Section:
    return d.Section((title,), identity, tuple(blocks))


def _is_empty(block: d.Block) -> bool:
    return isinstance(block, d.Section) and not block.blocks


def _facts(audit: Audit) -> d.Facts:
    last = audit.inputs[-1]
    own = [("own library, SHA-256", (last.library_sha256,))] if last.library_sha256 else []
    return d.Facts(
        (
            ("input", (d.Name(last.path),)),
            ("input, SHA-256", (last.sha256,)),
            *own,
            ("edgewear", (f"{audit.versions.get('edgewear', '')}, model {audit.model}",)),
        )
    )


def _table(
    caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], texts: int
) -> d.Table:
    columns = tuple(d.Column(head, place >= texts) for place, head in enumerate(heads))
    return d.Table(
        caption, columns, tuple(tuple(d.cell(d.Name(text)) for text in row) for row in rows)
    )


def _signed(audit: Audit) -> list[d.Block]:
    columns = tuple(d.Column(head) for head in ("", "name", "date", "signature"))
    rows = tuple(
        tuple(d.cell(d.Name(text)) for text in (one.role, one.name or "", "", ""))
        for one in audit.sign_off
    )
    table = d.Table("To be filled in", columns, rows, sortable=False, written_on=True)
    return [d.Paragraph((SIGNED,)), table]


def _limits(limits: Sequence[LimitHeld]) -> d.Table:
    rows = [[one.name, _most(one), one.source] for one in limits]
    return _table("Limits, typed and assumed", ("limit", "at most", "from"), rows, 3)


def _most(one: LimitHeld) -> str:
    if one.most is None:
        return words.NOTHING
    told = {"s": words.clock, "m": words.metres, "N": _force, "1": words.percent}
    return told[one.unit](one.most) if one.unit in told else f"{one.most:g} {one.unit}"


def _force(force_n: float) -> str:
    return f"{force_n:.0f} N" if 1.0 <= force_n < 1000.0 else words.kilonewtons(force_n)


def _steps(steps: Sequence[StepDone]) -> d.Table:
    rows = [
        [
            one.person, str(one.step), one.words, _clock(one.from_s), _clock(one.to_s),
            words.metres(one.depth_m),
        ]
        for one in steps
    ]  # fmt: skip
    heads = ("person", "step", "what is done", "from", "to", "deep at its end")
    return _table("Minutes and seconds from the start of the job", heads, rows, 3)


def _clock(time_s: float | None) -> str:
    return words.NOTHING if time_s is None else words.clock(time_s)


def _loads(loads: Sequence[PointLoad]) -> list[d.Block]:
    rows = [
        [
            one.name, one.use, one.line, one.case, words.kilonewtons(one.peak_n),
            " + ".join(words.kilonewtons(each) for each in one.each_fixing_n),
            words.kilonewtons(one.strength_n),
            words.NOTHING if not one.strength_n else words.percent(one.peak_n / one.strength_n),
        ]
        for one in loads
    ]  # fmt: skip
    heads = ("point", "as", "line", "when", "load", "each fixing", "rated", "of its rating")
    table = _table("Anchors, re-anchors and deviations", heads, rows, 4)
    return [table, d.Paragraph((LOADS,), "note")] if rows else []


def _courses(timelines: Sequence[Timeline]) -> list[d.Block]:
    found: list[d.Block] = []
    for number, one in enumerate(timelines, 1):
        name = f"course-{number}"
        marks = [[words.clock(m.time_s), m.who, m.what] for m in one.marks]
        found.append(d.Figure(faults_picture(one, name), (f"{one.title}.",), name, wide=True))
        found.append(_table(one.title, ("at", "who", "what"), marks, 3))
    return found


def _changed(audit: Audit) -> list[d.Block]:
    if not audit.changed_lines:
        return []
    return [d.Paragraph((CHANGED,)), d.Code("\n".join(audit.changed_lines))]


def _inputs(audit: Audit) -> list[d.Block]:
    found: list[d.Block] = []
    for one in audit.inputs:
        found += [d.Paragraph((d.Name(one.path), f", SHA-256 {one.sha256}")), d.Code(one.text)]
    return found


def _versions(audit: Audit) -> d.Table:
    rows = [[name, version] for name, version in audit.versions.items()]
    return _table("Everything that the last digit depends on", ("what", "version"), rows, 2)
