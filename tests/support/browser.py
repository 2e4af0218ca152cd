"""A headless browser for tests of pages: the system's chromium, offline, with many fonts or few."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page

NOBODY = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
"""No name is found; a server on this machine may be asked by its number."""

FLAGS = ["--no-sandbox", "--disable-gpu", NOBODY]

FEW_FONTS = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>{folder}</dir><cachedir>{folder}/cache</cachedir></fontconfig>
"""
"""A font configuration that knows one folder and nothing of the machine."""


def binary() -> str | None:
    """Path of the browser; None where there is none."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)


def few_fonts(folder: Path) -> dict[str, str]:
    """Environment of a machine that has one font for everything: a wide one where there is one."""
    fonts = sorted(Path("/usr/share/fonts").rglob("*.ttf"))
    wide = [font for font in fonts if "Mono" in font.name] or fonts
    shutil.copy(wide[0], folder)
    (folder / "fonts.conf").write_text(FEW_FONTS.format(folder=folder))
    return {"FONTCONFIG_FILE": str(folder / "fonts.conf")}


class Browser:
    """One tab, with what the page complained of and asked for since it was opened."""

    def __init__(self, launched: Any) -> None:
        """Take over a browser that playwright has launched."""
        self._launched = launched
        self._page: Page | None = None
        self.complaints: list[str] = []
        self.requests: list[str] = []

    @property
    def page(self) -> Page:
        """The page that is open."""
        if self._page is None:
            raise RuntimeError("no page is open")
        return self._page

    def open(self, path: Path, width: int = 1280, dark: bool = False, scripts: bool = True) -> None:
        """Open a file at a width [px] and colour scheme; forgets earlier complaints."""
        self.visit(path.as_uri(), width, dark, scripts)

    def visit(
        self, address: str, width: int = 1280, dark: bool = False, scripts: bool = True
    ) -> None:
        """Open an address in the same way."""
        self.close()
        context = self._launched.new_context(
            viewport={"width": width, "height": 900},
            color_scheme="dark" if dark else "light",
            java_script_enabled=scripts,
        )
        self.complaints.clear()
        self.requests.clear()
        self._page = context.new_page()
        self._page.on("console", lambda message: self.complaints.append(message.text))
        self._page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self._page.on("request", lambda request: self.requests.append(request.url))
        self._page.goto(address)

    def close(self) -> None:
        """Close the page that is open, if one is."""
        if self._page is not None:
            self._page.context.close()
            self._page = None

    def value(self, expression: str) -> Any:
        """Evaluate an expression in the page; a promise is waited for."""
        return self.page.evaluate(expression)

    def paper(self) -> bytes:
        """The page as it prints (PDF), on the paper its style asks for."""
        return self.page.pdf(prefer_css_page_size=True, print_background=False)


@contextmanager
def launched(*environments: dict[str, str]) -> Iterator[list[Browser]]:
    """A running browser for each environment that is added to this process's own."""
    from playwright.sync_api import sync_playwright  # a second, which most tests need not wait

    with sync_playwright() as playwright:
        started = [
            playwright.chromium.launch(
                executable_path=binary(), args=FLAGS, env={**os.environ, **environment}
            )
            for environment in environments
        ]
        running = [Browser(one) for one in started]
        yield running
        for browser, one in zip(running, started, strict=True):
            browser.close()
            one.close()
