"""What befalls a dataset: calls that fail, processes that end, files that are damaged."""

from __future__ import annotations

import os

from edgewear.errors import DatasetError, Mismatch
from edgewear.study.sweeping.sweep import verify

CALLS = ("open", "write", "fsync", "rename", "mkdir", "unlink")
"""System calls by which a study changes its folder, all through the one door."""


class Ended(BaseException):
    """Stands for the end of the process: nothing is done after it."""


def breaking(monkeypatch, place, error):
    """Let the call at a place, and for an end all after it, fail; give the counter."""
    done = [0]

    def made(call):
        def broken(*given, **more):
            done[0] += 1
            if done[0] == place or (error is Ended and done[0] > place):
                raise Ended if error is Ended else OSError(error, os.strerror(error))
            return call(*given, **more)

        return broken

    for name in CALLS:
        monkeypatch.setattr(os, name, made(getattr(os, name)))
    return done


def damage_something(root, chance):
    """Do one random harm to one file of a dataset; give what was done."""
    files = sorted(p for p in root.rglob("*") if p.is_file() and "log" not in p.parts[-2:])
    path = chance.choice(files)
    raw = bytearray(path.read_bytes())
    harms = ["flip", "flip", "flip", "cut", "grow", "gone", "zero", "other", "added"]
    harm = chance.choice(harms if raw else ["gone", "added", "other"])
    if harm == "flip":
        raw[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
    elif harm == "cut":
        del raw[chance.randrange(len(raw)) :]
    elif harm == "grow":
        raw += bytes([chance.randrange(256)])
    elif harm == "zero":
        at = chance.randrange(len(raw))
        raw[at : at + 64] = bytes(len(raw[at : at + 64])) if any(raw[at : at + 64]) else b"\x01"
    elif harm == "other":
        others = [f for f in files if f.read_bytes() != path.read_bytes()]
        raw = bytearray(chance.choice(others).read_bytes() if others else b"")
    elif harm == "added":
        path = (
            root
            / chance.choice(["runs", "edges"])
            / f"part-{chance.randrange(100, 999):06d}.parquet"
        )
    if harm == "gone":
        path.unlink()
    else:
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(raw)
    return f"{harm} {path.name}"


def noticed(root):
    try:
        return bool(verify(root))
    except (DatasetError, Mismatch):
        return True
