"""One part of the report for each option: drawing, why it stands where it stands, loads, wear."""

from __future__ import annotations

from collections.abc import Sequence

from edgewear.dataset.ranking.looks import Looks
from edgewear.dataset.ranking.model import EdgeSummary, OptionResult
from edgewear.dataset.ranking.why import travel_aside
from edgewear.report.drawings import elevation, scene, timeline_chart, wear_chart
from edgewear.report.drawings.view import LARGE, SMALL
from edgewear.report.formats import document as d
from edgewear.report.parts import decided, rigged_words, words
from edgewear.report.parts.sentences import failures, looks, mark, spread
from edgewear.report.parts.sources import Curve, Source, StepWear
from edgewear.report.parts.summary import status_among
from edgewear.terms import LEVELS, ROPE_SWAPPED

CUTTING_WORDS = (
    "A cutting edge can part a rope in one pass. No wear number is given; nothing below forecasts "
    "how long a rope lasts there."
)

UNROLLED = (
    "Lines laid out from their lengths and bends, which are to scale. No places are given for "
    "their edges, so it does not show where on the site they lie."
)


def part(source: Source, option: OptionResult, identity: str) -> d.Section:
    """Give everything about one option."""
    rank = "no rank" if option.rank is None else f"rank {option.rank}"
    blocks: list[d.Block] = [
        d.Paragraph(
            d.run(
                d.Strong(status_among(source.ranking, option)),
                f" · {rank} · level: {option.control}",
            )
        )
    ]
    if option.group == 3:
        blocks.append(d.Paragraph(d.run(d.Strong(CUTTING_WORDS)), "caution"))
    if option.why:
        blocks.append(d.Paragraph((option.why,)))
    blocks += controls(option)
    warnings = "; ".join(decided.own(source.ranking, option))
    if warnings:
        blocks.append(d.Paragraph(d.run(d.Strong("Mind: "), d.Name(warnings), ".")))
    if parts := decided.parts(option):
        blocks.append(d.Paragraph(d.run(d.Name(parts))))
    blocks += _drawings(option, identity)
    blocks.append(facts(source, option))
    if option.failed:
        blocks.append(d.Paragraph(d.run(d.Name(failures(option)), ".")))
    if option.group != 3 and option.looks is not None and _looked_at(option.looks):
        blocks.append(d.Paragraph(d.run(d.Strong("When to look: "), looks(option.looks) + ".")))
    blocks += edge_tables(option)
    blocks += _courses(source, option, identity)
    blocks += rigged_words.blocks(option.facts)
    return d.Section(d.run(d.Name(option.name)), identity, tuple(blocks), own_sheet=True)


def _looked_at(when: Looks) -> bool:
    """Tell whether more is to be said than that one looks before and after the job."""
    known = (when.first_time_s, when.first_ascended_m, when.stop, when.worn_at)
    return any(one is not None for one in known[:3]) or any(w.time_s is not None for w in known[3])


def _drawings(option: OptionResult, identity: str) -> list[d.Block]:
    worn = None
    if option.group < 3:
        worn = {(edge.line, edge.edge): edge.decides[1] for edge in option.edges}
    drawn = scene.read(option.facts.get("drawing", {}), worn)
    if not drawn.points:
        return []
    beside = scene.apart(option.facts.get("drawing", {}), worn)
    some = "" if beside is None else ": the lines whose places are known"
    how = UNROLLED if drawn.unrolled else f"From the side, to scale{some}."
    note = f"{how} Worn: at the careful end."
    figures = [
        d.Figure(
            elevation.whole(drawn, f"{identity}-whole", option.name, LARGE),
            (note,),
            f"{identity}-elevation",
            narrow=elevation.whole(drawn, f"{identity}-small", option.name, SMALL),
        )
    ]
    if elevation.has_detail(drawn):
        picture = elevation.detail(drawn, f"{identity}-near", option.name)
        figures.append(d.Figure(picture, ("The edges, larger.",), f"{identity}-detail"))
    if beside is not None:
        picture = elevation.whole(beside, f"{identity}-lengths", option.name, SMALL)
        figures.append(d.Figure(picture, (UNROLLED,), f"{identity}-lengths"))
    above = scene.from_above(option.facts, worn)
    if above is not None:
        picture = elevation.plan(above, f"{identity}-above", option.name)
        figures.append(d.Figure(picture, ("From above.",), f"{identity}-plan"))
    return [d.Pair(tuple(figures), lead=True)]


