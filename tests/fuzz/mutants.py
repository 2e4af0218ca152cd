"""Texts spoilt in every way that files get spoilt: by bytes, by lines, by their tree of values."""

from __future__ import annotations

import random
from collections.abc import Callable
from copy import deepcopy
from typing import Any

import yaml

NUMBERS = (
    "0",
    "-0",
    "-1",
    "1e-300",
    "1e300",
    "9e999",
    "1e15",
    "1e9",
    "1e-9",
    "nan",
    "inf",
    "-inf",
    ".5",
    "5.",
    "0x10",
    "1_000",
    "1,5",
    "1 000",
    "999999999999999",
    "123456789012345678901234567890",
    "0.1",
    "3",
    "1e6",
    "100",
)
UNITS = (
    "",
    "m",
    "mm",
    "kg",
    "g",
    "N",
    "kN",
    "s",
    "h",
    "%",
    "deg",
    "Hz",
    "per h",
    "m/s",
    "MPa",
    "degC",
    "J/m3",
    "parsec",
)
WORDS = (
    "",
    "x",
    "none",
    "yes",
    "no",
    "true",
    "~",
    "null",
    "*",
    "a/b",
    "steel",
    "kerb",
    "edge attendant",
    "normal",
    "\x1b[31m",
    "\x00",
    "\x07",
    "\x7f",
    "\x9b",
    "\u202e",
    "\u2028",
    "\ufeff",
    "é",
    "日本",
    "'",
    '"',
    "{",
    "[",
    "=cmd()",
    "../../etc/passwd",
    "/dev/zero",
    "x" * 5_000,
    "%s%n",
    "-",
    "<script>",
    "2026-02-30",
)
NESTS: tuple[Any, ...] = (
    [],
    {},
    [["x"]],
    {"x": {"y": ["z"]}},
    [{}],
    {"": ""},
    [""] * 40,
    {"value": "1"},
    {"value": "1 m", "low": "2 m"},
    {"value": "5 kg", "basis": "x"},
    {"low": "1"},
    {"is": "x"},
    {"like": ["x"]},
    {"from": "1", "to": "1000000", "steps": "1000000"},
)


def spoilt(text: str, rng: random.Random) -> bytes:
    """Spoil a text once to three times, mostly in one way."""
    way = rng.choices((by_tree, by_lines, by_bytes, by_encoding, by_nesting), (60, 18, 12, 6, 4))[0]
    return way(text, rng)


def by_bytes(text: str, rng: random.Random) -> bytes:
    raw = bytearray(text.encode())
    for _ in range(rng.randint(1, 4)):
        at, what = rng.randrange(len(raw) + 1), rng.randrange(5)
        if what == 0 and raw:
            raw[at % len(raw)] = rng.randrange(256)
        elif what == 1:
            raw[at:at] = bytes(rng.randrange(256) for _ in range(rng.randint(1, 4)))
        elif what == 2:
            del raw[at : at + rng.randint(1, 40)]
        elif what == 3:
            raw[at:at] = raw[at : at + rng.randint(1, 200)]
        else:
            raw[at:at] = rng.choice(WORDS).encode("utf-8", "surrogatepass")
    return bytes(raw)


def by_lines(text: str, rng: random.Random) -> bytes:
    lines = text.splitlines()
    for _ in range(rng.randint(1, 3)):
        at, what = rng.randrange(len(lines)), rng.randrange(6)
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(at, rng.choice(lines))
        elif what == 2:
            other = rng.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif what == 3:
            lines[at] = rng.choice(("  ", "\t", "- ", "? ", "&x ", "!!int ")) + lines[at]
        elif what == 4:
            lines[at] = lines[at].replace(":", rng.choice(("", ": :", ":\n", ": *x", " ")), 1)
        else:
            lines[at] += " " + rng.choice(WORDS)
        lines = lines or [""]
    return "\n".join(lines).encode("utf-8", "surrogatepass")


def by_encoding(text: str, rng: random.Random) -> bytes:
    """Another encoding, as a spreadsheet or an editor saves."""
    name = rng.choice(("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-8-sig", "cp037", "utf-7"))
    return text.encode(name, "replace")


