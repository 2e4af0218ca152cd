"""Datasets as somebody else may send them: files crafted, the manifest signed anew over them."""

from __future__ import annotations

import hashlib
import io
import json
import random
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import PARQUET
from edgewear.dataset.reading import open_dataset
from edgewear.errors import EdgewearError
from fuzz.mutants import changed_tree, spoilt
from support.scenario_files import BENCH

EASED = "  eased: {rope: rope, over: [{edge: arris, after: 20 m, bend: 20 deg}]}\n"

LONG_RUN = 3_000_000
"""Rows of a run-length column by default: some kilobytes in a file, 24 MB unpacked."""


def made(folder: Path) -> Path:
    """A small comparison, two options, to be spoilt in copies."""
    from edgewear.study.compare import compare

    folder.mkdir(parents=True)
    path = folder / "bench.yaml"
    text = BENCH.replace("title: Bench", "title: Bench\ntarget: 70 %")
    text = text.replace("job:\n", EASED + "job:\n")
    path.write_text(text, "utf-8")
    compare(path, 40, 0, 1, folder / "whole")
    return folder / "whole"


def crafted(whole: Path, root: Path, rng: random.Random) -> str:
    """Copy a dataset, spoil it and sign its manifest anew; say what was done.

    No file is spoilt twice: what spoils it reads it as a study wrote it.
    """
    shutil.copytree(whole, root)
    names = [file.path for file in manifests.read(root).files if not file.path.endswith(".md")]
    tables = [name for name in names if name.endswith(".parquet")]
    texts = [name for name in names if not name.endswith(".parquet")]
    told = []
    for _ in range(rng.choice((1, 1, 1, 2))):
        if rng.random() < 0.85:
            name = tables.pop(rng.randrange(len(tables)))
            way = rng.choice(list(WAYS))
            WAYS[way](root, name, rng)
        else:
            name = texts.pop(rng.randrange(len(texts)))
            way = "text"
            _text(root / name, rng)
        told.append(f"{name}: {way}")
    sign(root, rng)
    return "; ".join(told)


def sign(root: Path, rng: random.Random | None = None) -> None:
    """Write a manifest that agrees with the files as they are, rows that a file tells included."""
    document = json.loads((root / manifests.NAME).read_text("utf-8"))
    del document["sha256"]
    for name, told in document["files"].items():
        raw = (root / name).read_bytes()
        told["sha256"], told["bytes"] = hashlib.sha256(raw).hexdigest(), len(raw)
        if name.endswith(".parquet"):
            told["rows"] = _rows(raw, told["rows"])
    if rng is not None and rng.random() < 0.1:
        document["about"] = changed_tree(document["about"], rng)
    if rng is not None and rng.random() < 0.1:
        name = rng.choice(("rows", "chunk_rows", "failed", "model"))
        document[name] = rng.choice((1, 7, document[name] + 1, 10**6, 10**12))
    document = json.loads(json.dumps(document))
    signed = {**document, "sha256": manifests._digest(document)}
    (root / manifests.NAME).write_text(json.dumps(signed), "utf-8")


def _rows(raw: bytes, known: int) -> int:
    try:
        return max(pq.read_metadata(io.BytesIO(raw)).num_rows, 0)
    except (OSError, ValueError, pa.ArrowException):
        return known


Way = Callable[[Path, str, random.Random], None]


def _table(change: Callable[[pa.Table, random.Random], pa.Table], **more: Any) -> Way:
    """Read a table, change it, and write it as a study would, but for what `more` says."""

    def way(root: Path, name: str, rng: random.Random) -> None:
        table = change(pq.read_table(root / name, partitioning=None), rng)
        pq.write_table(table, root / name, **{**PARQUET, **more})

    return way


def _bytes(change: Callable[[bytearray, random.Random], bytes]) -> Way:
    def way(root: Path, name: str, rng: random.Random) -> None:
        (root / name).write_bytes(change(bytearray((root / name).read_bytes()), rng))

    return way


def _with(table: pa.Table, place: int, values: Any, nullable: bool = False) -> pa.Table:
    old = table.schema.field(place)
    field = pa.field(old.name, values.type, nullable, old.metadata)
    return table.set_column(place, field, values)


def _column(table: pa.Table, rng: random.Random) -> int:
    return rng.randrange(table.num_columns)


def _other_type(table: pa.Table, rng: random.Random) -> pa.Table:
    import decimal

    count, kind = table.num_rows, rng.randrange(11)
    values = [
        lambda: pa.array(["x"] * count),
        lambda: pa.array([1] * count),
        lambda: pa.array([0.5] * count),
        lambda: pa.array([True] * count),
        lambda: pa.array([[1.0, 2.0]] * count),
        lambda: pa.array([{"a": 1, "b": "x"}] * count),
        lambda: pa.array([decimal.Decimal("1.5")] * count),
        lambda: pa.array([b"\xff"] * count),
        lambda: pa.array(["x"] * count).dictionary_encode(),
        lambda: pa.array([1] * count, pa.timestamp("ns")),
        lambda: pa.array([0.5] * count, pa.float32()),
    ][kind]()
    return _with(table, _column(table, rng), values)


