"""How long the record of a large store takes: 10,000 ropes, 200,000 entries.

`python tests/bench/ropes.py [ROPES] [ENTRIES A ROPE]` prints how long it takes to list what is due
and to put together one rope's page, each once the file is opened.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path.insert(0, str(TESTS))

from edgewear.report.formats import html  # noqa: E402
from edgewear.report.ropes.page import sheet  # noqa: E402
from edgewear.scenario.read.rope_rules import built_in_rules  # noqa: E402
from edgewear.stock.documents import due_document, rope_document  # noqa: E402
from edgewear.stock.store import open_stock  # noqa: E402
from support.ropes import draft  # noqa: E402

TODAY = "2026-06-01"


def life(rope: str, entries: int) -> list:
    """A rope's entries: jobs and inspections by turns."""
    worn = [0.002 * (1 + k % 5) for k in range(50)]
    told = [draft("register", rope)]
    for k in range(1, entries):
        first_mm = 8000 + 10 * (k % 40)
        job = draft("job", rope, demand=worn, first_mm=first_mm)
        told.append(job if k % 2 else draft("inspection", rope, from_m=5.0, to_m=15.0))
    return told


def main(ropes: int, entries: int) -> None:
    """Fill a store and print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "store.ropes"
        with open_stock(path, built_in_rules(), make=True) as stock:
            start = time.perf_counter()
            for first in range(0, ropes, 500):
                some = range(first, min(first + 500, ropes))
                stock.append_all([e for n in some for e in life(f"R{n:05d}", entries)])
            print(f"{ropes * entries} entries written in {time.perf_counter() - start:.1f} s")
        _timed(path, ropes)


def _timed(path: Path, ropes: int) -> None:
    with open_stock(path, built_in_rules()) as stock:
        for _ in range(3):
            start = time.perf_counter()
            document = due_document(stock, TODAY, 30, every=False)
            due_s = time.perf_counter() - start
            start = time.perf_counter()
            page = html.page(sheet(rope_document(stock, f"R{ropes // 2:05d}", TODAY)))
            page_s = time.perf_counter() - start
            print(f"due {due_s:.3f} s ({len(document['ropes'])} listed), page {page_s:.3f} s "
                  f"({len(page) / 1e3:.0f} kB)")  # fmt: skip


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]) if len(sys.argv) > 2 else (10_000, 20))
