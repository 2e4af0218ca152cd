"""What was measured on site corrects the forecast: Bayes on the sampled worlds."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear import spelt
from edgewear.cautions import all_for
from edgewear.percentiles import HIGH, LOW, MIDDLE, between
from edgewear.study.compare import DEFAULT_SEED, compare
from edgewear.study.correction import likelihood
from edgewear.study.correction.fitted import LEAST_EFFECTIVE, Reading, fitted, possible
from edgewear.study.correction.looked_at import Looked, looked_at
from edgewear.study.correction.unclear import refuse_unclear
from edgewear.terms import WORKING

if TYPE_CHECKING:
    from edgewear.dataset.ranking.model import OptionResult, Ranking
    from edgewear.dataset.ranking.option_trials import Sample
    from edgewear.dataset.ranking.resampled import Resampled
    from edgewear.dataset.reading import Dataset
    from edgewear.scenario.models.observations import Bounce, Inspection, MarkTravel
    from edgewear.scenario.models.scenario import Scenario
    from edgewear.study.progress import Told

Floats = NDArray[np.float64]

SCHEMA = "edgewear.observe/1"
REPLICATES = 512
ENOUGH = 10 * LEAST_EFFECTIVE
"""Trials from which on too few that fit say something of the forecast; assumed: of readings that it
expected a tenth of the trials fit."""

TOLD = 0.01
"""Shares below it are told as being below it [1]."""


@dataclass(frozen=True)
class Corrected:
    """A forecast after what was measured on site."""

    before: Ranking
    after: Ranking | None  # None: too few worlds agree with the readings, or one says stop
    effective: float  # sample size the corrected figures rest on
    readings: tuple[Reading, ...]
    dataset: Resampled | None
    weights: Floats  # (replicates,) of each trial; they sum to 1
    against: tuple[tuple[str, ...], ...] = ()  # readings that no trial agrees with, or not together

    def as_json(self, report: str | None = None) -> dict[str, Any]:
        """The correction as `observe --json` prints it.

        Parameters:
            report: path of the corrected page, once it is written.
        """
        after = {} if self.after is None else {o.name: o for o in self.after.options}
        statuses = [s for o in (self.after or self.before).options for s in o.status]
        return {
            "schema": SCHEMA,
            "replicates": self.before.replicates,
            "effective": self.effective,
            "holds": self.after is not None,
            "too_few": self.too_few,
            "says_nothing": self.says_nothing,
            "stop": any(one.stop for one in self.readings),
            "headline": self.headline,
            "agreement": self.agreement,
            "agrees_with": sum(one.agrees for one in self.readings),
            "observed": [
                {
                    "what": one.what,
                    "read": list(one.read),
                    "forecast": None
                    if one.forecast is None
                    else dict(zip(("p5", "p50", "p95"), one.forecast, strict=True)),
                    "unit": one.unit,
                    "words": one.words,
                    "agrees": one.agrees,
                    "says_nothing": one.mute,
                }
                for one in self.readings
            ],
            "options": [_option(one, after.get(one.name)) for one in self.before.options],
            "dataset": self.before.dataset,
            "report": report,
            "cautions": list(all_for(statuses)),
        }

    @property
    def agreement(self) -> str:
        """With how many observations the prediction agrees, and how many corrected it."""
        return agreement(self.readings, self.after is not None)

    @property
    def says_nothing(self) -> bool:
        """Whether nothing was corrected because no reading says anything of the forecast."""
        return self.after is None and all(one.mute and not one.stop for one in self.readings)

    @property
    def too_few(self) -> bool:
        """Whether nothing was corrected for lack of trials: all readings were expected."""
        said = [one for one in self.readings if not one.mute]
        expected = all(not one.stop and one.possible and one.agrees for one in said)
        few = self.before.replicates < ENOUGH
        return self.after is None and bool(said) and expected and few

    @property
    def headline(self) -> str:
        """What the observations come to, in a sentence or two."""
        stops = [f"{one.what}: {one.words}" for one in self.readings if one.stop]
        if stops:
            return f"Stop the work. {'; '.join(stops)}."
        if self.says_nothing:
            return (
                "Nothing was corrected: what was seen says nothing of the forecast yet. It stands "
                "as it was."
            )
        if self.too_few:
            return (
                f"Too few trials to correct the forecast: {LEAST_EFFECTIVE} have to fit all that "
                f"was measured, and of {self.before.replicates} too few do. Each reading by itself "
                f"lies inside what was forecast: ask for {REPLICATES} trials."
            )
        if self.after is None:
            named = "; ".join(" together with ".join(group) for group in self.against)
            return (
                f"The forecast does not hold here: hardly any trial agrees with "
                f"{named or 'what was measured'}. Stop, look at the rope, and survey again."
            )
        return f"Corrected by what was measured on site. {self.after.headline}"


def agreement(readings: Sequence[Reading], corrects: bool) -> str:
    """Say with how many observations a prediction agrees: inside its central 90 %.

    Parameters:
        readings: all of them.
        corrects: whether those that say something corrected it.
    """
    said = [one for one in readings if not one.mute]
    if not said:
        return "no observation made here says anything of the prediction"
    of = f"{len(said)} observation" + "s" * (len(said) != 1)
    by = f"{len(said)} of them" if corrects else "none of them"
    agree, mute = sum(one.agrees for one in said), len(readings) - len(said)
    told = f"the prediction before agrees with {agree} of {of} made here, {by} used to correct it"
    return told + (f"; {mute} more say{'s' * (mute == 1)} nothing of it" if mute else "")


def _option(before: OptionResult, after: OptionResult | None) -> dict[str, Any]:
    return {
        "name": before.name,
        "status": list((after or before).status),
        "rank": None if after is None else after.rank,
        "before": None if before.margin is None else before.margin.as_json(),
        "after": None if after is None or after.margin is None else after.margin.as_json(),
    }


def observe(
    path: Scenario | str | Path,
    replicates: int = REPLICATES,
    seed: int = DEFAULT_SEED,
    workers: int | None = None,
    out: str | Path | None = None,
    progress: Told | None = None,
) -> Corrected:
    """Compare the options of a scenario, then correct the comparison by its observations.

    Parameters:
        path: of the file of a scenario that has `observed`, or the scenario.
        replicates, seed, workers, out, progress: as in `compare`.

    Raises:
        ScenarioError: a scenario that cannot be used, in which nothing was observed, or that leaves
            open on which option or on whose line it was.
    """
    from edgewear.dataset.reading import open_dataset
    from edgewear.study.loading import load_riggable

    scenario = load_riggable(path) if isinstance(path, str | Path) else path
    refuse_unclear(scenario)
    ranking = compare(scenario, replicates, seed, workers, out, progress)
    return corrected(open_dataset(ranking.dataset), scenario)


def corrected(dataset: Dataset, scenario: Scenario) -> Corrected:
    """Weigh the trials of a finished comparison by what was measured.

    All options met the same worlds, so what was measured on one corrects all.
    """
    from edgewear.dataset.ranking.option_trials import samples_of
    from edgewear.dataset.ranking.rank import ranking_of
    from edgewear.dataset.ranking.resampled import Resampled

    before = ranking_of(dataset)
    samples = {sample.name: sample for sample in samples_of(dataset)}
    fits, readings = [], []
    for one in scenario.observed:
        sample = samples[one.option or next(iter(samples))]
        people = list(scenario.options[sample.name].people)
        person = one.person or people[0]
        reading, fit = _weigh(one, sample, person, scenario)
        if len(people) > 1:
            reading = replace(reading, what=f"{reading.what}, {person}'s line")
        lines, option = _working(sample, person), before.option(sample.name)
        readings.append(_stopped(one, possible(reading, fit), option, lines))
        fits.append(np.where(sample.ok, fit, fit.min() + np.log(likelihood.FLOOR)))
    found = fitted(readings, fits)
    if not found.holds or all(reading.mute for reading in readings):
        told = found.effective, tuple(readings), None, found.weight, found.against
        return Corrected(before, None, *told)
    kept = Resampled(dataset, likelihood.chosen(found.weight, int(found.effective)))
    after = _told(before, ranking_of(kept), tuple(readings))
    return Corrected(before, after, found.effective, tuple(readings), kept, found.weight)


def _stopped(
    one: MarkTravel | Bounce | Inspection,
    reading: Reading,
    option: OptionResult,
    lines: Collection[str],
) -> Reading:
    """Say where a reading alone stops the work: a mark beyond its stop value, a core that shows.

    Parameters:
        one: what was observed.
        reading: of it.
        option: that was rigged.
        lines: sections of the working line it was read on; a mark on a line of several with a stop
            value each is held against the least of them.
    """
    if one.observation == "inspection" and one.seen == "core visible":
        return replace(reading, words="the line is lost", stop=True)
    if one.observation == "mark travel":
        mine = [e for e in option.edges if e.edge == one.edge and e.line in lines]
        stops = [e.mark_stop_m for e in mine if e.mark_stop_m]
        if stops and max(reading.read) > min(stops):
            words = f"beyond the stop value of {spelt.millimetres(min(stops))}, the forecast is off"
            return replace(reading, words=words, stop=True, agrees=False)
    return reading


def _told(before: Ranking, after: Ranking, readings: tuple[Reading, ...]) -> Ranking:
    """Say on the corrected comparison what corrected it, and how it is made again."""
    command = (
        f"edgewear observe scenario.yaml --replicates {before.replicates} --seed {before.seed}"
    )
    rests = (
        f"Corrected by what was measured on site; the figures rest on {after.replicates} of "
        f"{before.replicates} trials."
    )
    agrees = agreement(readings, corrects=True)
    measured = tuple(f"{one.what}: {one.words}." for one in readings)
    return replace(
        after,
        title=f"{before.title}, corrected on site",
        notes=(rests, f"{agrees[0].upper()}{agrees[1:]}.", *measured, *after.notes),
        provenance={**before.provenance, "command": command},
    )


def _weigh(
    one: MarkTravel | Bounce | Inspection, sample: Sample, person: str, scenario: Scenario
) -> tuple[Reading, Floats]:
    if one.observation == "mark travel":
        return _travel(one, sample, person)
    if one.observation == "bounce":
        return _bounce(one, sample, person)
    return _inspection(one, sample, person, scenario)


def _working(sample: Sample, person: str) -> list[str]:
    """Name the sections of somebody's working line."""
    return [
        section["line"]
        for section in sample.rigged["sections"]
        if section["role"] == WORKING and section["person"] == person
    ]


