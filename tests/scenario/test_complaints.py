"""What is said of a wrong scenario or library: the words, the address the place, and no more."""

from __future__ import annotations

from pathlib import Path

import pytest

from edgewear.errors import Problem, ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.read.own_library import FLAT, SECTIONS
from edgewear.scenario.read.rope_records import named
from edgewear.scenario.read.rope_rules import built_in_rules, own_rules
from edgewear.scenario.read.sections import Sections
from edgewear.scenario.text.retyping import spelled_out
from edgewear.scenario.text.tree import parse_tree
from support.scenario_files import BENCH

Said = tuple[int, int, str, str]


def row(one: Problem) -> Said:
    return one.line, one.column, one.address, one.message


def of_library(text: str) -> list[Said]:
    """What is said of a library of one's own, beside that it cannot be used."""
    try:
        load_text(BENCH, "bench.yaml", text)
    except ScenarioError as error:
        of_bench = [one for one in error.problems if one.file == "bench.yaml"]
        assert [one.address for one in of_bench] == ["library"]
        return [row(one) for one in error.problems if one.file != "bench.yaml"]
    return []


def of_bench(*changes: tuple[str, str]) -> list[Said]:
    """What is said of the bench with some of its text replaced."""
    text = BENCH
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    try:
        load_text(text, "bench.yaml")
    except ScenarioError as error:
        return [row(one) for one in error.problems]
    return []


def is_said(found: list[Said], *wanted: tuple[int, int, str, str]) -> None:
    """Hold what is said against what is due, in any order; of a message a part of it."""
    assert len(found) == len(wanted), found
    for one, due in zip(sorted(found), sorted(wanted), strict=True):
        assert one[:3] == due[:3]
        assert due[3] in one[3]


# A library of one's own.


@pytest.mark.parametrize("section", [*SECTIONS, "accuracy"])
def test_an_entry_that_is_no_set_of_keys_is_told_once_at_its_value(section: str) -> None:
    word = "mass/measured" if section == "accuracy" else "mine"
    [one] = of_library(f"{section}:\n  {word}: 5\n")
    assert one[:3] == (2, len(word) + 5, f"{section}/{word}")
    assert "keys with" in one[3]


@pytest.mark.parametrize("section", SECTIONS)
def test_an_entry_like_a_built_in_one_is_taken_and_one_with_a_key_more_told(section: str) -> None:
    entry = next(iter(built_in()[section].values()))
    assert of_library(spelled_out({section: {"mine": entry}})) == []
    text = spelled_out({section: {"mine": {"colour": "red", **entry}}})
    is_said(of_library(text), (3, 5, f"{section}/mine/colour", "unknown key 'colour'"))


