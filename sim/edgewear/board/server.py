"""The small server of a board: this machine only, a secret in every address, nothing let out."""

from __future__ import annotations

import asyncio
import hmac
import io
import json
import zipfile
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from edgewear.board import page
from edgewear.board.editing import guided
from edgewear.board.editing.changes import Asked, Changes, HowFar, Look
from edgewear.board.editing.kept_file import KeptFile
from edgewear.board.editing.session import Behind
from edgewear.board.shown import Board, refusal
from edgewear.errors import EdgewearError
from edgewear.report.formats.html import asset

M = TypeVar("M", bound=BaseModel)

HTML = "text/html; charset=utf-8"

MOST_BYTES = 64_000
"""Of a message; a whole scenario's worth of fields is less."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; "
    "frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


class Guard:
    """Refuses what does not come from a page of this board on this machine."""

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        """Remember what every address must hold, and where the board is."""
        self._app, self._token = app, token
        self._hosts = {f"{name}:{port}" for name in ("127.0.0.1", "localhost")}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it with a word."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        refused = self._refused(scope)
        if refused is not None:
            code, told = refused
            response = PlainTextResponse(told, code, {**HEADERS, "Connection": "close"})
            await response(scope, receive, send)
            return
        await self._app(self._inside(scope), receive, _with_headers(send))

    def _refused(self, scope: Scope) -> tuple[int, str] | None:
        headers = [(key.lower(), value) for key, value in scope["headers"]]
        hosts = [value.decode("latin-1") for key, value in headers if key == b"host"]
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return 403, "refused: another host\n"
        origins = [value.decode("latin-1") for key, value in headers if key == b"origin"]
        if any(origin != f"http://{hosts[0]}" for origin in origins):
            return 403, "refused: another origin\n"
        sites = [value for key, value in headers if key == b"sec-fetch-site"]
        if any(site not in (b"same-origin", b"none") for site in sites):
            return 403, "refused: another site\n"
        if scope["method"] not in ("GET", "HEAD") and not origins:
            return 403, "refused: no origin\n"
        first = scope["path"].split("/", 2)[1] if scope["path"].startswith("/") else ""
        if not hmac.compare_digest(first.encode(), self._token.encode()):
            return 403, "refused: no token; open the address that the command printed\n"
        return None

    def _inside(self, scope: Scope) -> Scope:
        """Take the secret off the path."""
        path = scope["path"][len(self._token) + 1 :] or "/"
        return {**scope, "path": path, "raw_path": path.encode(), "root_path": ""}


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            known = {key.lower() for key, _ in message["headers"]}
            more = [
                (key.lower().encode(), value.encode())
                for key, value in HEADERS.items()
                if key.lower().encode() not in known
            ]
            message = {**message, "headers": [*message["headers"], *more]}
        await send(message)

    return sent


class Refused(Exception):
    """A message that no page of ours sends."""


async def message(request: Request, model: type[M]) -> M:
    """Read what a page has sent.

    Raises:
        Refused: too long, no JSON, or not what is due.
    """
    if request.headers.get("content-type", "").split(";")[0].strip() != "application/json":
        raise Refused("JSON is due")
    body = bytearray()
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > MOST_BYTES:
                raise Refused("too long")
        return model.model_validate(json.loads(body.decode()))
    except (ValueError, ValidationError, RecursionError, ClientDisconnect) as error:
        raise Refused("not a message of this board") from error


Handler = Callable[[Request], Awaitable[Response]]


def answering(handler: Handler) -> Handler:
    """Turn refusals into answers that a page can show."""

    async def answered(request: Request) -> Response:
        try:
            return await handler(request)
        except Refused as error:
            return JSONResponse({"told": f"refused: {error}", "problems": []}, 400)
        except Behind as error:
            return JSONResponse(refusal(error), 409)
        except EdgewearError as error:
            return JSONResponse(refusal(error), 422)

    return answered


class Routes:
    """What a board answers to; before there is a file, a guided start."""

    def __init__(self, file: KeptFile, open_board: Callable[[], Board]) -> None:
        """Remember which file it is about, and how its board is opened once it is there."""
        self._file, self._open = file, open_board
        self._board: Board | None = None
        self._watching: asyncio.Task[None] | None = None
        self._beginning = asyncio.Lock()

    @property
    def board(self) -> Board:
        """The board.

        Raises:
            Refused: there is no file yet.
        """
        if self._board is None:
            raise Refused("there is no scenario yet")
        return self._board

    async def open(self) -> None:
        """Open the board of a file that is there."""
        if self._board is None and self._file.path.exists():
            self._board = self._open()
            self._watching = asyncio.create_task(self._board.watch())
            await self._board.begin()

    def hang_up(self) -> None:
        """Let every page go: the server is about to end."""
        if self._board is not None:
            self._board.hang_up()

    def close(self) -> None:
        """Let everything go."""
        if self._watching is not None:
            self._watching.cancel()
        if self._board is not None:
            self._board.close()

    async def begin(self, request: Request) -> Response:
        """Write a new file from answers, and open its board."""
        asked = await message(request, guided.Answered)
        async with self._beginning:
            if self._board is not None:
                raise Refused("the file is there already")
            found = await asyncio.to_thread(guided.begun, asked.answers, str(self._file.path))
            if found.wrong:
                told = "Nothing is written yet: some answers are missing or cannot be meant."
                return JSONResponse({"told": told, "problems": [], "wrong": found.wrong}, 422)
            self._file.create(found.text)
            await self.open()
        return JSONResponse({"told": "written", "problems": []})

    async def page(self, request: Request) -> Response:
        """Give the page as things are now; it needs no script to be read."""
        if self._board is None:
            return Response(page.start(self._file.path.name), media_type=HTML)
        shown = await asyncio.to_thread(page.whole, self.board)
        return Response(shown, media_type=HTML)

    async def events(self, request: Request) -> Response:
        """Tell a page what changes, for as long as it is open."""
        board = self.board
        return StreamingResponse(board.listen(), media_type="text/event-stream")

    async def change(self, request: Request) -> Response:
        """Make changes; the drawing of the option that is looked at comes back at once."""
        asked = await message(request, Changes)
        board = self.board
        state = await board.change(lambda: board.session.change(asked.revision, asked.changes))
        return JSONResponse({"state": state})

    async def look(self, request: Request) -> Response:
        """Draw an option with changes that are not made."""
        asked = await message(request, Look)
        narrow = request.query_params.get("narrow") == "1"
        found = await self.board.look(asked.changes, asked.option, narrow, asked.hold)
        return JSONResponse({**found, "ask": asked.ask})

    async def how_far(self, request: Request) -> Response:
        """Say how far something may be moved before an option misses the target."""
        return JSONResponse(await self.board.how_far(await message(request, HowFar)))

    def step(self, name: str) -> Handler:
        """Give the handler of something that needs no values: undo, redo, save ..."""

        async def handler(request: Request) -> Response:
            asked = await message(request, Asked)
            do = getattr(self.board.session, name)
            return JSONResponse({"state": await self.board.change(lambda: do(asked.revision))})

        return handler

    async def asset(self, request: Request) -> Response:
        """Give one of the files that belong to the page."""
        name = request.path_params["name"]
        kind = ASSETS.get(name)
        if kind is None:
            return PlainTextResponse("nothing is there\n", 404)
        return Response(read_asset(name), media_type=kind)

    async def report(self, request: Request) -> Response:
        """Give the last settled report, whole."""
        return self._written("report.html", HTML)

    async def card(self, request: Request) -> Response:
        """Give a card of the last settled report."""
        return self._written(f"cards/option-{request.path_params['place']}.html", HTML)

    async def dataset(self, request: Request) -> Response:
        """Give the last settled dataset as one file."""
        folder = self._folder()
        if folder is None:
            return PlainTextResponse(page.NOTHING_SETTLED, 404)
        name = f"{self.board.session.file.path.stem}.zip"
        safe = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)
        packed = await asyncio.to_thread(_packed, folder)
        heads = {"Content-Disposition": f'attachment; filename="{safe}"'}
        return Response(packed, media_type="application/zip", headers=heads)

    def _folder(self) -> Path | None:
        found = self.board.settled
        return None if found is None else Path(found)

    def _written(self, name: str, kind: str) -> Response:
        folder = self._folder()
        if folder is None:
            return Response(page.nothing_settled(), 404, media_type=HTML)
        with suppress(OSError):
            content = (folder / name).read_bytes()
            # the page carries its own, stricter policy; it lets only its own styles and script in
            policy = {"Content-Security-Policy": "frame-ancestors 'self'; form-action 'none'"}
            return Response(content, media_type=kind, headers=policy)
        return PlainTextResponse("nothing is there\n", 404)


ASSETS = {
    "icon.svg": "image/svg+xml",
    "start.js": "text/javascript; charset=utf-8",
    "board.js": "text/javascript; charset=utf-8",
    "board.css": "text/css; charset=utf-8",
    "page.css": "text/css; charset=utf-8",
    "picture.css": "text/css; charset=utf-8",
}


def read_asset(name: str) -> str:
    """Read a file of the page that is packed with the program."""
    if name in ("page.css", "picture.css"):
        return asset(name)
    return resources.files("edgewear.board").joinpath("static", name).read_text("utf-8")


def _packed(folder: Path) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as packed:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                packed.write(path, path.relative_to(folder).as_posix())
    return held.getvalue()


STEPS = {
    "undo": "undo",
    "redo": "redo",
    "save": "save",
    "take-file": "take_file",
    "put-on-top": "put_on_top",
}


def application(routes: Routes, token: str, port: int) -> ASGIApp:
    """Give what the server serves.

    Parameters:
        routes: what is answered; token: in every address; port: where it listens.
    """

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        await routes.open()
        try:
            yield
        finally:
            routes.close()

    posts: dict[str, Handler] = {
        "change": routes.change,
        "look": routes.look,
        "begin": routes.begin,
        "how-far": routes.how_far,
    }
    posts |= {path: routes.step(name) for path, name in STEPS.items()}
    table: list[Any] = [
        Route("/", routes.page),
        Route("/events", answering(routes.events)),
        Route("/assets/{name}", routes.asset),
        Route("/report.html", answering(routes.report)),
        Route("/cards/{place:int}", answering(routes.card)),
        Route("/dataset.zip", answering(routes.dataset)),
        *(Route(f"/{path}", answering(one), methods=["POST"]) for path, one in posts.items()),
    ]
    return Guard(Starlette(routes=table, lifespan=life), token, port)
