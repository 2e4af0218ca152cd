"""Files that are there whole or not at all, and the sha256 that says they are still the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NamedTuple

from edgewear.dataset.door import inside, write_whole
from edgewear.errors import DatasetError

if TYPE_CHECKING:
    import pyarrow as pa

ROWS_A_GROUP = 100_000

MOST_JSON = 200_000_000
"""Bytes of a JSON document: a manifest names each of a million parts in as many."""

PARQUET: dict[str, Any] = {
    "compression": "zstd",
    "use_dictionary": False,
    "write_page_checksum": True,
    "write_statistics": True,
}
"""Dictionaries on floats cost time and space; page checksums catch damage a reader would miss."""


class Written(NamedTuple):
    """A file as it was written."""

    path: str  # below the folder, with forward slashes
    sha256: str
    size: int  # bytes
    rows: int


def write_bytes(root: Path, name: str, content: bytes, rows: int = 0) -> Written:
    """Write a file below a folder, whole or not at all.

    Raises:
        CannotCreate: nowhere to write to.
        CannotWrite: writing broke off.
    """
    write_whole(root, name, lambda stream: stream.write(content))
    return Written(name, hashlib.sha256(content).hexdigest(), len(content), rows)


def write_json(root: Path, name: str, document: object) -> Written:
    """Write a JSON document, keys in the order given, whole or not at all."""
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    return write_bytes(root, name, (text + "\n").encode())


def write_table(root: Path, name: str, table: pa.Table) -> Written:
    """Write a parquet file with page checksums, whole or not at all.

    Raises:
        CannotCreate: nowhere to write to.
        CannotWrite: writing broke off.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    sink = pa.BufferOutputStream()
    pq.write_table(
        table,
        sink,
        row_group_size=ROWS_A_GROUP,
        **PARQUET,
    )
    return write_bytes(root, name, sink.getvalue().to_pybytes(), table.num_rows)


def write_stream(
    root: Path, name: str, schema: pa.Schema, tables: Iterator[pa.Table], group_rows: int
) -> Written:
    """Write a parquet file table by table, each while the next one is made; whole or not at all.

    Parameters:
        root: the dataset's folder.
        name: path below it.
        schema: of every table.
        tables: in order; each begins a row group.
        group_rows: most rows a group.

    Raises:
        CannotCreate: nowhere to write to.
        CannotWrite: writing broke off.
    """
    import pyarrow.parquet as pq

    rows = 0

    def write(stream: IO[bytes]) -> None:
        nonlocal rows
        with pq.ParquetWriter(stream, schema, **PARQUET) as writer, ThreadPoolExecutor(1) as beside:
            under_way: Future[None] | None = None
            for table in tables:
                if under_way is not None:
                    under_way.result()
                under_way = beside.submit(writer.write_table, table, row_group_size=group_rows)
                rows += table.num_rows
            if under_way is not None:
                under_way.result()

    write_whole(root, name, write)
    path = inside(root, name)
    return Written(name, sha256_of(path), path.stat().st_size, rows)


def read_json(root: Path, name: str) -> Any:  # JSON of any shape
    """Read a JSON document of a dataset.

    Raises:
        DatasetError: it is not there, or damaged.
    """
    try:
        path = inside(root, name)
        if path.stat().st_size > MOST_JSON:
            raise ValueError(f"larger than {MOST_JSON:,} bytes")
        return json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError) as error:
        raise DatasetError(f"{root / name}: cannot be read: {_first_line(error)}") from error


def sha256_of(path: Path) -> str:
    """Give the sha256 of a file, read piece by piece.

    Raises:
        DatasetError: it cannot be read.
    """
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise DatasetError(f"{path}: cannot be read: {error.strerror}") from error


def _first_line(error: BaseException) -> str:
    return str(error).strip().splitlines()[0] if str(error).strip() else type(error).__name__
