"""What a device plays: reference ascents a second, and its rows held against the processor's.

`python tests/bench/device.py` prints one JSON object a line, each as soon as it is known: the
machine, then a stage a line. Each stage has a time limit and a process of its own, so that one
that hangs costs no other; `--only kernel` does one stage. Compile: the first launch with nothing
kept on disk, then with the kernel kept. Kernel alone: runs that lie on the device already, all
parameters different. Rows: those of three shipped scenarios, 100,000 in all, played on both;
`outside` counts numbers that differ by more than 1e-9 of their size, or of the least that `replay`
takes them for. Order: the same rows backwards, and cut in unequal pieces; counts the numbers that
change. Sweep: from the file to the manifest, parquet included. Comparison: from the file to the
ranking, of options over one edge and of the demo's, which no device plays; and how far their rows,
of runs and of edges, are apart.
"""

from __future__ import annotations

import argparse
import itertools
import json
import os
import platform
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
import sweep as sweeps

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STUDIES = (
    ("reference-ascent.yaml", 60_000, "[friction, wear, body, rope, technique]"),
    ("sleeve-study.yaml", 36_000, "[friction, wear, body]"),
    ("machine-bench.yaml", 4_000, "[friction, wear, body]"),
)
"""Shipped scenarios over one edge: file, rows of each, what is drawn."""
TOLERANCE = 1e-9
LIMITS_S = {"compile": 150, "kernel": 90, "rows": 150, "order": 60, "sweep": 120, "comparison": 240}
"""Stages, and the longest that each may take."""
PROCESSORS = len(os.sched_getaffinity(0))
"""That this process may use: a machine may have more."""


def machine() -> dict[str, Any]:
    """What this runs on."""
    from numba import cuda

    from edgewear.engine.devices.cuda import check_device

    found = {
        "processors": PROCESSORS,
        "machine": platform.platform(),
        "python": platform.python_version(),
    }
    names = [getattr(cuda.gpus[n], "name", "simulated") for n in range(check_device("cuda"))]
    found["devices"] = list(map(str, names))
    return found


def rows_of(name: str, rows: int, over: str, folder: Path) -> tuple[Any, Any]:
    """A model and rows of its plan, every number that is given as a range drawn."""
    from edgewear.study.sweeping.prepared import prepare

    if name == "reference-ascent.yaml":
        path = sweeps.scenario(folder, rows)
    else:
        text = (SCENARIOS / name).read_text("utf-8").partition("\nstudy:")[0]
        study = f"\nstudy:\n  sample: {{method: sobol, rows: {rows}, over: {over}}}\n  seed: 1\n"
        path = folder / name
        path.write_text(text + study, "utf-8")
    ready = prepare(path)
    return ready.model, ready.plan.block(0, min(rows, ready.plan.rows))


def kernel_alone(folder: Path, rows: int) -> dict[str, Any]:
    """Ascents a second on the first device, the runs' numbers there already."""
    from numba import cuda

    from edgewear.engine.fast import _variation
    from edgewear.mechanics.device.launch import Device, given_of
    from edgewear.mechanics.device.run import COLUMNS

    model, block = rows_of("reference-ascent.yaml", min(rows, 65_536), "", folder)
    ready = model.ready(model.options[0])
    values = {name: c for name, c in block.items() if c.dtype == np.float64}
    batch = ready.case.batch(ready.tape, values, len(block["run"]))
    normals = _variation(ready.case, batch, block["replicate"], 1)
    plain = np.ascontiguousarray
    given = given_of(
        plain(batch.lines[:, 0]), plain(batch.edges[:, 0, :1]), plain(batch.people[:, 0]),
        plain(batch.wear[:, 0]), plain(batch.tape), normals,
    )  # fmt: skip
    again = np.arange(rows) % len(block["run"])
    given = type(given)(*(a if len(a) != len(block["run"]) else a[again] for a in given))
    told: dict[str, Any] = {"rows": rows}
    cores = cuda.get_current_device().MULTIPROCESSOR_COUNT
    there = [cuda.to_device(a) for a in given]
    for each in (128, 256, 512):
        one = Device(0, threads=cores * each)
        found = cuda.device_array((rows, len(COLUMNS)))
        spans = []
        for _ in range(3):
            cuda.synchronize()
            begin = time.perf_counter()
            one.kernel[one.blocks, one.block](*there, one.fields, found)
            cuda.synchronize()
            spans.append(time.perf_counter() - begin)
        told[f"first_s_{each}"], told[f"per_s_{each}"] = spans[0], rows / min(spans[1:])
        print(each, spans, file=sys.stderr, flush=True)
    back = found.copy_to_host()
    told["left"], told["steps"] = int((back[:, 0] == 0.0).sum()), float(back[:, -1].mean())
    for made in one.kernel.overloads.values():
        told["registers"], told["local_bytes"] = made.regs_per_thread, made.local_mem_per_thread
    return told


