"""The reference page of the commands, made from the commands themselves."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Protocol

_HEAD = """# Commands

Made by `python docs/reference/make_commands.py`; a test keeps it equal to the commands.

Data goes to stdout, everything else to stderr. A progress line with the time to go appears on
stderr when that is a terminal. With `NO_COLOR` or `TERM=dumb` there is no emphasis and no progress
line. Texts fit `COLUMNS`, or the terminal, between 40 and 80 columns; a path is never broken, and a
problem of a file stays on one line. Signs that the encoding of a stream lacks are shown as escapes
(`\\u2264`), in JSON as JSON does.

A reader that leaves early (`| head`) ends the command with 74 and no word; a full disk does with
one. A stdout that is closed swallows what is printed, as `/dev/null` does. A stderr that cannot be
written to stops nothing.

| exit code | means |
| --- | --- |
| 0 | done |
| 1 | finished, with failed rows or failed checks |
| 2 | the command line cannot be meant |
| 3 | `faults` is done, and what it tells first is held against the procedure |
| 65 | a scenario, or a dataset of another study or version, that cannot be used |
| 73, 74 | nowhere to write to; reading or writing broke off |
| 75 | locked by another process, or stopped half way: the same command resumes |
| 130 | interrupted |
"""


class Parameter(Protocol):
    """What the page shows of an argument or option."""

    name: str
    param_type_name: str  # argument or option
    nargs: int  # -1: any number
    required: bool
    is_flag: bool  # an argument has none
    opts: list[str]
    default: object
    help: str | None


class Command(Protocol):
    """What the page shows of a command."""

    name: str
    help: str
    params: list[Parameter]


def commands_page() -> str:
    """Give the page as Markdown."""
    import typer

    from edgewear.cli.commands import app

    commands: dict[str, Any] = getattr(typer.main.get_command(app), "commands")  # noqa: B009
    return "\n".join([_HEAD, *(line for name in commands for line in _any(commands[name]))])


def _any(command: Command) -> Iterator[str]:
    """Give the lines about a command, or about a word with commands of its own."""
    inner = getattr(command, "commands", None)
    if inner is None:
        yield from _command(command)
        return
    yield from (f"## {command.name}", "", " ".join(command.help.split()), "")
    for name in inner:
        yield from _command(inner[name], command.name)


def _command(command: Command, word: str = "") -> Iterator[str]:
    """Give the lines about one command; `word` goes before it where it belongs to a group."""
    arguments = [p for p in command.params if p.param_type_name == "argument"]
    name = f"{word} {command.name}".strip()
    usage = " ".join(["edgewear", name, *map(_placeholder, arguments)])
    yield from (
        f"##{'#' * bool(word)} {name}",
        "",
        f"`{usage}`",
        "",
        " ".join(command.help.split()),
        "",
    )
    yield from ("| | default | |", "| --- | --- | --- |")
    for parameter in command.params:
        default = _default(parameter)
        yield f"| `{_spelling(parameter)}` | {default} | {parameter.help or ''} |"
    yield ""


def _placeholder(argument: Parameter) -> str:
    """Give an argument as usage lines write it."""
    name = argument.name.upper() + ("..." if argument.nargs == -1 else "")
    return name if argument.required else f"[{name}]"


def _spelling(parameter: Parameter) -> str:
    """Give a parameter as it is typed."""
    if parameter.param_type_name == "argument":
        return _placeholder(parameter)
    value = "" if parameter.is_flag else f" {parameter.name.upper()}"
    return ", ".join(parameter.opts) + value


def _default(parameter: Parameter) -> str:
    """Give what is taken where nothing is typed; nothing for flags."""
    if getattr(parameter, "is_flag", False) or parameter.required or parameter.default is None:
        return ""
    return str(parameter.default)
