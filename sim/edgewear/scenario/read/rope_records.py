"""A rope of a scenario that is a record: its length and its worn parts come from there.

What was read is kept beside the scenario, as a section of the library it was read with, so that a
run can be made again from the dataset alone, whatever the record says by then.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from edgewear.errors import EdgewearError
from edgewear.scenario.read.libraries import RECORDS, Library
from edgewear.scenario.read.rope_rules import built_in_rules, rules_of
from edgewear.stock.rules import tightened

Snapshot = Mapping[str, Any]


def named(found: object, name: str) -> tuple[str, str] | None:
    """Read `record: FILE` or `record: {file: FILE, rope: NAME}`; None: it is neither."""
    if isinstance(found, str):
        return found, name
    if isinstance(found, dict) and set(found) <= {"file", "rope"} and "file" in found:
        file, rope = found["file"], found.get("rope", name)
        if isinstance(file, str) and isinstance(rope, str):
            return file, rope
    return None


def read_record(file: Path, rope: str, library: Library) -> Snapshot:
    """Read a rope's record as it is today.

    Parameters:
        library: whose rules the rope is held to, beside the record's own.

    Raises:
        EdgewearError: no such file or rope, or a damaged one.
    """
    from edgewear.stock.snapshot import snapshot
    from edgewear.stock.store import open_stock

    rules = tightened(built_in_rules(), rules_of(library))
    with open_stock(file, rules) as stock:
        return snapshot(stock, rope, date.today().isoformat())


def taken(file: Path, rope: str, library: Library) -> tuple[Snapshot | None, str]:
    """Read a rope's record, or say why it cannot be used."""
    try:
        found = read_record(file, rope, library)
    except EdgewearError as error:
        return None, str(error)
    if found["refused"]:
        return None, f"rope {rope!r} is {found['refused']}; its record asks not to use it"
    return found, ""


def with_record(typed: Mapping[str, Any], found: Snapshot, file: str) -> dict[str, Any]:
    """Fill in what a rope's record says; what was typed wins, but never over worn parts.

    Parameters:
        typed: the rope's keys.
        found: its record.
        file: as typed.
    """
    note = f"record {found['rope']}, entry {found['entry']}"
    told: dict[str, Any] = {"length": f"{float(found['length m']):.3f} m"}
    if found.get("like") and "family" not in typed:
        told["like"] = found["like"]
    if found.get("cut from"):
        told["cut from"] = found["cut from"]
    worn = [_part([float(end) for end in part], note) for part in found["worn"]]
    said = f"{file}: {note}, hash {str(found['hash'])[:16]}"
    return {**told, **typed, "record": said, "worn": [*worn, *typed.get("worn", [])]}


def _part(part: list[float], note: str) -> dict[str, Any]:
    from_m, to_m, low, middle, high = part
    shape = "lognormal" if low > 0.0 else "normal"
    sheath = {"value": _share(middle), "low": _share(low), "high": _share(high)}
    return {
        "from": f"{from_m:.3f} m", "to": f"{to_m:.3f} m",
        "sheath": {**sheath, "distribution": shape, "pedigree": note},
    }  # fmt: skip


def _share(demand: float) -> str:
    return f"{demand * 100:.10f} %"


def kept_text(library: str | None, records: Mapping[str, Snapshot]) -> str | None:
    """Write the records that were read behind the text of the library they were read with."""
    if not records:
        return library
    return f"{library or ''}\n{RECORDS}: {json.dumps(records, ensure_ascii=False)}\n"
