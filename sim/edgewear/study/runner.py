"""A study's folder from the plan to the manifest: resumable at any moment, one writer at a time."""

from __future__ import annotations

import os
import platform
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from edgewear.dataset import about
from edgewear.dataset import manifest as manifests
from edgewear.dataset.door import append, inside, make_folder, remove
from edgewear.dataset.files import Written, sha256_of, write_bytes
from edgewear.dataset.lock import locked
from edgewear.dataset.manifest import Manifest
from edgewear.errors import DatasetError
from edgewear.study.plan import PLAN_FILE, Plan, chunks_of, span_of, write_plan
from edgewear.study.progress import Clock, Told
from edgewear.study.task import Summary, Task
from edgewear.study.worker_pool import WorkerPool, run_chunks

JOURNAL = "log/parts.txt"
WALL_CLOCK = "log/progress.txt"


@dataclass(frozen=True)
class Study:
    """A study ready to run: its plan, what plays it, and the files that describe it."""

    root: Path
    kind: str  # compare or sweep
    plan: Plan
    task: Task
    files: Mapping[str, bytes]  # path below the folder -> content, all part of the identity
    about: Mapping[str, Any]  # what the manifest says: title, seed, replicates ...
    tables: Callable[[], list[Written]] = list  # writes further tables, the same each time
    resolved: Mapping[str, Any] | None = None  # the scenario, to name what differs in another
    replaces: bool = False  # whether another study of the same kind gives way to this one
    takes: Callable[[int], float] = lambda chunk: 0.0  # how long, beside others; longest first


def run_study(
    study: Study, gang: WorkerPool, progress: Told | None = None, stays: bool = False
) -> Manifest:
    """Run what is missing of a study and close it with a manifest.

    Parameters:
        study: the study.
        gang: who does it; makes no difference to the bytes.
        progress: called here after each chunk.
        stays: whether the gang is needed after it.

    Returns:
        The finished manifest.

    Raises:
        Mismatch: the folder holds another study, or the same one of another version.
        Locked, CannotCreate, CannotWrite, Interrupted: as named.
    """
    make_folder(study.root)
    with locked(study.root):
        found = manifests.read_if_there(study.root)
        if found is not None and _gives_way(study, found):
            manifests.clear(study.root, found, _noted(study.root))
            found = None
        elif found is not None:
            manifests.same_study(found, _opening(study), study.root, study.resolved)
        if found is not None and found.finished and not manifests.harm(study.root, found):
            return found
        return _run(study, gang, _Tally(study, progress), stays)


def _run(study: Study, gang: WorkerPool, tally: _Tally, stays: bool) -> Manifest:
    manifests.sweep_unfinished(study.root)
    opening = _opening(study)
    manifests.write(study.root, opening)  # first: a folder without one is not ours to go on with
    fixed = [write_bytes(study.root, name, content) for name, content in study.files.items()]
    fixed.append(_plan(study))
    fixed += study.tables()
    for summary in journaled(study):
        tally.keep(summary)
    missing = [c for c in range(chunks_of(study.plan)) if c not in tally.summaries]
    missing.sort(key=study.takes, reverse=True)  # no worker then waits long for the last one
    with tally:
        try:
            run_chunks(gang, study.task, missing, tally.add, tally.blame)
        finally:
            if not stays:
                gang.close()
    return _close(study, opening, fixed, tally)


def _close(study: Study, opening: Manifest, fixed: list[Written], tally: _Tally) -> Manifest:
    parts = [file for chunk in sorted(tally.summaries) for file in tally.summaries[chunk].files]
    _remove_strays(study.root, {part.path for part in parts})
    fixed += _told(study.root, replace(opening, failed=tally.failed))
    closed = opening.closed(tuple(fixed) + tuple(parts), tally.failed)
    manifests.write(study.root, closed)
    return closed


def _told(root: Path, manifest: Manifest) -> list[Written]:
    """Write what the dataset says of itself to people."""
    return [
        write_bytes(root, about.README, about.readme(manifest).encode()),
        write_bytes(root, about.LICENCE, about.RIGHTS.encode()),
    ]


def _gives_way(study: Study, found: Manifest) -> bool:
    wanted = _opening(study)
    other = (found.study, found.versions) != (wanted.study, wanted.versions)
    return study.replaces and other and found.kind == study.kind


