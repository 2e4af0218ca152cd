"""What many runs came to, as frames: read once, so that the folder may go."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear import records
from edgewear.python.frames import described, frame_of

if TYPE_CHECKING:
    import pandas as pd

    from edgewear.dataset.reading import Dataset


@dataclass(frozen=True, eq=False)
class Results:
    """The tables of a comparison or a sweep."""

    about: dict[str, Any]
    """Kind, seed, versions and model: what the manifest says of the study."""
    runs: pd.DataFrame
    """One row a run: option, replicate, what was chosen and drawn, by address, and the outcome."""
    edges: pd.DataFrame | None
    """Outcomes at every edge of every run; None: this study did not keep them."""

    @classmethod
    def of(cls, folder: str | Path) -> Results:
        """Read a dataset.

        Raises:
            DatasetError: no dataset there, or a damaged one.
            Unfinished: it was stopped half way.
        """
        from edgewear.dataset.reading import open_dataset

        dataset = open_dataset(folder)
        manifest = dataset.manifest
        about = {**manifest.about, "kind": manifest.kind, "model": manifest.model}
        about["versions"] = dict(manifest.versions)
        return cls(about, _runs(dataset), _edges(dataset))

    @property
    def inputs(self) -> tuple[str, ...]:
        """Addresses that were chosen or drawn: columns of `runs`."""
        fixed = {column.name for column in (*records.PLAN, *records.RUN)}
        return tuple(str(name) for name in self.runs.columns if name not in fixed)

    @property
    def draws(self) -> pd.DataFrame:
        """What was chosen and drawn for each run, by address; SI."""
        return self.runs[["run", "option", "replicate", *self.inputs]]


def _runs(dataset: Dataset) -> pd.DataFrame:
    plan = frame_of(dataset.plan(), records.PLAN)
    runs = frame_of(dataset.runs(), records.RUN)
    return described(plan.merge(runs, on="run", validate="1:1"), (*records.PLAN, *records.RUN))


def _edges(dataset: Dataset) -> pd.DataFrame | None:
    if not any(file.path.startswith("edges/") for file in dataset.manifest.files):
        return None
    return frame_of(dataset.edges(), records.EDGE)
