"""Opening a board: the file held, a free port of this machine, a secret, the browser."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable
from pathlib import Path

from edgewear.board.editing.kept_file import KeptFile
from edgewear.board.editing.session import Session
from edgewear.errors import UsageError


def serve(
    path: Path,
    port: int = 0,
    workers: int | None = None,
    ready: Callable[[str], object] = lambda address: None,
) -> None:
    """Serve a board until it is interrupted.

    Parameters:
        path: of the scenario; where there is none, questions lead to one.
        port: of this machine; 0 takes a free one.
        workers: processes; None: one a processor, four at most.
        ready: given the address, with its secret, once somebody listens there.

    Raises:
        ScenarioError: the file cannot be read.
        Locked: another board has it open.
        UsageError: the extra is not installed, or the port is taken.
    """
    try:
        import uvicorn

        from edgewear.board.server import Routes, application
    except ImportError as error:
        raise UsageError("the board needs more packages: pip install 'edgewear[board]'") from error
    from edgewear.board.shown import Board

    file = KeptFile(path)
    if path.exists():
        file.read()
    with file.held(), _listening(port) as listening:
        taken = listening.getsockname()[1]
        token = secrets.token_urlsafe(24)
        routes = Routes(file, lambda: Board(Session.open(file), workers))
        app = application(routes, token, taken)
        config = uvicorn.Config(
            app, log_level="critical", access_log=False, lifespan="on", ws="none",
            server_header=False, timeout_graceful_shutdown=2, h11_max_incomplete_event_size=32_000,
        )  # fmt: skip
        ready(f"http://127.0.0.1:{taken}/{token}/")

        class Server(uvicorn.Server):
            """A server whose pages are let go before it waits for them."""

            async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
                """End, without waiting for streams that never do."""
                routes.hang_up()
                await super().shutdown(sockets)

        Server(config).run(sockets=[listening])


def _listening(port: int) -> socket.socket:
    """Listen on this machine alone.

    Raises:
        UsageError: the port is taken.
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind(("127.0.0.1", port))
    except OSError as error:
        found.close()
        raise UsageError(f"port {port}: {error.strerror}") from error
    found.listen(32)
    return found