def _at_edge(
    sample: Sample, edge: str, person: str, columns: Sequence[str], rope: int | None = None
) -> list[Floats]:
    """Columns of the working line's worst section at an edge, trial by trial; NaN: not met.

    Of one of its ropes, where it had several, or of the worst of them.
    """
    here = np.isin(sample.edges["line"], _working(sample, person)) & (sample.edges["edge"] == edge)
    if rope is not None:
        here &= sample.edges["rope"] == rope
    rows = np.searchsorted(sample.runs["run"], sample.edges["run"][here])
    found = []
    for column in columns:
        values = np.full(len(sample.runs["run"]), np.nan)
        np.fmax.at(values, rows, sample.edges[column][here].astype(np.float64))
        found.append(values)
    return found


def _travel(one: MarkTravel, sample: Sample, person: str) -> tuple[Reading, Floats]:
    names = ("mark_travel_p5_m", "mark_travel_p50_m", "mark_travel_p95_m")
    p5, p50, p95 = _at_edge(sample, one.edge, person, names)
    read = np.array([stroke.value for stroke in one.strokes])
    reading = _reading(f"mark travel at {one.edge}", read, p50, "m")
    return reading, likelihood.travel(read, p5, p50, p95)


def _bounce(one: Bounce, sample: Sample, person: str) -> tuple[Reading, Floats]:
    read = one.count / one.in_.value
    below = likelihood.below_last_edge_m(sample.rigged, person)
    worlds = np.asarray(sample.runs["frequency_stuck_hz"], np.float64)
    fit = likelihood.bounce(read, one.depth.value, worlds, below)
    body = likelihood.BODY_LENGTH_M
    scale = ((below + body) / (one.depth.value + body)) ** 0.5
    return _reading("bounces a second", np.array([read]), worlds * scale, "Hz"), fit


