"""How fast a sweep is from end to end, what a second worker adds, and what memory it takes.

`python tests/bench/sweep.py --json` prints one object: `ascents_per_s`, reference ascents with
every parameter different, two workers, parquet included; `speedup_2_workers`, of so many rows
that starting counts for little (`speedup_of_as_many` is that of the rows above);
`storage_share`, of one worker's time, reading the plan and writing parts; `peak_rss_mib`, of
all processes together by number of rows.

`--expect` prints instead what larger sweeps of this kind come to, by arithmetic from what one
worker takes here: the table of docs/how-to/use-a-cluster.md.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

REFERENCE = Path(__file__).parents[2] / "scenarios" / "reference-ascent.yaml"
STUDY = """
study:
  sample: {{method: sobol, rows: {rows}, over: [friction, wear, body, rope, technique]}}
  seed: 1
"""
SPREADS = (
    ("radius", "1 mm", "0.8 mm", "1.2 mm"),
    ("elongation", "3.2 %", "2.9 %", "3.5 %"),
    ("mass", "90 kg", "80 kg", "100 kg"),
    ("body stiffness", "10 kN/m", "8 kN/m", "12 kN/m"),
    ("force ratio", "1.5", "1.4", "1.6"),
    ("friction", "0.2", "0.16", "0.24"),
    ("dynamic ratio", "1.5", "1.3", "1.7"),
    ("damping", "0.03 s", "0.02 s", "0.04 s"),
)
"""What the file gives exactly is spread a little: key, value, ends."""

ROWS = 100_000
SPEEDUP_ROWS = 300_000
MEMORY_ROWS = (10_000, 100_000, 1_000_000)


def scenario(folder: Path, rows: int) -> Path:
    """Write the reference ascent with a study that varies whatever may vary."""
    path = folder / f"ascents-{rows}.yaml"
    text = REFERENCE.read_text("utf-8")
    for key, value, low, high in SPREADS:
        typed = f" {key}: {value}\n"
        if typed not in text:
            raise SystemExit(f"the reference ascent no longer says {typed.strip()!r}")
        spread = f"{{value: {value}, low: {low}, high: {high}, distribution: uniform}}"
        text = text.replace(typed, f" {key}: {spread}\n")
    path.write_text(text + STUDY.format(rows=rows), "utf-8")
    return path


def sweep_s(folder: Path, rows: int, workers: int) -> float:
    """Seconds of a sweep from the file to the manifest, workers' start included."""
    from edgewear.study.sweeping.sweep import sweep

    out = folder / f"out-{rows}-{workers}-{time.monotonic_ns()}"
    begin = time.perf_counter()
    result = sweep(scenario(folder, rows), out, workers=workers)
    if result.failed:
        raise SystemExit(f"{result.failed} runs failed")
    return time.perf_counter() - begin


