"""The ranking of a comparison, computed from its dataset alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear import spelt, terms
from edgewear.cautions import BARE_EDGE, all_for
from edgewear.dataset.manifest import SCHEMA
from edgewear.dataset.ranking.edge_summaries import edge_summaries
from edgewear.dataset.ranking.headline import headline
from edgewear.dataset.ranking.inspection_plan import looks_of
from edgewear.dataset.ranking.model import (
    TOP_MARGIN,
    BridgeStep,
    CoreVisible,
    First,
    OptionResult,
    Quantiles,
    Ranking,
    chance_words,
)
from edgewear.dataset.ranking.option_trials import (
    CarefulEnd,
    Columns,
    Sample,
    extrapolated_in,
    places_of,
    samples_of,
    statuses_of,
)
from edgewear.dataset.ranking.paired import paired_chance
from edgewear.dataset.ranking.parts import parts_of
from edgewear.dataset.ranking.statistics import (
    careful,
    chances_of_first,
    never_is_late,
    quantile,
    quantile_errors,
    quantiles,
    share_error,
)
from edgewear.dataset.ranking.variance_split import SpreadShares, spread_shares
from edgewear.dataset.ranking.why import bare_said, facts_of, why_of
from edgewear.dataset.said import as_a_study_writes
from edgewear.errors import Mismatch
from edgewear.findings.standing import behind, group_of, has_rank

if TYPE_CHECKING:
    from edgewear.dataset.reading import Dataset


def samples_to_rank(dataset: Dataset) -> list[Sample]:
    """Read the trials of every option, in the order of the scenario.

    Raises:
        DatasetError: damaged, or it says what no study writes.
    """
    with as_a_study_writes(dataset.root):
        return samples_of(dataset)


def ranking_of(dataset: Dataset, samples: Sequence[Sample] | None = None) -> Ranking:
    """Put the options of a comparison in order, from its dataset alone.

    Parameters:
        dataset: of the comparison.
        samples: its trials, where they were read already.

    Raises:
        Mismatch: a sweep has no target and no order.
        DatasetError: damaged, or it says what no study writes.
    """
    with as_a_study_writes(dataset.root):
        return _ranking_of(dataset, samples)


def _ranking_of(dataset: Dataset, samples: Sequence[Sample] | None) -> Ranking:
    if dataset.manifest.kind != "compare":
        raise Mismatch(f"{dataset.root}: a {dataset.manifest.kind}; only a comparison is ranked")
    about = dataset.manifest.about
    target, seed = float(about["target"]), int(about["seed"])
    samples = samples_of(dataset) if samples is None else samples
    told = in_order(samples, target, seed, partial(spread_shares, dataset))
    told = _bridged(told, dataset.bridges())
    return Ranking(
        title=str(about["title"]),
        setting=str(about["setting"]),
        seed=seed,
        replicates=int(about["replicates"]),
        target=target,
        headline=headline(told, target),
        options=tuple(told),
        dataset=str(dataset.root),
        report=None,
        cautions=cautions_of(told),
        notes=(*changed_of(about), *played_of(about, told), *notes_of(told)),
        scenario=dataset.resolved.get("scenario", {}),
        scenario_text=dataset.scenario_text,
        scenario_sha256=dataset.scenario_sha256,
        provenance=_provenance(dataset),
        words=tuple(dataset.resolved.get("words", ())),
        parameters=tuple(dataset.resolved.get("parameters", ())),
    )


Spread = Callable[[str, NDArray[np.float64]], SpreadShares | None]
"""Divides the spread of an option's margins; None where it cannot be told."""


def in_order(
    samples: Sequence[Sample],
    target: float,
    seed: int,
    spread: Spread = lambda option, margins: None,
) -> list[OptionResult]:
    """Put options in order by their trials, each told beside the one after it.

    Parameters:
        samples: all of the same trials.
        target: sheath left at the careful end that was asked for [1].
        seed: of all draws.
        spread: by option and margins; left out: it is not told.
    """
    ends = {s.name: s.careful_end() for s in samples}
    results = [_result(s, target, spread) for s in samples]
    results = _with_chances(results, samples)
    return _told(_placed(results, ends), {s.name: s for s in samples}, seed)


def cautions_of(options: Sequence[OptionResult]) -> tuple[str, ...]:
    """Give what must be said of a comparison, the general first."""
    statuses = [status for option in options for status in option.status]
    statuses += [BARE_EDGE for option in options if bare_said(option.facts)]
    return all_for(statuses)


def changed_of(about: Mapping[str, Any]) -> tuple[str, ...]:
    """Name what was set beside the scenario's file.

    Parameters:
        about: of a comparison's manifest.
    """
    return tuple(f"Set beside the file: {text}." for text in about.get("changes", ()))


