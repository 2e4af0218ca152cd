"""What the server lets in and out: this machine, this page, plain messages; nothing else."""

from __future__ import annotations

import asyncio
import json
import os
import random
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from edgewear.board.editing.kept_file import KeptFile
from edgewear.board.editing.session import Session
from edgewear.board.server import MOST_BYTES, Routes, application
from edgewear.board.shown import Board
from edgewear.scenario import load_scenario
from support.boards import (
    HOST,
    PORT,
    TOKEN,
    Answered,
    application_of,
    opened,
    post,
    quiet_board,
    request,
)

POSTS = ("change", "look", "undo", "redo", "save", "take-file", "put-on-top", "begin", "how-far")


@pytest.fixture
def board(tmp_path: Path) -> Board:
    return quiet_board(opened(tmp_path))


@pytest.fixture
def app(board: Board) -> Any:
    return application_of(board)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """An application for those who are refused; at the end nothing has been touched."""
    folder = tmp_path_factory.mktemp("shared")
    held = quiet_board(opened(folder))
    before = files(folder)
    yield application_of(held)
    assert files(folder) == before
    assert held.session.revision == 0


def get(app: Any, path: str, **headers: str | None) -> Answered:
    named = {key.replace("_", "-"): value for key, value in headers.items()}
    return asyncio.run(request(app, "GET", path, headers=named))


def files(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in sorted(folder.iterdir())}


