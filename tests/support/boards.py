"""What tests of the board share: a scenario on disk, and requests without a browser."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from edgewear.board.editing.kept_file import KeptFile
from edgewear.board.editing.session import Session
from edgewear.board.server import Routes, application
from edgewear.board.shown import Board
from edgewear.findings.inquiries.how_far import End, Limit, Place, Stretch
from support.tree import ROOT

DEMO = ROOT / "scenarios" / "demo.yaml"
PORT, TOKEN = 4242, "a-token-of-the-tests"
HOST = f"127.0.0.1:{PORT}"

SMALL = """\
# what was paced on the day
edgewear: 1
title: Ladder bay
setting: test
target: 40 %   # as agreed
anchors:
  bollard: {out: paced 6 m back, up: 0.2 m, kind: pair}   # behind the hut
edges:
  lip: {out: 0 m, up: 0 m, is: worn masonry arris}
ropes:
  blue: {like: low-stretch 11, length: 40 m}
people:
  hand: {mass: 80 kg, technique: normal}
options:
  padded:
    anchor: bollard
    rope: blue
    protect: {lip: pad}    # the only pad
  bare:
    anchor: bollard
    rope: blue
job:
  - descend: 4 m
  - ascend: 2 m
"""
"""A scenario whose whole comparison takes a second or two."""


def opened(folder: Path, text: str | None = None) -> Session:
    """A session of a scenario in a folder; the demo's text if none is given."""
    path = folder / "job.yaml"
    path.write_text(DEMO.read_text() if text is None else text)
    return Session.open(KeptFile(path))


class Answered(NamedTuple):
    """What a request came to."""

    code: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The body as JSON."""
        return json.loads(self.body)


async def request(
    app: Any,
    method: str,
    path: str,
    body: bytes = b"",
    headers: Mapping[str, str | None] | None = None,
) -> Answered:
    """One request to an application, as a server would hand it over.

    Parameters:
        headers: beside those of a page of the board; None takes one of them away.
    """
    usual: dict[str, str | None] = {"host": HOST}
    if method == "POST":
        usual |= {"origin": f"http://{HOST}", "content-type": "application/json"}
    kept = {k: v for k, v in {**usual, **(headers or {})}.items() if v is not None}
    where, _, query = path.partition("?")
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "scheme": "http", "path": where, "raw_path": where.encode(), "root_path": "",
        "query_string": query.encode(), "client": ("127.0.0.1", 1), "server": ("127.0.0.1", PORT),
        "headers": [(k.encode("latin-1"), v.encode("latin-1")) for k, v in kept.items()],
    }  # fmt: skip
    sent: list[Any] = []
    given = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> Any:
        return given.pop() if given else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    await app(scope, receive, send)
    heads = {k.decode().lower(): v.decode() for k, v in sent[0]["headers"]}
    whole = b"".join(one.get("body", b"") for one in sent[1:])
    return Answered(sent[0]["status"], heads, whole)


def post(app: Any, path: str, document: object) -> Answered:
    """Send a message as a page does."""
    return asyncio.run(request(app, "POST", f"/{TOKEN}/{path}", json.dumps(document).encode()))


class Quiet:
    """Answers that nobody computes: it notes what is asked."""

    def __init__(self) -> None:
        """Nothing is asked yet."""
        self.asked: list[tuple[str, bool]] = []

    def ask(self, scenario: Any, settles: bool = True) -> int:
        """Note a question."""
        self.asked.append((scenario.source, settles))
        return len(self.asked)

    async def limit(self, scenario: Any, option: str, address: str, span: str, tried: Any) -> Limit:
        """Find that it may go half way on, and no further."""
        low, high = (float(end.removesuffix(" m")) for end in span.split(".."))
        middle, inside = (low + high) / 2, (low + 3 * high) / 4
        places = tuple(Place(v, 0.7, 0.6, 0.8, v < inside) for v in (low, middle, high))
        for one in places:
            tried(one)
        most = End(inside, high, inside, inside)
        stretch = Stretch(End(low, None, low, None), most)
        return Limit(option, address, "m", "length", middle, (low, high), (stretch,), places, None)

    def warm(self, scenario: Any) -> None:
        """Nobody to start."""

    def drop(self) -> None:
        """Nothing is under way."""


def application_of(board: Board) -> Any:
    """What serves a board; its file is read already."""
    routes = Routes(board.session.file, lambda: board)
    routes._board = board
    return application(routes, TOKEN, PORT)


def quiet_board(session: Session) -> Board:
    """A board whose trials nobody plays."""
    board = Board(session, workers=1)
    board.answers.close()
    board.answers = Quiet()  # type: ignore[assignment]
    return board
