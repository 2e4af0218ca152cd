"""One clock: pieces equal the whole, and a tape equals the people who recorded it, bit for bit."""

from __future__ import annotations

from pathlib import Path

import numba
import numpy as np
import pytest
import simpy

from edgewear.engine.draws import stroke_block
from edgewear.engine.kernel_cache import kernel_cache_folder, load_step, step_to_compile
from edgewear.engine.play import play
from edgewear.engine.player import Player, Recording
from edgewear.engine.rope_line import RopeLine
from edgewear.layout import MOVEMENT, Status
from edgewear.mechanics.movement.advance import play as step
from support.random_cases import random_case, random_moves

CASES = 25
ALL_CASES = 200
NO_TAPE = np.zeros(0, MOVEMENT)


def seeds():
    """A few seeds by default, all of them under `-m long`."""
    few = [pytest.param(s) for s in range(CASES)]
    rest = [pytest.param(s, marks=pytest.mark.long) for s in range(CASES, ALL_CASES)]
    return few + rest


def player_of(case, seed: int) -> Player:
    player = Player(case, Recording(travel=64))
    batch = case.batch(NO_TAPE, {}, 1)
    player.begin(batch, 0, lambda person, block: stroke_block(seed, 0, "climber", block))
    return player


def bits(player: Player) -> dict[str, bytes]:
    """Everything the line's state holds, but for the counters of work done to get there."""
    buffers = player.buffers(0)
    kept = {name: getattr(buffers, name).tobytes() for name in ("sums", "exposure", "travel")}
    state = buffers.state
    return kept | {name: state[name].tobytes() for name in state.dtype.names}


def record(move) -> np.ndarray:
    return np.array([tuple(move)], MOVEMENT)


def in_pieces(player: Player, movement: np.ndarray, start: int, stops: list[int]) -> None:
    """Make a movement up to each stop in turn, then to its end."""
    for stop in [*stops, None]:
        status = player.make(movement, start, until=stop if stop is None else int(stop))
        if status & Status.DONE:
            return
    raise AssertionError(f"the movement did not end: {status!r}")


@pytest.mark.parametrize("seed", seeds())
def test_pieces_on_the_step_grid_equal_the_whole(seed: int) -> None:
    rng = np.random.default_rng(seed)
    case = random_case(rng)
    moves = random_moves(case, rng)
    whole, pieces = player_of(case, seed), player_of(case, seed)
    tick = 0
    for move in moves:
        whole.make(record(move), tick)
        end = int(whole.state(0)["tick"][0])
        in_pieces(pieces, record(move), tick, sorted(rng.integers(tick, end + 1, size=5)))
        tick = end
    assert bits(pieces) == bits(whole)


def driver(line, moves):
    """Make movements one after the other, going on to the next where one is interrupted."""
    for move in moves:
        try:
            yield from line.advance(move)
        except simpy.Interrupt:
            continue


def disturber(env, target, rng):
    """Interrupt somebody a few times at random ticks, the first time in their first movement."""
    for latest in (1_000, 200_000, 200_000):
        yield env.timeout(int(rng.integers(1, latest)))
        if target.is_alive:
            target.interrupt("look")


def bystander(env, rng):
    """Have events of one's own that concern nobody."""
    for _ in range(200):
        yield env.timeout(int(rng.integers(1, 5_000)))


def perform_live(case, moves, seed: int, disturbed: bool) -> tuple[Player, np.ndarray]:
    rng = np.random.default_rng(seed + 10_000)
    env, tape, player = simpy.Environment(), [], player_of(case, seed)
    line = RopeLine(env, player, tape, lambda *happened: None)
    process = env.process(driver(line, moves))
    env.process(bystander(env, rng))
    if disturbed:
        env.process(disturber(env, process, rng))
    env.run()
    return player, np.concatenate(tape)


@pytest.mark.parametrize("seed", seeds())
@pytest.mark.parametrize("disturbed", [False, True])
def test_a_tape_replays_what_interrupted_people_did(seed: int, disturbed: bool) -> None:
    rng = np.random.default_rng(seed)
    case = random_case(rng)
    live, tape = perform_live(case, random_moves(case, rng), seed, disturbed)
    replayed = Player(case, Recording(travel=64))
    draws = lambda person, block: stroke_block(seed, 0, "climber", block)  # noqa: E731
    play(replayed, case.batch(tape, {}, 1), 0, draws)
    assert (tape["cut_ticks"] > 0).any() == disturbed
    assert bits(replayed) == bits(live)


def onlooker(env, line, least: float, seen: list[float]):
    """Ask how worn the rope is in the midst of whatever goes on."""
    for _ in range(20):
        yield env.timeout(37_001)
        seen.append(max(line.demand(0, least).values(), default=0.0))


def watched(case, moves, seed: int, least: float) -> tuple[Player, list[float]]:
    env, player, seen = simpy.Environment(), player_of(case, seed), []
    line = RopeLine(env, player, [], lambda *happened: None)
    env.process(driver(line, moves))
    env.process(onlooker(env, line, least, seen))
    env.run()
    return player, seen


@pytest.mark.parametrize("seed", range(5))
def test_a_look_at_wear_nobody_asks_about_takes_nothing_back(seed: int) -> None:
    rng = np.random.default_rng(seed)
    case = random_case(rng)
    moves = random_moves(case, rng)
    exact, asked = watched(case, moves, seed, 0.0)
    level = asked[len(asked) // 2]
    roughly, told = watched(case, moves, seed, level)
    assert bits(roughly) == bits(exact)
    assert 0.0 < level < asked[-1]  # some looks fall below the level, some above
    for true, found in zip(asked, told, strict=True):
        assert found == true if true >= level else true <= found < level or found == true


@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")
def test_what_is_loaded_ahead_is_the_kernel_that_jobs_need() -> None:
    """Another one, of other types, would take as long to compile, and nobody would use it."""
    rng = np.random.default_rng(1)
    case = random_case(rng)
    perform_live(case, random_moves(case, rng), 1, False)
    jobs = set(step.signatures)
    load_step()
    assert set(step.signatures) == jobs


def test_the_step_is_to_compile_where_it_was_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("EDGEWEAR_CACHE", str(tmp_path))
    assert step_to_compile()
    folder = kernel_cache_folder()
    assert folder is not None
    (folder / step.py_func.__module__).mkdir()  # where numba keeps it
    assert not step_to_compile()
