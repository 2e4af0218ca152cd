"""One board for all its pages: changes in, state and answers out, one at a time."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import suppress
from typing import Any

from edgewear.board import results
from edgewear.board.answers import Answer, Answers
from edgewear.board.drawn import Views, drawn
from edgewear.board.editing import fields
from edgewear.board.editing.changes import Change, HowFar
from edgewear.board.editing.session import Read, Session
from edgewear.dataset.ranking.model import OptionResult
from edgewear.errors import EdgewearError, ScenarioError, UsageError
from edgewear.findings.inquiries.how_far import Place
from edgewear.report.how_far import words as how_far_words
from edgewear.scenario.text.tree import parse_tree

LOOKS_S = 0.5
"""Between two looks at the file."""

REACH_M = 2.0
"""So far to both sides a limit is looked for [m]."""

ALIVE_S = 15.0
"""Between two signs of life on a quiet stream."""

NO_TARGET = "a comparison needs a target: type one, for example 70 %"


class Board:
    """A session, what was answered of it last, and the pages that listen."""

    def __init__(self, session: Session, workers: int | None = None) -> None:
        """Take over a session; nothing is computed yet."""
        self.session = session
        self.answer: Answer | None = None
        self.trouble = ""  # why there is no answer
        self.answers = Answers(self._answered, workers)
        self.lock = asyncio.Lock()
        self._pages: set[asyncio.Queue[str | None]] = set()
        self._views: dict[tuple[str, bool], Views] = {}
        self.settled: str | None = None  # folder of the last settled comparison
        self._asked: tuple[str, bool] | None = None  # text asked about last, and if to its end
        self._looking = 0

    async def begin(self) -> None:
        """Start the workers and ask for the first answer."""
        scenario = self.session.now.scenario
        if scenario is not None:
            self.answers.warm(scenario)
        self._ask(self.session.now)

    async def watch(self) -> None:
        """Look at the file now and then, for ever."""
        while True:
            await asyncio.sleep(LOOKS_S)
            async with self.lock:
                changed = await asyncio.to_thread(self.session.look)
            if changed:
                self._views.clear()
                self._ask(self.session.now)
                self.tell(self.state())

    async def change(self, do: Callable[[], object]) -> dict[str, Any]:
        """Change the session; every page hears of it, and the trials begin anew.

        Returns:
            the state that the pages are told.

        Raises:
            EdgewearError: as the change says; nothing is changed then.
        """
        async with self.lock:
            await asyncio.to_thread(do)
            self._ask(self.session.now)
        state = self.state()
        self.tell(state)
        return state

    def _ask(self, read: Read, settles: bool = True) -> None:
        """Ask what a text comes to, if that is not what is asked already."""
        if read.scenario is None or read.scenario.target is None:
            self.answers.drop()
            self._asked, self.answer = None, None
            self.trouble = NO_TARGET if read.scenario is not None else "the text has problems"
            return
        asked = read.text, settles
        if self._asked not in (asked, (read.text, True)):
            self._asked, self.trouble = asked, ""
            self.answers.ask(read.scenario, settles)

    async def _answered(self, answer: Answer | str) -> None:
        if isinstance(answer, str):
            self.trouble = answer
        else:
            self.answer, self.trouble = answer, ""
            self.settled = answer.folder or self.settled
        self.tell(self.result())

    def state(self) -> dict[str, Any]:
        """What every page shows of the text."""
        session = self.session
        data = data_of(session.now)
        return {
            "kind": "state",
            "revision": session.revision,
            "title": str(data.get("title", session.file.path.name)),
            "file": session.file.path.name,
            "dirty": session.dirty,
            "undo": len(session.undone),
            "redo": len(session.redone),
            "beside": session.beside is not None,
            "told": session.told,
            "problems": problems_of(session.now.problems),
            "options": list(data.get("options", {})) if isinstance(data, dict) else [],
            "groups": [group.as_json() for group in fields.groups(data)],
        }

    def result(self) -> dict[str, Any]:
        """What every page shows of the trials."""
        if self.answer is None or self.trouble:
            told = f"No answer: {self.trouble}." if self.trouble else "The first trials are played."
            return {
                "kind": "answer",
                "html": results.nothing(told),
                "told": told,
                "settled": False,
                "trials": 0,
            }
        return {
            "kind": "answer",
            "number": self.answer.number,
            "html": results.fragment(self.answer),
            "told": results.spoken(self.answer),
            "settled": self.answer.settled,
            "trials": self.answer.trials,
            "cards": cards_of(self.answer),
        }

    def drawing(self, read: Read, option: str, narrow: bool, hold: bool) -> dict[str, Any]:
        """Draw an option of a text; with `hold` at the scale of before."""
        if read.scenario is None or not read.scenario.options:
            return {"kind": "drawing", "pictures": [], "problems": problems_of(read.problems)}
        name = option if option in read.scenario.options else next(iter(read.scenario.options))
        views = self._views.get((name, narrow)) if hold else None
        found = drawn(
            read.scenario, name, data_of(read), self._result_of(name, read), views, narrow
        )
        if found.views is not None:
            self._views[name, narrow] = found.views
        return {"kind": "drawing", "problems": [], **found.document}

    def _result_of(self, option: str, read: Read) -> OptionResult | None:
        """Give what an option's trials came to, if they were trials of this very text."""
        if self.answer is None or self.answer.ranking.scenario_text != read.text:
            return None
        return next((o for o in self.answer.ranking.options if o.name == option), None)

    async def look(
        self, changes: Sequence[Change], option: str, narrow: bool, hold: bool
    ) -> dict[str, Any]:
        """Show what changes would do, and change nothing; the trials follow them too."""
        self._looking += 1
        mine = self._looking
        read = self.session.now
        if changes:
            read = await asyncio.to_thread(self.session.with_changes, changes)
        shown = await asyncio.to_thread(self.drawing, read, option, narrow, hold)
        if changes and not read.problems and mine == self._looking:
            self._ask(read, settles=False)
        elif not changes:
            self._ask(self.session.now)
        return shown

    async def how_far(self, asked: HowFar) -> dict[str, Any]:
        """Say how far something may be moved, in words and as stretches to be drawn.

        Raises:
            UsageError: nothing of that name, or the text cannot be used.
            Overtaken: it was changed meanwhile.
        """
        scenario = self.session.now.scenario
        things = {} if scenario is None else {**getattr(scenario, asked.section)}
        if scenario is None or scenario.target is None or asked.name not in things:
            raise UsageError(f"{asked.section}/{asked.name}: nothing to be moved")
        if asked.option not in scenario.options:
            raise UsageError(f"no option is called {asked.option!r}")
        place = getattr(things[asked.name], asked.axis)
        here_m = 0.0 if place is None else place.value
        address = f"{asked.section}/{asked.name}/{asked.axis}"
        span = f"{here_m - REACH_M:.3f} m..{here_m + REACH_M:.3f} m"

        def tried(place: Place) -> None:
            self.tell({**asked.model_dump(), "kind": "tried", "value": place.value,
                       "meets": place.meets, "revision": self.session.revision})  # fmt: skip

        found = await self.answers.limit(scenario, asked.option, address, span, tried)
        said = [
            f"{asked.option}, {address}: meets the target {how_far_words.limit(found)}",
            f"{how_far_words.present(found)}.",
            *how_far_words.doubts(found),
        ]
        ends = [
            [one.least.inside, one.most.inside, one.least.open, one.most.open]
            for one in found.stretches
        ]
        return {**asked.model_dump(), "told": "; ".join(said[:2]) + " ".join(["", *said[2:]]),
                "stretches": ends, "revision": self.session.revision}  # fmt: skip

    def tell(self, document: dict[str, Any]) -> None:
        """Tell every page something."""
        text = json.dumps(document, ensure_ascii=False, allow_nan=False)
        for page in self._pages:
            page.put_nowait(text)

    async def listen(self) -> AsyncIterator[str]:
        """Give what a page is told, as a stream of events; it begins with all there is."""
        page: asyncio.Queue[str | None] = asyncio.Queue()
        self._pages.add(page)
        try:
            for document in (self.state(), self.result()):
                yield event(json.dumps(document, ensure_ascii=False, allow_nan=False))
            while True:
                try:
                    text = await asyncio.wait_for(page.get(), ALIVE_S)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                if text is None:
                    return
                yield event(text)
        finally:
            self._pages.discard(page)

    def hang_up(self) -> None:
        """Let every page go: the server is about to end."""
        for page in self._pages:
            page.put_nowait(None)

    def close(self) -> None:
        """Let everything go; what is not saved stays in the draft."""
        self.answers.close()


def event(text: str) -> str:
    """Spell one event of a stream; JSON has no line break of its own."""
    return f"data: {text}\n\n"


def data_of(read: Read) -> dict[str, Any]:
    """Give a text's values; nothing where it is no YAML."""
    with suppress(EdgewearError):
        return dict(parse_tree(read.text, "file").data)
    return {}


def problems_of(found: Sequence[Any]) -> list[dict[str, Any]]:
    """Spell problems for a page: line and column in the file, address, what is due."""
    return [
        {"line": p.line, "column": p.column, "address": p.address, "message": p.message}
        for p in found
    ]


def cards_of(answer: Answer) -> list[dict[str, Any]]:
    """List the cards that a settled comparison has written."""
    from edgewear.report.parts import card

    if not answer.settled:
        return []
    return [
        {"place": place, "name": option.name}
        for place, option in enumerate(answer.ranking.options, 1)
        if card.offered(option)
    ]


def refusal(error: EdgewearError) -> dict[str, Any]:
    """Say why a change was not made, with each problem at its address."""
    found = problems_of(error.problems) if isinstance(error, ScenarioError) else []
    return {"told": found[0]["message"] if found else str(error), "problems": found}
