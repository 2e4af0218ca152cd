"""Commands about the installation itself."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import Annotated, Any, Protocol

import typer

from edgewear.cli.app import Json, Quiet, Seed, app
from edgewear.cli.terminal import emit, say
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
    compile: Annotated[
        bool, typer.Option("--compile", help="Compile the kernels now; how long it took.")
    ] = False,
    seed: Seed = 0,
    json: Json = False,
    quiet: Quiet = False,
) -> None:
    """Look at the installation. Versions, caches, a small run against its closed form."""
    if full and not verify:
        raise UsageError("self-check: --full goes with --verify")
    if verify + observations + compile > 1:
        raise UsageError("self-check: one of --verify, --observations and --compile")
    found = _looked_at(verify, full, observations, compile, seed)
    if json:
        emit(found.as_json())
    else:
        say(*found.lines())
    if not found.ok and not quiet:
        print("something is not as it should be", file=sys.stderr)
    raise typer.Exit(0 if found.ok else 1)


def _looked_at(verify: bool, full: bool, observations: bool, compile: bool, seed: int) -> _Found:
    """Look at what was asked for; by default at the installation."""
    if verify:
        from edgewear.validation.exact.verify import verify as verified

        return verified(full)
    if observations:
        from edgewear.validation.observations import observations as observed

        return observed(seed=seed)
    if compile:
        from edgewear.validation.first_compile import first_compile

        return first_compile()
    from edgewear.validation.self_check import self_check as installation

    return installation()
