"""A dataset opened for reading: tables checked against the manifest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import read_json, sha256_of
from edgewear.dataset.said import as_a_study_writes
from edgewear.dataset.tables import Due, due, read_table
from edgewear.errors import DatasetError

if TYPE_CHECKING:
    import pyarrow as pa

BRIDGES = "bridges.json"
"""File of a dataset: the way from each option to the one before it, one change at a time."""


STEPS = "nominal/steps.parquet"
"""Wear of the nominal run by step."""


def open_dataset(folder: str | Path) -> Dataset:
    """Open a dataset.

    Raises:
        DatasetError: no dataset there, or a damaged one.
        Mismatch: a newer schema.
        Unfinished: it was stopped half way.
    """
    root = Path(folder)
    manifest = manifests.read(root)
    manifests.require_finished(root, manifest)
    return Dataset(root, manifest)


class Dataset:
    """The tables of a finished study; every file is checked before anything is read from it."""

    def __init__(self, root: Path, manifest: manifests.Manifest) -> None:
        """Read nothing yet."""
        self.root = root
        self.manifest = manifest
        self._files = {file.path: file for file in manifest.files}

    def verify(self) -> list[str]:
        """List what is gone, changed, or does not belong here; empty when all is well."""
        return manifests.damage(self.root, self.manifest)

    @cached_property
    def scenario_text(self) -> str:
        """The scenario as it was read."""
        self.check("scenario.yaml")
        return (self.root / "scenario.yaml").read_text("utf-8")

    @cached_property
    def library_text(self) -> str | None:
        """The library the scenario was read with, and the ropes' records; None: neither."""
        if not self.has("library.yaml"):
            return None
        self.check("library.yaml")
        return (self.root / "library.yaml").read_text("utf-8")

    @property
    def scenario_sha256(self) -> str:
        """The sha256 of the scenario as it was read."""
        return self._files["scenario.yaml"].sha256

    @cached_property
    def resolved(self) -> dict[str, Any]:
        """`scenario.json`: the scenario resolved to SI, and each option as it is rigged."""
        self.check("scenario.json")
        document: dict[str, Any] = read_json(self.root, "scenario.json")
        return document

    def plan(self, columns: Sequence[str] | None = None) -> pa.Table:
        """Read the plan."""
        return self._read("plan.parquet", columns)

    def runs(self, columns: Sequence[str] | None = None) -> pa.Table:
        """Read the outcome of every run, in the order of the plan."""
        return self._parts("runs", columns)

    def edges(self, columns: Sequence[str] | None = None) -> pa.Table:
        """Read the outcomes at every edge of every run.

        Raises:
            DatasetError: this study did not keep them.
        """
        return self._parts("edges", columns)

    def events(self) -> pa.Table:
        """Read what happened in the nominal run of each option."""
        return self._read("nominal/events.parquet", None)

    def wear(self) -> pa.Table:
        """Read the demand along the rope in the nominal run of each option."""
        return self._read("nominal/wear.parquet", None)

    def timeline(self) -> pa.Table:
        """Read the samples of the nominal run of each option."""
        return self._read("nominal/timeline.parquet", None)

    def step_wear(self) -> pa.Table | None:
        """Read what each step wore in the nominal run; None where an older edgewear wrote none."""
        return self._read(STEPS, None) if self.has(STEPS) else None

    def bridges(self) -> dict[tuple[str, str], list[dict[str, Any]]]:
        """Read the ways from one option to another: (from, to) -> steps; empty where none is."""
        if not self.has(BRIDGES):
            return {}
        self.check(BRIDGES)
        with as_a_study_writes(self.root / BRIDGES):
            return {(way["from"], way["to"]): way["steps"] for way in read_json(self.root, BRIDGES)}

    def _parts(self, table: str, columns: Sequence[str] | None) -> pa.Table:
        import pyarrow as pa

        names = sorted(name for name in self._files if name.startswith(f"{table}/"))
        if not names:
            raise DatasetError(f"{self.root}: this study kept no {table}")
        missing = next(
            (name for name in self._planned_parts(table) if name not in self._files), None
        )
        if missing is not None:
            raise DatasetError(f"{self.root / missing}: is not listed, and its runs are planned")
        return pa.concat_tables([self._read(name, columns) for name in names])

    def _planned_parts(self, table: str) -> Iterator[str]:
        """Name the parts that a finished study has."""
        chunks = -(-self.manifest.rows // self.manifest.chunk_rows)
        return (f"{table}/part-{chunk:06d}.parquet" for chunk in range(chunks))

    def _read(self, name: str, columns: Sequence[str] | None) -> pa.Table:
        self.check(name)
        table = read_table(self.root, name, self._due(name), columns)
        return table.replace_schema_metadata(None)

    def _due(self, name: str) -> Due:
        """Say what a table must be, by its name and what the manifest says of the study."""
        rows, each = self.manifest.rows, self.manifest.chunk_rows
        told = self._files[name].rows
        place = PurePosixPath(name)
        if name == "plan.parquet":
            return due("plan", rows, 0, rows, each)
        if str(place.parent) == "nominal":
            return due(place.stem, told)
        table, first = str(place.parent), int(place.stem.split("-")[1]) * each
        runs = min(each, rows - first)
        if runs < 1:
            raise DatasetError(f"{self.root / name}: is of no run that is planned")
        return due(table, runs if table == "runs" else told, first, runs)

    def has(self, name: str) -> bool:
        """Whether the dataset holds a file of that name."""
        return name in self._files

    def part(self, name: str) -> pa.Table:
        """Read one file of a table."""
        return self._read(name, None)

    def check(self, name: str) -> None:
        """Refuse a file that is not what was written.

        Raises:
            DatasetError: it is gone or damaged.
        """
        file = self._files.get(name)
        if file is None:
            raise DatasetError(f"{self.root}: has no {name}")
        if sha256_of(self.root / name) != file.sha256:
            raise DatasetError(f"{self.root / name}: its sha256 is not the one written; damaged")
