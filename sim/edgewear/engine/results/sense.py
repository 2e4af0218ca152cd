"""Which runs mean nothing: what came out cannot have happened, or is not what was asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from edgewear import spelt
from edgewear.case import Batch, Case, Records
from edgewear.engine.player import Player
from edgewear.geometry.points import Point
from edgewear.layout import Kind
from edgewear.records import failed_runs
from edgewear.rigging.laying import drawn_m, lay, lifting_share
from edgewear.rigging.model import Section
from edgewear.terms import GRAVITY_M_S2, OK


class Lacks(NamedTuple):
    """What a run lacks: in words that all trials share, and by how much, which differs."""

    words: str
    short_m: float = np.nan  # NaN: nothing differs, or no length
    times: float = np.nan  # of what is allowed [1]; NaN: nothing differs, or nothing is so large

    @property
    def told(self) -> str:
        """All of it, for one run."""
        by = f", {spelt.short_by(self.short_m, self.short_m)}" if self.short_m > 0.0 else ""
        by += f", {spelt.times(self.times, self.times)}" if self.times > 0.0 else ""
        return f"{self.words}{by}"


SOUND = Lacks("")


class Reasons(NamedTuple):
    """Of each run why it means nothing, as `Lacks` has it."""

    words: NDArray[np.object_]  # (n,); empty where the run is sound or has failed before
    short_m: NDArray[np.float64]  # (n,) [m]
    times: NDArray[np.float64]  # (n,) [1]


MOST_RESIDUAL = 1e-3
"""Share of the energy flows that may be left open: above it the steps did not follow the rope."""

LEAST_CLIMBED = 0.999
"""Share of what the job climbs; the last stroke ends within rounding of its height."""


def reasons(case: Case, batch: Batch, runs: Records, tapes: Mapping[int, Records]) -> Reasons:
    """Say of each run why it means nothing.

    Parameters:
        case: of the option.
        batch: n runs, with their tapes.
        runs: RUN (n,) of what came out.
        tapes: run -> MOVEMENT (m,), where it made other movements than the batch's tape.
    """
    words = np.full(len(runs), "", dtype=object)
    found = Reasons(words, *(np.full(len(runs), np.nan) for _ in range(2)))
    for run in _doubtful(case, batch, runs, tapes).tolist():
        tape = tapes.get(run, batch.tape[run])
        why = reason(case, batch, run, runs[run], tape)
        found.words[run], found.short_m[run], found.times[run] = why
    return found


def _doubtful(
    case: Case, batch: Batch, runs: Records, tapes: Mapping[int, Records]
) -> NDArray[np.int64]:
    """Runs that have to be looked at one by one: most are sound, and seen to be so together."""
    working = case.lines["role"] == 0
    holds_n = np.max(batch.wear["breaking_n"][:, working], axis=1, initial=0.0)
    climbs = (batch.tape["kind"] == Kind.STROKES) & (batch.tape["cut_ticks"] == 0)
    wanted_m = np.where(climbs, batch.tape["length_m"], 0.0).sum(axis=1)
    closes = runs["energy_residual"] <= MOST_RESIDUAL
    parted = np.isfinite(runs["parted_time_s"])
    holds = runs["peak_tension_n"] <= holds_n
    # a little more than asked for: sums in another order may differ in the last digit
    climbed = runs["ascended_m"] >= LEAST_CLIMBED * (1.0 + 1e-9) * wanted_m
    sound = closes & (parted | (holds & climbed))
    sound[list(tapes)] = False
    return np.flatnonzero((runs["status"] == OK) & ~sound)


def reason(case: Case, batch: Batch, run: int, row: Records, tape: Records) -> Lacks:
    """Say why one run means nothing; without words: it is sound.

    Parameters:
        row: RUN () of what came out.
        tape: MOVEMENT (m,) that was made.
    """
    working = case.lines["role"] == 0
    holds_n = float(np.max(batch.wear["breaking_n"][run][working], initial=0.0))
    if told := _impossible(row, holds_n):
        return climbed_out(case, batch, run, tape) or told
    if np.isfinite(row["parted_time_s"]):
        return SOUND
    return _cut_short(case, batch, run, row, tape)


def meaningless(player: Player, tape: Records, row: Records) -> str:
    """Say why a run that people made means nothing; empty: it is sound.

    What people gave up because of what they saw is no fault of the run.

    Parameters:
        player: at its end.
        tape: what they did.
        row: RUN () of what came out.
    """
    working = player.case.lines["role"] == 0
    holds_n = float(np.max(player.batch.wear["breaking_n"][player.run][working], initial=0.0))
    if told := _impossible(row, holds_n):
        return (climbed_out(player.case, player.batch, player.run, tape) or told).told
    return _cut_short(player.case, player.batch, player.run, row, tape).told


def _cut_short(case: Case, batch: Batch, run: int, row: Records, tape: Records) -> Lacks:
    """Say why less was climbed than asked for; a rope used up before is a plan not finished."""
    found = climb_given_up(tape, float(row["ascended_m"]))
    if found is None or used_up(case, batch, run, row, tape):
        return SOUND
    return found._replace(words=found.words + flat(case, batch, run, tape))


def used_up(case: Case, batch: Batch, run: int, row: Records, tape: Records) -> Lacks | None:
    """Say of a run that broke off because its rope was used up by how much it is too short."""
    broke_off = row["unfinished_step"] > 0 and np.isnan(row["parted_time_s"])
    return too_short(case, batch, run, tape) if broke_off else None


def note_used_up(case: Case, batch: Batch, runs: Records, tapes: Mapping[int, Records]) -> None:
    """Write why a plan was not finished beside runs whose rope was used up; in place.

    Parameters: as for `reasons`.
    """
    for run in np.flatnonzero((runs["status"] == OK) & (runs["unfinished_step"] > 0)).tolist():
        tape = tapes.get(run, batch.tape[run])
        if lacks := used_up(case, batch, run, runs[run], tape):
            runs["reason"][run], runs["short_m"][run], _ = lacks


def _impossible(row: Records, holds_n: float) -> Lacks | None:
    """Say what cannot have happened, and how many times what is allowed it is."""
    if not row["energy_residual"] <= MOST_RESIDUAL:
        words = f"the energy does not close: more of its flows is left open than {MOST_RESIDUAL:g}"
        return Lacks(words, times=_times(float(row["energy_residual"]), MOST_RESIDUAL))
    if np.isfinite(row["parted_time_s"]) or row["peak_tension_n"] <= holds_n:
        return None
    words = "a peak is above what the new rope holds: it would break, which is not computed"
    return Lacks(words, times=_times(float(row["peak_tension_n"]), holds_n))


def _times(found: float, allowed: float) -> float:
    """How many times what is allowed [1]; NaN: nobody can say."""
    times = found / allowed if allowed > 0.0 else np.nan
    return times if np.isfinite(times) else np.nan


def climb_given_up(tape: Records, ascended_m: float) -> Lacks | None:
    """Say so where less was climbed than the job asks for, and by how much.

    Parameters:
        tape: MOVEMENT (m,) of the run.
        ascended_m: rope climbed in all.
    """
    climbs = tape[(tape["kind"] == Kind.STROKES) & (tape["cut_ticks"] == 0)]
    wanted_m = float(climbs["length_m"].sum())
    if ascended_m >= LEAST_CLIMBED * wanted_m:
        return None
    return Lacks(f"the climb of {wanted_m:.3g} m was given up too low", wanted_m - ascended_m)


def climbed_out(case: Case, batch: Batch, run: int, tape: Records) -> Lacks | None:
    """Say that a climb ends where no rope is left below a given bend; None: it leaves some.

    The spring of the line is then one of no length: nothing that comes of it can be believed.
    """
    for row, depth_m, person, hung_m in _climbed_to(tape):
        section, load = case.rigged.sections[row], batch.people[run, person]
        pull_n = float(load["mass_kg"]) * GRAVITY_M_S2
        strain = pull_n / float(batch.lines[run, row]["stiffness_n"])
        drawn = drawn_m(hung_m, strain, pull_n / float(load["body_stiffness_n_m"]))
        if section.direct and section.edges and depth_m <= drawn:
            return Lacks(
                f"a climb ends {depth_m:.2f} m below {section.edges[-1].name}, and no rope is left "
                "there (climb less high): under the weight rope and harness give by more",
                drawn - depth_m,
            )
    return None


def flat(case: Case, batch: Batch, run: int, tape: Records) -> str:
    """Say that a climb ends where the rope comes flat, if that takes much of the legs' push.

    Much is half of what they push beyond the weight: a rise slows down as the rope takes the rest.
    """
    ends = [(lifting_share(case.rigged.sections[row], depth_m), person)
            for row, depth_m, person, _ in _climbed_to(tape)
            if not case.rigged.sections[row].direct]  # fmt: skip
    share, person = min(ends, default=(1.0, 0))
    push = float(batch.people["force_ratio"][run, person])
    usual = float(
        case.people["force_ratio"][person]
    )  # one in all trials, so that all say one thing
    if share > 0.0 and 1.0 / share - 1.0 <= 0.5 * (push - 1.0):
        return ""
    return (
        f" (by the survey the rope comes so flat at its end that {max(share, 0.0):.2f} of its pull "
        f"lifts, and the legs push {usual:.2g} times the weight at most, in the middle)"
    )


def _climbed_to(tape: Records) -> Iterator[tuple[int, float, int, float]]:
    """Give section, depth [m] and person at the end of each climb, by what was asked for.

    And the depth at which that person took to the rope [m].
    """
    depths_m: dict[int, float] = {}
    hung_m: dict[int, float] = {}
    for move in tape:
        row, length_m = int(move["line"]), float(move["length_m"])
        if move["kind"] == Kind.LOAD:
            depths_m[row] = hung_m[row] = float(move["depth_m"])
        elif row in depths_m and move["kind"] in (Kind.PAYOUT, Kind.STROKES, Kind.FEED):
            depths_m[row] += length_m if move["kind"] == Kind.PAYOUT else -length_m
            if move["kind"] == Kind.STROKES:
                yield row, depths_m[row], int(move["person"]), hung_m[row]


def too_short(case: Case, batch: Batch, run: int, tape: Records) -> Lacks | None:
    """Say by how much the rope is too short for a descent; None: it is long enough.

    Parameters:
        case: of the option.
        batch: n runs, with the places that each of them drew.
        run: which of them.
        tape: MOVEMENT (m,) that was to be made.
    """
    rope_m = batch.lines["rope_m"][run]
    short = [(taken - float(rope_m[row]), row, step)
             for row, step, taken in _taken_m(case, batch, run, tape)]  # fmt: skip
    most, row, step = max(short, default=(0.0, 0, 0))
    if most <= 0.0:
        return None
    words = f"the rope of the {case.line_names[row]} is too short for step {step}"
    return Lacks(f"{words}, with the places drawn for the trial", most)


def _taken_m(case: Case, batch: Batch, run: int, tape: Records) -> Iterator[tuple[int, int, float]]:
    """Give section, step and rope from the fixed point on [m] at the end of each descent.

    Straight, as if no weight stretched it: a little more than is drawn off, the careful end.
    """
    taken_m: dict[int, float] = {}
    for move in tape:
        row, length_m = int(move["line"]), float(move["length_m"])
        if move["kind"] == Kind.LOAD:
            section = _as_drawn(case.rigged.sections[row], batch, run, row)
            taken_m[row] = lay(section, float(move["depth_m"])).length_m
        elif row in taken_m and move["kind"] == Kind.STROKES:
            taken_m[row] -= length_m
        elif row in taken_m and move["kind"] == Kind.PAYOUT:
            taken_m[row] += length_m
            yield row, int(move["step"]), taken_m[row]


def _as_drawn(section: Section, batch: Batch, run: int, row: int) -> Section:
    """Return a section with the places of a trial."""
    line, edges = batch.lines[run, row], batch.edges[run, row]
    return replace(
        section,
        anchor_m=_point(line["anchor_m"]),
        load_m=(float(line["load_out_m"]), float(line["load_along_m"])),
        track_m=tuple(_point(p) for p in line["track_m"][: int(line["track_count"])]),
        edges=tuple(
            replace(
                edge,
                start_m=_point(drawn["start_m"]),
                end_m=_point(drawn["end_m"]),
                after_m=float(drawn["after_m"]),
                bend_rad=float(drawn["bend_rad"]),
            )
            for edge, drawn in zip(section.edges, edges, strict=False)
        ),
    )


def _point(of: Records) -> Point:
    """Three numbers of a record."""
    x, y, z = map(float, of)
    return x, y, z


def blank(runs: Records, told: Reasons) -> None:
    """Turn runs that mean nothing into failed ones, without an outcome; in place.

    Parameters:
        runs: RUN (n,).
        told: of each; no words leave a run as it is.
    """
    for at in np.flatnonzero(told.words != "").tolist():
        runs[at : at + 1] = failed_runs(runs["run"][at : at + 1], str(told.words[at]))
        runs["short_m"][at], runs["times_allowed"][at] = told.short_m[at], told.times[at]