@pytest.mark.parametrize("section", FLAT)
def test_a_number_that_cannot_be_read_is_told_in_the_library_that_says_it(section: str) -> None:
    numbers = {k: known for k, known in built_in()[section].items() if isinstance(known, dict)}
    key, known = next(iter(numbers.items()))
    assert of_library(spelled_out({section: {key: known}})) == []
    is_said(
        of_library(f"{section}:\n  {key}: soon\n"),
        (2, len(key) + 5, f"{section}/{key}", "'soon' does not begin with a number"),
    )
    is_said(
        of_library(f"{section}:\n  {key}s: 5\n"),
        (2, 3, f"{section}/{key}s", f"did you mean {key!r}?"),
    )


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("rope defaults:\n  dynamic: {damping: 0.05 s}\n",
         [(2, 12, "rope defaults/dynamic", "'dynamic ratio' is missing"),
          (2, 12, "rope defaults/dynamic", "'termination' is missing")]),
        ("rope defaults:\n  dynamic: {}\n",
         [(2, 12, "rope defaults/dynamic", f"'{key}' is missing")
          for key in ("damping", "dynamic ratio", "termination")]),
        ("accuracy:\n  sighted: {least: 1 m}\n",
         [(2, 3, "accuracy/sighted", "unknown kind of reading 'sighted': allowed are distance/")]),
        ("accuracy:\n  distance/tapd: {}\n",
         [(2, 3, "accuracy/distance/tapd", "did you mean 'distance/taped'?")]),
        ("accuracy:\n  distance/taped: {share: 2 %, least: 3 kg, distribution: normal}\n",
         [(2, 39, "accuracy/distance/taped/least", "'3 kg' is a mass: a length is due")]),
        ("accuracy:\n  mass/measured: {share: 2 %, least: 3 m, distribution: normal}\n",
         [(2, 38, "accuracy/mass/measured/least", "'3 m' is a length: a mass is due")]),
        ("accuracy:\n  mass/measured: {least: 2 kg}\n",
         [(2, 18, "accuracy/mass/measured", "'share' is missing"),
          (2, 18, "accuracy/mass/measured", "'distribution' is missing")]),
        ("weather:\n  wet: 0\n  mine: 0.5\n", []),
        ("weather:\n  wet: -0.1\n", [(2, 8, "weather/wet", "too small: it must be at least 0")]),
        ("weather:\n  mine: {value: 1, low: 2}\n",
         [(2, 9, "weather/mine", "low, value and high must rise")]),
        ("edge classes:\n  mine: {radius: 1 mm, surface: stel}\n",
         [(2, 33, "edge classes/mine/surface", "did you mean 'steel'?")]),
        ("people:\n  person: {technique: jerkey}\n",
         [(2, 23, "people/person/technique", "did you mean 'jerky'?")]),
        # the scenario may say the rest
        ("anchors:\n  mine: {}\nropes:\n  mine: {}\n", []),
        ("techniques:\n  mine: {rise: 0.4 m}\n",
         [(2, 9, "techniques/mine", f"'{key}' is missing")
          for key in sorted(set(built_in()["techniques"]["smooth"]) - {"rise"})]),
        ("ropes:\n  mine: {stiffness: 41 kN}\n", []),
        ("ropes:\n  mine: {stiffness: 41 kN, elongation: 3 kg}\n",
         [(2, 40, "ropes/mine/elongation", "'3 kg' is a mass: a share is due")]),
        # its accuracy, a tenth, reaches beyond what an elongation can be
        ("ropes:\n  mine: {elongation: 54 %}\n", []),
        ("ropes:\n  mine: {elongation: 58 %}\n",
         [(2, 22, "ropes/mine/elongation", "too large: it must be at most 0.6")]),
        ("ropes:\n  mine: {like: nothing, strength: 27 kN}\n",
         [(2, 10, "ropes/mine/like", "only a rope of a scenario is like an entry")]),
        ("rops: {}\n", [(1, 1, "rops", "unknown section: allowed are accuracy, ")]),
        ("ropes: 5\n", [(1, 1, "ropes", "words with their values are due")]),
    ],
)  # fmt: skip
def test_what_is_wrong_in_a_library_is_told_at_its_place(text: str, wanted: list[Said]) -> None:
    is_said(of_library(text), *wanted)


def of_rules(text: str, folder: Path) -> list[Said]:
    """What is said of rules for ropes of one's own."""
    file = folder / "rules.yaml"
    file.write_text(text)
    try:
        own_rules(file)
    except ScenarioError as error:
        return [row(one) for one in error.problems]
    return []


