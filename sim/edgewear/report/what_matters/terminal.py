"""Which inputs decide an outcome, on a terminal."""

from __future__ import annotations

from typing import TextIO

from edgewear.cautions import LAW_FIRST, PROJECTION
from edgewear.findings.inquiries.what_matters import OptionInfluences, WhatMatters
from edgewear.report.terminal.console import Console
from edgewear.report.what_matters import words as said


def print_what_matters(found: WhatMatters, stream: TextIO, width: int = 80) -> None:
    """Write each option's most important inputs, then how to read them.

    Parameters:
        found: what was found; stream: text; width: columns.
    """
    console = Console(stream, width)
    console.text(found.title, strong=True)
    console.text(f"{said.headline(found)}.")
    console.text(f"{PROJECTION} {LAW_FIRST}")
    for option in found.options:
        console.heading(option.option)
        _option(console, option, found)
    if found.left_out:
        console.heading(said.LEFT_OUT)
    for left_out in found.left_out:
        console.text(left_out.words, "  ", "    ")
    console.line()
    console.text(said.EXPLAINED)
    if any(one.along_with for option in found.options for one in said.named(option)):
        console.text(said.TOGETHER)


def _option(console: Console, option: OptionInfluences, found: WhatMatters) -> None:
    console.text(said.spread(option, found), "  ", "    ")
    for group in said.groups(option):
        console.text(group, "  ", "    ")
    for one in said.named(option):
        console.text(one.address, "  ", "    ", strong=True)
        console.text(said.influence(one), "    ")
    console.text(said.unexplained(option), "  ", "    ")
