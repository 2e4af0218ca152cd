"""Numbers at their limit, parts that are merged, and what a word or a short spelling comes to."""

from __future__ import annotations

import os
import socket
from pathlib import Path
from typing import Any

import pytest

from edgewear import incoming
from edgewear.errors import ScenarioError
from edgewear.scenario import Scenario, load_text
from edgewear.scenario.models.places import LINE_KEYS, OPTION_KEYS, PERSON_KEYS
from edgewear.scenario.read.addresses import allowed_keys, matching, quantity_due
from edgewear.scenario.read.libraries import built_in
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.grid import MAX_POINTS, spread
from edgewear.scenario.text.measured import Measured
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import Accuracy, QuantityProblem, read_quantity
from edgewear.scenario.text.stiffness import as_en_1891, stiffness_of
from edgewear.scenario.text.tree import MAX_DEPTH, Path_, parse_tree, resolve_path
from edgewear.terms import GRAVITY_M_S2
from support.scenario_files import BENCH, bench

# Files.

SMALL = incoming.FileLimits("small file", 10)


def refusal(path: Path, limits: incoming.FileLimits = SMALL) -> tuple[int, int, str]:
    with pytest.raises(ScenarioError) as caught:
        incoming.read_bytes(path, limits)
    [one] = caught.value.problems
    assert one.file == str(path)
    return one.line, one.column, one.message


def test_a_file_may_have_as_many_bytes_as_its_kind_and_no_more(tmp_path: Path) -> None:
    file = tmp_path / "small"
    file.write_bytes(b"123\n567\n90")
    assert incoming.read_bytes(file, SMALL) == b"123\n567\n90"
    assert incoming.read_head(file, 4) == b"123\n"
    file.write_bytes(b"123\n567\n901")
    said = "larger than 10 bytes, too large for a small file"
    assert refusal(file) == (3, 3, said)  # the first byte too many


def test_what_is_no_regular_file_is_named_and_not_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def opened(*_: object) -> int:
        raise AssertionError("opened")

    monkeypatch.setattr(incoming.os, "open", opened)
    monkeypatch.chdir(tmp_path)  # the name of a socket is short
    os.mkfifo("pipe")
    with socket.socket(socket.AF_UNIX) as bound:
        bound.bind("socket")
        for name, what in (
            (".", "a folder"), ("pipe", "a pipe"), ("socket", "a socket"),
            (os.devnull, "a device"),
        ):  # fmt: skip
            assert refusal(Path(name)) == (0, 0, f"is {what}: a regular file is due")


def test_a_pipe_that_takes_the_place_of_a_file_in_between_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    regular, pipe = tmp_path / "file", tmp_path / "pipe"
    regular.write_bytes(b"")
    os.mkfifo(pipe)
    found = os.stat(regular)
    with monkeypatch.context() as patched:
        patched.setattr(incoming.os, "stat", lambda _: found)
        said = refusal(pipe)
    assert said == (0, 0, "is a pipe: a regular file is due")


# YAML.


def test_a_value_that_was_not_typed_stands_where_the_nearest_thing_around_it_does() -> None:
    tree = parse_tree("a:\n  b: {c: 1}\n", "file")
    tree.data["a"]["b"]["new"] = {"within": "x"}
    assert tree.place(("a", "b", "new")) == (2, 6)
    assert tree.place(("a", "b", "new", "within")) == (2, 6)
    assert tree.place(("a", "b", "new"), key=True) == (2, 6)
    assert tree.place(("z",)) == (1, 1)


def test_a_part_that_leads_nowhere_is_no_level() -> None:
    data = {"a": {"c": ["x", {"d": "y"}]}}
    assert resolve_path(data, ("a", "b", "c", 1, "d")) == ("a", "c", 1, "d")
    assert resolve_path(data, ("a", "c", 2)) == ("a", "c")
    assert resolve_path(data, ("a", "c", -1)) == ("a", "c")
    tree = parse_tree("a: {c: [x, {d: y}]}\n", "file")
    assert tree.place(("a", "b", "c", 1, "d")) == (1, 16)


def test_a_level_too_deep_is_told_in_its_line() -> None:
    within = "a: 1\nb:\n  " + "[" * (MAX_DEPTH - 1)
    assert parse_tree(f"{within}{']' * (MAX_DEPTH - 1)}\n", "file").data["a"] == "1"
    with pytest.raises(ScenarioError) as caught:
        parse_tree(f"{within}[x]{']' * (MAX_DEPTH - 1)}\n", "file")
    [one] = caught.value.problems
    assert (one.line, one.column) == (3, 3 + MAX_DEPTH)
    assert one.message == f"deeper than {MAX_DEPTH} levels"


