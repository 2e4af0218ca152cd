"""What becomes of every person when something goes wrong."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Any

from edgewear.findings.plain import plain
from edgewear.findings.rescue import SUSPENSION, Reached, Rescue, hangs_too_long


class End(Enum):
    """How a person's part of the job ends."""

    PLAN = "goes on as planned"
    BACK = "is back where they began"
    STANDS = "stops where they stand"
    HANGS = "is left hanging"
    ALONG = "comes down with whoever they pick off"
    FALLS = "falls: nothing holds"


class GoesOn(Enum):
    """Why a run has somebody go on with their plan after something has happened to them."""

    UNSAID = "goes on in the run, though nobody has said what is done then (`when`)"
    UNDONE = "goes on in the run, though what is to be done then (`when`) does not come about there"


@dataclass(frozen=True)
class Fate:
    """One person after one fault; times in seconds from the fault that left them so.

    Without any fault they count from where somebody begins to hang.
    """

    person: str
    end: End
    holds: str  # what they hang on in the end, or did last
    drop_m: float | None = None  # the longest, careful end; None: nowhere, or nothing ends it
    swing_m: float | None = None
    catch_holds: bool | None = True  # whether what caught them holds; None: nobody can tell
    catch_why: str = ""  # it does not, or nobody can
    coming_to: str = ""  # whom they were picking off when the last fault found them ...
    coming_at_m: float | None = None  # ... so deep
    coming_lacks: tuple[str, ...] = ()  # what ended it, where they could go on themselves
    waits_for: str = ""  # in vain, where their part ends so: nothing else keeps them there
    lost: tuple[str, ...] = ()  # lines of theirs that are no use any more, and did not drop them
    showing: tuple[str, ...] = ()  # of these, those that are whole but for the core that shows
    still: Reached | None = None  # hung still for so long, until they could go on
    hangs_from_s: float | None = None  # hangs still from here; None: nowhere, or no fault ...
    hangs_to_s: float | None = None  # ... until down, by the middle; None: nobody comes
    hangs_at_s: float | None = None  # from where they hang still, since the start of the job
    rescue: Rescue | None = None  # the one shown, or that they carry out and come down with
    missing: tuple[str, ...] = ()  # what every rescue lacks
    goes_on: GoesOn | None = None  # the run has them go on with their plan, though ...
    as_without: bool = False  # they end so with no fault too: that is told once, of the plan

    @property
    def how(self) -> str:
        """How their part ends, in words; where a run has them go on unplanned, it says so."""
        return self.end.value if self.goes_on is None else self.goes_on.value

    @property
    def gravity(self) -> int:
        """0 goes on, up to 5: dead. What is worse comes first everywhere.

        It is what the faults do: 0 as well for whoever ends so with no fault too.
        """
        return 0 if self.as_without else self.harm

    @property
    def harm(self) -> int:
        """The same, whatever brings it about."""
        if self.end is End.FALLS or self.catch_holds is False:
            return 5
        if self.catch_holds is None:
            return 4
        if self.end in (End.HANGS, End.ALONG):
            return 4 if self.rescue is None else 3 if self.is_late else 2
        return 3 if self.is_late else 1 if self.drop_m or self.lost or self.still else 0

    @property
    def is_late(self) -> bool:
        """Whether a limit is passed."""
        return bool(self.late)

    @property
    def late(self) -> tuple[str, ...]:
        """Which limits the rescue shown passes, and hanging still until they could go on."""
        hung = (SUSPENSION,) if hangs_too_long(self.still) else ()
        return tuple(dict.fromkeys((*(self.rescue.late if self.rescue else ()), *hung)))

    def as_json(self) -> dict[str, Any]:
        """The fate as documents have it."""
        return {name: plain(value) for name, value in vars(self).items()}


@dataclass(frozen=True)
class Fates:
    """What becomes of everybody with some faults: by the middle of everything.

    Where chance alone leaves somebody worse off, the run of the gravest trial is told instead.
    """

    names: tuple[str, ...]  # of the faults
    person: str  # whose step the fault comes with; "": its own trigger
    step: int
    came: bool  # whether it came about
    seen_by: str | None  # who saw the fault or what it did
    people: tuple[Fate, ...]  # the worst first
    trials: int = 0  # in which it came about
    as_grave: int = 0  # of these, in which somebody ends as badly
    inside: str = ""  # the step inside a repeat, with its round; "": with its beginning

    @property
    def at(self) -> str:
        """Whose step the fault comes with, and where in it; nothing for its own trigger."""
        inside = f" ({self.inside})" if self.inside else ""
        return f"{self.person} step {self.step}{inside}" if self.step else ""

    @property
    def with_none(self) -> bool:
        """Whether somebody ends badly with no fault too."""
        return any(fate.as_without for fate in self.people)

    @property
    def gravity(self) -> tuple[int, ...]:
        """Of the worst off first."""
        return tuple(sorted((fate.gravity for fate in self.people), reverse=True))
