"""A headless browser driven through its debugging pipe, for tests of pages."""

from __future__ import annotations

import base64
import fcntl
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--hide-scrollbars",
)


def binary() -> str | None:
    """Path of the browser; None where there is none."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)


class Browser:
    """A running browser with one tab."""

    def __init__(self) -> None:
        """Start it with a new profile and name resolution blocked."""
        self._profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        to_read, self._to = os.pipe()
        self._from, to_write = os.pipe()
        ends = [fcntl.fcntl(end, fcntl.F_DUPFD, 20) for end in (to_read, to_write)]
        command = [str(binary()), *FLAGS, "--remote-debugging-pipe"]
        command += [f"--user-data-dir={self._profile.name}", "about:blank"]
        self._process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            close_fds=False,
            preexec_fn=_hand_over(*ends),
        )
        for end in (to_read, to_write, *ends):
            os.close(end)
        self._buffer = b""
        self._last = 0
        self._session: str | None = None
        self.events: list[dict[str, Any]] = []
        targets = self.call("Target.getTargets")["targetInfos"]
        tab = next(target for target in targets if target["type"] == "page")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=tab, flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network", "DOM"):
            self.call(f"{domain}.enable")

    def close(self) -> None:
        """End the browser and remove its profile."""
        self._session = None
        self.call("Browser.close")
        self._process.wait(20)
        os.close(self._to)
        os.close(self._from)
        self._profile.cleanup()

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Call a method of the debugging protocol and wait for its answer."""
        self._last += 1
        message = {"id": self._last, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._to, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._last:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return dict(answer["result"])
            self.events.append(answer)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._buffer:
            part = os.read(self._from, 1 << 20)
            if not part:
                raise RuntimeError("the browser closed its pipe")
            self._buffer += part
        message, self._buffer = self._buffer.split(b"\0", 1)
        return dict(json.loads(message))

    def wait_for(self, method: str) -> dict[str, Any]:
        """Wait until an event was reported since the last `open`."""
        for event in self.events:
            if event.get("method") == method:
                return event
        while True:
            event = self._next()
            self.events.append(event)
            if event.get("method") == method:
                return event

    def open(self, path: Path, width: int = 1280, dark: bool = False, scripts: bool = True) -> None:
        """Open a file at a width and colour scheme; forgets earlier events."""
        self.call("Emulation.setScriptExecutionDisabled", value=not scripts)
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=900, deviceScaleFactor=1, mobile=width < 600,
        )  # fmt: skip
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", media="", features=[scheme])
        self.events.clear()
        self.call("Page.navigate", url=path.as_uri())
        self.wait_for("Page.loadEventFired")

    def complaints(self) -> list[str]:
        """Console messages and log entries since the page was opened."""
        self.value("1")
        kinds = ("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
        return [json.dumps(e["params"]) for e in self.events if e.get("method") in kinds]

    def requests(self) -> list[str]:
        """Addresses asked for since the page was opened."""
        self.value("1")
        return [
            event["params"]["request"]["url"]
            for event in self.events
            if event.get("method") == "Network.requestWillBeSent"
        ]

    def value(self, expression: str) -> Any:
        """Evaluate an expression in the page; a promise is waited for."""
        answer = self.call(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in answer:
            raise RuntimeError(json.dumps(answer["exceptionDetails"])[:2000])
        return answer["result"].get("value")

    def picture(self) -> bytes:
        """A picture of the whole page (PNG)."""
        size = self.call("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1}
        answer = self.call("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)
        return base64.b64decode(answer["data"])

    def paper(self) -> bytes:
        """The page as it prints (PDF), on the paper its style asks for."""
        answer = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        return base64.b64decode(answer["data"])


def _hand_over(to_read: int, to_write: int) -> Callable[[], None]:
    def hand_over() -> None:
        os.dup2(to_read, 3)
        os.dup2(to_write, 4)

    return hand_over