def test_a_comma_is_asked_about_between_braces_in_a_key_too() -> None:
    for key, hint in (("{x: y, z}", True), ("x: y\n  z:", False)):
        tree = parse_tree(f"? {key}\n: 2\n", "file")
        [empty] = [one.message for one in tree.problems if "has no value" in one.message]
        assert ("comma" in empty) is hint, key


# Words.


def test_the_nearest_word_is_suggested_and_none_that_is_far() -> None:
    words = ["ascend", "descend", "descent", "work"]
    assert did_you_mean("desscend", words) == "; did you mean 'descend'?"
    assert did_you_mean("wrk", words) == "; did you mean 'work'?"
    assert did_you_mean("something", words) == ""


# Quantities.


def length(text: str, accuracy: Accuracy | None = None, **due: Any) -> Measured:
    context = {"accuracy": {"distance/measured": accuracy} if accuracy else {}}
    return read_quantity(text, Quantity("length", accuracy="distance", **due), context)


def test_a_range_is_even_between_its_ends_and_fixed_where_they_meet() -> None:
    found = length("2 m to 3 m")
    assert (found.low, found.value, found.high, found.distribution) == (2.0, 2.5, 3.0, "uniform")
    assert length("3 m to 2 m") == found.model_copy(update={"typed": "3 m to 2 m"})
    assert length("2 m to 2 m").distribution == "fixed"


def test_an_accuracy_reaches_to_what_such_a_quantity_can_be_and_no_further() -> None:
    wide = Accuracy(share=0.1, least=0.5, distribution="normal", pedigree="")
    for text, due, ends in (
        ("2 m", {}, (1.5, 2.5)),  # the least, larger than a tenth
        ("10 m", {}, (9.0, 11.0)),
        ("2 m", {"low": 1.8, "high": 2.2}, (1.8, 2.2)),
        ("2 m", {"low": 1.0, "high": 3.0}, (1.5, 2.5)),
        ("2 m", {"low": 2.0, "high": 2.0}, (2.0, 2.0)),
        ("0 m", {"low": 0.0}, (0.0, 0.5)),
    ):
        found = length(text, wide, **due)
        assert (found.low, found.high) == pytest.approx(ends, rel=1e-15), (
            text,
            due,
        )  # one rounding
    with pytest.raises(QuantityProblem, match="at most 2 m"):
        length("2.1 m", wide, high=2.0)


@pytest.mark.parametrize("load", ["0 kN", "-1 kN", "0 % of strength"])
def test_an_elongation_is_stated_at_a_load(load: str) -> None:
    strength = Measured.exact(30_000.0, "N")
    with pytest.raises(ValueError, match="the load must be above 0"):
        as_en_1891(f"3 % at {load}", strength)
    with pytest.raises(ValueError, match="needs the rope's strength"):
        as_en_1891("3 % at 5 % of strength", None)
    assert as_en_1891("3 %", None) == "3 %"


@pytest.mark.parametrize(
    ("load", "load_n"), [("2 kN", 2000.0), ("0.5 N", 0.5), ("1 N", 1.0), ("1 lbf", 4.4482216152605),
                         ("2 % of strength", 600.0), ("0.001 % of strength", 0.3)]
)  # fmt: skip
def test_an_elongation_at_another_load_is_taken_within_20_percent(load, load_n) -> None:
    found = as_en_1891(f"5 % at {load}", Measured.exact(30_000.0, "N"))
    assert isinstance(found, Measured)
    # derived: in proportion to the load, 100 kg for EN 1891
    wanted = 0.05 * 100 * GRAVITY_M_S2 / load_n
    ends = (wanted / 1.2, wanted, wanted * 1.2)
    assert (found.low, found.value, found.high) == pytest.approx(ends, rel=1e-14)  # roundings
    assert found.distribution == "lognormal"
    stiff = stiffness_of(found)
    assert stiff.low < stiff.value < stiff.high
    assert stiff.distribution == "lognormal"
    assert stiffness_of(Measured.exact(0.03)).distribution == "fixed"


