"""What the record of ropes says, in words; it never calls a rope fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from edgewear import spelt
from edgewear.report.parts import words

Row = Mapping[str, Any]

NEAR_M = 1e-3
"""The finest place that a record knows [m]: so near to an end is at it."""

STANDING = {
    "in use": "in use; no entry asks for setting it aside",
    "set aside": "set aside until a competent person has looked at it and decided",
    "retired": "retired",
}
KINDS = {
    "register": "registered",
    "job": "used in a job",
    "inspection": "looked at",
    "event": "happened",
    "decision": "decided",
    "correction": "corrected",
    "rules": "rules made stricter",
}


def standing(found: Row) -> str:
    """Say how a rope stands, and never more than its entries do.

    Parameters:
        found: a rope's summary.
    """
    told = STANDING[str(found["word"])]
    return told if found["past_known"] else f"{told}; its past is not known here"


def cut_from(found: Row) -> str:
    """Say what a piece was cut from, and what that means for what is told of it; empty: none.

    Parameters:
        found: a rope's summary.
    """
    name, at_m = found["cut_from"], found["cut_at_m"]
    if not name:
        return ""
    if not found["cut_recorded"]:
        return (
            f"cut from {name!r}, which is not in this record: its age, falls, looks and wear "
            "before that are not known here"
        )
    told = f"cut from {name!r}, with its age, its looks and what set it aside until then"
    further = "" if found["past_known"] else f"; the past of {name!r} is not all known here"
    if at_m is None:
        worn = f"nobody says where: it counts as worn as {name!r} was at its worst, all along"
    else:
        worn = f"and with its wear from {at_m:g} m to {at_m + found['length_m']:g} m"
    return f"{told}; {worn}{further}"


def reason(row: Row) -> str:
    """Say why a rope is set aside or retired.

    Parameters:
        row: rule, entry, on, by, said, asks, pedigree, rope.
    """
    part = f"of {row['rope']!r}, which it was cut from: " if row["rope"] else ""
    return part + _own_reason(row)


def _own_reason(row: Row) -> str:
    if row["rule"] == "decision":
        return f"decided by {row['by']} on {row['on']}: {row['said']}"
    source = f" [{row['pedigree']}]" if row["pedigree"] else ""
    if not row["entry"]:
        return f"{row['rule']}: {row['asks']} since {row['on']}{source}"
    told = f"{row['rule']}, entry {row['entry']} by {row['by']} on {row['on']}: {row['asks']}"
    return f"{told}{source}"


def last_look(found: Row) -> str:
    """Say what was last seen, and by whom.

    Parameters:
        found: a rope's summary.
    """
    look = found["last_look"]
    if look is None:
        return "nobody has looked at it since it was registered"
    told = f"{look['finding']}, seen by {look['by']} on {look['on']}"
    if look["from_m"] <= NEAR_M and look["to_m"] >= found["length_m"] - NEAR_M:
        return told
    return f"{told}{_stretch(look)} alone; {_whole(found['last_whole'], look['on'])}"


def _whole(last: str, on: str) -> str:
    """Say when all of it was looked at, beside a look at a part on some day."""
    if last == on:
        return "together with others of that day at the whole length"
    since = f"last on {last}" if last else "by nobody since it was registered"
    return f"the whole length was looked at {since}"


def _stretch(row: Row) -> str:
    return f", from {row['from_m']:.2f} m to {row['to_m']:.2f} m"


def interval(ends: Sequence[float]) -> str:
    """Give computed wear: the middle, and from the light to the careful end.

    Parameters:
        ends: 5th, 50th, 95th percentile of the sheath demand [1].
    """
    low, middle, high = (words.percent(min(one, 9.99)) for one in ends)
    return f"{middle} ({low} to {high})"


def entry(row: Row) -> str:
    """Say what an entry says.

    Parameters:
        row: kind, body, and why it is idle, if it is.
    """
    body = row["body"]
    told = [_SAID[row["kind"]](body)]
    if "from_m" in body and "to_m" in body:
        told.append(f"from {body['from_m']:.2f} m to {body['to_m']:.2f} m")
    if "note" in body:
        told.append(str(body["note"]))
    if row["idle"]:
        told.append(f"it puts nothing back: {row['idle']}")
    return "; ".join(told)


def _register(body: Row) -> str:
    told = [f"{body['length_m']:g} m"]
    names = {"like": "like", "cut_from": "cut from", "batch": "batch", "made": "made",
             "first_use": "first used"}  # fmt: skip
    told += [f"{name} {body[key]}" for key, name in names.items() if key in body]
    if "cut_at_m" in body:
        told.append(f"at {body['cut_at_m']:g} m of it")
    told += [f"mark {name} at {at:g} m" for name, at in body.get("marks", {}).items()]
    return ", ".join(told)


def _job(body: Row) -> str:
    told = body["job"]
    if "option" in body:
        line, rope = body["line"], body.get("rope_of_line")
        told += f", {body['option']}, {line if rope is None else spelt.one_rope(line, rope)}"
    if max(body["largest"]) <= 0.0:
        return f"{told}: no wear was computed"
    at = body["largest_at_m"]
    return f"{told}: sheath worn {interval(body['largest'])} at {at:.2f} m"


def _rules(body: Row) -> str:
    return ", ".join(f"{word}: {rule['asks']}" for word, rule in body["rules"].items())


_SAID: Mapping[str, Any] = {
    "register": _register,
    "job": _job,
    "inspection": lambda body: str(body["finding"]),
    "event": lambda body: str(body["what"]),
    "decision": lambda body: f"{body['decision']}: {body['reason']}",
    "correction": lambda body: f"entry {body['entry']} does not hold: {body['reason']}",
    "rules": _rules,
}


def look(row: Row) -> str:
    """Say how an inspection corrected what was computed for its place.

    Parameters:
        row: finding, before, after, agrees.
    """
    before, after = interval(row["before"]), interval(row["after"])
    if row["agrees"]:
        return f"computed before {before}, corrected to {after}"
    if row["before"] == row["after"]:
        return f"computed {before}; what was seen does not agree with it and corrects nothing"
    return f"computed before {before}, which does not hold; by what was seen {after}"
