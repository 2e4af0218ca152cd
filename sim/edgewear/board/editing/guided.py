"""A new scenario from answers to plain questions: what is there, what is done, who hangs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, NamedTuple

from pydantic import Field

from edgewear.board.editing.changes import Message, Typed
from edgewear.board.editing.session import read
from edgewear.board.editing.splice import Value, block_entry, written
from edgewear.errors import Problem

HEAD = "# begun on the board; distances: out from the face, along it, up from its upper edge\n"

CLIMBS, STAYS = "climbs back up the same rope", "does not climb back"


class Question(NamedTuple):
    """One thing that is asked."""

    key: str
    part: str
    label: str
    help: str
    words: str = ""  # section of the library whose words may be chosen
    choices: tuple[str, ...] = ()
    usual: str = ""  # what stands there at first
    needed: bool = True


THERE, DONE, WHO = "What is there", "What is done", "Who hangs, and on what"

_PLACE = "such as -2.5 m, or paced 6 m back"
QUESTIONS: tuple[Question, ...] = (
    Question("title", THERE, "Name of the job", "stands on every page"),
    Question("setting", THERE, "Setting", "", choices=("industrial", "alpine", "test"),
             usual="industrial"),
    Question("target", THERE, "Sheath that must be left", "at the careful end, such as 60 %"),
    Question("anchor", THERE, "First anchor", "its name"),
    Question("anchor out", THERE, "First anchor: out", f"from the face; {_PLACE}"),
    Question("anchor up", THERE, "First anchor: up", "from the upper edge, such as 0.5 m"),
    Question("other", THERE, "Second anchor", "its name; the safety line starts at the other one"),
    Question("other out", THERE, "Second anchor: out", f"from the face; {_PLACE}"),
    Question("other up", THERE, "Second anchor: up", "such as 0.8 m"),
    Question("edge", THERE, "Edge", "its name; the place where the rope bends"),
    Question("edge out", THERE, "Edge: out", "", usual="0 m"),
    Question("edge up", THERE, "Edge: up", "", usual="0 m"),
    Question("edge is", THERE, "Edge: what it is", "", words="edge classes"),
    Question("further", THERE, "Another edge below", "its name; empty: there is none",
             needed=False),
    Question("further out", THERE, "Another edge: out", "such as 0.4 m", needed=False),
    Question("further up", THERE, "Another edge: up", "such as -3 m", needed=False),
    Question("further is", THERE, "Another edge: what it is", "", words="edge classes",
             needed=False),
    Question("ground", THERE, "Ground or water: up", "such as -14 m; empty: not said",
             needed=False),
    Question("down", DONE, "Goes down", "how far, such as 8 m"),
    Question("work", DONE, "Works there for", "such as 20 min; empty: does not stop",
             needed=False),
    Question("back", DONE, "Then", "", choices=(CLIMBS, STAYS), usual=CLIMBS),
    Question("who", WHO, "Name or role", "such as fitter"),
    Question("mass", WHO, "Mass", "with clothing, harness, kit and tools, such as 95 kg"),
    Question("technique", WHO, "Moves", "", words="techniques", usual="normal"),
    Question("rope", WHO, "Rope", "of both lines", words="ropes"),
    Question("length", WHO, "Length of each rope", "such as 40 m"),
    Question("means", WHO, "Protection at hand", "one kind; one option more is left bare",
             words="protection", usual="pad"),
)  # fmt: skip


class Answered(Message):
    """What was answered; a question that is left out is not answered."""

    answers: Annotated[dict[str, Typed], Field(max_length=40)]


class Begun(NamedTuple):
    """A text made of answers, and what is wrong with them by question."""

    text: str
    wrong: dict[str, str]


def begun(answers: Mapping[str, str], path: str) -> Begun:
    """Make a scenario's text of answers.

    Parameters:
        answers: by the keys of the questions; those without one count as empty.
        path: where the file will be, for messages.
    """
    said = {one.key: answers.get(one.key, "").strip() for one in QUESTIONS}
    wrong = {one.key: "an answer is due" for one in QUESTIONS if one.needed and not said[one.key]}
    wrong |= {key: told for key in NAMES if (told := _bad_name(said[key]))}
    unknown = set(answers) - set(said)
    if unknown:
        wrong["title"] = f"nothing is asked as {sorted(unknown)[0]!r}"
    if said["anchor"] and said["anchor"] == said["other"]:
        wrong["other"] = "another name than the first anchor's is due"
    if said["edge"] and said["edge"] == said["further"]:
        wrong["further"] = "another name than the first edge's is due"
    if wrong:
        return Begun("", wrong)
    data = _data(said)
    text = HEAD + "".join(map(_section, data.items()))
    found = read(text, path)
    return Begun(text, _by_question(found.problems, said))


def _section(entry: tuple[str, Value]) -> str:
    """Write a section: a line for each thing that has a name, and for each step."""
    key, value = entry
    if isinstance(value, list):
        return f"{key}:\n" + "".join(f"  - {written(one, False)}\n" for one in value)
    if isinstance(value, dict) and key != "all options":
        return f"{key}:\n" + "".join(f"  {block_entry(k, v, 2)}\n" for k, v in value.items())
    return f"{block_entry(key, value, 0)}\n"


NAMES = ("anchor", "other", "edge", "further", "who")


def _bad_name(name: str) -> str:
    return "a name without / and * is due" if "/" in name or "*" in name else ""


def _data(said: Mapping[str, str]) -> dict[str, Value]:
    edges = {said["edge"]: _edge(said, "edge")}
    if said["further"]:
        edges[said["further"]] = _edge(said, "further")
    rope = {"like": said["rope"], "length": said["length"], "stopper": "yes"}
    data: dict[str, Value] = {
        "edgewear": "1",
        "title": said["title"],
        "setting": said["setting"],
        "target": said["target"],
        "anchors": {said[key]: _anchor(said, key) for key in ("anchor", "other")},
        "edges": edges,
        "ropes": {"working rope": rope, "safety rope": dict(rope)},
        "people": {said["who"]: {"mass": said["mass"], "technique": said["technique"]}},
        "all options": {"rope": "working rope"},
        "options": _options(said, list(edges)),
        "job": _job(said),
    }
    return data | ({"below": {"ground": said["ground"]}} if said["ground"] else {})


def _anchor(said: Mapping[str, str], key: str) -> dict[str, str]:
    return {"out": said[f"{key} out"], "up": said[f"{key} up"], "kind": "pair"}


def _edge(said: Mapping[str, str], key: str) -> dict[str, str]:
    return {part: said[f"{key} {part}"] for part in ("out", "up", "is")}


def _options(said: Mapping[str, str], edges: Sequence[str]) -> dict[str, Value]:
    """Give an option from each anchor with what is at hand, and one that is left bare."""
    covered = dict.fromkeys(edges, said["means"])
    found: dict[str, Value] = {}
    for mine, others in (("anchor", "other"), ("other", "anchor")):
        safety = {"anchor": said[others], "rope": "safety rope", "protect": dict(covered)}
        found[f"{said[mine]}, {said['means']}"] = {
            "anchor": said[mine], "safety line": safety, "protect": dict(covered),
        }  # fmt: skip
    safety = {"anchor": said["other"], "rope": "safety rope", "protect": dict(covered)}
    found[f"{said['anchor']}, bare"] = {"anchor": said["anchor"], "safety line": safety}
    return found


def _job(said: Mapping[str, str]) -> list[Value]:
    steps: list[Value] = [{"cross edge": said["edge"]}, {"descend": said["down"]}]
    steps += [{"work": said["work"]}] if said["work"] else []
    return steps + ([{"ascend": said["down"]}] if said["back"] != STAYS else [])


def _by_question(problems: Sequence[Problem], said: Mapping[str, str]) -> dict[str, str]:
    """Put each problem of the text to the question it comes from."""
    homes = {
        "title": "title", "setting": "setting", "target": "target",
        f"people/{said['who']}/mass": "mass", f"people/{said['who']}/technique": "technique",
        f"people/{said['who']}": "who",
        "ropes/working rope/like": "rope", "ropes/safety rope/like": "rope",
        "ropes/working rope": "length", "ropes/safety rope": "length",
        "job/3": "work" if said["work"] else "down", "job": "down", "below": "ground",
        "options": "means",
    }  # fmt: skip
    for section, key in (("anchors", "anchor"), ("anchors", "other"), ("edges", "edge"),
                         ("edges", "further")):  # fmt: skip
        where = f"{section}/{said[key]}"
        homes |= {f"{where}/{part}": f"{key} {part}" for part in ("out", "up", "is")} | {where: key}
    found: dict[str, str] = {}
    for problem in problems:
        fitting = [home for home in homes if f"{problem.address}/".startswith(f"{home}/")]
        key = homes[max(fitting, key=len)] if fitting else "title"
        found.setdefault(key, problem.message)
    return found


def words_of(question: Question) -> tuple[str, ...]:
    """Give the words that may be chosen."""
    from edgewear.scenario.read.libraries import built_in

    return tuple(built_in()[question.words]) if question.words else question.choices
