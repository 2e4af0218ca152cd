"""How sure the figures are, what they rest on, and how to get them again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from edgewear.cautions import LAW_FIRST, PROJECTION, WEAR_AGREES
from edgewear.dataset.ranking.model import BridgeStep, OptionResult, PairedChance, Ranking
from edgewear.report.formats import document as d
from edgewear.report.parts import decided, sentences, words
from edgewear.report.parts.summary import band

SAID_ELSEWHERE = ("seed", "replicates", "runs", "failed", "model", "command")
"""Entries of the provenance that stand in other places of the report."""


def parts(ranking: Ranking, identity: str) -> list[d.Block]:
    """Give the parts that follow the options."""
    sections: list[tuple[str, str, list[d.Block]]] = [
        ("What one change is worth", "changes", changes(ranking)),
        ("How sure this is", "certainty", certainty(ranking)),
        ("What the figures rest on", "basis", basis(ranking)),
        ("Where this comes from, and how to repeat it", "origin", origin(ranking)),
        ("Cautions", "cautions", [_cautions(ranking)]),
        ("Signatures", "signatures", [signatures()]),
    ]
    return [
        d.Section((title,), f"{identity}-{short}", tuple(blocks), own_sheet=place == 0)
        for place, (title, short, blocks) in enumerate(one for one in sections if one[2])
    ]


def _cautions(ranking: Ranking) -> d.Block:
    left = decided.cautions(ranking, (PROJECTION, LAW_FIRST))
    return d.Listing(tuple((text,) for text in left))


def changes(ranking: Ranking) -> list[d.Block]:
    """Give, from each poorer option to the one above it, what each single change is worth."""
    columns = (
        d.Column("one change"),
        d.Column("careful before", True),
        d.Column("after", True),
        d.Column("worth", True),
        d.Column("worth with nominal values", True),
    )
    tables = tuple(
        d.Table(
            f"Sheath left: from {words.quoted(option.name)} towards {words.quoted(better.name)}",
            columns,
            tuple(map(_change, option.bridge)),
            sortable=False,
        )
        for better, option in pairwise(ranking.options)
        if option.bridge
    )
    if not tables:
        return []
    return [
        d.Paragraph(
            (
                "One thing changed at a time, nobody reacting, in the trials at the careful end of "
                "the poorer option, which decide; what a change is worth depends on those before "
                "it. A dash: the middle one of these trials does not finish the plan.",
            )
        ),
        *tables,
    ]


def _change(step: BridgeStep) -> tuple[d.Cell, ...]:
    return (
        d.cell(d.run(d.Name(step.change))),
        d.cell(words.left(step.careful_before), step.careful_before),
        d.cell(words.left(step.careful_after), step.careful_after),
        d.cell(*_worth(step.careful_before, step.careful_after)),
        d.cell(*_worth(step.margin_before, step.margin_after)),
    )


def _worth(before: float | None, after: float | None) -> tuple[str, float | None]:
    if before is None or after is None:
        return words.NOTHING, None
    points = (after - before) * 100
    sign = "+" if points >= 0 else words.MINUS
    return f"{sign}{abs(points):.0f} points", points


def certainty(ranking: Ranking) -> list[d.Block]:
    """Give the errors of the figures and the chances between the options."""
    columns = (
        d.Column("option"),
        d.Column("error of careful", True),
        d.Column("error of middle", True),
        d.Column("error at half the step", True),
        d.Column("chance of coming out first", True),
        d.Column("chance of beating the next", True),
        d.Column("against the next"),
    )
    rows = tuple(_certainty(option) for option in ranking.options)
    return [
        d.Paragraph(
            (
                "Every option met the same trials. The first two errors (one standard error) come "
                "from their number, the third from the time step; what nobody knows of friction, "
                "wear and people is inside the interval.",
            )
        ),
        d.Table(
            "Errors and chances",
            columns,
            rows,
            bands=tuple(band(option) for option in ranking.options),
        ),
        *_spread(ranking),
    ]


def _spread(ranking: Ranking) -> list[d.Block]:
    """Say how much of each interval is ignorance and how much differs each time."""
    pieces: list[d.Inline] = []
    for option in ranking.options:
        if option.spread is not None and option.group != 3:
            share = words.percent(option.spread.epistemic)
            pieces += ["; " if pieces else "", d.Name(option.name), f" about {share}"]
    if not pieces:
        return []
    lead = (
        "Of the spread from careful to good end, the share that nobody knows (parameters, survey); "
        "the rest differs from rope to rope and stroke to stroke: "
    )
    return [d.Paragraph(d.run(lead, *pieces, "."))]


def _certainty(option: OptionResult) -> tuple[d.Cell, ...]:
    error = option.margin_error
    first = words.chance(option.p_best, option.trials)
    if option.p_best_error and option.p_best is not None and 0 < option.p_best < 1:
        first += f" {words.points(option.p_best_error)}"
    next_ = option.beats_next
    return (
        d.cell(d.Name(option.name)),
        d.cell(words.points(error.p5) if error else words.NOTHING, error.p5 if error else None),
        d.cell(words.points(error.p50) if error else words.NOTHING, error.p50 if error else None),
        d.cell(words.points(option.step_error), option.step_error),
        d.cell(first, option.p_best),
        d.cell(_beats(next_, option.trials), next_.chance if next_ else None),
        d.cell(next_.words if next_ else words.NOTHING),
    )


def _beats(paired: PairedChance | None, trials: int) -> str:
    """Give the chance of beating the next option in the same trial, with its error."""
    if paired is None:
        return words.NOTHING
    chance = words.chance(paired.chance, trials)
    return f"{chance} {words.points(paired.error)}" if 0 < paired.chance < 1 else chance


def basis(ranking: Ranking) -> list[d.Block]:
    """Give what each word was taken to mean and every parameter with its pedigree."""
    agrees = (
        f"The shipped wear law, with the values it is shipped with, {WEAR_AGREES} "
        "(edgewear self-check --observations). That says nothing of an edge, a rope or a way of "
        "moving they do not contain, nor of values of your own."
    )
    blocks: list[d.Block] = [d.Paragraph((agrees,))]
    blocks += _outside(ranking)
    typed = [entry for entry in ranking.words if not _measured(entry)]
    measured = [entry for entry in ranking.words if _measured(entry)]
    if typed:
        table = _words_table("Words, and the range they stand for", typed)
        blocks.append(d.Fold("What each word was taken to mean", (table,), printed=True))
    if measured:
        table = _words_table("Measurements, and the range they stand for", measured)
        blocks.append(d.Fold("How accurate each measurement was taken to be", (table,)))
    if ranking.parameters:
        columns = (
            d.Column("parameter"),
            d.Column("value"),
            d.Column("range"),
            d.Column("pedigree"),
        )
        told = {str(entry["address"]) for entry in ranking.words}
        left = [one for one in ranking.parameters if str(one["address"]) not in told]
        rows = tuple(map(_parameter, _alike(left)))
        table = d.Table("Parameters in SI units; range from 5th to 95th percentile", columns, rows)
        blocks.append(d.Fold(f"The other {len(left)} parameters with their pedigree", (table,)))
    return blocks


def _outside(ranking: Ranking) -> list[d.Block]:
    """Give the inputs of each option that lie beyond the observations."""
    rows = [
        (option.name, sentences.outside_by_edge(option) or list(option.extrapolated))
        for option in ranking.options
        if option.extrapolated
    ]
    if not rows:
        return []
    columns = (d.Column("option"), d.Column("inputs"))
    cells = tuple((d.cell(d.Name(name)), d.cell(d.Name("; ".join(found)))) for name, found in rows)
    caption = "Inputs outside what the wear law was observed for"
    table = d.Table(caption, columns, cells, sortable=False)
    return [d.Fold("What lies beyond the observations", (table,), printed=True)]


def _measured(entry: Mapping[str, Any]) -> bool:
    """Tell whether an entry is a plain measurement, with nothing in it but its accuracy."""
    return entry.get("basis") == "measured"


def _words_table(title: str, entries: Sequence[Mapping[str, Any]]) -> d.Table:
    heads = ("where", "as typed", "taken to mean", "range, 5 to 95 %", "because")
    return d.Table(title, tuple(map(d.Column, heads)), tuple(map(_word, entries)))


def figure(value: object) -> str:
    """Give a parameter's value in few digits, a text as it is.

    Parameters:
        value: number, text or None.
    """
    if value is None:
        return words.NOTHING
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    return f"{value:.4g}".replace("-", words.MINUS)


def _range(entry: Mapping[str, Any]) -> str:
    if entry.get("low") is None or entry.get("high") is None:
        return words.NOTHING
    return f"{_amount(entry, 'low')} to {_amount(entry, 'high')}"


def _amount(entry: Mapping[str, Any], key: str) -> str:
    """Give one figure of an entry with its unit; lengths as on site."""
    value = entry.get(key)
    unit = str(entry.get("unit") or "")
    if unit == "m" and isinstance(value, int | float):
        return f"{figure(value * 1000)} mm" if abs(value) < 0.1 else f"{figure(value)} m"
    plain = unit in ("", "1") or value is None or isinstance(value, str)
    return figure(value) if plain else f"{figure(value)} {unit}"


def _word(entry: Mapping[str, Any]) -> tuple[d.Cell, ...]:
    return (
        d.cell(d.Name(str(entry["address"]))),
        d.cell(d.Name(str(entry["typed"]))),
        d.cell(_amount(entry, "meaning")),
        d.cell(_range(entry)),
        d.cell(str(entry.get("source") or words.NOTHING)),
    )


def _alike(entries: Sequence[Mapping[str, Any]]) -> list[list[Mapping[str, Any]]]:
    """Put entries together that say the same of several things: the pads of all options, say."""
    found: dict[tuple[Any, ...], list[Mapping[str, Any]]] = {}
    for entry in entries:
        what = str(entry["address"]).rpartition("/")[2]
        figures = (_amount(entry, "value"), _range(entry), _pedigree(entry))
        found.setdefault((what, *figures), []).append(entry)
    return list(found.values())


def _pedigree(entry: Mapping[str, Any]) -> str:
    said = [str(entry[key]) for key in ("pedigree", "source") if entry.get(key)]
    return "; ".join(dict.fromkeys(said)) or words.NOTHING


def _parameter(entries: Sequence[Mapping[str, Any]]) -> tuple[d.Cell, ...]:
    first = entries[0]
    return (
        d.cell(d.Name(", ".join(str(entry["address"]) for entry in entries))),
        d.cell(_amount(first, "value")),
        d.cell(_range(first)),
        d.cell(_pedigree(first)),
    )


def origin(ranking: Ranking) -> list[d.Block]:
    """Give versions, hashes, the seed, and the command that makes the same dataset again."""
    worst = max((option.energy_residual_max for option in ranking.options), default=0.0)
    rest = [
        f"{str(key).replace('_', ' ')} {_flat(value)}"
        for key, value in sorted(ranking.provenance.items())
        if value is not None and key not in SAID_ELSEWHERE
    ]
    pairs = (
        ("seed", (str(ranking.seed),)),
        ("trials an option", (str(ranking.replicates),)),
        ("model", (str(ranking.provenance.get("model", words.NOTHING)),)),
        ("largest energy residual", (f"{worst:.1e}".replace("-", words.MINUS),)),
    )
    blocks: list[d.Block] = [
        d.Facts(pairs),
        d.Paragraph((f"sha256 of the input: {ranking.scenario_sha256}",), "note"),
        d.Paragraph(d.run(d.Name("; ".join(rest))), "note"),
        d.Paragraph(("Keep the input below as scenario.yaml and type:",)),
        d.Code(str(ranking.provenance.get("command") or _command(ranking))),
    ]
    if ranking.scenario_text:
        blocks.append(d.Fold("The input as it was read", (d.Code(ranking.scenario_text),)))
    return blocks


def _command(ranking: Ranking) -> str:
    device = ranking.provenance.get("device")
    return (
        f"edgewear compare scenario.yaml --replicates {ranking.replicates} --seed {ranking.seed}"
        + (f" --device {device}" if device else "")
    )


def _flat(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {inner}" for key, inner in sorted(value.items()))
    if isinstance(value, list | tuple):
        return ", ".join(map(str, value))
    return str(value)


def signatures() -> d.Table:
    """Give blank lines for those who answer for the decision."""
    columns = tuple(d.Column(title) for title in ("who", "name", "signature", "date"))
    rows = tuple(
        (d.cell(who), d.cell(" "), d.cell(" "), d.cell(" "))
        for who in ("prepared by", "checked by", "competent person on site")
    )
    return d.Table("To be signed by hand", columns, rows, sortable=False, written_on=True)
