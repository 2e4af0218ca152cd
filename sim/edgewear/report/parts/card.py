"""The card for the site: one A5 page of an option, black on white, with what to watch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear.cautions import LAW_FIRST, PROJECTION, RETIRE
from edgewear.dataset.ranking.model import EdgeSummary, OptionResult, Ranking
from edgewear.report.drawings import elevation, scene
from edgewear.report.formats import card_fit, html
from edgewear.report.formats.escape import cleaned, markup
from edgewear.report.parts import rigged_words, sentences, summary, words
from edgewear.report.terminal.console import shorten

NAME = 44
"""Names are cut to so many characters: the card stays one page, the report has them whole."""

MOST = 11
"""Rows of a table on a card."""

BLANK = '<span class="blank">&nbsp;</span>'


def offered(option: OptionResult) -> bool:
    """Tell whether there is a card for an option: only for one that meets the target."""
    return option.group == 0 and option.margin is not None


def write(ranking: Ranking, option: OptionResult) -> str:
    """Write the card of an option."""
    sketch = _sketch(option)
    head = "".join(_head(ranking, option))
    beside = "".join([*_looks(option), *_people(ranking, option)])
    rest = "".join([*_lines(option), *_edges(option), *_holds(option), *_end()])
    size = card_fit.size_class(sketch, beside, head + rest)
    body = [
        f'<main class="{size}">',
        head,
        f'<div class="two"><div>{sketch}</div><div>{beside}</div></div>',
        rest,
        "</main>",
    ]
    style = html.asset("picture.css") + html.asset("card.css")
    return html.shell(f"Card: {option.name}", style, "", body)


def name(text: str, most: int = NAME) -> str:
    """Give a name as the card shows it: escaped, and cut where it is very long.

    Parameters:
        text: unescaped.
        most: characters.
    """
    return f"<bdi>{markup(shorten(cleaned(text), most))}</bdi>"


def _head(ranking: Ranking, option: OptionResult) -> list[str]:
    industrial = ranking.setting == "industrial"
    unusual = "" if industrial else f" · {words.setting(ranking.setting)}"
    stated = [
        f"{key} {markup(shorten(v, NAME))}" for key, v in summary.about(ranking.scenario).items()
    ]
    return [
        f"<h1>{name(option.name)}</h1>",
        f"<p>{name(ranking.title, 2 * NAME)} · card for the site{markup(unusual)}</p>",
        f'<p class="about">{" · ".join(stated)} · input {ranking.scenario_sha256[:12]}</p>',
        f'<p class="status">{markup(summary.status(option))} · level: {markup(option.control)}</p>',
    ]


def _sketch(option: OptionResult) -> str:
    drawn = scene.read(option.facts.get("drawing", {}))
    if not drawn.points:
        return "<p>No drawing: nothing was surveyed.</p>"
    return elevation.whole(drawn, "sketch", option.name)


def _looks(option: OptionResult) -> list[str]:
    first, every, note = "", "", "a look at every edge the rope lay over"
    if option.looks is not None:
        when = option.looks
        if when.first_is_due:
            first = sentences.moments(when.first_ascended_m, when.first_time_s, when.first_strokes)
        every = sentences.moments(when.every_ascended_m, when.every_time_s, when.every_strokes)
        note = when.words
    parts = ['<div class="stop"><p>Look at the rope</p>']
    parts += [f"<p>first: {markup(first)}</p>"] if first else []
    parts += [f"<p>then every: {markup(every)}</p>"] if every else []
    if option.looks is not None and option.looks.stop is not None:
        parts.append(f"<p>{name(option.looks.stop.words, 4 * NAME)}</p>")
    parts.append(f"<p>{markup(note)}</p></div>")
    return [
        *parts,
        '<div class="stop"><p>Stop the work</p><p>core visible · sheath cut, glazed or stiff · '
        "a mark travels beyond its stop value · protection moved · rope off its edge</p></div>",
    ]


def _people(ranking: Ranking, option: OptionResult) -> list[str]:
    people = dict.fromkeys(
        str(line.get("person") or "") for line in option.facts.get("drawing", {}).get("lines", ())
    )
    roles = [*(person for person in people if person), "edge attendant"]
    rows = [f"<p>{name(role)}: {BLANK}</p>" for role in roles[:6]]
    rescue = ranking.scenario.get("rescue")
    told = markup(shorten(cleaned(str(rescue)), 160)) if rescue else f"{BLANK}<br>{BLANK}"
    return ["<h2>Roles</h2>", *rows, "<h2>Rescue</h2>", f"<p>{told}</p>"]


def _lines(option: OptionResult) -> list[str]:
    """Give the fixed points with the load of each case; without a survey, the sampled load."""
    loads = option.facts.get("loads", ())
    cases = rigged_words.cases_of(loads)
    rows = [_anchor(row, cases) for row in rigged_words.by_anchor(loads)]
    if not rows:
        peak = option.anchor_peak_n
        text = f"{words.kilonewtons(peak.p50)}, high end {words.kilonewtons(peak.p95)}"
        return ["<h2>Lines and anchors</h2>", f"<p>Load at the anchor in work: {markup(text)}</p>"]
    heads = ("anchor", "line", *cases, "rated", "pulls")
    ropes = [name(rigged_words.rope(row), 4 * NAME) for row in option.facts.get("ropes", ())[:MOST]]
    told = [f"<p>{'; '.join(ropes)}</p>"] if ropes else []
    table = _table("Lines and anchors, peak loads", heads, rows[:MOST])
    return [*table, *_more(len(rows)), *told]


def _anchor(row: Mapping[str, Any], cases: Sequence[str]) -> list[str]:
    rated = words.kilonewtons(row.get("strength_n"))
    return [
        f"{name(str(row['name']))} ({name(str(row['use']))})",
        name(str(row["line"])),
        *(markup(words.kilonewtons(row["cases"].get(case))) for case in cases),
        markup(rated),
        markup(rigged_words.direction(row.get("direction"))),
    ]


def _edges(option: OptionResult) -> list[str]:
    met = [edge for edge in option.edges if edge.wrap_deg > 0 or edge.protection]
    rows = [_edge(edge) for edge in met[:MOST]]
    heads = ("edge", "cover", "fixed to", "mark travels a stroke", "stop above")
    return _table("Edges and protection", heads, rows) + _more(len(met))


def _edge(edge: EdgeSummary) -> list[str]:
    travel = edge.mark_travel_m
    known = travel.p5 is not None and travel.p95
    mark = "no useful mark" if edge.mark_stop_m is None else words.millimetres(edge.mark_stop_m)
    stop = mark if known else words.NOTHING
    expected = f"{words.millimetres(travel.p5)} to {words.millimetres(travel.p95)}"
    return [
        f"{name(edge.edge)} ({name(edge.line)})",
        markup(edge.protection or "bare"),
        BLANK if edge.protection else words.NOTHING,
        markup(expected) if known else words.NOTHING,
        markup(stop),
    ]


def _table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    if not rows:
        return []
    top = "".join(f'<th scope="col">{markup(head)}</th>' for head in heads)
    lines = [f"<h2>{caption}</h2><table><thead><tr>{top}</tr></thead><tbody>"]
    for first, *others in rows:
        cells = "".join(f"<td{_figure(cell)}>{cell}</td>" for cell in others)
        lines.append(f'<tr><th scope="row">{first}</th>{cells}</tr>')
    return [*lines, "</tbody></table>"]


def _more(count: int) -> list[str]:
    """Say that rows were left out, where they were."""
    if count <= MOST:
        return []
    return [f"<p><strong>{count - MOST} more stand in the report.</strong></p>"]


def _figure(cell: str) -> str:
    """Keep a figure and its unit on one line."""
    return ' class="figure"' if cell[:1].isdigit() and len(cell) < 12 else ""


def _holds(option: OptionResult) -> list[str]:
    covered = dict.fromkeys(edge.edge for edge in option.edges if edge.protection)
    points = ["all lines rigged and checked by a second person before anyone hangs on them"]
    points += [f"protection at {name(edge)} in place and watched" for edge in list(covered)[:6]]
    minded = rigged_words.mind(option.facts)  # doubts come first, and none is left out
    most = max(3, len(option.facts.get("doubts", ())))
    points += [name(text, 5 * NAME) for text in minded[:most]]
    points += [name(text, 4 * NAME) for text in sentences.parts(option)[:3]]
    points.append("after any catch, slip of protection or change of anchor: stop, look, ask")
    return ["<h2>Hold points</h2>", "<ul>", *(f"<li>{point}</li>" for point in points), "</ul>"]


def _end() -> list[str]:
    return [
        f'<p class="end"><strong>{markup(PROJECTION)}</strong> '
        f"{markup(f'{LAW_FIRST} {RETIRE}')}</p>"
    ]
