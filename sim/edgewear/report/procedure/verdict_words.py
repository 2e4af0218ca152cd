"""The verdict in words, for terminal and page alike."""

from __future__ import annotations

from edgewear.findings.verdict import Held, Point, Verdict

HEADING = "First: what is held against this procedure"
NOTHING = (
    "Nothing that was tried here was left falling, hanging without a rescue, not holding, not "
    "known, going on with a lost line, above a limit or swinging off its protection. What was not "
    "tried is not said, and this is no permission."
)


def listed(verdict: Verdict) -> list[str]:
    """Say every point, the gravest first; or that none was found."""
    return [point(one) for one in verdict.points] or [NOTHING]


def point(one: Point) -> str:
    """Say one point."""
    heads = {Held.NO: "NO: does not hold", Held.FALLS: "FALLS"}
    head = heads.get(one.held, one.held.value)
    return f"{head}: {one.where}: {one.words}"


def remedy(verdict: Verdict) -> str:
    """Say which change would remove most, or that none does; nothing where none was tried."""
    best, tried = verdict.remedy, verdict.tried
    if not tried:
        return ""
    left = verdict.known - tried
    more = f" ({left} more were not tried, or cannot be typed there)" if left > 0 else ""
    if best is None:
        return f"None of {tried} changes that were tried one at a time{more} removes any of these."
    return (
        f"Of {tried} changes that were tried one at a time{more}, this one removes most: "
        f"{best.words}. Looked at again without trials, {best.left} of {best.of} "
        "components and cases stay. Whether it can be done there, and what else it changes, is "
        "for a competent person to say."
    )
