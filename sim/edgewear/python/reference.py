"""The page about the Python interface, written from docstrings and signatures."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator

Member = Callable[..., object] | property

HEAD = """<!-- made by `python docs/reference/make_python.py`; edit the docstrings -->

# Python

[Compute from Python](../how-to/compute-from-python.md) shows how these are used.
"""


def page() -> str:
    """Write the page."""
    import edgewear

    parts = [HEAD]
    for name in edgewear.__all__:
        value = getattr(edgewear, name)
        if inspect.isfunction(value):
            parts += _entry("##", name, value)
        elif inspect.isclass(value) and value.__module__.split(".")[1:2] == ["python"]:
            parts.append(f"## {name}\n\n{inspect.cleandoc(value.__doc__ or '')}\n")
            for inner, member in _members(value):
                parts += _entry("###", f"{name}.{inner}", member)
    return "\n".join(parts)


def _members(owner: type) -> Iterator[tuple[str, Member]]:
    """Public methods and properties of a class, in the order they stand in it."""
    for name, member in vars(owner).items():
        bare = getattr(member, "__func__", getattr(member, "fget", member))
        if not name.startswith("_") and inspect.isfunction(bare):
            yield name, member if isinstance(member, property) else bare


def _entry(mark: str, name: str, value: Member) -> list[str]:
    """Heading, signature and docstring."""
    if isinstance(value, property):
        return [f"{mark} {name}\n", f"{inspect.cleandoc(value.__doc__ or '')}\n"]
    shown = str(inspect.signature(value)).replace("'", "")
    text = inspect.cleandoc(value.__doc__ or "")
    return [f"{mark} {name}\n", f"```\n{name}{shown}\n```\n", f"```text\n{text}\n```\n"]
