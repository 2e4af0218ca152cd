"""How long a report takes and how large its page is: 8 options, 1,000 replicates each.

The dataset is made first by the ordinary command, from a short job rigged in eight ways; the
figure is the whole command `edgewear report`, started anew, and the size of the page it writes.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

OPTIONS = 8
REPLICATES = 1000
REPEATS = 3

SCENARIO = """\
edgewear: 1
title: Eight ways to rig a short job
setting: industrial
target: 70 %
anchors:
  posts: {{out: -3 m, up: 1.0 m, kind: pair, strength: 15 kN}}
  bollards: {{out: paced 20 m back, up: 0.3 m, kind: pair}}
edges:
  kerb: {{out: -0.4 m, up: 0.2 m, is: worn masonry arris}}
  flange: {{out: 0.3 m, up: -1.0 m, radius: 4 mm, surface: steel}}
ropes:
  store 11: {{like: low-stretch 11, length: 60 m, stopper: yes}}
people:
  lead: {{mass: 100 kg, technique: normal, system: pre-threaded}}
all options:
  rope: store 11
  safety line: {{anchor: posts, rope: store 11, protect: {{kerb: pad, flange: pad}}}}
options:
{options}
job:
  - cross edge: flange
  - descend: 4 m
  - ascend: 4 m
"""


def options() -> str:
    """Eight ways: two anchors, each with four kinds of protection."""
    covers = ("pad, pad", "pad, sleeve", "sleeve, sleeve", "roller, pad")
    lines = []
    for anchor in ("posts", "bollards"):
        for cover in covers:
            kerb, flange = cover.split(", ")
            lines.append(
                f'  "{anchor}, {cover}": '
                f"{{anchor: {anchor}, protect: {{kerb: {kerb}, flange: {flange}}}}}"
            )
    return "\n".join(lines)


def command(*words: str, good: tuple[int, ...] = (0,)) -> None:
    """Run edgewear, its output put away."""
    start = "from edgewear.cli import main; main()"
    done = subprocess.run([sys.executable, "-c", start, *words], stdout=subprocess.DEVNULL)
    if done.returncode not in good:
        raise SystemExit(f"edgewear {words[0]} ended with {done.returncode}")


def measure(folder: Path, replicates: int) -> dict[str, float]:
    """Make the dataset, then time the report of it."""
    scenario = folder / "eight.yaml"
    scenario.write_text(SCENARIO.format(options=options()), "utf-8")
    dataset = folder / "dataset"
    asked = ["--replicates", str(replicates), "--out", str(dataset), "--quiet"]
    command("compare", str(scenario), *asked, good=(0, 1))  # 1: some trials failed, all are there
    seconds = []
    for repeat in range(REPEATS):
        out = folder / f"report{repeat}"
        start = time.perf_counter()
        command("report", str(dataset), "--out", str(out), "--quiet")
        seconds.append(time.perf_counter() - start)
    page = (folder / "report0" / "report.html").stat().st_size
    return {
        "report_s": round(statistics.median(seconds), 3),
        "report_kib": round(page / 1024, 1),
        "options": OPTIONS,
        "replicates": replicates,
    }


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.add_argument("--replicates", type=int, default=REPLICATES)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        found = measure(Path(folder), asked.replicates)
    if asked.json:
        print(json.dumps(found))
    else:
        print(f"report {found['report_s']} s (at most 3), page {found['report_kib']} KiB (500)")


if __name__ == "__main__":
    main()