@pytest.mark.parametrize(
    ("rule", "where", "said"),
    [
        ("  glazd: {asks: retire}", (2, 10, "glazd"), "did you mean 'glazed'?"),
        ("  glazed: 5", (2, 11, "glazed"), "`asks`, `limit` and `pedigree` are due"),
        ("  glazed: {asks: retire, why: x}", (2, 11, "glazed"), "`asks`, `limit` and `pedigree`"),
        ("  glazed: {asks: burn}", (2, 11, "glazed"), "asks 'burn': allowed are set aside, retire"),
        ("  glazed: {pedigree: x}", (2, 11, "glazed"), "asks None: allowed are set aside, retire"),
        ("  glazed: {asks: retire, limit: 5 %}", (2, 11, "glazed"), "has no limit"),
        ("  careful wear: {asks: retire}", (2, 17, "careful wear"), "a limit is due"),
        ("  careful wear: {asks: retire, limit: 5 days}", (2, 39, "careful wear/limit"),
         "'5 days': a share such as 50 % is due"),
        ("  age since made: {asks: retire, limit: 5 %}", (2, 41, "age since made/limit"),
         "'5 %': a time such as 6 months is due"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_rule_is_told_at_its_place(
    rule: str, where: tuple[int, int, str], said: str, tmp_path: Path
) -> None:
    address = f"rope rules/{where[2]}"
    found = of_rules(f"rope rules:\n{rule}\n", tmp_path)
    is_said(found, (*where[:2], address, said))


def test_rules_stand_in_their_section_beside_others_of_a_library(tmp_path: Path) -> None:
    assert of_rules("rope rules: {}\nropes: {}\n", tmp_path) == []
    unknown = (1, 1, "rops", "unknown section: allowed are accuracy, ")
    is_said(of_rules("rops: {}\nrope rules: {}\n", tmp_path), unknown)
    missing = (1, 1, "", "'rope rules' with words and rules are due")
    for text in ("ropes: {}\n", "rope rules: 5\n"):
        is_said(of_rules(text, tmp_path), missing)
    (tmp_path / "own.yaml").write_text(
        "rope rules: {glazed: {asks: set aside}, careful wear: {asks: retire, limit: 40 %}}\n"
    )
    own = own_rules(tmp_path / "own.yaml")
    assert own["glazed"] == ("set aside", None, "")
    assert own["careful wear"] == ("retire", 0.4, "")
    assert built_in_rules()["careful wear"].limit == 0.5


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("a.ropes", ("a.ropes", "red")),
        ({"file": "a.ropes"}, ("a.ropes", "red")),
        ({"file": "a.ropes", "rope": "R7"}, ("a.ropes", "R7")),
        ({"rope": "R7"}, None),
        ({"file": "a.ropes", "rop": "R7"}, None),
        ({"file": ["a.ropes"]}, None),
        ({"file": "a.ropes", "rope": ["R7"]}, None),
        (["a.ropes"], None),
    ],
)
def test_a_record_is_a_file_and_perhaps_another_name_in_it(
    typed: object, wanted: tuple[str, str] | None
) -> None:
    assert named(typed, "red") == wanted


def test_a_record_that_is_none_and_one_that_cannot_be_read_are_told() -> None:
    for typed, said in (
        ("[a.ropes]", "the record's file is due, or `{file: ..., rope: ...}`"),
        ("{rope: R7}", "the record's file is due, or `{file: ..., rope: ...}`"),
        ("nowhere.ropes", "nowhere.ropes"),
    ):
        [one] = of_bench(("like: low-stretch 11, length: 80 m", f"record: {typed}"))
        assert one[:3] == (7, 18, "ropes/rope/record")
        assert said in one[3]


# Sections.


@pytest.mark.parametrize("key", ["edgewear", "title", "setting", "options", "job"])
def test_a_key_that_every_scenario_has_is_missed(key: str) -> None:
    data = {k: v for k, v in parse_tree(BENCH, "file").data.items() if k != key}
    tree = parse_tree(spelled_out(data), "file")
    Sections(tree)
    is_said([row(one) for one in tree.problems], (1, 1, "", f"{key!r} is missing"))


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([("edgewear: 1", "edgewear: 2")],
         [(1, 11, "edgewear", "format '2': this version reads format 1")]),
        ([("job:", "jobs: x\njob:")],
         [(12, 1, "jobs", "unknown key 'jobs': allowed are edgewear, ")]),
        ([("setting: test", "setting: tst")],
         [(3, 10, "setting", "'tst': allowed are industrial, alpine, test; did you mean 'test'?")]),
        ([("setting: test\n", "")], [(1, 1, "", "'setting' is missing")]),
        ([("title: Bench", "title: Bench\nlibrary: [x]")],
         [(3, 10, "library", "the path of a file is due")]),
        ([("title: Bench", "title: Bench\ntarget: 101 %")],
         [(3, 9, "target", "too large: it must be at most 1")]),
        ([("job:", "techniques: {jerkey: {rise: 0.4 m}}\njob:")],
         [(12, 14, "techniques/jerkey", "unknown technique 'jerkey': allowed are smooth, normal, "
           "jerky; did you mean 'jerky'?")]),
        ([("job:", "techniques: {jerky: 5}\njob:")],
         [(12, 21, "techniques/jerky", "keys with values are due, such as {rise: 0.4 m}")]),
        ([("job:", "kit: 5\njob:")], [(12, 6, "kit", "names with their values are due")]),
        ([("job:", "wear: 5\njob:")], [(12, 7, "wear", "keys with values are due")]),
        ([("job:", "observed: 5\njob:")], [(12, 11, "observed", "a list of observations is due")]),
        ([("job:", "weather: {hail: 3}\njob:")],
         [(12, 11, "weather/hail", "unknown weather 'hail': allowed are dry, wet, gritty, icy")]),
        ([("job:", "notes: {autor: x}\njob:")],
         [(12, 9, "notes/autor", "did you mean 'author'?")]),
        ([("job:", "notes: {author: [x]}\njob:")], [(12, 9, "notes/author", "unknown key")]),
    ],
)  # fmt: skip
def test_what_is_wrong_in_a_section_is_told_at_its_place(
    changes: list[tuple[str, str]], wanted: list[Said]
) -> None:
    is_said(of_bench(*changes), *wanted)


