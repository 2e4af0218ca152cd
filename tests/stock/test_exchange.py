"""Out as CSV or JSON and in again; bad tables by line and column."""

from __future__ import annotations

import contextlib
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgewear.errors import ScenarioError
from edgewear.stock.chain import verify
from edgewear.stock.exchange import as_csv, as_json, read, take_in
from support.ropes import draft, stock_in

SEVERAL = [
    draft("register", "R=1", like="low-stretch 11", marks={"middle": 30.0}, batch="-7"),
    draft("register", "R2", length_m=40, made="2020-02-29"),
    draft("job", "R=1"),
    draft("inspection", "R2", finding="fuzz", to_m=2.5, note='said "fuzz", twice'),
    draft("event", "R2", what="fall held"),
    draft("correction", "R2", entry=5, reason="'t was R3"),
    draft("decision", "R2", decision="retired", reason="+ worn"),
]
WRITERS = {".csv": as_csv, ".json": as_json}


@pytest.mark.parametrize("kind", WRITERS)
def test_a_whole_record_comes_back_with_its_hashes(kind: str, tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    with stock_in(tmp_path / "a", None, *SEVERAL) as stock:
        entries, lists = list(stock.every_entry()), stock.summaries()
        (tmp_path / f"out{kind}").write_text(WRITERS[kind](entries))
    from edgewear.scenario.read.rope_rules import built_in_rules
    from edgewear.stock.store import open_stock

    with open_stock(tmp_path / "b" / "store.ropes", built_in_rules(), make=True) as other:
        take_in(other, read(tmp_path / f"out{kind}"))
        assert list(other.every_entry()) == entries
        assert other.summaries() == lists
        assert verify(other) == []


@pytest.mark.parametrize("kind", WRITERS)
def test_a_record_that_was_tampered_with_is_refused_whole(kind: str, tmp_path: Path) -> None:
    with stock_in(tmp_path, None, *SEVERAL) as stock:
        text = WRITERS[kind](stock.every_entry())
    (tmp_path / f"out{kind}").write_text(text.replace("fall held", "heat"))
    from edgewear.scenario.read.rope_rules import built_in_rules
    from edgewear.stock.store import open_stock

    with open_stock(tmp_path / "new.ropes", built_in_rules(), make=True) as other:
        with pytest.raises(ScenarioError, match="entry 5 was changed"):
            take_in(other, read(tmp_path / f"out{kind}"))
        assert other.head()[0] == 0


def test_cells_are_no_formulas(tmp_path: Path) -> None:
    with stock_in(tmp_path, None, *SEVERAL) as stock:
        text = as_csv(stock.every_entry())
    cells = [cell for line in text.splitlines() for cell in line.split(",")]
    assert not [cell for cell in cells if cell.strip('"').startswith(("=", "+", "-", "@"))]
    assert "'+ worn" in cells


LOG = "rope,kind,on,by,length_m,finding,from_m,to_m\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (LOG + "R1,register,2026-01-01,A,60,,,\nR1,look,2026-01-02,A,,fuzz,0,1\n",
         "log.csv:3:1: line 3/kind: 'look': allowed are register"),
        (LOG + "R1,register,1.1.2026,A,60,,,\n", "log.csv:2:1: line 2/on: '1.1.2026': a date"),
        (LOG + "R1,register,2026-01-01,A,\"60,5\",,,\n", "log.csv:2:5: length_m: '60,5': a number"),
        (LOG + "R1,register,2026-01-01,A,60\n", "5 cells under 8 columns"),
        ("rope,kind,on,who\n", "log.csv:1:4: column 'who': allowed"),
        ("rope,kind,on,who\n", "column 'by' is missing"),
        (LOG + "R1,inspection,2026-01-01,A,,fuzz,0,1\n", "no rope 'R1' is registered"),
        (LOG + "R1,register,2026-01-01,A,60,,,\nR1,inspection,2026-01-01,A,,fuzz,3,99\n",
         "log.csv:3:1: line 3/to_m: 99 m lies beyond the rope's end at 60 m"),
    ],
)  # fmt: skip
def test_a_bad_table_is_refused_by_its_places(text: str, said: str, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(text)
    with stock_in(tmp_path, None, draft("register", "R9")) as stock:
        with pytest.raises(ScenarioError) as error:
            take_in(stock, read(tmp_path / "log.csv"))
        assert said in str(error.value).replace(f"{tmp_path}/", "")
        assert stock.head()[0] == 1


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([".csv", ".json"]), st.booleans())
def test_no_bytes_are_more_than_a_sentence(data: bytes, kind: str, headed: bool) -> None:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / f"log{kind}"
        file.write_bytes(LOG.encode() * headed + data)
        with stock_in(Path(folder)) as stock:
            with contextlib.suppress(ScenarioError):  # anything else is a traceback
                take_in(stock, read(file))
            assert verify(stock) == []