def test_the_page_comes_with_a_policy_and_names_nobody_else(app: Any) -> None:
    found = get(app, f"/{TOKEN}/")
    assert found.code == 200
    assert "default-src 'none'" in found.headers["content-security-policy"]
    assert "unsafe" not in found.headers["content-security-policy"]
    assert found.headers["referrer-policy"] == "no-referrer"
    page = found.body.decode()
    assert "A projection, not permission" in page
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")  # every address is its own
    assert TOKEN not in page


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"host": "evil.example:4242"},
        {"host": None},
        {"host": f"127.0.0.1:{PORT + 1}"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": f"https://{HOST}"},
        {"origin": f"http://localhost:{PORT}"},  # another origin than the host that is asked
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_another_host_origin_or_site_is_refused(
    shared: Any, headers: dict[str, str | None]
) -> None:
    body = json.dumps({"revision": 0}).encode()
    for path in ("", "events", "report.html", *POSTS):
        method = "POST" if path in POSTS else "GET"
        found = asyncio.run(request(shared, method, f"/{TOKEN}/{path}", body, headers))
        assert found.code == 403


@pytest.mark.parametrize("name", POSTS)
def test_a_message_without_an_origin_is_refused(shared: Any, name: str) -> None:
    body = json.dumps({"revision": 0}).encode()
    found = asyncio.run(request(shared, "POST", f"/{TOKEN}/{name}", body, {"origin": None}))
    assert found.code == 403


@pytest.mark.parametrize(
    "path",
    ["/", "", "/x/", f"/{TOKEN[:-1]}/", f"/{TOKEN}x/", f"/{TOKEN.upper()}/", "//", f"//{TOKEN}/",
     "/assets/board.js", f"/x/{TOKEN}/", "/../", "/%2e%2e/"],
)  # fmt: skip
def test_without_the_token_nothing_is_given(shared: Any, path: str) -> None:
    assert get(shared, path).code == 403


@pytest.mark.parametrize(
    "path",
    ["assets/../session.py", "assets/..", "assets/%2e%2e/server.py", "assets//etc/passwd",
     "assets/board.js/..", "cards/../report.html", "cards/-1", "cards/1e9", "cards/..%2f..%2fetc",
     "../../etc/passwd", "job.yaml", ".job.yaml.draft", "assets/", "dataset.zip", "report.html",
     "cards/1", "assets/page.css\x00", "static/board.js", "assets/board.JS"],
)  # fmt: skip
def test_no_path_leads_out(shared: Any, path: str) -> None:
    found = get(shared, f"/{TOKEN}/{path}")
    assert found.code == 404
    assert b"root:" not in found.body


@pytest.mark.parametrize("name", ["board.js", "board.css", "page.css", "picture.css", "icon.svg"])
def test_what_belongs_to_the_page_is_given(shared: Any, name: str) -> None:
    assert get(shared, f"/{TOKEN}/assets/{name}").code == 200


def test_a_change_comes_back_with_the_state(app: Any, board: Board) -> None:
    change = {"do": "set", "address": "people/inspector/mass", "value": "110 kg"}
    found = post(app, "change", {"revision": 0, "changes": [change]})
    assert found.code == 200
    state = found.json["state"]
    assert (state["revision"], state["dirty"], state["undo"]) == (1, True, 1)
    fields = {f["address"]: f["value"] for g in state["groups"] for f in g["fields"]}
    assert fields["people/inspector/mass"] == "110 kg"
    assert board.answers.asked == [(board.session.now.text, True)]  # type: ignore[attr-defined]


def test_a_look_draws_and_changes_nothing(app: Any, board: Board, tmp_path: Path) -> None:
    before = files(tmp_path)
    move = {"do": "move", "section": "anchors", "name": "guard posts", "out": -4.0, "up": 0.5}
    document = {"changes": [move], "option": "posts, rollers", "hold": False, "ask": 7}
    found = post(app, "look", document)
    assert (found.code, found.json["ask"]) == (200, 7)
    assert [picture["kind"] for picture in found.json["pictures"]] == ["side", "above"]
    side = {one["name"]: one for one in found.json["pictures"][0]["handles"]}
    assert (side["guard posts"]["out"], side["guard posts"]["up"]) == pytest.approx((-4.0, 0.5))
    assert files(tmp_path) == before
    assert board.session.revision == 0


def test_a_held_drawing_keeps_its_scale(app: Any) -> None:
    def looked(out: float, hold: bool) -> dict[str, Any]:
        move = {"do": "move", "section": "anchors", "name": "lamp footings", "out": out}
        found = post(
            app, "look", {"changes": [move], "option": "footings, bare", "hold": hold, "ask": 0}
        )
        return dict(found.json["pictures"][0])

    first = looked(-18.0, False)
    held = looked(-9.0, True)
    assert held["units_per_m"] == first["units_per_m"]

    def x(picture: dict[str, Any]) -> float:
        return next(float(h["x"]) for h in picture["handles"] if h["name"] == "lamp footings")

    assert x(held) - x(first) == pytest.approx(9.0 * first["units_per_m"])
    assert looked(-9.0, False)["units_per_m"] > first["units_per_m"]


def test_a_refused_value_says_where_and_what_is_due(app: Any) -> None:
    change = {"do": "set", "address": "edges/angle/radius", "value": "4 kg"}
    found = post(app, "change", {"revision": 0, "changes": [change]})
    assert found.code == 422
    (problem,) = found.json["problems"]
    assert problem["address"] == "edges/angle/radius"
    assert "a length is due" in problem["message"]


def test_a_page_that_is_behind_is_told(app: Any) -> None:
    change = {"do": "set", "address": "target", "value": "50 %"}
    assert post(app, "change", {"revision": 0, "changes": [change]}).code == 200
    assert post(app, "change", {"revision": 0, "changes": [change]}).code == 409


WORDS: list[Any] = [
    None, True, False, 0, -1, 1.5, 1e308, 10**30, "", "x", "set", "copy", "move", "a/b", "*",
    "../..", "options/*/anchor", "\x00", "\ud800", "é" * 40, [], {}, [[]], {"do": "set"}, "NaN",
    "{", "job/1",
    "/etc/passwd", "anchors/guard posts/out", "anchors", "guard posts", "library", "edgewear",
]  # fmt: skip
KEYS = ("do", "address", "value", "section", "name", "to", "out", "along", "up", "by", "at",
        "revision", "changes", "option", "hold", "ask", "__proto__", "path")  # fmt: skip


def nonsense(rng: random.Random) -> bytes:
    """A message that is no message: wrong keys, wrong kinds, broken or huge JSON."""
    match rng.randrange(6):
        case 0:
            return rng.randbytes(rng.randint(0, 300))
        case 1:
            return b"[" * rng.randint(1, 20_000)
        case 2:
            text = json.dumps({"revision": 0, "changes": [{"do": "set"}]})
            return text[: rng.randrange(len(text))].encode()
        case 3:
            keys = rng.sample(KEYS, rng.randint(0, 6))
            return json.dumps({key: rng.choice(WORDS) for key in keys}).encode()
        case 4:
            change = {key: rng.choice(WORDS) for key in rng.sample(KEYS, rng.randint(1, 6))}
            change["do"] = rng.choice(
                ["set", "copy", "remove", "rename", "move", "deepen", "insert"]
            )
            return json.dumps({"revision": 0, "changes": [change] * rng.randint(0, 60)}).encode()
        case _:
            return b'{"revision": ' + rng.choice([b"1e999", b"-0", b"9" * 5000, b"NaN"]) + b"}"


def malformed(app: Any, session: Session, folder: Path, many: int, seed: int) -> None:
    """Send nonsense to every address; each is refused and nothing is touched."""
    rng, before = random.Random(seed), files(folder)
    for _ in range(many):
        path = rng.choice(["change", "change", "change", "look", *POSTS])
        body = nonsense(rng)
        found = asyncio.run(request(app, "POST", f"/{TOKEN}/{path}", body))
        assert 400 <= found.code < 500, body[:200]
        assert set(found.json) == {"told", "problems"}
    assert (session.revision, session.now.text) == (0, session.saved)
    assert files(folder) == before


def test_nonsense_is_refused_and_touches_nothing(app: Any, board: Board, tmp_path: Path) -> None:
    malformed(app, board.session, tmp_path, 200, 0)


@pytest.mark.long
def test_ten_thousand_pieces_of_nonsense(app: Any, board: Board, tmp_path: Path) -> None:
    malformed(app, board.session, tmp_path, 10_000, 1)


def test_a_message_that_is_too_long_or_no_json_is_refused(app: Any) -> None:
    long = b'{"revision": 0, "x": "' + b"y" * MOST_BYTES + b'"}'
    assert asyncio.run(request(app, "POST", f"/{TOKEN}/undo", long)).code == 400
    for kind in ("text/plain", "application/x-www-form-urlencoded", None):
        found = asyncio.run(
            request(app, "POST", f"/{TOKEN}/undo", b'{"revision": 0}', {"content-type": kind})
        )
        assert found.code == 400


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_no_other_method_is_known(shared: Any, method: str) -> None:
    for path in ("", "change", "save"):
        found = asyncio.run(
            request(shared, method, f"/{TOKEN}/{path}", headers={"origin": f"http://{HOST}"})
        )
        assert found.code == 405


def test_two_pages_hear_of_each_change(app: Any, board: Board) -> None:
    async def run() -> list[Any]:
        pages = [board.listen(), board.listen()]
        first = [json.loads((await anext(page))[6:]) for page in pages for _ in range(2)]
        assert [one["kind"] for one in first] == ["state", "answer"] * 2
        change = {"do": "set", "address": "target", "value": "50 %"}
        body = json.dumps({"revision": 0, "changes": [change]}).encode()
        await request(app, "POST", f"/{TOKEN}/change", body)
        told = [json.loads((await anext(page))[6:]) for page in pages]
        for page in pages:
            await page.aclose()
        return told

    assert [one["revision"] for one in asyncio.run(run())] == [1, 1]


def test_names_cannot_leave_their_markup(tmp_path: Path) -> None:
    bad = "<script>alert(1)</script>"
    session = opened(tmp_path)
    app = application_of(quiet_board(session))
    option = "footings, re-anchored"
    made = [
        {"do": "set", "address": "title", "value": bad},
        {"do": "rename", "section": "anchors", "name": "gate bolts", "to": "b<b>"},
        {"do": "set", "address": f"options/{option}/re-anchor", "value": "[b<b>]"},
        {"do": "rename", "section": "options", "name": "footings, bare", "to": '"><img src=x>'},
    ]
    assert post(app, "change", {"revision": 0, "changes": made}).code == 200
    page = get(app, f"/{TOKEN}/").body.decode()
    assert "<script>alert" not in page
    assert "<img" not in page
    look = {"changes": [], "option": option, "hold": False, "ask": 0}
    drawn = post(app, "look", look).json["pictures"][0]["svg"]
    assert "b&lt;b&gt;" in drawn
    assert "<b>" not in drawn


def test_the_file_is_watched(app: Any, board: Board, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("edgewear.board.shown.LOOKS_S", 0.01)
    path = board.session.file.path

    async def run() -> None:
        watching = asyncio.create_task(board.watch())
        path.write_text(path.read_text().replace("98 kg", "99 kg"))
        os.utime(path, ns=(1, 1))
        until = time.monotonic() + 10.0  # a stuck watch fails; a slow machine has time
        while board.session.revision == 0 and time.monotonic() < until:
            await asyncio.sleep(0.01)
        watching.cancel()

    asyncio.run(run())
    assert "99 kg" in board.session.now.text


ANSWERS = {
    "title": "Gutter bracket", "target": "60 %", "anchor": "post", "anchor out": "-2 m",
    "anchor up": "0.8 m", "other": "plant room", "other out": "paced 14 m back",
    "other up": "0.5 m", "edge": "arris", "edge is": "worn masonry arris", "down": "8 m",
    "work": "10 min", "who": "fitter", "mass": "95 kg", "rope": "low-stretch 11",
    "length": "40 m", "edge out": "0 m", "edge up": "0 m", "setting": "industrial",
    "technique": "normal", "means": "pad", "back": "climbs back up the same rope",
}  # fmt: skip


@pytest.fixture
def new(tmp_path: Path) -> Any:
    """An application for a file that is not there yet; its board plays no trials."""
    file = KeptFile(tmp_path / "new.yaml")
    return application(Routes(file, lambda: quiet_board(Session.open(file))), TOKEN, PORT)


def test_answers_become_a_file_that_can_be_used(new: Any, tmp_path: Path) -> None:
    assert "A new scenario" in get(new, f"/{TOKEN}/").body.decode()
    assert post(new, "begin", {"answers": ANSWERS}).code == 200
    scenario = load_scenario(tmp_path / "new.yaml")
    assert list(scenario.options) == ["post, pad", "plant room, pad", "post, bare"]
    assert scenario.anchors["plant room"].out is not None
    assert scenario.anchors["plant room"].out.basis == "paced"


def test_a_missing_or_impossible_answer_is_named_and_nothing_written(
    new: Any, tmp_path: Path
) -> None:
    for key, value in (("mass", ""), ("mass", "95 m"), ("anchor out", "far"), ("length", "3 kg"),
                       ("other", "post"), ("edge", "a/b"), ("down", "8 kg"), ("work", "soon"),
                       ("target", "lots")):  # fmt: skip
        found = post(new, "begin", {"answers": {**ANSWERS, key: value}})
        assert (found.code, list(found.json["wrong"])) == (422, [key])
        assert list(tmp_path.iterdir()) == []


def test_a_start_never_writes_over_a_file(new: Any, tmp_path: Path) -> None:
    (tmp_path / "new.yaml").write_text("mine\n")
    assert post(new, "begin", {"answers": ANSWERS}).code == 422
    assert (tmp_path / "new.yaml").read_text() == "mine\n"


def test_before_there_is_a_file_nothing_else_answers(new: Any, tmp_path: Path) -> None:
    for name in ("change", "look", "undo", "redo", "save", "how-far"):
        assert post(new, name, {"revision": 0}).code == 400
    for path in ("events", "report.html", "dataset.zip", "cards/1"):
        assert get(new, f"/{TOKEN}/{path}").code == 400
    assert list(tmp_path.iterdir()) == []


def test_names_in_answers_stay_names(new: Any, tmp_path: Path) -> None:
    odd = {"anchor": "a: {b}, #c", "who": "'x", "title": "[t", "edge": "- e"}
    assert post(new, "begin", {"answers": {**ANSWERS, **odd}}).code == 200
    scenario = load_scenario(tmp_path / "new.yaml")
    assert odd["anchor"] in scenario.anchors
    assert list(scenario.people) == [odd["who"]]
    assert scenario.title == odd["title"]


def test_how_far_something_may_go_is_said_and_can_be_drawn(app: Any) -> None:
    asked = {"option": "posts, rollers", "section": "anchors", "name": "guard posts", "axis": "up"}
    found = post(app, "how-far", asked)
    assert found.code == 200
    assert found.json["stretches"] == [[-1.1, 1.9, True, False]]  # 2 m to both sides of 0.9 m
    assert "meets the target at most 1.9 m" in found.json["told"]
    for wrong in ({"name": "nobody"}, {"option": "none"}):
        assert post(app, "how-far", {**asked, **wrong}).code == 422
    assert post(app, "how-far", {**asked, "axis": "sideways"}).code == 400