def by_nesting(text: str, rng: random.Random) -> bytes:
    """Something deep, long or wide put into the middle."""
    count = rng.choice((30, 300, 3_000, 20_000))
    put = rng.choice(
        (
            "[" * count,
            "{a: " * count,
            "- " * count,
            "x" * count,
            "a: b\n" * count,
            '"' + "\\e" * count + '"',
            "[" + "x," * count + "]",
            "\n".join(f"k{i}: v" for i in range(count)),
            "&a [*a]" * 3,
        )
    )
    lines = text.splitlines()
    at = rng.randrange(len(lines))
    lines[at] = rng.choice((put, lines[at] + put, lines[at].partition(":")[0] + ": " + put))
    return "\n".join(lines).encode()


def places(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of a tree."""
    inner = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data)
        if isinstance(data, list)
        else ()
    )
    return [path, *(p for key, value in inner for p in places(value, (*path, key)))]


def numbered(value: str, rng: random.Random) -> str:
    """Put another number, or another unit, into a quantity."""
    number, _, unit = value.partition(" ")
    try:
        other = f"{float(number) * 10 ** rng.randint(-6, 6):g}"
    except ValueError:
        other = rng.choice(NUMBERS)
    if rng.random() < 0.7:
        number = rng.choice((*NUMBERS, other, other, other))
    else:
        unit = rng.choice(UNITS)
    return f"{number} {unit}".strip()


def change(data: Any, rng: random.Random) -> None:
    """Change one place of a tree."""
    path = rng.choice(places(data))
    if not path:
        return
    parent = data
    for part in path[:-1]:
        parent = parent[part]
    last, what = path[-1], rng.randrange(10)
    if what < 4 and isinstance(parent[last], str):
        parent[last] = numbered(parent[last], rng)
    elif what < 6:
        parent[last] = deepcopy(rng.choice(NESTS)) if rng.random() < 0.4 else rng.choice(WORDS)
    elif what == 6:
        del parent[last]
    elif what == 7:
        parent[last] = {rng.choice(WORDS): parent[last]}
    elif isinstance(parent, dict):
        parent[rng.choice(WORDS)] = parent.pop(last) if what == 8 else deepcopy(parent[last])
    else:
        parent.insert(rng.randrange(len(parent) + 1), deepcopy(parent[last]))


def changed_tree(data: Any, rng: random.Random) -> Any:
    """Change a copy of a tree once to three times."""
    data = deepcopy(data)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        change(data, rng)
    return data


def by_tree(text: str, rng: random.Random) -> bytes:
    """Change the values of a YAML text; a text that is none is spoilt by its bytes."""
    try:
        tree = parsed(text)
    except yaml.YAMLError:
        return by_bytes(text, rng)
    return dumped(changed_tree(tree, rng))


_PARSED: dict[str, Any] = {}


def parsed(text: str) -> Any:
    """Values of a YAML text, all of them text."""
    if text not in _PARSED:
        _PARSED[text] = yaml.load(text, getattr(yaml, "CBaseLoader", yaml.BaseLoader))
    return _PARSED[text]


class _Plain(getattr(yaml, "CSafeDumper", yaml.SafeDumper)):  # type: ignore[misc]
    """Writes everything out: an anchor is one of the mutations, not a habit of the writer."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def dumped(data: Any) -> bytes:
    """Write values as YAML."""
    text = yaml.dump(data, Dumper=_Plain, sort_keys=False, allow_unicode=True, width=100)
    return str(text).encode("utf-8", "surrogatepass")


def table_spoilt(text: str, rng: random.Random) -> bytes:
    """Spoil a CSV text: by cells as often as by bytes and lines."""
    if rng.random() < 0.5:
        way: Callable[[str, random.Random], bytes] = rng.choice(
            (by_bytes, by_lines, by_encoding, by_nesting)
        )
        return way(text, rng)
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(rng.randint(1, 3)):
        row = rng.choice(rows)
        at = rng.randrange(len(row))
        row[at] = rng.choice((*WORDS, *NUMBERS, numbered(row[at], rng)))
    return "\n".join(",".join(row) for row in rows).encode("utf-8", "surrogatepass")