def played_of(about: Mapping[str, Any], options: Sequence[OptionResult]) -> tuple[str, ...]:
    """Say which options a device played, where one was asked for.

    Parameters:
        about: of a comparison's manifest.
        options: all of them.
    """
    if "device" not in about:
        return ()
    device, there = about["device"], about["on_device"]
    here = [option.name for option in options if option.name not in there]
    if not there:
        rule = "a device plays one person on one line over one edge"
        return (f"Played by the processor, not on {device}: {', '.join(here)} ({rule}).",)
    rest = f"; by the processor: {', '.join(here)}" if here else ""
    return (f"Played on a device ({device}): {', '.join(there)}{rest}.",)


def notes_of(options: Sequence[OptionResult]) -> tuple[str, ...]:
    """Say which neighbours cannot be told apart, and what would settle it.

    Only of such as finish their plan, and as nothing else tells apart: what stands before the
    sheath left, whether the target is met, whether somebody may be caught and the level of control,
    decides without trials.
    """
    return tuple(
        f"{option.name}: {option.beats_next.words}"
        for option, after in pairwise(options)
        if option.beats_next is not None and not option.beats_next.told_apart
        if terms.UNFINISHED not in option.status
        if (option.group, option.behind, option.level) == (after.group, after.behind, after.level)
    )


def _result(sample: Sample, target: float, spread: Spread) -> OptionResult:
    runs, ok = sample.runs, sample.ok
    parts = parts_of(runs, sample.at_edges, sample.rigged)
    statuses = statuses_of(sample, target, parts)
    cutting = terms.CUTTING in statuses
    shows = ~np.isnan(runs["core_visible_time_s"])
    shown, told = int(shows[ok].sum()), int((ok & (shows | ~sample.unfinished)).sum())
    edges = edge_summaries(
        sample.at_edges,
        runs,
        sample.rigged,
        sample.careful_trials,
        sample.careful_counts,
        sample.told,
    )
    result = OptionResult(
        name=sample.name,
        order=0,
        rank=None,
        status=statuses,
        control=str(sample.rigged["control"]),
        why_not_higher=dict(sample.rigged["why_not_higher"]),
        margin=None if cutting else _capped(quantiles(sample.margins), sample.touched),
        margin_error=None if cutting else quantile_errors(sample.margins),
        step_error=None if cutting else sample.rigged.get("step_error"),
        p_core_visible=None if cutting or not told else shown / told,
        p_core_visible_words="none given" if cutting else chance_words(shown, told),
        p_best=None,
        p_best_error=None,
        beats_next=None,
        core_visible_at=None if cutting or not shown else _core_visible(runs, ok),
        residual_strength_n=(
            None if cutting else quantiles(careful(runs["residual_strength_n"], ok))
        ),
        why="",
        anchor_peak_n=quantiles(runs["anchor_peak_n"][ok]),
        peak_tension_n=quantiles(runs["peak_tension_n"][ok]),
        stretch_m=quantiles(runs["stretch_m"][ok]),
        frequency_sliding_hz=_median(runs["frequency_sliding_hz"][ok]),
        frequency_stuck_hz=_median(runs["frequency_stuck_hz"][ok]),
        stroke_hz=_median(runs["stroke_hz"][ok]),
        trials=len(ok),
        failed=int((~ok).sum()),
        unfinished=int(sample.unfinished.sum()),
        unfinished_step=_first_step(sample),
        unfinished_reasons=_said(runs, sample.unfinished),
        failed_reasons=_said(runs, ~ok),
        extrapolated=extrapolated_in(sample),
        energy_residual_max=float(np.max(runs["energy_residual"][ok], initial=0.0)),
        edges=edges,
        facts=dict(sample.rigged),
        looks=None if cutting else looks_of(runs, sample.told, edges),
        spread=None if cutting else spread(sample.name, sample.margins),
        parts=parts,
    )
    return replace(result, why=why_of(result), why_facts=facts_of(result))


def _said(runs: Columns, some: NDArray[np.bool_]) -> tuple[str, ...]:
    """What is said of some trials, each once, with the range of what differs between them."""
    found, reasons = [], runs["reason"]
    for reason in filter(None, dict.fromkeys(reasons[some].tolist())):
        here = some & (reasons == reason)
        told = [reason]
        for name, range_of in (("short_m", spelt.short_by), ("times_allowed", spelt.times)):
            by = runs[name][here & (runs[name] > 0.0)]
            told += [range_of(float(by.min()), float(by.max()))] if by.size else []
        found.append(", ".join(told))
    return tuple(found)