def _opening(study: Study) -> Manifest:
    return manifests.opening(
        kind=study.kind,
        study=study.task.study,
        rows=study.plan.rows,
        chunk_rows=study.plan.chunk_rows,
        about=study.about,
    )


def _plan(study: Study) -> Written:
    """Write the plan, or keep the one that is there if it is the same to the bit."""
    noted = _noted(study.root).get(PLAN_FILE)
    if noted is not None and _intact(study.root, noted):
        return noted
    written = write_plan(study.root, study.plan, study.task.study)
    _note(study.root, [written])
    return written


def journaled(study: Study) -> list[Summary]:
    """Find the chunks whose parts are all there and still what the journal says they are."""
    noted = _noted(study.root)
    kept = []
    for chunk in range(chunks_of(study.plan)):
        files = [noted.get(name) for name in study.task.names(chunk)]
        if all(f is not None and _intact(study.root, f) for f in files):
            whole = tuple(f for f in files if f is not None)
            failed, reason = study.task.failures(chunk)
            kept.append(Summary(chunk, span_of(study.plan, chunk)[1], failed, reason, whole))
    return kept


def _intact(root: Path, file: Written) -> bool:
    try:
        path = inside(root, file.path)
        return path.stat().st_size == file.size and sha256_of(path) == file.sha256
    except DatasetError:
        return False


def _noted(root: Path) -> dict[str, Written]:
    """Read the journal; a line that makes no sense, or names what is not ours, counts for nothing.

    Raises:
        DatasetError: it is a link, or cannot be read.
    """
    noted: dict[str, Written] = {}
    if os.path.lexists(root / JOURNAL):
        for line in inside(root, JOURNAL).read_text("utf-8", "replace").splitlines():
            match line.split():
                case [name, sha256, size, rows] if size.isdecimal() and rows.isdecimal():
                    if manifests.is_ours(name):
                        noted[name] = Written(name, sha256, int(size), int(rows))
    return noted


def _note(root: Path, files: list[Written] | tuple[Written, ...]) -> None:
    append(root, JOURNAL, "".join(f"\n{f.path} {f.sha256} {f.size} {f.rows}\n" for f in files))


def _remove_strays(root: Path, known: set[str]) -> None:
    """Remove what dead workers left half written, and noted parts that no chunk of this study has.

    All else is left alone. A part half written holds rows that another part has too: whoever reads
    the folder with a tool of their own would count them twice.
    """
    manifests.sweep_unfinished(root)
    for name in sorted(set(_noted(root)) - known):
        if manifests.is_part(name):
            remove(root, name)


class _Tally:
    """Keeps what is finished and tells about it; the wall clock goes to the log alone."""

    def __init__(self, study: Study, progress: Told | None) -> None:
        self._study = study
        self._progress = progress
        self.summaries: dict[int, Summary] = {}
        self._clock = Clock(study.plan.rows, 0)
        self.rows = 0
        self.failed = 0

    def keep(self, summary: Summary) -> None:
        self.summaries[summary.chunk] = summary
        self.rows += summary.rows
        self.failed += summary.failed

    def add(self, summary: Summary) -> None:
        _note(self._study.root, summary.files)
        self.keep(summary)
        self._tell()

    def blame(self, chunk: int) -> None:
        self.add(self._study.task.give_up(chunk))

    def __enter__(self) -> _Tally:
        self._clock = Clock(self._study.plan.rows, self.rows)
        self._log(f"begins on {platform.node()}, process {os.getpid()}, {self.rows} rows kept")
        self._tell()
        return self

    def __exit__(self, *error: object) -> None:
        if error[0] is None:
            self._log(f"ends, {self.rows} rows, {self.failed} failed")
            return
        with suppress(DatasetError):  # what broke off the study is what is told
            self._log(f"breaks off: {error[1]}, {self.rows} rows, {self.failed} failed")

    def _tell(self) -> None:
        if self._progress is not None:
            self._progress(self._clock.at(self.rows, self.failed))

    def _log(self, what: str) -> None:
        stamp = time.strftime("%Y-%m-%d %H:%M:%S %z")
        append(self._study.root, WALL_CLOCK, f"{stamp} {what}\n")