def _numbers(table: pa.Table, rng: random.Random) -> pa.Table:
    places = [i for i, f in enumerate(table.schema) if pa.types.is_primitive(f.type)]
    place = rng.choice(places)
    kind = table.schema.field(place).type
    values = table.column(place).to_pylist()
    odd: list[Any] = [float("nan"), float("inf"), float("-inf"), 1e308, -1e308, 5e-324, -1.0]
    if pa.types.is_integer(kind):
        odd = [-1, 2**63 - 1, -(2**63), 10**9, 0]
    if pa.types.is_boolean(kind):
        odd = [True, False]
    for i in range(len(values)):
        if rng.random() < rng.choice((0.05, 0.5, 1.0)):
            values[i] = rng.choice(odd)
    return _with(table, place, pa.array(values, kind))


def _texts(table: pa.Table, rng: random.Random) -> pa.Table:
    places = [i for i, f in enumerate(table.schema) if pa.types.is_string(f.type)]
    if not places:
        return _numbers(table, rng)
    odd = ["", "\x1b[2J", "\u202e", "a\0b", "x" * 100_000, "failed", "ok", "working", "../../x"]
    place = rng.choice(places)
    values = table.column(place).to_pylist()
    for i in range(len(values)):
        if rng.random() < rng.choice((0.05, 1.0)):
            values[i] = rng.choice(odd)
    return _with(table, place, pa.array(values, pa.string()))


def _no_text(table: pa.Table, rng: random.Random) -> pa.Table:
    places = [i for i, f in enumerate(table.schema) if pa.types.is_string(f.type)]
    if not places or not table.num_rows:
        return table.slice(0, 0)
    raw = pa.array([b"\xff\xfe\x80"] * table.num_rows, pa.binary())
    texts = pa.Array.from_buffers(pa.string(), len(raw), raw.buffers())
    return _with(table, rng.choice(places), texts)


def _nulls(table: pa.Table, rng: random.Random) -> pa.Table:
    place = _column(table, rng)
    values = [None if rng.random() < 0.3 else v for v in table.column(place).to_pylist()]
    return _with(table, place, pa.array(values, table.schema.field(place).type), nullable=True)


def _rows_changed(table: pa.Table, rng: random.Random) -> pa.Table:
    rows = list(range(table.num_rows))
    match rng.randrange(6):
        case 0:
            rows = rows[: rng.randrange(len(rows) + 1)]
        case 1:
            rows = rows + rows
        case 2:
            rng.shuffle(rows)
        case 3:
            rows = [rng.choice(rows) for _ in rows] if rows else []
        case 4:
            rows = []
        case 5:
            rows = rows[1:]
    return table.take(pa.array(rows, pa.int64()))


def _columns_changed(table: pa.Table, rng: random.Random) -> pa.Table:
    place = _column(table, rng)
    match rng.randrange(5):
        case 0:
            return table.remove_column(place)
        case 1:
            return table.append_column(table.schema.field(place), table.column(place))
        case 2:
            extra = pa.field(rng.choice(["own", "\x1b[0m", "x" * 9_000, ""]), pa.float64(), False)
            return table.append_column(extra, pa.array([0.0] * table.num_rows))
        case 3:
            return table.select(table.column_names[::-1])
        case _:
            return table.select([])


def _metadata(table: pa.Table, rng: random.Random) -> pa.Table:
    odd: dict[bytes, bytes] = rng.choice(
        [
            {b"unit": b"\xff"},
            {b"\xff": b"x"},
            {b"unit": b"x" * 1_000_000},
            {b"low": b"no number", b"median": b"", b"alias": b"\x1b"},
            {b"kind": b"x", b"high": b"nan", b"distribution": b"none"},
        ]
    )
    place = _column(table, rng)
    field = table.schema.field(place).with_metadata(odd)
    table = table.set_column(place, field, table.column(place))
    return table.replace_schema_metadata(odd) if rng.random() < 0.5 else table


def _long_run(root: Path, name: str, rng: random.Random) -> None:
    """Columns of one value each, repeated: little in a file, much in memory."""
    schema = pq.read_schema(root / name)
    (root / name).write_bytes(_bomb(schema, rng.random() < 0.5, LONG_RUN))


