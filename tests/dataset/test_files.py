"""Files are whole or absent, tables keep their schema, damage never goes unnoticed."""

from __future__ import annotations

import errno
import json
import os
import stat
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from edgewear import records
from edgewear.dataset import files
from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import Written, write_bytes, write_stream, write_table
from edgewear.dataset.reading import open_dataset
from edgewear.dataset.reference import page
from edgewear.dataset.schema import arrays_of, schema_of, table_of
from edgewear.dataset.tables import Due, read_table
from edgewear.errors import CannotCreate, CannotWrite, DatasetError, Mismatch, Unfinished

ROOT = Path(__file__).parents[2]


def test_the_reference_page_is_the_one_made_from_the_columns():
    assert (ROOT / "docs/reference/dataset.md").read_text("utf-8") == page()


@pytest.mark.parametrize("name", records.TABLES)
def test_every_column_has_a_type_parquet_knows_and_says_its_unit(name):
    for field, column in zip(schema_of(records.TABLES[name]), records.TABLES[name], strict=True):
        assert field.metadata[b"unit"].decode() == column.unit
        assert not field.nullable


def test_a_table_shares_no_memory_with_what_it_was_built_from():
    values = {"a_m": np.arange(3.0)}
    table = table_of((records.Column("a_m", "float64", "m", "a"),), values)
    values["a_m"][0] = 9
    assert table.column("a_m").to_pylist() == [0.0, 1.0, 2.0]


def of(columns):
    """What a table of some columns must be, however long it is."""
    return Due(columns, False, None, None, 0, 0)


KINDS = tuple(records.Column(kind, kind, "1", kind) for kind in ("str", "bool", "int64", "float64"))


def values_of(rows):
    number = np.arange(rows)
    return {
        "str": np.array(["\u00e4\u2126" * (i % 4) for i in number], dtype=object),
        "bool": number % 3 == 0,
        "int64": number * 10**15,
        "float64": np.where(number % 5, number / 7, np.nan),
    }


@pytest.mark.parametrize(("rows", "first", "count"), [(0, 0, 0), (1, 0, 1), (1001, 13, 700)])
def test_a_table_gives_the_arrays_it_was_built_from(rows, first, count, tmp_path):
    values = values_of(rows)
    table = table_of(KINDS, values)
    table.validate(full=True)
    write_table(tmp_path, "t.parquet", table)
    for found in (table, read_table(tmp_path, "t.parquet", of(KINDS))):
        again = arrays_of(found.slice(first, count))
        for name, wanted in values.items():
            np.testing.assert_array_equal(again[name], wanted[first : first + count])
            assert again[name].dtype == wanted.dtype


def test_a_write_that_breaks_off_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    write_bytes(tmp_path, "a/b.json", b"old")

    def full(handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CannotWrite, match="No space left on device"):
        write_bytes(tmp_path, "a/b.json", b"new")
    assert (tmp_path / "a/b.json").read_bytes() == b"old"
    assert [p.name for p in (tmp_path / "a").iterdir()] == ["b.json"]


def test_a_file_is_on_the_disk_before_it_has_its_name_and_its_name_is_too(tmp_path, monkeypatch):
    """Else a power loss after the write could leave an empty file, or the old one."""
    write_bytes(tmp_path, "a/b.json", b"old")
    done = []

    def told(call, what):
        def made(*given, **more):
            done.append(what(*given))
            return call(*given, **more)

        return made

    def kind(handle):
        return stat.S_IFMT(os.fstat(handle).st_mode)

    monkeypatch.setattr(os, "fsync", told(os.fsync, kind))
    monkeypatch.setattr(os, "rename", told(os.rename, lambda *_: "named"))
    write_bytes(tmp_path, "a/b.json", b"new")
    assert done == [stat.S_IFREG, "named", stat.S_IFDIR]


def test_a_document_that_is_too_large_is_not_read(tmp_path, monkeypatch):
    write_bytes(tmp_path, "a.json", b"[1, 2]")
    monkeypatch.setattr(files, "MOST_JSON", 6)
    assert files.read_json(tmp_path, "a.json") == [1, 2]
    monkeypatch.setattr(files, "MOST_JSON", 5)
    with pytest.raises(DatasetError, match="larger than 5 bytes"):
        files.read_json(tmp_path, "a.json")


