"""Every kind of file that people hand in: whole ones to spoil, and what reads them."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from edgewear.errors import EdgewearError, ScenarioError
from fuzz.mutants import changed_tree, dumped, parsed, spoilt, table_spoilt
from support.programmes import TOWER
from support.ropes import draft, stock_in
from support.scenario_files import BENCH, EXAMPLES, SHIPPED

SECONDS = 10


class Kind(NamedTuple):
    """A kind of file."""

    name: str  # of the file
    make: Callable[[random.Random], bytes]
    use: Callable[[Path], Iterable[str]]  # reads it; gives what would be shown of it
    lines: bool = True  # a text, in which every error has a line


def fallen(kind: Kind, seed: int, folder: Path) -> str:
    """Make a mutant, read it, and say which promise fell; empty: none did."""
    raw = kind.make(random.Random(seed))
    path = folder / kind.name
    path.write_bytes(raw)
    return judged(kind, path)


def judged(kind: Kind, path: Path) -> str:
    """Read a file and say which promise fell: no traceback, no control character, a place."""
    try:
        shown = list(kind.use(path))
    except ScenarioError as error:
        return _told(kind, error) or _shown([str(error)])
    except EdgewearError as error:
        return _shown([str(error)])
    except Exception as error:  # the very thing that must not happen
        trace = error.__traceback__
        while trace is not None and trace.tb_next is not None:
            trace = trace.tb_next
        at = "" if trace is None else f" at {trace.tb_frame.f_code.co_filename}:{trace.tb_lineno}"
        return f"{type(error).__name__}: {str(error)[:200]!a}{at}"
    return _shown(shown)


def _told(kind: Kind, error: ScenarioError) -> str:
    for problem in error.problems:
        if kind.lines and problem.line < 1:
            return f"no place: {str(problem)[:200]!a}"
        if len(str(problem)) > 1_500:
            return f"a message of {len(str(problem))} characters: {str(problem)[:80]!a}"
    return "" if len(error.problems) < 500 else f"{len(error.problems)} problems told"


def _shown(texts: Iterable[str]) -> str:
    for text in texts:
        for character in text:
            if not character.isprintable() and character != "\n" and not character.isspace():
                return f"control character {character!a} in {text[:100]!a}"
            if character in "\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029":
                return f"control character {character!a} in {text[:100]!a}"
    return ""


SCENARIOS = [path.read_text() for path in (*SHIPPED, *EXAMPLES)] + [BENCH]


def check(path: Path) -> list[str]:
    """Everything that `check` shows."""
    from edgewear.study.check import check as checked
    from edgewear.study.check import document

    found = checked([path])
    told = [line for one in found for details in (False, True) for line in one.lines(details)]
    json.dumps(document(found), allow_nan=False)
    return [*told, *(text for one in found for text in one.look_at)]


LIBRARY_SECTIONS = (
    "accuracy",
    "anchors",
    "backups",
    "detection",
    "deviations",
    "edge classes",
    "people",
    "protection",
    "rope conditions",
    "rope defaults",
    "ropes",
    "sheaths",
    "slings",
    "surfaces",
    "systems",
    "tasks",
    "techniques",
    "times",
    "wear",
    "weather",
    "work",
)


def _library(rng: random.Random) -> bytes:
    from edgewear.scenario.read.libraries import built_in

    whole: dict[str, Any] = {}
    for section in rng.sample(LIBRARY_SECTIONS, rng.randint(1, 4)):
        known = dict(built_in()[section])
        keep = rng.sample(sorted(known), min(len(known), rng.randint(1, 3)))
        whole[section] = {word: known[word] for word in keep}
    return (
        dumped(changed_tree(whole, rng))
        if rng.random() < 0.7
        else spoilt(dumped(whole).decode(), rng)
    )


def _use_library(path: Path) -> list[str]:
    from edgewear.scenario import load_text

    text = BENCH.replace("title: Bench", f"title: Bench\nlibrary: {path.name}")
    try:
        load_text(text, str(path.with_name("bench.yaml")))
    except ScenarioError as error:
        # a rope's entry may lack what a scenario types beside `like`: told at the scenario's rope
        fair = ("library", "ropes/rope", "ropes/rope/stiffness")
        blamed = [p for p in error.problems if p.file != str(path) and p.address not in fair]
        if blamed and not any(p.file == str(path) for p in error.problems):
            raise AssertionError(f"the scenario is blamed: {str(blamed[0])[:300]!a}") from error
        raise
    return []


TABLE = """\
options,replicate,people/climber/mass,edges/arris/radius [mm],own
bare,0,70 kg,1,a
bare,1,80 kg,2,b
bare,2,,3.5,c
"""


@cache
def _model() -> Any:
    from edgewear.scenario import load_text
    from edgewear.study.model import ScenarioModel

    return ScenarioModel.of(load_text(BENCH, "bench.yaml"), 0)


def _use_table(path: Path) -> list[str]:
    from edgewear.study.sweeping.table_file import table_of_file

    found = table_of_file(path, _model(), ("bare",))
    return [str(one) for one in found.refused]


def _parquet(rng: random.Random) -> bytes:
    import io

    import pyarrow as pa
    import pyarrow.parquet as pq

    odd: list[Any] = [1.0, None, float("nan"), float("inf"), 1e300, -1.0]
    columns: dict[str, Any] = {
        "options": pa.array(
            rng.choice([["bare"] * 3, ["x"] * 3, [None] * 3, ["\x1b"] * 3, [1, 2, 3]])
        ),
        "people/climber/mass": pa.array(
            rng.choice(
                [
                    [70.0, 80.0, rng.choice(odd)],
                    ["70 kg", "x\x07", ""],
                    [b"x"] * 3,
                    [[1.0]] * 3,
                    [{"a": 1}] * 3,
                ]
            )
        ),
        rng.choice(["edges/arris/radius", "replicate", "own", "\x1b[0m", "a" * 9_000]): pa.array(
            rng.choice([[0.001, 0.002, rng.choice(odd)], [0, 1, 2], [True, False, None]])
        ),
    }
    if rng.random() < 0.3:  # a good one, its bytes spoilt at most
        columns = {"options": pa.array(["bare"] * 3), "people/climber/mass": pa.array([70.0] * 3)}
    held = io.BytesIO()
    pq.write_table(pa.table(columns), held, compression=rng.choice(["none", "snappy", "zstd"]))
    raw = bytearray(held.getvalue())
    for _ in range(rng.choice((0, 0, 0, 1, 3))):
        raw[rng.randrange(len(raw))] = rng.randrange(256)
    return bytes(raw[: rng.choice((len(raw),) * 5 + (rng.randrange(len(raw)),)) or None])


def _tests_table(rng: random.Random) -> bytes:
    text = "test,scenario,how far,what,not by,by,people/climber/mass\n"
    text += "A,tower,job/1/ascend,core visible,3 m,4 m,80 kg\n"
    return table_spoilt(text + "B,tower,job/1/ascend,core visible,5 m,,70 kg\n", rng)


def _use_tests_table(path: Path) -> list[str]:
    from edgewear.programme.reading import programme_text

    text = TOWER[: TOWER.index("tests:\n  T1")].partition("benches:")[0] + f"table: {path.name}\n"
    return [
        repr(test.name) for test in programme_text(text, str(path.with_name("tests.yaml"))).tests
    ]


def _use_tests(path: Path) -> list[str]:
    from edgewear.programme.reading import load_programme

    found = load_programme(path)
    return [found.title, *(test.name for test in found.tests)]


@cache
def _log(ending: str) -> str:
    import tempfile

    from edgewear.stock.exchange import as_csv, as_json

    drafts = [
        draft("register", "R1", like="low-stretch 11", marks={"middle": 30.0}, batch="7"),
        draft("job", "R1"),
        draft("inspection", "R1", finding="fuzz", to_m=2.5, note="said twice"),
        draft("event", "R1", what="fall held"),
    ]
    with tempfile.TemporaryDirectory() as folder, stock_in(Path(folder), None, *drafts) as stock:
        return (as_csv if ending == ".csv" else as_json)(list(stock.every_entry()))


def _use_log(path: Path) -> list[str]:
    from edgewear.scenario.read.rope_rules import built_in_rules
    from edgewear.stock.exchange import read, take_in
    from edgewear.stock.store import open_stock

    typed = read(path)
    store = path.with_name("store.ropes")
    for old in path.parent.glob("store.ropes*"):
        old.unlink()
    with open_stock(store, built_in_rules(), make=True) as stock:
        return [f"{one.rope} {one.kind}" for one in take_in(stock, typed)]


@cache
def _record() -> bytes:
    import sqlite3
    import tempfile
    from contextlib import closing

    drafts = [draft("register", "rope", like="low-stretch 11"), draft("job", "rope")]
    with tempfile.TemporaryDirectory() as name:
        with stock_in(Path(name), None, *drafts):
            pass
        file = next(Path(name).glob("*.ropes"))
        with closing(sqlite3.connect(file)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
        return file.read_bytes()


def _spoilt_record(rng: random.Random) -> bytes:
    raw = bytearray(_record())
    for _ in range(rng.randint(1, 8)):
        raw[rng.randrange(len(raw))] = rng.randrange(256)
    return bytes(raw[: rng.choice((len(raw),) * 5 + (rng.randrange(len(raw)),)) or None])


def _use_record(path: Path) -> list[str]:
    from edgewear.scenario.read.libraries import built_in
    from edgewear.scenario.read.rope_records import read_record

    return [json.dumps(read_record(path, "rope", built_in()))]


def _forecast(rng: random.Random) -> bytes:
    """A forecast with its seal made anew after it was spoilt, so that what is inside is read."""
    from edgewear.forecasts.frozen import seal_of

    body: dict[str, Any] = {
        "edgewear forecast": "1",
        "name": "T1",
        "frozen": "2026-05-31",
        "version": "1",
        "model": "2",
        "scenario": {"file": "a.yaml", "sha256": "0" * 64},
        "library": {"sha256": "0" * 64},
        "changes": ["a=b"],
        "option": "bare",
        "looked for": "core visible",
        "until": "5",
        "seed": "0",
        "discrepancy": ["1", "0.5", "2"],
        "draws": ["1", "2", "inf"],
        "factors": ["0.5", "1", "2"],
        "at factors": [["1", "2", "3"] for _ in range(3)],
    }
    body = changed_tree(body, rng)
    if rng.random() < 0.9 and isinstance(body, dict):
        body["seal"] = seal_of(body)
    return (
        dumped(body) if rng.random() < 0.8 else spoilt(dumped(body).decode("utf-8", "replace"), rng)
    )


def _use_forecast(path: Path) -> list[str]:
    from edgewear.forecasts.frozen import read_frozen

    found = read_frozen(path)
    return [str(one) for one in (found.name, found.option, found.scenario)]


KINDS = {
    "scenario": Kind("scenario.yaml", lambda rng: spoilt(rng.choice(SCENARIOS), rng), check),
    "library": Kind("own.yaml", _library, _use_library),
    "study table": Kind("runs.csv", lambda rng: table_spoilt(TABLE, rng), _use_table),
    "parquet table": Kind("runs.parquet", _parquet, _use_table, lines=False),
    "tests": Kind("tests.yaml", lambda rng: spoilt(TOWER, rng), _use_tests),
    "table of tests": Kind("seen.csv", _tests_table, _use_tests_table),
    "log as CSV": Kind("log.csv", lambda rng: table_spoilt(_log(".csv"), rng), _use_log),
    "log as JSON": Kind("log.json", lambda rng: _json_spoilt(_log(".json"), rng), _use_log),
    "record of ropes": Kind("store.ropes", _spoilt_record, _use_record, lines=False),
    "forecast": Kind("a.forecast.yaml", _forecast, _use_forecast),
}


def _json_spoilt(text: str, rng: random.Random) -> bytes:
    if rng.random() < 0.3:
        return spoilt(text, rng) if rng.random() < 0.5 else table_spoilt(text, rng)
    return json.dumps(changed_tree(json.loads(text), rng)).encode("utf-8", "surrogatepass")


__all__ = ["KINDS", "Kind", "fallen", "judged", "parsed"]
