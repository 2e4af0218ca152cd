"""What many runs came to, as frames: read once, so that the folder may go."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgewear import records
from edgewear.python.frames import columns_of, described, frame_of
from edgewear.python.replayed import Replayed, replayed

if TYPE_CHECKING:
    import pandas as pd

    from edgewear.dataset.reading import Dataset
    from edgewear.study.model import ScenarioModel


@dataclass(frozen=True, eq=False)
class Results:
    """The tables of a comparison or a sweep."""

    about: dict[str, Any]
    """Kind, seed, versions and model: what the manifest says of the study."""
    runs: pd.DataFrame
    """One row a run: option, replicate, what was chosen and drawn, by address, and the outcome."""
    edges: pd.DataFrame | None
    """Outcomes at every edge of every run; None: this study did not keep them."""
    model: ScenarioModel
    """What played the runs; made from the dataset alone."""

    @classmethod
    def of(cls, folder: str | Path) -> Results:
        """Read a dataset.

        Raises:
            DatasetError: no dataset there, or a damaged one.
            Unfinished: it was stopped half way.
        """
        from edgewear.dataset.reading import open_dataset
        from edgewear.dataset.said import as_a_study_writes
        from edgewear.study.replay import model_of

        dataset = open_dataset(folder)
        manifest = dataset.manifest
        about = {**manifest.about, "kind": manifest.kind, "model": manifest.model}
        about["versions"] = dict(manifest.versions)
        with as_a_study_writes(folder):
            return cls(about, _runs(dataset), _edges(dataset), model_of(dataset))

    @property
    def inputs(self) -> tuple[str, ...]:
        """Addresses that were chosen or drawn: columns of `runs`."""
        fixed = {column.name for column in (*records.PLAN, *records.RUN)}
        return tuple(str(name) for name in self.runs.columns if name not in fixed)

    @property
    def draws(self) -> pd.DataFrame:
        """What was chosen and drawn for each run, by address; SI."""
        return self.runs[["run", "option", "replicate", *self.inputs]]

    def for_formulas(self) -> pd.DataFrame:
        """Give `runs` with its inputs named as formulas can: `people_climber_mass_kg`.

        `attrs["addresses"]` holds the address of each such name.
        """
        known = self.runs.attrs.get("inputs", {})
        names = {name: str(known[name]["alias"]) for name in self.inputs if name in known}
        frame = self.runs.rename(columns=names)
        frame.attrs = {"addresses": {alias: name for name, alias in names.items()}}
        return frame

    def replay(self, run: int, rate_hz: float | None = None) -> Replayed:
        """Play one row again, with its course over time and along the rope.

        Parameters:
            run: number of the row in the plan.
            rate_hz: samples of the timeline a second; 10, a long course thinned, if left out.

        Raises:
            UsageError: no such row, or no such rate.
            RunFailed: it cannot be computed.
        """
        return replayed(self.model, self.runs, self.inputs, run, rate_hz)


def _runs(dataset: Dataset) -> pd.DataFrame:
    planned = dataset.plan()
    columns = columns_of(planned)
    runs = frame_of(dataset.runs(), records.RUN)
    both = frame_of(planned, columns).merge(runs, on="run", validate="1:1")
    return described(both, (*columns, *records.RUN))


def _edges(dataset: Dataset) -> pd.DataFrame | None:
    if not any(file.path.startswith("edges/") for file in dataset.manifest.files):
        return None
    return frame_of(dataset.edges(), records.EDGE)
