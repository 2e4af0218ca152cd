"""The manifest: what a dataset is, which versions made it, and the sha256 of every file in it."""

from __future__ import annotations

import hashlib
import json
import os
import platform
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from edgewear.dataset.door import HALF, inside, names_in, remove
from edgewear.dataset.files import Written, read_json, sha256_of, write_json
from edgewear.dataset.processor import processor
from edgewear.dataset.said import odd_in_about
from edgewear.errors import DatasetError, Mismatch, Unfinished
from edgewear.records import MODEL

SCHEMA = "edgewear.dataset/1"
NAME = "manifest.json"
TABLES = ("runs", "edges", "nominal")
NOMINAL = ("events", "wear", "timeline", "steps")
"""Tables of an option's nominal run."""

SINGLE = (
    "scenario.yaml",
    "scenario.json",
    "library.yaml",
    "bridges.json",
    "plan.parquet",
    "log/parts.txt",
    "README.md",
    "LICENSE.txt",
)

_PART = re.compile(r"(?:runs|edges)/part-(\d{6,12})\.parquet", re.ASCII)

_NAMES = frozenset({NAME, *SINGLE, *(f"nominal/{name}.parquet" for name in NOMINAL)})

KINDS = ("compare", "sweep")

MOST_ROWS = 10**12
"""More rows than anybody will ever play; what says more is no manifest of ours."""

_SHA256 = re.compile(r"[0-9a-f]{64}", re.ASCII)

UNSAID = ("scenario", "title", "file")
"""What a manifest says of a study and no outcome depends on, or inputs tell better."""

IDLE = ("title", "notes", "warnings", "study", "path", "source", "library_source")
"""What a scenario says and no outcome depends on; the study is told for itself."""

MOST_SAID = 8
"""Differences that are named; more of them mean another study."""

_PACKAGES = ("edgewear", "numpy", "numba", "pyarrow", "scipy", "simpy")


@dataclass(frozen=True)
class Manifest:
    """What `manifest.json` holds."""

    kind: str  # compare or sweep
    study: str  # identity: a hash of everything that decides the outcome
    model: int
    versions: Mapping[str, str]
    rows: int
    chunk_rows: int
    about: Mapping[str, Any]
    finished: bool = False
    failed: int = 0
    files: tuple[Written, ...] = ()

    def closed(self, files: tuple[Written, ...], failed: int) -> Manifest:
        """The manifest of the finished study."""
        ordered = tuple(sorted(files))
        return replace(self, finished=True, files=ordered, failed=failed)

    def as_json(self) -> dict[str, Any]:
        """The document as it is written."""
        return {
            "schema": SCHEMA,
            "kind": self.kind,
            "study": self.study,
            "model": self.model,
            "versions": dict(self.versions),
            "rows": self.rows,
            "chunk_rows": self.chunk_rows,
            "about": dict(self.about),
            "finished": self.finished,
            "failed": self.failed,
            "files": {
                f.path: {"sha256": f.sha256, "bytes": f.size, "rows": f.rows} for f in self.files
            },
        }


@cache
def versions() -> dict[str, str]:
    """Everything that the last bit of a result depends on, beside the study itself."""
    found = {}
    for package in _PACKAGES:
        try:
            found[package] = version(package)
        except PackageNotFoundError:  # a copied tree, never installed
            found[package] = "not installed"
    found["python"] = platform.python_version()
    found["machine"] = platform.machine()
    found["cpu"] = processor()
    return found


def identity(kind: str, parts: Mapping[str, bytes | str]) -> str:
    """Hash what decides a study: its files, its figures, the model and the version."""
    digest = hashlib.sha256(f"{SCHEMA} {kind} {MODEL} {versions()['edgewear']}".encode())
    for name, content in sorted(parts.items()):
        raw = content.encode() if isinstance(content, str) else content
        digest.update(f"\n{name} {len(raw)}\n".encode())
        digest.update(raw)
    return digest.hexdigest()


def opening(
    *, kind: str, study: str, rows: int, chunk_rows: int, about: Mapping[str, Any]
) -> Manifest:
    """Make the manifest with which a study begins."""
    return Manifest(kind, study, MODEL, versions(), rows, chunk_rows, about)


def write(root: Path, manifest: Manifest) -> None:
    """Write the manifest with its own sha256 in it, whole or not at all."""
    document = manifest.as_json()
    write_json(root, NAME, {**document, "sha256": _digest(document)})


def read(root: Path) -> Manifest:
    """Read the manifest of a folder.

    Raises:
        DatasetError: there is none, or it is damaged.
        Mismatch: a newer schema.
    """
    if not (root / NAME).is_file():
        raise DatasetError(f"{root}: no dataset here (no {NAME})")
    return _parsed(root, read_json(root, NAME))


