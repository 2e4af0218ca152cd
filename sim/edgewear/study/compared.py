"""What a comparison must know of its options: how to play them, and what to say of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np
from numpy.typing import NDArray

from edgewear.findings.failure import Doubt
from edgewear.study.task import Model
from edgewear.study.worker_pool import Later, at_once

if TYPE_CHECKING:
    from edgewear.case import Uncertainty
    from edgewear.dataset.ranking.model import BridgeStep


@dataclass(frozen=True)
class NominalCourse:
    """One nominal run of an option: what a page shows of its course."""

    events: NDArray[np.void]  # records.EVENT
    wear: NDArray[np.void]  # records.WEAR
    timeline: NDArray[np.void]  # records.TIMELINE
    step_wear: NDArray[np.void]  # records.STEP_WEAR
    steps: float  # kernel steps taken
    margin: float
    step_error: float | None  # change of the margin at half the step
    doubts: tuple[Doubt, ...] = ()  # what nobody can say is survived, if one thing failed
    plays: int = 1  # how often a trial is played: where its course follows the rope, twice


class Compared(Model, Protocol):
    """What `compare` must know of the options, beside how to play them."""

    @property
    def options(self) -> tuple[str, ...]:
        """The options' names in the order of the scenario."""

    def uncertainties(self, option: str) -> tuple[Uncertainty, ...]:
        """What nobody chooses about an option."""

    def rigged(self, option: str) -> dict[str, Any]:
        """An option as it is rigged: JSON-able, SI."""

    def nominal(self, option: str) -> NominalCourse:
        """Run an option once with nominal values, nobody reacting."""

    def bridge(
        self,
        poorer: str,
        better: str,
        replicates: tuple[int, ...] = (),
        later: Later = at_once,
    ) -> Callable[[], tuple[BridgeStep, ...]]:
        """Change one option into another, one thing at a time; called for what each is worth.

        Parameters:
            poorer, better: the options.
            replicates: trials in which it is told too.
            later: lets others play the option after each change.
        """


@dataclass(frozen=True)
class OnDevice:
    """What a device plays of a comparison."""

    device: str
    options: tuple[str, ...]  # the others are played by the processor


@dataclass(frozen=True)
class Described:
    """What a scenario says of itself, for the dataset."""

    file: str  # name of the file, without folders
    text: bytes  # as read
    title: str
    setting: str
    target: float
    resolved: Mapping[str, Any]  # SI, JSON-able
    parameters: tuple[Mapping[str, Any], ...] = ()
    library: bytes | None = None  # text of the user's own library
    changes: tuple[str, ...] = ()  # what was set beside the file, as typed
    played: OnDevice | None = None  # None: all by the processor, nobody asked for a device
