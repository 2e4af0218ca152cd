"""Commands about the installation itself."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import Annotated, Any, Protocol

import typer

from edgewear.cli.app import Json, Quiet, Seed, app
from edgewear.cli.terminal import emit
from edgewear.errors import UsageError


class _Found(Protocol):
    """What a check hands back."""

    @property
    def ok(self) -> bool: ...
    def as_json(self) -> dict[str, Any]: ...
    def lines(self) -> Iterable[str]: ...


@app.command("self-check")
def self_check(
    verify: Annotated[
        bool, typer.Option("--verify", help="Hold the equations against exact answers.")
    ] = False,
    full: Annotated[bool, typer.Option("--full", help="With --verify: every row.")] = False,
    observations: Annotated[
        bool, typer.Option("--observations", help="Hold the wear law against what was seen.")
    ] = False,
    seed: Seed = 0,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Look at the installation. Versions, caches, a small run against its closed form."""
    if full and not verify:
        raise UsageError("self-check: --full goes with --verify")
    if verify and observations:
        raise UsageError("self-check: either --verify or --observations")
    found = _verified(full) if verify else _observations(seed) if observations else _installation()
    if json:
        emit(found.as_json())
    else:
        print("\n".join(found.lines()))
    if not found.ok and not quiet:
        print("something is not as it should be", file=sys.stderr)
    raise typer.Exit(0 if found.ok else 1)


def _installation() -> _Found:
    from edgewear.validation.self_check import self_check

    return self_check()


def _verified(full: bool) -> _Found:
    from edgewear.validation.exact.verify import verify

    return verify(full)


def _observations(seed: int) -> _Found:
    from edgewear.validation.observations import observations

    return observations(seed=seed)
