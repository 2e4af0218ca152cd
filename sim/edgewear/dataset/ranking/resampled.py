"""A comparison whose trials are chosen anew, so that the worlds that fit count more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from edgewear.dataset.reading import Dataset

if TYPE_CHECKING:
    import pyarrow as pa


class Resampled(Dataset):
    """A finished comparison seen through some of its replicates, each taken as often as chosen.

    Parameters:
        dataset: the comparison.
        chosen: (m,) replicates, repeats allowed.
    """

    def __init__(self, dataset: Dataset, chosen: NDArray[np.int64]) -> None:
        """Take over the folder, with the number of trials that is left."""
        about = {**dataset.manifest.about, "replicates": len(chosen)}
        super().__init__(Path(dataset.root), replace(dataset.manifest, about=about))
        self._chosen = chosen
        self._whole = dataset.plan(["run", "option", "replicate"])

    def plan(self, columns: Sequence[str] | None = None) -> pa.Table:
        """Read the rows of the plan that were chosen, numbered anew."""
        old, new = self._runs()
        table = super().plan(columns)
        where = self._places(self._whole.column("run").to_numpy(), old)
        return self._numbered(table.take(where), new)

    def runs(self, columns: Sequence[str] | None = None) -> pa.Table:
        """Read the outcomes that were chosen."""
        old, new = self._runs()
        table = super().runs(columns)
        run = super().runs(["run"]).column("run").to_numpy()
        return self._numbered(table.take(self._places(run, old)), new)

    def edges(self, columns: Sequence[str] | None = None) -> pa.Table:
        """Read the outcomes at the edges of the trials that were chosen."""
        old, new = self._runs()
        table = super().edges(columns)
        run = super().edges(["run"]).column("run").to_numpy()
        order = np.argsort(run, kind="stable")
        first = np.searchsorted(run[order], old, "left")
        last = np.searchsorted(run[order], old, "right")
        where = np.concatenate([order[a:b] for a, b in zip(first, last, strict=True)])
        return self._numbered(table.take(where), np.repeat(new, last - first))

    def _runs(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Old and new run numbers, option by option in the order of the plan."""
        run, option, replicate = (
            self._whole.column(name).to_numpy() for name in ("run", "option", "replicate")
        )
        old = []
        for name in dict.fromkeys(option.tolist()):
            mine = option == name
            by_replicate = dict(zip(replicate[mine].tolist(), run[mine].tolist(), strict=True))
            old += [by_replicate[one] for one in self._chosen.tolist()]
        return np.array(old, np.int64), np.arange(len(old), dtype=np.int64)

    @staticmethod
    def _places(run: NDArray[Any], wanted: NDArray[np.int64]) -> NDArray[np.int64]:
        order = np.argsort(run, kind="stable")
        return np.asarray(order[np.searchsorted(run[order], wanted)], np.int64)

    @staticmethod
    def _numbered(table: pa.Table, run: NDArray[np.int64]) -> pa.Table:
        import pyarrow as pa

        if "run" not in table.column_names:
            return table
        return table.set_column(table.column_names.index("run"), "run", pa.array(run))