def test_a_thicker_rope_like_another_weighs_as_its_section() -> None:
    known = built_in()["ropes"]["low-stretch 11"]
    assert known["diameter"]["value"] == "11 mm"
    usual = bench().ropes["rope"].mass
    found = bench(("length: 80 m", "diameter: 5.5 mm, length: 80 m")).ropes["rope"].mass
    for half, whole in ((found.low, usual.low), (found.value, usual.value),
                        (found.high, usual.high)):  # fmt: skip
        assert half == pytest.approx(whole / 4, rel=1e-12)  # half as thick; a few roundings
    own = bench(("length: 80 m", "diameter: 5.5 mm, mass: 70 g/m, length: 80 m"))
    assert own.ropes["rope"].mass.value == 0.07


# Grids.


def test_the_values_of_all_axes_are_counted() -> None:
    full: dict[str, Any] = {"grid": {"a": ["1"] * (MAX_POINTS - 1), "b": "2 m"}}
    assert spread(full) == {"grid": {"a": full["grid"]["a"], "b": ("2 m",)}}
    too_many = f"'c': the axes have more than {MAX_POINTS:,} values"
    for more, said in ((["3"], too_many), ("3 m", too_many), ({"x": "y"}, "has from, to and")):
        with pytest.raises(ValueError, match=said):
            spread({"grid": {**full["grid"], "c": more}})
    for other in ("x", {}, {"grid": "x"}, {"sample": "5"}):
        assert spread(other) == other


# Sections.


def with_kit(kit: str) -> Scenario:
    return load_text(BENCH.replace("job:", f"kit: {{pulley: {kit}}}\njob:"), "bench.yaml")


@pytest.mark.parametrize(
    ("kit", "count", "where"),
    [
        ("3", 3, ["on top"]),
        ("{count: 2}", 2, ["on top"]),
        ("{carried by: climber}", 1, ["carried by climber"]),
        ("[{count: 2}, {carried by: climber, count: 3}]", 5, ["on top", "carried by climber"]),
        ("{at: ground, fetch: 2 min}", 1, ["on the ground, fetched in 2 min"]),
    ],
)
def test_pieces_are_counted_where_they_lie(kit: str, count: int, where: list[str]) -> None:
    found = with_kit(kit)
    assert found.kit == {"pulley": count}
    assert [one.words for one in found.kit_places["pulley"]] == where


@pytest.mark.parametrize(
    ("kit", "said"),
    [
        ("0", "a whole number from 1 is due"),
        ("[]", "a whole number from 1 is due"),
        ("{carried by: climber, at: ground}", "leave out `at` or `carried by`"),
        ("{fetch: 2 min}", "it is at hand: leave out `fetch`"),
        ("{count: 0}", "greater than or equal to 1"),
    ],
)
def test_pieces_that_cannot_lie_so_are_told(kit: str, said: str) -> None:
    with pytest.raises(ScenarioError, match=said):
        with_kit(kit)


def test_weather_has_all_words_and_the_number_of_ones_own_is_ones_own() -> None:
    known = bench().weather
    assert set(known) == set(built_in()["weather"])
    assert known["wet"].basis == "assumed"
    found = bench(("job:", "weather: {wet: {value: 1.4, low: 1.2, high: 2}}\njob:")).weather
    assert {word for word in known if found[word] != known[word]} == {"wet"}
    wet = found["wet"]
    assert (wet.low, wet.value, wet.high, wet.basis, wet.typed) == (1.2, 1.4, 2.0, "given", "1.4")


def test_what_is_no_set_of_edges_is_replaced_whole() -> None:
    shared = "all options: {shift: {by: 0.4 m, every: 10}, protect: {arris: pad}}\noptions:\n"
    own = "bare: {shift: {by: 0.3 m, every: 5}, rope"
    line = bench(("options:\n", shared), ("bare: {rope", own)).options["bare"].lines["climber"]
    assert line.working.shift is not None
    assert (line.working.shift.by.value, line.working.shift.every) == (0.3, 5)
    assert set(line.working.protect) == {"arris"}


# Addresses.

TWO: dict[str, Any] = {
    "people": {"ann": {}, "bob": {}},
    "job": {"ann": [{"descend": {"height": "3 m"}}], "bob": [{"work": "5 min"}]},
    "options": {"one": {"rope": "r"}},
    "all options": {"rope": "r"},
}
DESCEND = ["height", "speed", "stop every"]
ONE = {**TWO, "job": TWO["job"]["ann"]}