def read_if_there(root: Path) -> Manifest | None:
    """Read the manifest, or give None when the folder has none.

    Raises:
        Mismatch: the folder holds other things and no manifest, so it is not ours to fill.
    """
    if os.path.lexists(root / NAME):
        return read(root)
    others = [name for name in names_in(root) if name != "log" and not _half_of_ours(name)]
    if others:
        raise Mismatch(f"{root}: holds {others[0]!r} but no {NAME}; choose an empty folder")
    return None


def clear(root: Path, manifest: Manifest, noted: Iterable[str]) -> None:
    """Take a dataset out of a folder, and leave everything else there.

    Its manifest stays until another is written over it: without one a folder in which somebody has
    put notes of their own is nobody's to go on with, and whatever ends us now would leave it so.

    Parameters:
        root: the folder.
        manifest: what is there; what it names is removed.
        noted: what the journal names, removed as well.

    Raises:
        CannotCreate: a folder in it is a link, or nothing may be removed.
    """
    listed = {file.path for file in manifest.files} | set(noted)
    for name in _in_tables(root):
        if name in listed or is_of(manifest, name):
            remove(root, name)
    for name in SINGLE:
        remove(root, name)


def sweep_unfinished(root: Path) -> list[str]:
    """Remove what a killed writer of ours left half written; gives the names removed."""
    found = [f"{folder}/{name}" for folder in (*TABLES, "log") for name in names_in(root, folder)]
    gone = [name for name in (*names_in(root), *found) if _half_of_ours(name)]
    return [name for name in gone if remove(root, name)]


def _half_of_ours(name: str) -> bool:
    whole = HALF.fullmatch(name)
    return whole is not None and is_ours(whole.group(1))


def is_ours(name: str) -> bool:
    """Whether a study may have a file of that name."""
    return name in _NAMES or is_part(name)


def is_part(name: str) -> bool:
    """Whether a name is that of a part of a table."""
    return _PART.fullmatch(name) is not None