def facts(source: Source, option: OptionResult) -> d.Facts:
    """Give an option's figures: sheath, core, loads, stretch, rates, the step that wears most."""
    careful, middle, best = words.margins(option)
    pairs: list[tuple[str, d.Run]] = [
        ("sheath left", (f"{careful} / {middle} / {best}",)),
        ("core visible", (option.p_core_visible_words or words.NOTHING,)),
    ]
    first = option.core_visible_at
    if first is not None and first.time_s.p5 is not None and option.group != 3:
        pairs.append(
            (
                "core first visible, careful end",
                (
                    f"{words.metres(first.ascended_m.p5)} climbed, "
                    f"{words.duration(first.time_s.p5)} into the job",
                ),
            )
        )
    pairs += [
        ("load at the anchor", (spread(option.anchor_peak_n, "N"),)),
        ("stretch at the person", (spread(option.stretch_m, "m"),)),
        (
            "person and rope bounce",
            (
                f"{words.hertz(option.frequency_sliding_hz)} sliding, "
                f"{words.hertz(option.frequency_stuck_hz)} stuck",
            ),
        ),
    ]
    if option.stroke_hz is not None:
        pairs.append(("stroke rate over bounce", (_strokes(option),)))
    if option.group != 3:
        pairs += _most_wear(source, option.name)
    return d.Facts(tuple(pairs))


def _most_wear(source: Source, option: str) -> list[tuple[str, d.Run]]:
    """Say which step wears the most worn line most, and whose it is where there are several."""
    by_line: dict[str, list[StepWear]] = {}
    for row in source.step_wear.get(option, ()):
        by_line.setdefault(row.line, []).append(row)
    worn = max(by_line.values(), key=lambda rows: sum(row.demand for row in rows), default=[])
    whole = sum(row.demand for row in worn)
    if whole <= 0:
        return []
    most = max(worn, key=lambda row: row.demand)
    label = f"most wear in step {most.step}"
    if len({event.who for event in source.events.get(option, ()) if event.step}) > 1:
        label += f" of {most.by}"
    name = next(
        (
            event.detail
            for event in source.events.get(option, ())
            if event.step == most.step and event.who == most.by and event.what == "begins"
        ),
        "",
    )
    return [(label, d.run(f"{words.percent(most.demand / whole)}, ", d.Name(name)))]


def _strokes(option: OptionResult) -> str:
    """Say the stroke rate's share of both natural frequencies."""
    shares = [
        f"{words.significant(option.stroke_hz / bounce)} {how}"
        for bounce, how in (
            (option.frequency_sliding_hz, "sliding"),
            (option.frequency_stuck_hz, "stuck"),
        )
        if bounce and option.stroke_hz
    ]
    return ", ".join(shares) or words.NOTHING


def edge_tables(option: OptionResult) -> list[d.Block]:
    """Give the table of what each edge does to each line; nothing where no edge is met."""
    met = [edge for edge in option.edges if edge.wrap_deg > 0 or edge.slip_m > 0]
    if not met:
        return []
    figures: tuple[str, ...] = (
        "largest bend", "a stroke", "strokes stuck", "slides in all", "tension", "worst place",
        "a third worn",
    )  # fmt: skip
    lines = len({edge.line for edge in met}) > 1
    if option.group == 3:
        figures = figures[:-2]
    columns = (
        d.Column("edge"),
        *([d.Column("line")] if lines else []),
        d.Column("cover"),
        *(d.Column(title, True) for title in figures),
        d.Column("tape mark travels"),
    )
    caption = "What each edge does, middle of the trials" + (
        "; a third worn: careful end" if option.group < 3 else ""
    )
    rows = tuple(_edge(edge, lines, wear=option.group < 3) for edge in met)
    table = d.Table(caption, columns, rows)
    return [table, *_travel_aside(met)] if option.group < 3 else [table]


