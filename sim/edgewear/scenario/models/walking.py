"""Going through the steps of a job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from edgewear.scenario.models.steps import CrossEdge, Event, Repeat, Step, WaitFor
from edgewear.scenario.text.tree import Path_


def walk(steps: tuple[Step, ...], path: Path_ = ()) -> Iterator[tuple[Path_, Step]]:
    """Go through all steps with their places: repeats, and what is inside them once."""
    for index, step in enumerate(steps):
        here = (*path, index, step.step)
        yield here, step
        if isinstance(step, Repeat):
            yield from walk(step.steps, (*here, "steps"))


def leaves(steps: Iterable[Step]) -> Iterator[Step]:
    """Go through the steps that are made, those inside a repeat once."""
    for step in steps:
        if isinstance(step, Repeat):
            yield from leaves(step.steps)
        else:
            yield step


def rounds(steps: tuple[Step, ...], path: Path_ = ()) -> Iterator[tuple[Path_, Step]]:
    """Go through the steps as they are made, every round of a repeat."""
    for index, step in enumerate(steps):
        here = (*path, index, step.step)
        if not isinstance(step, Repeat):
            yield here, step
            continue
        for _ in range(step.times):
            yield from rounds(step.steps, (*here, "steps"))


def round_of(step: Repeat) -> list[Step]:
    """Return the steps that one round of a repeat makes, one after the other."""
    return [made for _, made in rounds(step.steps)]


class Inside(NamedTuple):
    """A step in one round of a repeat."""

    made: int  # how many steps of the repeat have been made before it
    turns: tuple[int, ...]  # its round, from 1; in a repeat inside it the round of that one too
    step: Step


def first_and_last(step: Repeat, made: int = 0) -> Iterator[Inside]:
    """Give the steps of a repeat's first round and of its last, of repeats inside it alike.

    Parameters: `made`: how many steps have been made before it.
    """
    size = len(round_of(step))
    for turn in sorted({0, step.times - 1}):
        here = made + turn * size
        for inner in step.steps:
            if isinstance(inner, Repeat):
                for one in first_and_last(inner, here):
                    yield one._replace(turns=(turn + 1, *one.turns))
                here += inner.times * len(round_of(inner))
            else:
                yield Inside(here, (turn + 1,), inner)
                here += 1


def crossed_first(steps: Iterable[Step], person: str) -> str | None:
    """Return the edge over which somebody gets onto their line; None: they begin on it."""
    first = next((step for step in leaves(steps) if step.hangs_after(person)), None)
    return first.edge if isinstance(first, CrossEdge) else None


def needs_line(steps: tuple[Step, ...]) -> bool:
    """Tell whether a person needs a line of their own for their steps."""
    return any(step.needs_line() for step in leaves(steps))


class ByOthers(NamedTuple):
    """Steps of others, each with whose it is, by what somebody does meanwhile."""

    waiting: dict[int, list[tuple[str, Step]]]  # `id` of a wait of theirs -> made during it
    last: list[tuple[str, Step]]  # made when they have done, or nobody knows when


def made_by_others(job: Mapping[str, Sequence[Step]], person: str) -> ByOthers:
    """Give the steps of others in the order that waits and events ask for.

    Parameters: `person`: goes on as far as they can before somebody else makes a step.
    """
    found, told, at = ByOthers({}, []), set[str](), dict.fromkeys((person, *job), 0)
    if len(at) == 1:  # a survey asks once a trial
        return found
    while name := next((who for who in at if _may_go_on(job, who, at[who], told)), None):
        step = job[name][at[name]]
        told |= {one.name for one in leaves([step]) if isinstance(one, Event)}
        at[name] += 1
        if name != person:
            here = job.get(person, ())[at[person] :][:1]
            now = found.waiting.setdefault(id(here[0]), []) if here else found.last
            now.append((name, step))
    never = ((who, step) for who in at if who != person for step in job.get(who, ())[at[who] :])
    found.last.extend(never)
    return found


def _may_go_on(job: Mapping[str, Sequence[Step]], who: str, at: int, told: set[str]) -> bool:
    """Tell whether somebody can make their next step, by the events that came about."""
    due = leaves(job.get(who, ())[at : at + 1])
    waits = [one.name for one in due if isinstance(one, WaitFor)]
    return at < len(job.get(who, ())) and told.issuperset(waits)