@cache
def _bomb(schema: pa.Schema, dictionary: bool, rows: int) -> bytes:
    odd = {pa.string(): "x", pa.float64(): 0.5, pa.int64(): 0, pa.bool_(): False}
    first = pa.array([odd[schema.field(0).type]] * 100_000, schema.field(0).type)
    held, one = io.BytesIO(), pa.schema([schema.field(0)])
    with pq.ParquetWriter(held, one, compression="zstd", use_dictionary=dictionary) as writer:
        for _ in range(rows // 100_000):
            writer.write_table(pa.table([first], schema=one))
    return held.getvalue()


def _swapped(root: Path, name: str, rng: random.Random) -> None:
    others = [p for p in sorted(root.rglob("*.parquet")) if p != root / name]
    other = rng.choice(others)
    mine, its = (root / name).read_bytes(), other.read_bytes()
    (root / name).write_bytes(its)
    if rng.random() < 0.5:
        other.write_bytes(mine)


def _flipped(raw: bytearray, rng: random.Random, first: int, end: int) -> bytes:
    for _ in range(rng.choice((1, 1, 3, 10))):
        raw[rng.randrange(max(first, 0), end)] ^= 1 << rng.randrange(8)
    return bytes(raw)


def _footer_at(raw: bytes | bytearray) -> int:
    return max(len(raw) - 8 - int.from_bytes(raw[-8:-4], "little"), 0)


def _end_spoilt(raw: bytearray, rng: random.Random) -> bytes:
    return _flipped(raw, rng, _footer_at(raw), len(raw))


def _page_spoilt(raw: bytearray, rng: random.Random) -> bytes:
    return _flipped(raw, rng, 4, max(_footer_at(raw), 5))


def _length_lies(raw: bytearray, rng: random.Random) -> bytes:
    raw[-8:-4] = rng.choice((0, 1, 2**31, 2**32 - 1, len(raw))).to_bytes(4, "little")
    return bytes(raw)


WAYS: dict[str, Way] = {
    "another type": _table(_other_type),
    "odd numbers": _table(_numbers),
    "odd texts": _table(_texts),
    "no text": _table(_no_text),
    "nulls": _table(_nulls),
    "other rows": _table(_rows_changed),
    "other columns": _table(_columns_changed),
    "metadata": _table(_metadata),
    "dictionaries": _table(lambda table, rng: table, use_dictionary=True),
    "unpacked": _table(lambda table, rng: table, compression="none", write_page_checksum=False),
    "other pages": _table(lambda table, rng: table, data_page_version="2.0", data_page_size=1),
    "many groups": _table(lambda table, rng: table, row_group_size=1),
    "no group": lambda root, name, rng: pq.ParquetWriter(
        root / name, pq.read_schema(root / name)
    ).close(),
    "a long run": _long_run,
    "swapped": _swapped,
    "the end spoilt": _bytes(_end_spoilt),
    "a page spoilt": _bytes(_page_spoilt),
    "cut": _bytes(lambda raw, rng: bytes(raw[: rng.randrange(len(raw))])),
    "junk": _bytes(lambda raw, rng: rng.randbytes(rng.choice((0, 1, 12, 5_000)))),
    "encrypted": _bytes(lambda raw, rng: bytes(raw[:-4]) + b"PARE"),
    "a length that lies": _bytes(_length_lies),
}
"""How a table is spoilt."""


def _text(path: Path, rng: random.Random) -> None:
    raw = path.read_text("utf-8")
    if path.suffix == ".json" and rng.random() < 0.7:
        path.write_text(json.dumps(changed_tree(json.loads(raw), rng)), "utf-8", "replace")
    elif rng.random() < 0.1:
        path.write_text(rng.choice(("[" * 100_000, "", "null", "[]", '{"a":' * 50_000)))
    else:
        path.write_bytes(spoilt(raw, rng))


def readers(root: Path) -> Iterator[tuple[str, Callable[[], object]]]:
    """Everything that reads a dataset, but for what plays runs again."""
    from edgewear.dataset.deposit import deposit
    from edgewear.dataset.ranking.rank import ranking_of
    from edgewear.dataset.rope_wear import line_wear
    from edgewear.python.results import Results
    from edgewear.report.write import write_report
    from edgewear.study.sensitivity.matters import what_matters
    from edgewear.study.sweeping.sweep import verify

    yield "verify", lambda: verify(root)
    for table in ("plan", "runs", "edges", "events", "wear", "timeline", "step_wear", "bridges"):
        yield table, lambda table=table: getattr(open_dataset(root), table)()
    yield "ranking", lambda: ranking_of(open_dataset(root))
    yield "what matters", lambda: what_matters(root)
    yield "wear of a line", lambda: line_wear(open_dataset(root), "padded", "working line")
    yield "read", lambda: Results.of(root)
    yield "report", lambda: write_report([root], root.parent / "reported")
    yield "deposit", lambda: deposit(root, root.parent / "deposited.zip")


def replayed(root: Path) -> object:
    """Play a run again."""
    from edgewear.study.replay import replay

    return replay(root, 3)


def fell(root: Path, replay: bool = False, but: tuple[str, ...] = ()) -> str:
    """Read a dataset in every way; say what fell: no traceback, words that name a file."""
    tried = list(readers(root)) + ([("replay", lambda: replayed(root))] if replay else [])
    for name, act in tried:
        if name in but:
            continue
        try:
            act()
        except EdgewearError as error:
            if not str(error):
                return f"{name}: no words"
        except Exception as error:
            trace = error.__traceback__
            while trace is not None and trace.tb_next is not None:
                trace = trace.tb_next
            at = f"{trace.tb_frame.f_code.co_filename}:{trace.tb_lineno}" if trace else ""
            return f"{name}: {type(error).__name__}: {str(error)[:150]!a} at {at}"
    return ""