@pytest.mark.parametrize("name", ["a/b", "x*", "''", "'x\\u0085'", "x" * 201])
def test_a_name_that_no_address_could_spell_is_told_at_its_key(name: str) -> None:
    name = '"x\\t"' if "u0085" in name else name
    for key in ("anchors", "edges", "ropes", "people", "kit", "faults", "below", "beside", "when"):
        tree = parse_tree(f"title: x\n{key}:\n  ? {name}\n  : {{}}\n", "file")
        sections = Sections(tree)
        tree.problems.clear()
        sections.named(key)
        [(line, column, _, said)] = [row(one) for one in tree.problems]
        assert (line, column) == (3, 5)
        assert "a name has 1 to 200 printable characters and no / or *" in said


def test_a_name_may_have_two_hundred_characters() -> None:
    name = "x" * 200
    assert of_bench(("arris: {radius", f"{name}: {{radius"), ("edge: arris", f"edge: {name}")) == []


@pytest.mark.parametrize(
    ("section", "old"),
    [("anchors", "edges:\n"), ("edges", "{radius: 1 mm, surface: steel}"),
     ("ropes", "{like: low-stretch 11, length: 80 m}"),
     ("people", "{mass: 90 kg, technique: jerky, start: 8 m}")],
)  # fmt: skip
def test_a_thing_that_is_no_set_of_keys_is_told_as_it_was_typed(section: str, old: str) -> None:
    new = "anchors: {post: '5'}\nedges:\n" if section == "anchors" else "'5'"
    told = [one for one in of_bench((old, new)) if one[2].split("/")[0] == section]
    assert len(told) == 1
    assert told[0][2].count("/") == 1
    assert told[0][3] == "a set of keys with values is due, not '5'"


@pytest.mark.parametrize(
    ("old", "new", "address", "near"),
    [
        ("length: 80 m", "length: 80 m, sheath_share: 40 %", "ropes/rope/sheath_share",
         "sheath share"),
        ("mass: 90 kg", "mass: 90 kg, body_stiffness: 5 kN/m", "people/climber/body_stiffness", ""),
        ("- ascend: 5 m", "- work: {for: 1 min, bounce_rate: 2 Hz}", "job/1/work/bounce_rate",
         "bounce rate"),
    ],
)  # fmt: skip
def test_keys_are_typed_with_blanks(old: str, new: str, address: str, near: str) -> None:
    told = [one for one in of_bench((old, new)) if one[2] == address]
    assert len(told) == 1
    assert told[0][3].startswith(f"unknown key {address.split('/')[-1]!r}")
    assert f"did you mean {near!r}?" in told[0][3] or not near


# Options, and the job.

