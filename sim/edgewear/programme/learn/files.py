"""What learning writes: a state to go on from, the posterior, the library, the findings."""

from __future__ import annotations

import io
import os
import zipfile
import zlib
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np

from edgewear.dataset.door import inside, remove
from edgewear.dataset.files import write_bytes, write_json, write_table
from edgewear.dataset.schema import table_of
from edgewear.errors import DatasetError, Mismatch
from edgewear.findings.learning.learned import Learned, Number
from edgewear.findings.plain import plain
from edgewear.programme.latent import Layout
from edgewear.programme.learn.state import Guide, Sampled, State
from edgewear.programme.learn.surrogate import Fit
from edgewear.programme.learn.target import Runs
from edgewear.programme.model import Programme
from edgewear.records import MODEL, Column
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.text.retyping import spelled_out

UNFINISHED = "unfinished"
LEARNED, POSTERIOR, LIBRARY = "learned.json", "posterior.parquet", "library.yaml"

WEAR = "wear/"

_DAMAGED = (
    OSError, ValueError, EOFError, KeyError, TypeError, zipfile.BadZipFile, zlib.error,
    NotImplementedError, MemoryError,
)  # fmt: skip
"""What reading a state that was cut or changed may come to."""

HELD_OUT = "whole tests"
"""What is held out where laws are compared: a state kept with something else is not this one's."""

WAY = "guided by a surrogate"
"""Of sampling: a state that was kept on another way cannot go on on this one."""


@dataclass(frozen=True)
class Kept:
    """The state of an unfinished learning on disk, and what it belongs to."""

    root: Path
    name: str
    mark: str
    """Of the file of tests, the law and every number that the sample depends on."""

    @classmethod
    def of(
        cls,
        root: Path,
        programme: Programme,
        law: str,
        particles: int,
        seed: int,
        rivals: bool,
        number: int = 0,
    ) -> Kept:
        """Name the state that belongs to one pass of one law of one learning."""
        held = HELD_OUT if rivals else str(rivals)
        whole = [programme.digest, law, str(particles), str(seed), held, str(MODEL), WAY]
        mark = sha256("\n".join(whole).encode()).hexdigest()
        again = f"-{number + 1}" if number else ""
        return cls(root, f"{UNFINISHED}-{law or 'own'}{again}.npz", mark)

    def state(self) -> State | None:
        """Give the state kept, or none.

        Raises:
            Mismatch: it is of another learning.
            DatasetError: it cannot be read.
        """
        path = self.root / self.name
        if not os.path.lexists(path):
            return None
        try:
            with np.load(inside(self.root, self.name), allow_pickle=False) as found:
                kept = {name: found[name] for name in found.files}
            mark = str(kept.pop("mark"))
            state = _state(kept) if mark == self.mark else None
        except _DAMAGED as error:
            raise DatasetError(
                f"{path}: cannot be read ({error}); remove it, and learning begins anew"
            ) from error
        if state is None:
            raise Mismatch(
                f"{path}: begun with other tests, numbers or another version; remove it, or choose "
                "another folder"
            )
        return state

    def keep(self, state: State) -> None:
        """Write a state, whole or not at all."""
        arrays: dict[str, Any] = {
            "mark": np.array(self.mark), "shared": state.shared, "powers": state.powers,
            "rounds": state.rounds, "steps": state.steps, "last": state.last,
            "log_evidence": state.log_evidence, "effective": state.effective,
            "found": state.found, "lent": state.lent, "held": np.array(state.held),
            "held_likelihood": np.array(state.held_likelihood), "middle": state.guide.middle,
            "factor": state.guide.factor, "loud": state.guide.loud,
        }  # fmt: skip
        for t, fit in enumerate(state.guide.fits):
            arrays |= {f"fit_{t}_{name}": one for name, one in fit._asdict().items()}
        for t, (private, strokes) in enumerate(zip(state.private, state.strokes, strict=True)):
            arrays[f"private_{t}"], arrays[f"strokes_{t}"] = private, strokes
            arrays |= {f"run_{t}_{name}": column for name, column in state.runs[t].items()}
        stream = io.BytesIO()
        np.savez(stream, **arrays)
        write_bytes(self.root, self.name, stream.getvalue())

    def forget(self) -> None:
        """Remove the state: what it was for is finished."""
        remove(self.root, self.name)