def _inspection(
    one: Inspection, sample: Sample, person: str, scenario: Scenario
) -> tuple[Reading, Floats]:
    looked = looked_at(one, scenario, sample.name, _working(sample, person))
    share, told = looked.share, f"{one.seen} seen at {one.edge}"
    if share == 0.0:
        return _before_any_wear(one, looked, len(sample.runs["run"]))
    (demand,) = _at_edge(sample, one.edge, person, ("demand_max",), looked.rope)
    about = "about " if share >= TOLD else ""  # what is told as "below 1 %" is no estimate
    words = f"{about}{spelt.percent(share)} of the plan's wear there was done by then"
    fit = likelihood.inspection(one.seen, demand * share)
    worn = demand[np.isfinite(demand)] * share
    if worn.size == 0:
        return Reading(told, (), None, "", f"{words}; nothing was forecast for it"), fit
    low, high = (between(worn, share) for share in (LOW, HIGH))
    least, most = likelihood.SEEN[one.seen]
    place = _beside(least if least > high else most if most < low else low, low, high)
    words += f"; {spelt.percent(low)} to {spelt.percent(high)} of the sheath worn was "
    words += f"forecast: {place}"
    return Reading(told, (), None, "", words, agrees=place == INSIDE), fit


def _before_any_wear(one: Inspection, looked: Looked, trials: int) -> tuple[Reading, Floats]:
    """Say of a look at an edge that had not yet worn the rope that it says nothing of it.

    Unless something was seen: no trial has made that.
    """
    told, yet = f"{one.seen} seen at {one.edge}", "slid" if looked.lain else "lain"
    words = f"the rope had not yet {yet} over {one.edge} by then"
    if one.seen != "nothing":
        return Reading(told, (), None, "", words), likelihood.inspection(one.seen, np.zeros(trials))
    words += ": this look says nothing of it"
    return Reading(told, (), None, "", words, mute=True), np.zeros(trials)


def _reading(what: str, read: Floats, worlds: Floats, unit: str) -> Reading:
    finite = worlds[np.isfinite(worlds)]
    if finite.size == 0:
        return Reading(what, tuple(map(float, read)), None, unit, "nothing was forecast for it")
    p5, p50, p95 = (between(finite, share) for share in (LOW, MIDDLE, HIGH))
    words = _beside(float(np.mean(read)), p5, p95)
    found = tuple(map(float, read))
    return Reading(what, found, (p5, p50, p95), unit, words, agrees=words == INSIDE)


INSIDE = "inside what was forecast"


def _beside(value: float, low: float, high: float) -> str:
    """Say where a value lies beside what was forecast."""
    if value > high:
        return "above what was forecast"
    return "below what was forecast" if value < low else INSIDE
