"""The page about the commands says what the commands say."""

from __future__ import annotations

from edgewear.cli.reference import commands_page
from support.tree import ROOT

PAGE = ROOT / "docs" / "reference" / "commands.md"


def test_the_page_is_what_the_commands_say() -> None:
    assert PAGE.read_text() == commands_page()
