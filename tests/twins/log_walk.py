"""Who is left hanging, and since when, read plainly out of a log's words."""

from __future__ import annotations

from math import isnan


def hangs_since(log, name):
    """Tick since which somebody hangs still when a log ends; None: they do not.

    Whoever is taken over hangs as the one who took them over does. Who falls, is back where they
    began, stands, or comes to the end of their plan is not left hanging. Since: the stop; but
    where nothing but waiting came after a catch, the catch; and who waits in vain hangs still since
    the step in which they wait began, or since a catch in it.
    """
    taken = [e.who for e in log if e.what == "takes over" and e.detail == name]
    if taken:
        return hangs_since(log, taken[-1])
    mine = [e for e in log if e.who == name]
    words = [e.what for e in mine]
    if "falls" in words or "retreated" in words:
        return None
    stops = [e for e in mine if e.what in ("stops", "waits in vain")]
    if not stops or isnan(stops[-1].value):
        return None
    stop = stops[-1]
    moves = [e for e in mine if e.what == "begins" and not e.detail.startswith("pass to ")]
    catches = [e for e in mine if e.what == "caught"]
    still = max(e.tick for e in moves + catches)
    if stop.what == "waits in vain":
        return still
    after = mine[mine.index(catches[-1]) + 1 :] if catches else []
    moved_on = any(e.what == "goes on" or e in moves for e in after)
    return catches[-1].tick if catches and not moved_on else stop.tick


def gone_by(log, tick):
    """Who has fallen, and whose line is lost, by a tick."""
    fell = {e.who for e in log if e.what == "falls" and e.tick <= tick}
    carried = {(e.who, e.detail) for e in log if e.what == "takes over" and e.tick <= tick}
    fell |= {casualty for carrier, casualty in carried if carrier in fell}
    lost = {e.who for e in log if e.what == "line lost" and e.tick <= tick}
    return fell, lost, carried