OPTION = "{rope: rope, over"
NOT_KEYS = "keys with values are due, such as {anchor: name}"


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ([("options:\n", "all options: 5\noptions:\n")], [(10, 14, "all options", NOT_KEYS)]),
        ([("options:\n", "all options: {rop: x}\noptions:\n")],
         [(10, 15, "all options/rop", "did you mean 'rope'?")]),
        ([("options:\n", "all options: {lines: {climbr: {}}}\noptions:\n")],
         [(10, 23, "all options/lines/climbr", "'climbr' is not defined under people; did you mean "
           "'climber'?")]),
        ([("options:\n", "all options: {safety line: 5}\noptions:\n")],
         [(10, 28, "all options/safety line", NOT_KEYS)]),
        ([("options:\n", "lines: {climbr: {}}\noptions:\n")],
         [(10, 9, "lines/climbr", "did you mean 'climber'?")]),
        ([("options:\n", "lines: {climber: 5}\noptions:\n")],
         [(10, 18, "lines/climber", NOT_KEYS)]),
        ([("options:\n", "lines: {climber: {lines: {nobody: {}}}}\noptions:\n")],
         [(10, 19, "lines/climber/lines", "unknown key 'lines'")]),
        ([("options:\n", "lines: {climber: {technique: smooth}}\noptions:\n")],
         [(10, 19, "lines/climber/technique", "unknown key 'technique'")]),
        ([(OPTION, "{lines: {climbr: {}}, rope: rope, over")],
         [(11, 18, "options/bare/lines/climbr", "did you mean 'climber'?")]),
        ([(OPTION, "{lines: {climber: {knot: 5}}, rope: rope, over")],
         [(11, 28, "options/bare/lines/climber/knot", "did you mean 'knots'?")]),
        ([(OPTION, "{safety line: {lines: {nobody: {}}}, rope: rope, over")],
         [(11, 24, "options/bare/safety line/lines", "unknown key 'lines'")]),
        ([("length: 80 m", "length: 80 m, elongation: 3 kg")],
         [(7, 58, "ropes/rope/elongation", "'3 kg' is a mass: a share is due")]),
        ([("like: low-stretch 11, length: 80 m", "length: 80 m, diameter: 11 mm, strength: 30 kN, "
           "family: low-stretch, type: A, sheath share: 40 %, sheath: polyester, mass: 70 g/m")],
         [(7, 9, "ropes/rope/stiffness", "an elongation or a stiffness is due")]),
        ([(OPTION, "{over")], [(11, 9, "options/bare", "no rope is given for 'climber'")]),
        ([(OPTION, "{protect: pad, rope: rope, over")],
         [(11, 19, "options/bare/protect", "a set of keys with values is due, not 'pad'")]),
        ([(OPTION, "{technique: jerkey, rope: rope, over"), ("after: 20 m", "after: 200 m")],
         [(11, 21, "options/bare/technique", "did you mean 'jerky'?")]),
        ([(OPTION, "{shift: {by: 0.3 m}, rope: rope, over"),
          ("options:\n", "all options: {shift: {by: 0.4 m, every: 10}}\noptions:\n")],
         [(12, 17, "options/bare/shift", "'every' is missing")]),
        ([("  climber: {mass: 90 kg, technique: jerky, start: 8 m}\n", ""), ("people:\n", "")],
         [(11, 3, "job", "people are due: only a machine's job needs none")]),
        ([("  climber: {mass: 90 kg, technique: jerky, start: 8 m}\n", ""), ("people:\n", ""),
          ("- ascend: 5 m", "- reciprocate: {load: 5 m, travel: 1 m, speed: 1 m/s, cycles: 5}")],
         [(11, 25, "job/1/reciprocate/load", "'5 m' is a length: a mass is due")]),
        ([("- ascend: 5 m", "- [ascend]")], [(13, 5, "job/1", "a step is due, such as 'ascend'")]),
        ([("job:", "faults: {f: [x]}\njob:")],
         [(12, 13, "faults/f", "a fault is due, such as '")]),
        ([("job:", "observed: [[x]]\njob:")],
         [(12, 12, "observed/1", "an observation is due, such as '")]),
        ([("job:", "anchors: {post: {legs: [4 m back over arris, {x: y}]}}\njob:")],
         [(12, 24, "anchors/post/legs", "a list of legs is due, each such as")]),
    ],
)  # fmt: skip
def test_what_is_wrong_in_options_and_steps_is_told_at_its_place(
    changes: list[tuple[str, str]], wanted: list[Said]
) -> None:
    is_said(of_bench(*changes), *wanted)