def storage_share(folder: Path, rows: int) -> float:
    """Share of one worker's time that goes into reading the plan and writing parts."""
    from dataclasses import replace

    from edgewear.study.plan import write_plan
    from edgewear.study.sweeping.prepared import prepare
    from edgewear.study.sweeping.sweep import study_in
    from edgewear.study.task import playing

    study = study_in(folder / "storage", prepare(scenario(folder, rows)))
    study.root.mkdir(parents=True, exist_ok=True)
    write_plan(study.root, study.plan, study.task.study)
    task = replace(study.task, root=str(study.root))
    playing(task.model, task.rows(0))
    stored = played = 0.0
    for chunk in range(min(4, -(-study.plan.rows // study.plan.chunk_rows))):
        begin = time.perf_counter()
        rows_read = task.rows(chunk)
        stored += time.perf_counter() - begin
        begin = time.perf_counter()
        outcome = playing(task.model, rows_read)
        played += time.perf_counter() - begin
        begin = time.perf_counter()
        task.keep(chunk, outcome)
        stored += time.perf_counter() - begin
    return stored / (stored + played)


@dataclass(frozen=True)
class Costs:
    """What a sweep takes by the row and by the part."""

    row_s: float  # of one worker, reading and writing included
    plan_row_s: float  # of the runner, before the first chunk
    row_bytes: float
    row_steps: float  # of the kernel, which decide how many rows a part has
    part_bytes: float  # in the manifest


def costs(folder: Path, rows: int) -> Costs:
    """Measure them on a sweep of some rows."""
    from edgewear.dataset import manifest as manifests
    from edgewear.study.plan import chunks_of, write_plan
    from edgewear.study.runner import run_study
    from edgewear.study.sweeping.prepared import prepare
    from edgewear.study.sweeping.sweep import study_in
    from edgewear.study.worker_pool import inline

    study = study_in(folder / "costs", prepare(scenario(folder, rows)))
    study.root.mkdir()
    write_plan(study.root, study.plan, study.task.study)  # loads what it needs
    begin = time.perf_counter()
    write_plan(study.root, study.plan, study.task.study)
    planned = time.perf_counter() - begin
    begin = time.perf_counter()
    (study.root / "plan.parquet").unlink()
    run_study(study, inline())
    played = time.perf_counter() - begin - planned
    files = manifests.read(study.root).files
    size = sum(file.size for file in files if file.path.startswith(("plan", "runs")))
    noted = (study.root / manifests.NAME).stat().st_size / chunks_of(study.plan)
    return Costs(played / rows, planned / rows, size / rows, study.plan.steps_a_row, noted)


def expected(found: Costs, start_s: float = 2.0) -> Iterator[str]:
    """Rows of a table: what sweeps come to with so many workers."""
    from edgewear.study.plan import chunk_rows

    heads = "rows", "processor time", "2 workers", "16 workers", "128 workers", "disk", "parts"
    yield f"| {' | '.join(heads)} | manifest |"
    yield "| --- " * (len(heads) + 1) + "|"
    for power in range(5, 10):
        rows = 10**power
        ready = start_s + rows * found.plan_row_s
        spans = [rows * found.row_s, *(ready + rows * found.row_s / n for n in (2, 16, 128))]
        parts = -(-rows // chunk_rows(rows, found.row_steps))
        sizes = rows * found.row_bytes, parts * found.part_bytes
        cells = [f"10^{power}", *map(span, spans), size_text(sizes[0]), f"{parts:,}"]
        yield f"| {' | '.join(cells)} | {size_text(sizes[1])} |"


def span(seconds: float) -> str:
    """A duration in one unit, to two digits."""
    name, size = next(
        (name, size) for name, size in (("h", 3600), ("min", 60), ("s", 1)) if seconds >= 2 * size
    )
    return f"{float(f'{seconds / size:.2g}'):g} {name}"


def size_text(size: float) -> str:
    """Bytes in one unit, to two digits."""
    name, unit = ("GB", 1e9) if size >= 1e9 else ("MB", 1e6)
    return f"{float(f'{size / unit:.2g}'):g} {name}"


def peak_rss_mib(folder: Path, rows: int) -> float:
    """Largest memory of a sweep's runner and workers together, sampled."""
    context = multiprocessing.get_context("spawn")
    process = context.Process(target=sweep_s, args=(folder, rows, 2))
    process.start()
    peak, ended = 0.0, threading.Event()

    def watch() -> None:
        nonlocal peak
        while not ended.wait(0.05):
            peak = max(peak, sum(map(rss_mib, family(process.pid or 0))))

    watcher = threading.Thread(target=watch)
    watcher.start()
    process.join()
    ended.set()
    watcher.join()
    if process.exitcode:
        raise SystemExit("the sweep whose memory was to be measured failed")
    return peak


def family(pid: int) -> list[int]:
    """A process and all it started."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return [pid]
    return [pid, *(p for child in children for p in family(int(child)))]


def rss_mib(pid: int) -> float:
    """Resident memory that is a process's own, shared pages counted once among those that share."""
    try:
        rows = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    except OSError:
        return 0.0
    found = [int(row.split()[1]) for row in rows if row.startswith("Pss:")]
    return found[0] / 1024 if found else 0.0


def expect(rows: int, as_json: bool) -> None:
    """Measure what a row takes, and print what larger sweeps come to."""
    with tempfile.TemporaryDirectory(dir=os.environ.get("EDGEWEAR_BENCH_DIR")) as name:
        sweep_s(Path(name), 64, 2)  # kernels compiled
        found = costs(Path(name), rows)
    if as_json:
        print(json.dumps(asdict(found)))
        return
    print(*expected(found), "", sep="\n")
    for key, value in asdict(found).items():
        print(f"{key:20} {value:.4g}")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--rows", type=int, default=ROWS)
    parser.add_argument("--speedup-rows", type=int, default=SPEEDUP_ROWS)
    parser.add_argument("--memory-rows", type=int, nargs="*", default=MEMORY_ROWS)
    parser.add_argument("--expect", action="store_true")
    given = parser.parse_args()
    if given.expect:
        expect(given.rows, given.json)
        return
    with tempfile.TemporaryDirectory(dir=os.environ.get("EDGEWEAR_BENCH_DIR")) as name:
        folder = Path(name)
        sweep_s(folder, 64, 2)  # kernels compiled
        two, one = sweep_s(folder, given.rows, 2), sweep_s(folder, given.rows, 1)
        many = given.speedup_rows
        figures = {
            "ascents_per_s": given.rows / two,
            "speedup_2_workers": sweep_s(folder, many, 1) / sweep_s(folder, many, 2),
            "speedup_of_as_many": one / two,
            "storage_share": storage_share(folder, given.rows),
            "peak_rss_mib": {str(n): peak_rss_mib(folder, n) for n in given.memory_rows},
        }
    if given.json:
        print(json.dumps(figures))
    else:
        for key, value in figures.items():
            print(f"{key:20} {value}")


if __name__ == "__main__":
    sys.exit(main())
