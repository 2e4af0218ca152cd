"""Judge ways of rigging as `compare` judges typed options, and put them in its order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple, TypeVar

from edgewear.dataset.ranking.option_trials import Sample, statuses_of
from edgewear.dataset.ranking.rank import Key, place_key
from edgewear.dataset.ranking.statistics import quantile
from edgewear.engine.draws import check_seed
from edgewear.errors import EdgewearError, Problem, ScenarioError, UsageError
from edgewear.findings.inquiries.proposals import Proposal, Proposals
from edgewear.percentiles import LOW
from edgewear.rigging import problems
from edgewear.scenario.models.scenario import Scenario
from edgewear.scenario.read.reading import problems_at
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import parse_tree
from edgewear.study.compare import DEFAULT_SEED, REPLICATES
from edgewear.study.limits.limit import workers_of
from edgewear.study.limits.trials import melting_in, trials_of
from edgewear.study.model import loaded
from edgewear.study.progress import Clock, Told
from edgewear.study.proposals.candidates import Candidate, candidates, means_of
from edgewear.terms import CUTTING

ALL_AT_ONCE = 40
"""So many ways of rigging meet all trials; of more, only those that few trials put first."""

FEW, SORTING = 64, 8000
"""Trials that sort the many: so many each, and so many in all while each has the fewest."""

Given = TypeVar("Given")

FEWEST = 20
"""Trials of which one in twenty is a careful end."""


@dataclass(frozen=True)
class Judged:
    """A candidate, where it stands, and the trials that say so."""

    key: Key
    proposal: Proposal
    sample: Sample


class Refused(NamedTuple):
    """A candidate that cannot be rigged or computed."""

    name: str
    reason: str


@dataclass(frozen=True)
class Setting:
    """A scenario as text, so that it travels to workers."""

    text: str
    path: str
    library: str | None
    target: float
    seed: int


def propose(
    scenario: Scenario,
    base: str | None = None,
    anchors: Sequence[str] = (),
    further: Sequence[str] = (),
    protection: Sequence[str] = (),
    replicates: int = REPLICATES,
    seed: int = DEFAULT_SEED,
    workers: int | None = None,
    progress: Told | None = None,
) -> Proposals:
    """Try every way of rigging that the anchors and means allow.

    Parameters:
        scenario: the scenario, with a target and one person.
        base: option whose ropes, safety line and other words are kept; the first if left out.
        anchors: to start from; those not below the highest edge if left out.
        further: to re-anchor or deviate at; the others if left out.
        protection: words of pieces at hand; the kit's, or those that options use, if left out.
        replicates: trials; seed: of all draws, the same for all.
        workers: processes; no result depends on it.
        progress: called after each way of rigging, and again after each that meets all trials.

    Raises:
        UsageError: a name that is not there, or more ways than can be tried.
        ScenarioError: the scenario has no target.
    """
    check_seed(seed)
    if replicates < FEWEST:
        raise UsageError(
            f"replicates: {replicates}; at least {FEWEST}: the careful end is one in twenty"
        )
    if scenario.target is None:
        message = "missing; proposals need one, for example `target: 70 %`"
        raise ScenarioError([Problem(scenario.path, 1, 1, "target", message)])
    means = means_of(scenario, anchors, further, protection)
    made = candidates(scenario, means, base or next(iter(scenario.options)))
    text = scenario.source, scenario.path, scenario.library_source
    setting = Setting(*text, scenario.target, seed)
    with workers_of(workers) as pool:
        found = _judged(setting, made, replicates, pool, progress)
    judged = sorted((one for one in found if isinstance(one, Judged)), key=lambda one: one.key)
    refused = tuple((one.name, one.reason) for one in found if isinstance(one, Refused))
    tried = tuple(one.proposal for one in judged)
    return Proposals(scenario.title, scenario.target, seed, tried, refused)


def _judged(
    setting: Setting,
    made: Sequence[Candidate],
    replicates: int,
    pool: Executor | None,
    told: Told | None,
) -> list[Judged | Refused]:
    """Judge all with few trials where there are many, then the first of them with all."""
    few = replicates if len(made) <= ALL_AT_ONCE else min(few_of(len(made)), replicates)
    once = _each(partial(judge, setting, few), made, len(made), pool, told)
    if few == replicates:
        return once
    judged = sorted((one for one in once if isinstance(one, Judged)), key=lambda one: one.key)
    first = {one.proposal.name: one.sample for one in judged[:ALL_AT_ONCE]}
    more = [(one, first[one.name]) for one in made if one.name in first]
    again = _each(partial(_again, setting, replicates), more, len(made), pool, told)
    return [*again, *(one for one in once if _name(one) not in first)]


def few_of(ways: int) -> int:
    """Say how many trials sort so many ways of rigging: fewer for more, never below the fewest."""
    return max(FEWEST, min(FEW, SORTING // ways))


def _again(setting: Setting, replicates: int, one: tuple[Candidate, Sample]) -> Judged | Refused:
    return judge(setting, replicates, *one)


def _each(
    function: Callable[[Given], Judged | Refused],
    given: Sequence[Given],
    sorting: int,
    pool: Executor | None,
    told: Told | None,
) -> list[Judged | Refused]:
    """Judge one after the other, and tell how far it is of those that are sorted or of the first.

    Parameters: `sorting`: how many there are in all.
    """
    of = "ways of rigging" if len(given) == sorting else "first ways, with all trials"
    clock, found = Clock(len(given), 0, of=of), list[Judged | Refused]()
    if told is not None:
        told(clock.at(0, 0))
    for one in (map if pool is None else pool.map)(function, given):
        found.append(one)
        if told is not None:
            told(clock.at(len(found), 0))
    return found


def _name(one: Judged | Refused) -> str:
    return one.name if isinstance(one, Refused) else one.proposal.name


def judge(
    setting: Setting, replicates: int, candidate: Candidate, before: Sample | None = None
) -> Judged | Refused:
    """Judge one way of rigging as if it were the scenario's only option.

    Parameters:
        setting: the scenario; replicates: trials; candidate: what is tried.
        before: fewer trials of it, which are not played again.
    """
    try:
        scenario = typed_in(setting, [candidate])
        if impossible := problems_at(scenario, problems(scenario)):
            return Refused(candidate.name, impossible[0].message)
        sample = trials_of(scenario, candidate.name, replicates, setting.seed, before)
    except ScenarioError as error:
        return Refused(candidate.name, error.problems[0].message)
    except EdgewearError as error:
        return Refused(candidate.name, str(error))
    status = statuses_of(sample, setting.target)
    control = str(sample.rigged["control"])
    text = spelled_out({candidate.name: candidate.typed})
    left = None if CUTTING in status else quantile(sample.margins, LOW)
    key = place_key(status, control, sample.careful_end())
    proposal = Proposal(candidate.name, text, status, control, left, replicates,
                        melting_in(scenario, sample))  # fmt: skip
    return Judged(key, proposal, sample)


def typed_in(setting: Setting, made: Sequence[Candidate]) -> Scenario:
    """Read the scenario with candidates as its options.

    Raises:
        ScenarioError: it cannot be used so.
    """
    data = dict(parse_tree(setting.text, setting.path).data)
    data["options"] = {one.name: one.typed for one in made}
    data.pop("study", None)
    return loaded(spelled_out(data), setting.path, setting.library, ())
