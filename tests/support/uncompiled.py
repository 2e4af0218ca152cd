"""Short runs that go through nearly every line of the kernels, for a look at them as plain Python.

What compiles and keeps kernels does not run then, and is not counted; `.ci/run` has the call.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS), str(TESTS / "mechanics"), str(TESTS / "rigging")]

from edgewear import mechanics  # noqa: E402
from edgewear.layout import Kind, Status  # noqa: E402
from support.lines import JERKY, direct, move, random_catch, surveyed  # noqa: E402

STRETCH = {"length_m": 0.45, **JERKY}
VARIATION = np.full((3, 2), 0.1)


def read(buffers: mechanics.Buffers) -> None:
    """Read everything out that can be."""
    mechanics.demand(buffers), mechanics.demand_before(buffers), mechanics.demand_by_edge(buffers)
    mechanics.frequencies(buffers), mechanics.residual(buffers), mechanics.strength(buffers)


def play(buffers: mechanics.Buffers, *tape: object, **how: object) -> None:
    """Make some movements, cut each in its midst, and read what came out."""
    for one in tape:
        begun = int(buffers.state["tick"][0])
        mechanics.advance(buffers, one, VARIATION, begun + 300, **how)  # type: ignore[arg-type]
        for _ in range(3):
            status = mechanics.advance(buffers, one, VARIATION, **how)  # type: ignore[arg-type]
            if status & (Status.DONE | Status.FAILED | Status.DRAWS):
                break
    read(buffers)


def plain_lines() -> None:
    """No edge, one and more; every movement; wear through, parting, waiting and a timeline."""
    down = move(Kind.PAYOUT, length_m=0.4, speed_m_s=0.5, stop_s=0.3)
    feed = move(Kind.FEED, length_m=0.2, speed_m_s=0.2, stop_s=0.3, cycles=1)
    mover = {"skill": 1.0, "amplitude_cv": 0.2, "timing_cv": 0.1, "fatigue_per_stroke": 0.02}
    for count in (0, 1, 3):
        line = direct([3.0] * count, [30.0] * count, travel=5, trace=3, trace_ticks=500, **mover)
        play(line, move(Kind.LOAD, depth_m=6.0), move(Kind.STROKES, **STRETCH), down, feed,
             move(Kind.UNLOAD), down, move(Kind.HOLD, duration_ticks=900))  # fmt: skip
    worn = direct([3.0], [30.0], sheath_j_m=10.0, core_j_m=10.0, breaking_n=1e3, law=2)
    armed = int(Status.CORE_VISIBLE | Status.WATCH | Status.PARTED)
    mechanics.advance(worn, move(Kind.LOAD, depth_m=6.0))
    for _ in range(4):
        mechanics.advance(worn, move(Kind.PAYOUT, length_m=0.1, speed_m_s=0.5, stop_s=0.1),
                          armed=armed, watch=0.5)  # fmt: skip
    still = direct([], [], viscous_s=0.2)
    work = {"bounce_m": 0.01, "bounce_hz": 2.0, "tool_n": 50.0}
    play(still, move(Kind.LOAD, depth_m=4.0), move(Kind.WORK, duration_ticks=60_000, **work))
    sway = move(Kind.WORK, duration_ticks=12_000, sway_m=0.1, sway_hz=1.0, bounce_m=0.01,
                bounce_hz=2.0)  # fmt: skip
    play(direct([3.0], [30.0], law=1), move(Kind.LOAD, depth_m=4.0), sway)
    play(direct([3.0], [30.0]), move(Kind.STROKES, **STRETCH))  # nobody hangs there
    heavy = direct([3.0], [170.0], friction=0.6, force_ratio=1.01)
    mechanics.advance(heavy, move(Kind.LOAD, depth_m=4.0))
    mechanics.advance(heavy, move(Kind.HOLD, duration_ticks=500), until_tick=200, exact=True)


def other_frictions() -> None:
    """Static above kinetic friction, and friction by a power of the tension."""
    for values in ({"static_ratio": 1.15}, {"power_exponent": 0.9}):
        line = direct([3.0, 2.0], [30.0, 20.0], **values)
        play(line, move(Kind.LOAD, depth_m=6.0), move(Kind.STROKES, **STRETCH))


def many() -> None:
    """Two runs in one call."""
    base = direct([3.0], [30.0])
    lines, people, wears = (np.repeat(one, 2) for one in (base.line, base.person, base.wear))
    lines["stiffness_n"][1] *= 1.2
    tape = np.concatenate([move(Kind.LOAD, depth_m=6.0), move(Kind.STROKES, **STRETCH)])
    edges, tapes = np.repeat(base.edges[None], 2, 0), np.repeat(tape[None], 2, 0)
    mechanics.play_many(base, lines, edges, people, wears, tapes, np.zeros((1, 9, 2)))
    short = np.zeros((1, 1, 2))
    mechanics.play_many(base, lines, edges, people, wears, tapes, short)


def side_by_side() -> None:
    """As many in one call as step side by side: steady and jerky, and ropes that part."""
    runs = 8
    base = direct([3.0], [30.0])
    lines, people, wears = (np.repeat(one, runs) for one in (base.line, base.person, base.wear))
    wears["sheath_j_m"], wears["breaking_n"] = np.logspace(0.0, 4.0, runs), 3e3
    people["force_ratio"], people["skill"] = np.linspace(1.1, 2.0, runs), np.arange(runs) % 2
    tape = np.concatenate([move(Kind.LOAD, depth_m=6.0), move(Kind.STROKES, **STRETCH)])
    edges, tapes = np.repeat(base.edges[None], runs, 0), np.repeat(tape[None], runs, 0)
    mechanics.play_many(base, lines, edges, people, wears, tapes, np.zeros((1, 9, 2)))


def over_several() -> None:
    """Over edges askew: side by side with work in place, a descent and a rest, and alone."""
    runs = 5
    base = surveyed((-4.0, 0.5), [(0.0, 0.0), (0.3, -0.6)], 0.5)
    for place, name in ((-1.0, "start_m"), (1.0, "end_m")):
        base.edges[name][:, 0] += 0.2 * place
        base.edges[name][:, 1] = place
    base = base._replace(regimes=mechanics.route(base.line, base.edges))
    work = move(Kind.WORK, duration_ticks=4_000, sway_m=0.1, sway_hz=1.0, bounce_m=0.01,
                bounce_hz=2.0)  # fmt: skip
    down = move(Kind.PAYOUT, length_m=0.1, speed_m_s=0.5, stop_s=0.1)
    movements = (move(Kind.STROKES, **STRETCH), work, down, move(Kind.HOLD, duration_ticks=4_000))
    tape = np.concatenate([move(Kind.LOAD, depth_m=1.9), *movements])
    lines, people, wears = (np.repeat(one, runs) for one in (base.line, base.person, base.wear))
    lines["stiffness_n"] *= np.linspace(0.8, 1.2, runs)
    edges, tapes = np.repeat(base.edges[None], runs, 0), np.repeat(tape[None], runs, 0)
    mechanics.play_many(base, lines, edges, people, wears, tapes, np.zeros((1, 9, 2)))
    mechanics.advance(base, move(Kind.LOAD, depth_m=1.9))
    mechanics.advance(base, work)
    near = direct([3.0, 0.01], [30.0, 30.0])  # two edges that wear the same rope
    play(near, move(Kind.LOAD, depth_m=4.0), move(Kind.STROKES, **STRETCH))


def moving_over_edges() -> None:
    """Down over one edge after the other, and up again."""
    line = surveyed((-4.0, 0.5), [(0.2, -1.0), (0.4, -1.6)], 0.8)
    down = move(Kind.PAYOUT, length_m=1.5, speed_m_s=0.8, stop_s=0.3)
    play(line, move(Kind.LOAD, depth_m=1.1), down, move(Kind.STROKES, **STRETCH))


def catches() -> None:
    """Falls into ropes with and without edges, some with a device that slips."""
    for seed in (5,):
        buffers, drop = random_catch(seed)
        drop["duration_ticks"] = 1_000
        play(buffers, drop)


def slip_rates() -> None:
    """Systems that the plain way does not solve."""
    import test_slip

    for seed in range(36):
        test_slip.check_conditions(seed)
    for seed in range(3):
        test_slip.power_law(seed)


def contacts() -> None:
    """Contact sets in space: deviations, pulleys, edges askew."""
    import test_space

    from support.section_records import records

    for section in test_space.SITES[2:6]:
        line, edges = records(section)
        mechanics.route(line, edges)


def strokes() -> None:
    """Normals of many replicates, a few of them left to numpy."""
    from edgewear.engine.draws import stroke_columns

    with np.errstate(over="ignore"):  # words of 64 bits are meant to
        stroke_columns(7, np.arange(12), "ann", 80)


def main() -> None:
    """Go through all of them."""
    import time

    for part in (plain_lines, other_frictions, many, side_by_side, over_several, moving_over_edges,
                 catches, slip_rates, contacts, strokes):  # fmt: skip
        begun = time.process_time()
        part()
        print(f"{part.__name__:20} {time.process_time() - begun:5.1f} s", flush=True)


if __name__ == "__main__":
    main()