def is_of(manifest: Manifest, name: str) -> bool:
    """Whether a name is kept for a part of this study, or a table of its nominal runs."""
    part = _PART.fullmatch(name)
    if part is None:
        return name in _NAMES
    return int(part.group(1)) < -(-manifest.rows // manifest.chunk_rows)


def _in_tables(root: Path) -> list[str]:
    return [f"{folder}/{name}" for folder in TABLES for name in names_in(root, folder)]


def foreign(root: Path, manifest: Manifest) -> list[str]:
    """List what lies in the tables' folders and is no part of this study: left alone."""
    known = {file.path for file in manifest.files}
    return [name for name in _in_tables(root) if name not in known and not _half_of_ours(name)]


def same_study(
    found: Manifest, wanted: Manifest, root: Path, resolved: Mapping[str, Any] | None = None
) -> None:
    """Refuse to mix two studies in one folder, and say in which way they differ.

    Parameters:
        found: the manifest that is there.
        wanted: the one of the study that is to run.
        root: the folder.
        resolved: the scenario of the study that is to run, JSON-able.

    Raises:
        Mismatch: another study, or the same one with other parameters or of another version.
    """
    if found.study == wanted.study and found.versions == wanted.versions:
        return
    why = _differences(found, wanted)
    alike = (found.kind, found.versions) == (wanted.kind, wanted.versions)
    if resolved is not None and alike:
        why += _inputs_changed(root, resolved)
    why = why or ["its scenario or parameters differ"]
    if len(why) > MOST_SAID:
        why = [*why[:MOST_SAID], f"and {len(why) - MOST_SAID} more"]
    raise Mismatch(
        f"{root}: holds another study: {'; '.join(why)}. Choose another folder, or remove this one."
    )


def damage(root: Path, manifest: Manifest) -> list[str]:
    """List every file of a dataset that is gone or changed, and what does not belong to it."""
    others = [name for name in _in_tables(root) if name not in {f.path for f in manifest.files}]
    return harm(root, manifest) + [f"{name}: does not belong to this dataset" for name in others]


def harm(root: Path, manifest: Manifest) -> list[str]:
    """List every file of a dataset that is gone or changed."""
    found = []
    for file in manifest.files:
        try:
            path = inside(root, file.path)
        except DatasetError:
            there = os.path.lexists(root / file.path)
            found.append(f"{file.path}: is {'no plain file in this folder' if there else 'gone'}")
            continue
        if path.stat().st_size != file.size:
            found.append(f"{file.path}: {path.stat().st_size} bytes, {file.size} were written")
        elif sha256_of(path) != file.sha256:
            found.append(f"{file.path}: its sha256 is not the one written")
    return found


def require_finished(root: Path, manifest: Manifest) -> None:
    """Refuse to conclude anything from half a study.

    Raises:
        Unfinished: it was stopped half way.
    """
    if not manifest.finished:
        raise Unfinished(f"{root}: stopped half way; the same command goes on from here")


def _differences(found: Manifest, wanted: Manifest) -> list[str]:
    if found.kind != wanted.kind:  # their parameters have nothing to do with each other
        return [f"a {found.kind}, not a {wanted.kind}"]
    said = []
    for package, number in wanted.versions.items():
        if found.versions.get(package) != number:
            said.append(f"made with {package} {found.versions.get(package)}, here is {number}")
    if found.model != wanted.model:
        said.append(f"made with model {found.model}, here is {wanted.model}")
    for name, value in wanted.about.items():
        if name not in UNSAID:
            said += _changes(name, found.about.get(name), value)
    if found.rows != wanted.rows:
        said.append(f"{found.rows} runs, now {wanted.rows}")
    return said


def _inputs_changed(root: Path, resolved: Mapping[str, Any]) -> list[str]:
    """Name the inputs of the scenario that differ, by address."""
    try:
        before = read_json(root, "scenario.json")["scenario"]
    except (DatasetError, KeyError, TypeError):
        return []
    return [
        change
        for name, now in resolved.items()
        if name not in IDLE
        for change in _changes(name, before.get(name), now)
    ]


def deciding(resolved: Mapping[str, Any]) -> dict[str, Any]:
    """Leave out of a resolved scenario what decides no outcome: titles, notes, where it lay.

    Parameters:
        resolved: JSON-able.
    """
    return {name: value for name, value in resolved.items() if name not in IDLE}


def _changes(name: str, was: object, now: object) -> list[str]:
    """Name what differs by its place, down to the smallest part that does."""
    if was == now:
        return []
    if isinstance(was, Mapping) and isinstance(now, Mapping):
        keys = dict.fromkeys([*was, *now])
        if {"typed", "value"} <= set(was) & set(now):
            key = "typed" if was["typed"] != now["typed"] else "value"
            return [f"{name} was {_short(was[key])}, now {_short(now[key])}"]
        return [c for key in keys for c in _changes(f"{name}/{key}", was.get(key), now.get(key))]
    if isinstance(was, list) and isinstance(now, list) and len(was) == len(now):
        pairs = enumerate(zip(was, now, strict=True), start=1)
        return [c for i, (one, other) in pairs for c in _changes(f"{name}/{i}", one, other)]
    return [f"{name} was {_short(was)}, now {_short(now)}"]


def _short(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else text[:57] + "..."


def _parsed(root: Path, document: dict[str, Any]) -> Manifest:
    try:
        _check_schema(root, str(document["schema"]))
        if document.pop("sha256") != _digest(document):
            raise ValueError("its sha256 is not the one written")
        files = tuple(_listed(path, one) for path, one in document["files"].items())
        for name, (kind, holds) in _FIELDS.items():
            if type(document[name]) is not kind or not holds(document[name]):
                raise ValueError(f"{name}: {_short(document[name])} cannot be")
        return Manifest(**{name: document[name] for name in _FIELDS}, files=files)
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise DatasetError(f"{root / NAME}: damaged: {error}") from error


_FIELDS: dict[str, tuple[type, Callable[[Any], bool]]] = {
    "kind": (str, lambda value: value in KINDS),
    "study": (str, lambda value: _SHA256.fullmatch(value) is not None),
    "model": (int, lambda value: value > 0),
    "versions": (dict, lambda value: all(isinstance(one, str) for one in value.values())),
    "rows": (int, lambda value: 0 < value <= MOST_ROWS),
    "chunk_rows": (int, lambda value: 0 < value <= MOST_ROWS),
    "about": (dict, lambda value: odd_in_about(value) is None),
    "finished": (bool, lambda value: True),
    "failed": (int, lambda value: value >= 0),
}
"""What a manifest says of a study: of which type, and what it can be."""


def _listed(path: str, one: Mapping[str, Any]) -> Written:
    """Read what is said of one file; only what a study writes can be part of one."""
    if not is_ours(path):
        raise ValueError(f"files: {path!r} is no file of a dataset")
    file = Written(path, one["sha256"], one["bytes"], one["rows"])
    numbers = all(type(number) is int and number >= 0 for number in (file.size, file.rows))
    if not numbers or not isinstance(file.sha256, str) or not _SHA256.fullmatch(file.sha256):
        raise ValueError(f"files: what is said of {path!r} cannot be")
    return file


def _digest(document: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(document, sort_keys=True).encode()).hexdigest()


def _check_schema(root: Path, schema: str) -> None:
    family, _, number = schema.partition("/")
    if family != SCHEMA.partition("/")[0] or not number.isdecimal():
        raise DatasetError(f"{root / NAME}: {schema!r} is no dataset of edgewear")
    if int(number) > int(SCHEMA.partition("/")[2]):
        raise Mismatch(f"{root}: {schema} is newer than this edgewear, which reads {SCHEMA}")