def _state(kept: dict[str, Any]) -> State:
    tests = len(kept["powers"])
    return State(
        shared=kept["shared"], private=[kept[f"private_{t}"] for t in range(tests)],
        strokes=[kept[f"strokes_{t}"] for t in range(tests)], powers=kept["powers"],
        runs=[_runs(kept, f"run_{t}_") for t in range(tests)], found=kept["found"],
        lent=kept["lent"], guide=_guide(kept, tests),
        rounds=int(kept["rounds"]), steps=int(kept["steps"]),
        log_evidence=kept["log_evidence"], effective=[float(e) for e in kept["effective"]],
        last=int(kept["last"]), held=list(kept["held"]),
        held_likelihood=list(kept["held_likelihood"]),
    )  # fmt: skip


def _guide(kept: dict[str, Any], tests: int) -> Guide:
    fits = [Fit(*(kept[f"fit_{t}_{name}"] for name in Fit._fields)) for t in range(tests)]
    return Guide(fits, kept["middle"], kept["factor"], kept["loud"])


def _runs(kept: dict[str, Any], head: str) -> Runs:
    return {name.removeprefix(head): kept[name] for name in kept if name.startswith(head)}


def write_results(root: Path, found: Learned, layout: Layout, sampled: Sampled) -> None:
    """Write the findings, the posterior, and the library where anybody may use it."""
    values = layout.asked_values(sampled.shared)
    units = {one.address: one.unit for one in found.numbers}
    count = len(sampled.shared)
    columns = (
        Column("population", "int64", "1", "drawn anew apart from the others"),
        *(Column(name, "float64", units[name], "number that was asked for") for name in values),
        Column("log_likelihood", "float64", "1", "of all tests, for ropes and strokes of its own"),
    )
    rows = {
        "population": np.arange(count) // (count // sampled.populations),
        **values,
        "log_likelihood": sampled.log_likelihood.sum(axis=1),
    }
    about = {"pedigree": found.pedigree, "law": found.law, "sha256": found.sha256}
    write_table(root, POSTERIOR, table_of(columns, rows, about))
    write_json(root, LEARNED, plain(found.as_json()))
    if found.usable:
        write_bytes(root, LIBRARY, library_text(found).encode())
    else:
        remove(root, LIBRARY)


def library_text(found: Learned) -> str:
    """Write what was learned as a library that every scenario can name."""
    wear: dict[str, Any] = {"law": found.law}
    for number in found.numbers:
        if number.address.startswith(WEAR):
            wear[number.address.removeprefix(WEAR)] = entry(number, found.pedigree)
    inside = [name for name in wear if name != "law"]
    wear["correlation"] = _correlation(found, inside)
    left = [n.address for n in found.numbers if not n.address.startswith(WEAR)]
    said = "# low and high: central 90 %, outward by the error of the sample"
    head = [f"# {found.pedigree}", f"# of: {found.title}", said]
    head += [f"# learned too, in the posterior alone: {name}" for name in left]
    return "\n".join(head) + "\n" + spelled_out({"wear": wear})


def entry(number: Number, pedigree: str) -> dict[str, str]:
    """Give a number as an entry of a library."""
    unit = "" if number.unit == "1" else f" {number.unit}"
    after = number.after
    ends = {"value": after.value, "low": after.low, "high": after.high}
    shape = number.distribution if number.distribution in ("normal", "lognormal") else "normal"
    return {
        **{key: _spelt(value) + unit for key, value in ends.items()},
        "distribution": shape,
        "pedigree": pedigree,
    }  # fmt: skip


def _spelt(value: float) -> str:
    return f"{value:.4g}".replace("e+0", "e").replace("e+", "e")


def _correlation(found: Learned, inside: list[str]) -> dict[str, dict[str, str]]:
    """Correlations of what was learned with each other, and the library's of what was not."""
    old = built_in()["wear"].get("correlation", {})
    kept = {one: dict(others) for one, others in old.items() if one not in inside}
    kept = {
        one: {other: value for other, value in others.items() if other not in inside}
        for one, others in kept.items()
    }
    for one, others in found.correlation.items():
        name = one.removeprefix(WEAR)
        mine = {o.removeprefix(WEAR): f"{v:.3f}" for o, v in others.items() if o.startswith(WEAR)}
        if one.startswith(WEAR) and mine:
            kept[name] = mine
    return {one: others for one, others in kept.items() if others}