SAFE = "{safety line: {%s}, rope: rope, over"
SHARED = "all options: {%s}\noptions:\n"


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("options:\n", SHARED % "protect: {arris: {is: pad, friction: soon}}",
         (10, 52, "all options/protect/arris/friction", "'soon' does not begin with a number")),
        ("options:\n", SHARED % "protect: {arris: {is: padd}}",
         (10, 37, "all options/protect/arris/is", "unknown protection 'padd'")),
        ("options:\n", SHARED % "protect: {arris: padd}",
         (10, 32, "all options/protect/arris", "did you mean 'pad'?")),
        ("options:\n", SHARED % "bypass: {arris: slng}",
         (10, 31, "all options/bypass/arris", "unknown sling 'slng'")),
        ("options:\n", SHARED % "technique: jerkey",
         (10, 26, "all options/technique", "unknown technique 'jerkey'")),
        ("options:\n", SHARED % "system: [x]",
         (10, 23, "all options/system", "unknown system ['x']: allowed are ")),
        ("options:\n", SHARED % "lines: {climber: {tail: soon}}",
         (10, 39, "all options/lines/climber/tail", "'soon' does not begin with a number")),
        ("options:\n", "lines: {climber: {slack: soon}}\noptions:\n",
         (10, 26, "lines/climber/slack", "'soon' does not begin with a number")),
        (OPTION, SAFE % "backup: toothd",
         (11, 32, "options/bare/safety line/backup", "did you mean 'toothed")),
        (OPTION, SAFE % "backup: {is: toothd}",
         (11, 37, "options/bare/safety line/backup/is", "did you mean 'toothed")),
        (OPTION, SAFE % "backup: {slips: soon}",
         (11, 40, "options/bare/safety line/backup/slips", "'soon' does not begin with")),
        (OPTION, SAFE % "shift: 0.4 m every x strokes",
         (11, 31, "options/bare/safety line/shift", "write it like 0.4 m every 10 strokes")),
        (OPTION, "{shift: soon every 10 strokes, rope: rope, over",
         (11, 17, "options/bare/shift/by", "'soon' does not begin with a number")),
        (OPTION, "{deviations: [{anchor: post, sling: soon}], rope: rope, over",
         (11, 45, "options/bare/deviations/1/sling", "'soon' does not begin with a number")),
    ],
)  # fmt: skip
def test_what_is_merged_is_told_where_it_was_typed(old: str, new: str, wanted: Said) -> None:
    found = of_bench((old, new))
    assert [one[:3] for one in found if wanted[3] in one[3]] == [wanted[:3]], found


LEGS = """\
anchors:
  post:
    legs:
      - {first}
      - {second}
edges:
  near: {{radius: 1 mm, surface: steel}}
"""


@pytest.mark.parametrize(
    ("first", "second", "row_", "said"),
    [
        ("4 m back", "1 m up", 0, "every leg but the last ends with `over` and an edge"),
        ("4 m back, over niar", "1 m up", 0, "there is no edge 'niar'; did you mean 'near'?"),
        ("4 m back, over the niar", "1 m up", 0, "there is no edge 'niar'; did you mean 'near'?"),
        ("4 m bak, over near", "1 m up", 0, "'4 m bak' does not end with a direction (out, back, "),
        ("4 kg back, over near", "1 m up", 0, "'4 kg' is a mass: a length is due"),
        ("4 m back, over near", "1 m out, 2 m back", 1, "`back` says where the leg starts, `out`"),
        ("4 m back, 1 m in, over near", "1 m up", 0, "`back` says where the leg starts, `in`"),
        ("1 m up, over near", "1 m out", 0, "seen from the anchor or from where the leg ends?"),
    ],
)
def test_a_leg_that_cannot_be_followed_is_told_alone(
    first: str, second: str, row_: int, said: str
) -> None:
    found = of_bench(("edges:\n", LEGS.format(first=first, second=second)))
    typed = (first, second)[row_]
    is_said(found, (7 + row_, 9, f"anchors/post/legs/{row_ + 1}", f"{typed!r}: {said}"))