def _first_step(sample: Sample) -> int | None:
    """The first step at which somebody's plan ended in any trial; None: in none."""
    steps = sample.runs["unfinished_step"][sample.unfinished]
    return int(steps.min()) if steps.size else None


FEW_FAIL = 0.05
"""Share of trials that may fail without a say in which option comes first; assumed."""


def _with_chances(results: Sequence[OptionResult], samples: Sequence[Sample]) -> list[OptionResult]:
    """Share out the chance of coming first among those that may be chosen.

    None is given where more than a few trials failed: it would count what could be computed.
    """
    eligible = [i for i, r in enumerate(results) if r.group <= 1]
    eligible = eligible or [i for i, r in enumerate(results) if r.group == 2]
    if not eligible or any(results[i].failed > FEW_FAIL * results[i].trials for i in eligible):
        return list(results)
    places = places_of([samples[i] for i in eligible])
    changed = list(results)
    for index, chance in zip(eligible, chances_of_first(places), strict=True):
        error = share_error(float(chance), places.shape[1])
        changed[index] = replace(results[index], p_best=float(chance), p_best_error=error)
    return changed


Key = tuple[int, int, int, int, float]
"""What options are sorted by, the best first."""


def place_key(status: Sequence[str], control: str, end: CarefulEnd) -> Key:
    """Give what an option is sorted by: group, what puts it behind, level of control, careful end.

    Among those that meet the target an option that may not catch a person comes after all that
    do, whatever its level and the sheath left; among the others one whose plan is not finished.
    """
    group = group_of(status)
    end = end if group < 3 else CarefulEnd(0, 0.0)
    return group, behind(status), terms.LEVELS.index(control), -end.grade, -end.value


def _placed(results: Sequence[OptionResult], ends: Mapping[str, CarefulEnd]) -> list[OptionResult]:
    """Number the options as `place_key` sorts them; equal ones share a place."""

    def key(option: OptionResult) -> Key:
        return place_key(option.status, option.control, ends[option.name])

    ordered = sorted(results, key=key)
    placed: list[OptionResult] = []
    for index, option in enumerate(ordered):
        tied = index > 0 and key(option) == key(ordered[index - 1])
        order = placed[-1].order if tied else index + 1
        placed.append(replace(option, order=order, rank=order if has_rank(option.status) else None))
    return placed


def _bridged(
    ordered: Sequence[OptionResult], bridges: Mapping[tuple[str, str], Any]
) -> list[OptionResult]:
    """Give each option the way from it to the one before it."""
    before = [None, *(option.name for option in ordered)]
    return [
        replace(option, bridge=tuple(BridgeStep(**step) for step in bridges[way]))
        if (way := (option.name, better or "")) in bridges
        else option
        for option, better in zip(ordered, before, strict=False)
    ]


def _told(
    ordered: Sequence[OptionResult], samples: Mapping[str, Sample], seed: int
) -> list[OptionResult]:
    """Compare each option with the one after it, trial by trial; what cuts stands last."""
    told = list(ordered)
    for index, (option, other) in enumerate(pairwise(ordered)):
        if other.group < 3:
            pair = samples[option.name], samples[other.name]
            chance = paired_chance(option, other, *pair, seed)
            told[index] = replace(option, beats_next=chance)
    return told


def _core_visible(runs: Columns, ok: NDArray[np.bool_]) -> CoreVisible:
    def first(name: str) -> First:
        values = never_is_late(runs[name], ok)
        return First(quantile(values, 0.05), quantile(values, 0.5))

    return CoreVisible(first("core_visible_time_s"), first("core_visible_ascended_m"))


def _capped(found: Quantiles, touched: bool) -> Quantiles:
    """Keep a line that was loaded over an edge from ever reading as new."""
    if not touched:
        return found
    return Quantiles(
        *(None if v is None else min(v, TOP_MARGIN) for v in (found.p5, found.p50, found.p95))
    )


def _median(values: NDArray[np.float64]) -> float | None:
    finite = values[np.isfinite(values)]
    return float(np.median(finite)) if finite.size else None


PLAYED = ("device", "on_device")
"""What a manifest says of a device, where one was asked for."""


def _provenance(dataset: Dataset) -> dict[str, Any]:
    manifest = dataset.manifest
    return {
        "schema": SCHEMA,
        "study": manifest.study,
        "model": manifest.model,
        "versions": dict(manifest.versions),
        "seed": manifest.about["seed"],
        "replicates": manifest.about["replicates"],
        "runs": manifest.rows,
        "failed": manifest.failed,
        "command": manifest.about.get("command"),
        "scenario_file": manifest.about.get("file"),
        **{
            name: manifest.about[name] for name in ("device", "on_device") if name in manifest.about
        },
    }