@pytest.mark.parametrize(
    ("data", "path", "keys"),
    [
        (TWO, ("options",), []),
        (TWO, ("options", "one"), list(OPTION_KEYS)),
        (TWO, ("options", "one", "lines"), ["ann", "bob"]),
        (TWO, ("options", "one", "lines", "ann"), list(PERSON_KEYS)),
        (TWO, ("options", "one", "safety line"), list(LINE_KEYS)),
        (TWO, ("options", "one", "lines", "ann", "safety line"), list(LINE_KEYS)),
        (TWO, ("all options",), list(OPTION_KEYS)),
        (TWO, ("all options", "lines"), ["ann", "bob"]),
        (TWO, ("all options", "lines", "bob"), list(PERSON_KEYS)),
        (TWO, ("weather",), list(built_in()["weather"])),
        (TWO, ("techniques",), list(built_in()["techniques"])),
        (TWO, ("job", "ann", 0, "descend"), DESCEND),
        (ONE, ("job", 0, "descend"), DESCEND),
        (TWO, ("title",), []),
    ],
)
def test_keys_that_may_be_typed_at_a_place(data: dict, path: Path_, keys: list[str]) -> None:
    assert allowed_keys(data, path) == keys


@pytest.mark.parametrize(
    ("data", "path", "dimension"),
    [
        (TWO, ("weather", "wet"), "factor"),
        (TWO, ("edges", "kerb", "radius"), "length"),
        (TWO, ("people", "ann", "mass"), "mass"),
        (TWO, ("people", "ann", "technique", "rise time"), "time"),
        (TWO, ("wear", "sheath energy"), "energy per volume"),
        (TWO, ("job", "ann", 0, "descend", "height"), "length"),
        (ONE, ("job", 0, "descend", "height"), "length"),
        (ONE, ("job", 0, "inspect", "by"), None),  # somebody; a swing is by so many metres
        (ONE, ("job", 0, "swing", "by"), "length"),
        (TWO, ("job", "ann", 0, "inspect", "by"), None),
        (TWO, ("options", "one", "over", 0, "bend"), "angle"),
        (TWO, ("options", "one", "lines", "ann", "over", 0, "after"), "length"),
        (TWO, ("options", "one", "safety line", "backup", "slips"), "force"),
        (TWO, ("options", "one", "lines", "ann", "safety line", "shift", "by"), "length"),
        (TWO, ("options", "one", "technique", "rise"), "length"),
        (TWO, ("all options", "over", 0, "bend"), "angle"),
        (TWO, ("all options", "lines", "ann", "backup", "slips"), "force"),
        (TWO, ("lines", "ann", "safety line", "over", 0, "after"), "length"),
        (TWO, ("lines", "ann"), None),
        (TWO, ("options", "one", "rope"), None),
        (TWO, ("options", "one"), None),
        (TWO, ("people", "ann", "name"), None),
        (TWO, ("edges",), None),
        (TWO, ("job",), None),
        (TWO, ("title",), None),
    ],
)
def test_the_kind_of_quantity_that_is_due_at_a_place(
    data: dict, path: Path_, dimension: str | None
) -> None:
    found = quantity_due(path, data)
    assert (found and found.dimension) == dimension
    if path[0] == "weather":
        assert found is not None
        assert (found.low, found.above) == (0.0, False)  # no wear at all is possible


def test_a_key_that_all_options_may_have_is_found_there() -> None:
    assert matching(TWO, "all options/anchor").paths == (("all options", "anchor"),)
    assert "did you mean 'anchor'?" in matching(TWO, "all options/ancor").problem


def test_a_number_in_si_is_put_wherever_an_option_says_one() -> None:
    scenario = bench(
        ("options:\n", "all options: {technique: {like: jerky, rise: 0.3 m}, shift: {by: 0.1 m, "
         "every: 5}}\nlines: {climber: {tail: 1 m}}\noptions:\n")
    )  # fmt: skip
    moved = scenario.with_values(
        {"all options/technique/rise": 0.35, "all options/shift/by": 0.2, "lines/climber/tail": 2}
    ).options["bare"]
    line = moved.lines["climber"].working
    assert line.shift is not None
    assert line.tail is not None
    assert moved.people["climber"].technique.rise.value == 0.35
    assert (line.shift.by.value, line.tail.value) == (0.2, 2.0)