def _travel_aside(edges: Sequence[EdgeSummary]) -> list[d.Block]:
    """Name the edges where travel along them takes much of the wear."""
    pieces: list[d.Inline] = []
    for edge in edges:
        if aside := travel_aside(edge):
            share = words.percent(edge.decides[1])
            where = (d.Name(edge.edge), ", ", d.Name(edge.line))
            pieces += ["; " if pieces else "", *where, f": {share} of the sheath, {aside}"]
    return [d.Paragraph(d.run("At the careful end: ", *pieces, "."))] if pieces else []


def _edge(edge: EdgeSummary, with_line: bool, wear: bool) -> tuple[d.Cell, ...]:
    return (
        d.cell(d.Name(edge.edge)),
        *([d.cell(d.Name(edge.line))] if with_line else []),
        d.cell(edge.protection or "bare"),
        d.cell(words.degrees(edge.wrap_deg, "°"), edge.wrap_deg),
        d.cell(words.metres(edge.travel_per_stroke_m), edge.travel_per_stroke_m),
        d.cell(words.percent(edge.stuck_share), edge.stuck_share),
        d.cell(words.metres(edge.slip_m), edge.slip_m),
        d.cell(words.kilonewtons(edge.peak_tension_n), edge.peak_tension_n),
        *([d.cell(words.percent(edge.worst_share), edge.worst_share)] if wear else []),
        *([_third(edge)] if wear else []),
        d.cell(mark(edge)),
    )


def _third(edge: EdgeSummary) -> d.Cell:
    """Give the time at which the careful trial has worn a third of the sheath at an edge."""
    time_s = edge.worn_at[0].time_s if edge.worn_at else None
    return d.cell(words.NOTHING if time_s is None else words.duration(time_s), time_s)


def _courses(source: Source, option: OptionResult, identity: str) -> list[d.Block]:
    figures = []
    wear = source.wear.get(option.name, ())
    if option.group == 3:
        return []
    if wear:
        picture = wear_chart.draw(source.ranking, option.name, wear, f"{identity}-wear")
        caption = f"Wear along the rope, nominal run.{_which_ropes(source, option, wear)}"
        figures.append(d.Figure(picture, (caption,), f"{identity}-wear"))
    timeline = source.timeline.get(option.name, ())
    if timeline:
        events = source.events.get(option.name, ())
        picture = timeline_chart.draw(
            source.ranking, option.name, timeline, events, f"{identity}-time"
        )
        steps = timeline_chart.step_words(events)
        which = _which_ropes(source, option, timeline)
        caption = f"The job over time, nominal run; grey: repeats.{which}"
        told = d.run(f"{caption} ", d.Name(steps)) if _first(source, option) else (caption,)
        figures.append(d.Figure(picture, told, f"{identity}-timeline"))
    return [d.Pair(tuple(figures))] if figures else []


def _which_ropes(source: Source, option: OptionResult, curves: Sequence[Curve]) -> str:
    """Say of which ropes the curves are, where a line had more than one."""
    if any(curve.several for curve in curves):
        return " Of a line whose rope was swapped: each of its ropes by itself."
    swapped = any(one.what == ROPE_SWAPPED for one in source.events.get(option.name, ()))
    last_alone = swapped and any(curve.rope == 0 for curve in curves)
    return " Of a line whose rope was swapped: its last rope alone." if last_alone else ""


def _first(source: Source, option: OptionResult) -> bool:
    """Tell whether an option is the first whose steps read as they do."""
    steps = timeline_chart.step_words(source.events.get(option.name, ()))
    before = source.ranking.options[: source.ranking.options.index(option)]
    return all(timeline_chart.step_words(source.events.get(o.name, ())) != steps for o in before)


def controls(option: OptionResult) -> list[d.Block]:
    """Give the levels of control above the one an option reaches, with why each was not chosen."""
    reasons: dict[str, list[str]] = {}
    for level in LEVELS[: option.level]:
        if level in option.why_not_higher:
            reasons.setdefault(option.why_not_higher[level], []).append(level)
    if not reasons:
        return []
    pieces: list[d.Inline] = [d.Strong("Why not a higher level: ")]
    for place, (reason, levels) in enumerate(reasons.items()):
        pieces += ["; " if place else "", f"{', '.join(levels)}: ", d.Name(reason)]
    return [d.Paragraph(d.run(*pieces, "."))]