def compiled(folder: Path) -> dict[str, Any]:
    """Seconds to the end of one run: nothing kept on disk, then the kernel kept."""
    told = {}
    for name in ("first_s", "kept_s"):
        begin = time.perf_counter()
        subprocess.run(
            [sys.executable, __file__, "--only", "kernel", "--rows", "1"],
            env={**os.environ, "EDGEWEAR_CACHE": str(folder / "cache")},
            check=True,
            capture_output=True,
        )
        told[name] = time.perf_counter() - begin
        print(name, told[name], file=sys.stderr, flush=True)
    return told


def in_any_order(folder: Path, rows: int) -> dict[str, Any]:
    """Rows played backwards and in unequal pieces: how many numbers are not the same."""
    from dataclasses import replace

    from edgewear.study.task import playing

    model, block = rows_of("reference-ascent.yaml", rows, "", folder)
    model = replace(model, device="cuda")

    def part(which: Any) -> Any:
        return playing(model, {name: column[which] for name, column in block.items()}).runs

    count = len(block["run"])
    plain = part(slice(None))
    turned = {**block, "run": block["run"][::-1].copy()}  # rows are played in order of `run`
    backwards = playing(model, turned).runs[::-1]
    backwards["run"] = plain["run"]
    cuts = [0, 1, count // 3, count]
    pieces = np.concatenate([part(slice(a, b)) for a, b in itertools.pairwise(cuts)])
    return {"rows": count, "backwards": other(plain, backwards), "pieces": other(plain, pieces)}


def other(one: Any, two: Any) -> int:
    """How many numbers and words are not the same; where both are none they are."""
    found = 0
    for name in one.dtype.names:
        a, b = one[name], two[name]
        same = a == b
        if a.dtype.kind == "f":
            same |= np.isnan(a) & np.isnan(b)
        found += int((~same).sum())
    return found


def compared(folder: Path, share: float) -> dict[str, Any]:
    """Rows of shipped scenarios on both, and how far they are apart."""
    from dataclasses import replace

    from edgewear.study.task import playing

    told = {}
    for name, rows, over in STUDIES:
        model, block = rows_of(name, int(rows * share), over, folder)
        begin = time.perf_counter()
        one = playing(replace(model, device="cuda"), block).runs
        middle = time.perf_counter()
        two = playing(model, block).runs
        end = time.perf_counter()
        told[name] = {
            "rows": len(one), "device_s": middle - begin, "cpu_s": end - middle, **apart(one, two),
        }  # fmt: skip
        print(name, told[name], file=sys.stderr, flush=True)
    return told


def apart(one: Any, two: Any) -> dict[str, Any]:
    """The largest difference of any number, and how many are outside or of another word.

    One unit in the last place of the friction moves a sheath margin by 1.6e-9 of itself, on the
    processor alone, in one of 60,000 rows, and the core's least loss, 1.6e-6, by as much. A
    strength of 5 N, left where a core ends, came out 3e-7 of itself apart on a device.
    """
    from edgewear.study.replay import LEAST_SIZE

    largest, of, outside, words = 0.0, "", 0, 0
    for name in one.dtype.names:
        a, b = one[name], two[name]
        if a.dtype.kind != "f":
            words += int((a != b).sum())
            continue
        size = np.maximum(np.maximum(np.abs(a), np.abs(b)), LEAST_SIZE.get(name, 0.0))
        with np.errstate(all="ignore"):
            off = np.abs(a - b) / np.where(size == 0.0, 1.0, size)
        off = np.where((a == b) | (np.isnan(a) & np.isnan(b)), 0.0, off)
        off = np.where(np.isnan(off), np.inf, off)
        outside += int((off > TOLERANCE).sum())
        if off.max(initial=0.0) > largest:
            largest, of = float(off.max()), name
    return {"largest": largest, "of": of, "outside": outside, "other_words": words}


def swept(folder: Path, rows: int, workers: int) -> dict[str, Any]:
    """Ascents a second from the file to the manifest."""
    from edgewear.study.sweeping.sweep import sweep

    told: dict[str, Any] = {"rows": rows, "workers": workers}
    for device in ("cuda", "cpu"):
        for number, many in ((0, 4096), (rows, rows)):
            out = folder / f"out-{device}-{number}"
            begin = time.perf_counter()
            sweep(sweeps.scenario(folder, many), out, workers=workers, device=device)
            told[f"{device}_{'s' if number else 'warm_s'}"] = time.perf_counter() - begin
            print(device, many, told, file=sys.stderr, flush=True)
        told[f"{device}_per_s"] = rows / told[f"{device}_s"]
    return told


def ranked(folder: Path, share: float, workers: int) -> dict[str, Any]:
    """Comparisons on both: seconds, what the device played, and how far rows are apart."""
    from edgewear.dataset.reading import open_dataset
    from edgewear.study.compare import compare

    told: dict[str, Any] = {"workers": workers}
    for name, replicates in (("sleeve-study", 256), ("sleeve-study", 50_000), ("demo", 256)):
        many = max(int(replicates * share), 4)
        found, mine = [], told.setdefault(f"{name}, {many} trials", {})
        for device in ("cuda", "cpu"):
            out, begin = folder / f"{name}-{many}-{device}", time.perf_counter()
            compare(SCENARIOS / f"{name}.yaml", many, 1, workers, out, device=device)
            mine[f"{device}_s"] = time.perf_counter() - begin
            dataset = open_dataset(out)
            mine.setdefault("on_device", dataset.manifest.about.get("on_device"))
            tables = dataset.runs(), dataset.edges()
            found.append([one.to_pandas().to_records(index=False) for one in tables])
        mine["runs"], mine["edges"] = (apart(*pair) for pair in zip(*found, strict=True))
        print(name, mine, file=sys.stderr, flush=True)
    return told


def stage(name: str, given: argparse.Namespace) -> dict[str, Any]:
    """Measure one stage."""
    with tempfile.TemporaryDirectory(dir=os.environ.get("EDGEWEAR_BENCH_DIR")) as made:
        folder = Path(made)
        if name == "compile":
            return compiled(folder)
        if name == "kernel":
            return kernel_alone(folder, given.rows)
        if name == "rows":
            return compared(folder, given.share)
        if name == "order":
            return in_any_order(folder, max(8, int(4096 * given.share)))
        if name == "comparison":
            return ranked(folder, given.share, given.workers)
        return swept(folder, given.rows, given.workers)


def alone(name: str, limit_s: float) -> str:
    """Run one stage in a process of its own; what it printed, or why it did not end."""
    child = subprocess.Popen(
        [sys.executable, *sys.argv, "--only", name],
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,  # workers end with it
    )
    try:
        return child.communicate(timeout=limit_s)[0].strip()
    except subprocess.TimeoutExpired:
        os.killpg(child.pid, signal.SIGKILL)
        child.communicate()
        return json.dumps({name: f"stopped at its limit of {limit_s:g} s"})


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", choices=tuple(LIMITS_S))
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--share", type=float, default=1.0, help="of the rows compared")
    parser.add_argument("--workers", type=int, default=PROCESSORS)
    given = parser.parse_args()
    if given.only:
        try:
            told: Any = stage(given.only, given)
        except Exception:  # the other stages are worth having
            told = traceback.format_exc()[-1500:]
        print(json.dumps({given.only: told}), flush=True)
        return
    print(json.dumps(machine()), flush=True)
    for name, limit_s in LIMITS_S.items():
        print(alone(name, limit_s), flush=True)


if __name__ == "__main__":
    main()