def test_a_folder_that_cannot_be_made_is_said_so(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(CannotCreate, match="file"):
        write_bytes(tmp_path, "file/b.json", b"x")


def test_a_bit_that_flipped_in_a_table_is_noticed(tmp_path):
    due = of((records.Column("a", "float64", "1", "any"),))
    table = table_of(due.columns, {"a": np.random.default_rng(1).normal(size=2000)})
    write_table(tmp_path, "t.parquet", table)
    assert read_table(tmp_path, "t.parquet", due).equals(table)
    raw = bytearray((tmp_path / "t.parquet").read_bytes())
    raw[len(raw) // 2] ^= 16
    (tmp_path / "t.parquet").write_bytes(raw)
    with pytest.raises(DatasetError, match=r"t\.parquet"):
        read_table(tmp_path, "t.parquet", due)


@pytest.mark.parametrize("counts", [[], [3], [2, 0, 5], [7, 7]])
@pytest.mark.parametrize("most", [3, 100])
def test_a_table_written_piece_by_piece_is_all_of_them_each_in_groups_of_its_own(
    counts, most, tmp_path
):
    columns = (records.Column("a", "float64", "1", "any"),)
    values = np.random.default_rng(1).normal(size=sum(counts))
    ends = np.cumsum([0, *counts])
    pieces = [table_of(columns, {"a": values[a:b]}) for a, b in pairwise(ends)]
    told = write_stream(tmp_path, "d/t.parquet", schema_of(columns), iter(pieces), most)
    raw = (tmp_path / "d/t.parquet").read_bytes()
    assert told == Written("d/t.parquet", sha256(raw).hexdigest(), len(raw), sum(counts))
    written = pq.ParquetFile(tmp_path / "d/t.parquet").metadata
    groups = [written.row_group(k).num_rows for k in range(written.num_row_groups)]
    due_groups = [min(most, count - at) for count in counts for at in range(0, count, most)]
    assert [group for group in groups if group] == due_groups
    again = read_table(tmp_path, "d/t.parquet", of(columns)) if 0 not in counts else None
    if again is not None:
        np.testing.assert_array_equal(arrays_of(again)["a"], values)


def test_what_is_written_is_told_with_its_name_its_size_and_its_rows(tmp_path):
    raw = b"abc"
    assert write_bytes(tmp_path, "a/x", raw) == Written("a/x", sha256(raw).hexdigest(), 3, 0)
    assert write_bytes(tmp_path, "x", raw, 7).rows == 7
    told = files.write_json(tmp_path, "x.json", {"b": "\u00e4", "a": [1]})
    text = (tmp_path / "x.json").read_text("utf-8")
    assert (told.path, told.size, told.rows) == ("x.json", len(text.encode()), 0)
    assert list(json.loads(text)) == ["b", "a"]  # in the order given
    assert "\u00e4" in text
    assert text.endswith("]\n}\n")
    with pytest.raises(ValueError, match="JSON"):
        files.write_json(tmp_path, "y.json", [np.nan])


def test_floats_are_not_put_in_a_dictionary(tmp_path):
    write_table(tmp_path, "t.parquet", pa.table({"a": np.zeros(10)}))
    column = pq.ParquetFile(tmp_path / "t.parquet").metadata.row_group(0).column(0)
    assert (column.compression, column.has_dictionary_page) == ("ZSTD", False)
    told = column.statistics  # by which a reader passes over what it does not look for
    assert (told.min, told.max, told.null_count) == (0.0, 0.0, 0)


def _manifest(tmp_path):
    opened = manifests.opening(
        kind="sweep", study="0" * 64, rows=1, chunk_rows=1, about={"seed": 1}
    )
    manifests.write(tmp_path, opened.closed((write_bytes(tmp_path, "plan.parquet", b"p"),), 0))
    return tmp_path / manifests.NAME


def test_a_manifest_reads_back_as_written(tmp_path):
    _manifest(tmp_path)
    read = manifests.read(tmp_path)
    assert (read.kind, read.study, read.finished, len(read.files)) == ("sweep", "0" * 64, True, 1)
    assert manifests.damage(tmp_path, read) == []


def test_a_manifest_says_the_same_in_whatever_order_it_says_it(tmp_path):
    """A JSON document has no order: a program that writes it again may choose its own."""
    path = _manifest(tmp_path)
    before = manifests.read(tmp_path)
    turned = dict(reversed(json.loads(path.read_text()).items()))
    turned["files"] = {name: dict(reversed(of.items())) for name, of in turned["files"].items()}
    path.write_text(json.dumps(turned))
    assert manifests.read(tmp_path) == before


def test_any_bit_that_flips_in_a_manifest_is_noticed(tmp_path):
    path = _manifest(tmp_path)
    whole = path.read_bytes()
    for at in range(0, len(whole), 3):
        raw = bytearray(whole)
        raw[at] ^= 1 << (at % 8)
        path.write_bytes(raw)
        try:
            read = manifests.read(tmp_path)
        except (DatasetError, Mismatch):
            continue
        # what still reads must say the same: white space, or the spelling of a letter
        assert {**read.as_json(), "sha256": json.loads(whole)["sha256"]} == json.loads(whole)


def test_half_a_study_is_unfinished(tmp_path):
    opened = manifests.opening(kind="sweep", study="0" * 64, rows=1, chunk_rows=1, about={})
    with pytest.raises(Unfinished):
        manifests.require_finished(tmp_path, opened)
    manifests.write(tmp_path, opened)
    with pytest.raises(Unfinished, match="the same command goes on from here"):
        open_dataset(tmp_path)


def test_a_newer_schema_is_refused_and_another_one_too(tmp_path):
    path = _manifest(tmp_path)
    document = json.loads(path.read_text())
    path.write_text(json.dumps({**document, "schema": "edgewear.dataset/2"}))
    with pytest.raises(Mismatch, match="newer"):
        manifests.read(tmp_path)
    for odd in ("something else", "other/1", "edgewear.dataset/x", "edgewear.dataset", ""):
        path.write_text(json.dumps({**document, "schema": odd}))
        with pytest.raises(DatasetError, match="no dataset of edgewear"):
            manifests.read(tmp_path)


def test_a_folder_without_a_manifest_is_no_dataset(tmp_path):
    with pytest.raises(DatasetError, match="no dataset here"):
        manifests.read(tmp_path)


def test_a_file_that_is_gone_has_no_checksum(tmp_path):
    with pytest.raises(DatasetError, match="x: cannot be read: No such file"):
        files.sha256_of(tmp_path / "x")
    (tmp_path / "x").write_bytes(b"it")
    assert files.sha256_of(tmp_path / "x") == sha256(b"it").hexdigest()
