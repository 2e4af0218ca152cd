"""What is typed at the edge of what is allowed, just inside it and just outside."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgewear import incoming
from edgewear.errors import ScenarioError
from edgewear.scenario import load_text
from edgewear.scenario.read.addresses import _unfolded, matching
from edgewear.scenario.read.expand import Expander
from edgewear.scenario.read.legs import WAYS, Spot
from edgewear.scenario.read.libraries import RECORDS, accuracies, built_in
from edgewear.scenario.read.reading import addresses_of, problems_at
from edgewear.scenario.read.rope_records import with_record
from edgewear.scenario.read.rope_rules import built_in_rules, own_rules
from edgewear.scenario.text.grid import MAX_POINTS, _range, _values
from edgewear.scenario.text.quantities import Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.retyping import spelled_out, typed_as
from edgewear.scenario.text.tree import MAX_TEXT, parse_tree, usual_slip
from edgewear.scenario.text.units import DIMENSIONS, Dimension, to_si
from support.planted.sound import text_of
from support.scenario_files import BENCH, bench

CONTEXT = {"accuracy": accuracies(built_in()), "exact": False}


def problems(text: str) -> list[str]:
    """What is said of a scenario's text."""
    with pytest.raises(ScenarioError) as caught:
        load_text(text, "bench.yaml")
    return [str(one) for one in caught.value.problems]


def changed(old: str, new: str) -> str:
    """The bench with some of its text replaced."""
    assert BENCH.count(old) == 1
    return BENCH.replace(old, new)


def told(text: str) -> list[str]:
    """What is said of a text that is YAML, with places."""
    try:
        return [f"{p.line}:{p.column}: {p.message}" for p in parse_tree(text, "file").problems]
    except ScenarioError as error:
        return [f"{p.line}:{p.column}: {p.message}" for p in error.problems]


# Files.


def test_a_file_of_another_encoding_or_with_a_control_character_is_refused_at_its_place() -> None:
    for raw, place, said in (
        ("title: x".encode("utf-16"), (1, 1), "this is UTF-16"),
        (b"a: b\nccc: \xff", (2, 6), "byte 0xff is not UTF-8"),
        (b"\xff", (1, 1), "byte 0xff"),
        ("é: \x07".encode(), (1, 4), "not allowed"),
        (b"\n\x07", (2, 1), "not allowed"),
        (b"\n\xff", (2, 1), "byte 0xff"),
        (b"\xef\xbb\xbfab\xff", (1, 3), "byte 0xff"),  # the mark at the beginning is no character
    ):
        with pytest.raises(ScenarioError) as caught:
            incoming.decoded(raw, "file")
        [one] = caught.value.problems
        assert said in one.message
        assert (one.line, one.column) == place


@pytest.mark.parametrize("name", ["", "nothing.yaml", "a\0b"])
def test_what_is_no_file_has_no_line(name: str, tmp_path: Path) -> None:
    with pytest.raises(ScenarioError) as caught:
        incoming.read_text(tmp_path / name, incoming.SCENARIO)
    [one] = caught.value.problems
    assert (one.line, one.column) == (0, 0)


# YAML.


def test_a_control_character_given_as_text_or_by_an_escape_is_refused() -> None:
    assert any("not allowed" in one for one in told("a: b\x07c\n"))
    assert any(one.startswith("2:4: ") for one in told('b: c\na: "x\\ay"\n'))
    assert any(one.startswith("2:3: ") for one in told('b:\n  "x\\ay": c\n'))  # a key too


def test_a_text_may_be_as_long_as_is_said_and_no_longer() -> None:
    assert told(f"a: {'x' * MAX_TEXT}\n") == []
    [one] = told(f"a: {'x' * (MAX_TEXT + 1)}\n")
    assert f"a text of {MAX_TEXT + 1:,} characters: at most {MAX_TEXT:,}" in one


def test_as_many_values_as_are_said_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("edgewear.scenario.text.tree.MAX_VALUES", 9)
    assert told("a: [1, 2, 3, 4, 5, 6, 7]") == []  # the file, its list, and what is in it
    assert any("more than 9 values" in one for one in told("a: [1, 2, 3, 4, 5, 6, 7, 8]"))


def test_a_cap_is_told_with_four_parts_of_the_address() -> None:
    with pytest.raises(ScenarioError) as caught:
        parse_tree("a: {b: {c: {d: {e: " + "[" * 99 + "]" * 99 + "}}}}\n", "file")
    assert caught.value.problems[-1].address == "a/b/c/d"


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("a: 1\n# x\n\nkey value\nb: [\n", 5, (4, 1, "`key: value`")),
        ("key value\n\nb: [\n", 3, (1, 1, "`key: value`")),
        ("a: 1\nb:2\nc: 3\n", 3, (2, 1, "`b: 2`")),
        ("a: 1\nkey\nc: 3\n", 2, (2, 1, "`key: ...`")),
        ("a:\n  b{x: 1}\n", 2, (2, 3, "`b: {x: 1}`")),
        ("a:\n\tb: 1\n", 2, (2, 1, "a tab at the beginning")),
        ("a:\n  \tb: 1\n", 2, (2, 3, "a tab at the beginning")),
    ],
)
def test_the_usual_slip_is_told_at_its_place(text: str, line: int, said: tuple) -> None:
    found = usual_slip(text, line)
    assert found is not None
    assert found[:2] == said[:2]
    assert said[2] in found[2]


def test_lines_without_a_slip_are_passed() -> None:
    assert usual_slip("a: 1\n- b\n", 2) is None
    assert usual_slip("a: 1\nkey value\n", 1) is None  # nothing stands before the first line
    assert usual_slip("# only words\n", 1) is None
    assert usual_slip("a: 1\n", 2) is None  # the end of the file
    assert usual_slip("key value\na: 1\n# x\nb: 2\n", 4) is None  # the line just before, no other


def test_values_inside_a_list_after_a_wrong_key_are_still_read() -> None:
    found = told("a: 1\n? {x: [1, 2]}\n: 2\nb: {c: 1, c: 2}\n")
    assert any("a key must be a word" in one for one in found)
    assert any(one.startswith("4:11: given twice; first in line 4") for one in found)


def test_a_key_without_a_value_is_asked_about_a_comma_inside_braces_alone() -> None:
    assert told("a: x\nb:\nc: 1\n") == ["2:1: 'b' has no value"]
    [one] = told("z: {a: x, b, c: 1}\n")
    assert 'put it in quotes: "x, b"' in one


def test_what_is_refused_stands_as_an_empty_text() -> None:
    assert parse_tree("a: &x 1\nb: *x\n", "file").data == {"a": "1", "b": ""}


# Quantities.


def read(text: object, **due: object):
    """A length of at least 0, as it is typed."""
    return read_quantity(text, Quantity("length", **{"low": 0.0, **due}), CONTEXT)


def test_the_largest_and_the_smallest_length_are_lengths() -> None:
    most, least = DIMENSIONS["length"].most, DIMENSIONS["length"].least
    for size in (most, least, 0.0):
        assert read(f"{size!r} m").value == size
    for size, said in ((most * 1.001, "too large"), (least * 0.999, "too small")):
        with pytest.raises(QuantityProblem, match=said):
            read(f"{size!r} m")


@pytest.mark.parametrize(
    ("low", "value", "high"),
    [(1.0, 2.0, 1.001), (-1.001, 0.0, 0.5), (0.0, 0.5, 1.001), (-1.001, -1.0, 0.5)],
)  # fmt: skip
def test_each_end_of_a_quantity_is_held_to_its_size(low, value, high) -> None:
    """In shares of the largest length; an end that is too far refuses it, whatever the others."""
    most = DIMENSIONS["length"].most
    ends = sorted((low, min(value, 1.0), high))
    entry = {key: f"{share * most!r} m" for key, share in zip(("low", "value", "high"), ends,
                                                              strict=True)}  # fmt: skip
    with pytest.raises(QuantityProblem, match="is too large: a length is at most"):
        read_quantity(entry, Quantity("length"), {})
    inside = {key: f"{max(-1.0, min(share, 1.0)) * most!r} m"
              for key, share in zip(("low", "value", "high"), ends, strict=True)}  # fmt: skip
    assert read_quantity(inside, Quantity("length"), {}).high <= most


@pytest.mark.parametrize("above", [False, True])
@pytest.mark.parametrize("by", [0.999, 1.0])
def test_a_value_is_held_to_its_least_size_though_its_high_end_is_larger(above, by) -> None:
    least = DIMENSIONS["length"].least
    entry = {"value": f"{by * least!r} m", "low": f"{by * least!r} m", "high": "1 m"}
    if by < 1.0:
        with pytest.raises(QuantityProblem, match="is too small: a length is 0, or at least"):
            read(entry, above=above)
    else:
        assert read(entry, above=above).value == least


def test_a_least_value_is_held_with_its_low_end_where_it_must_lie_above() -> None:
    entry = {"value": "1 m", "low": "1e-9 m", "high": "2 m"}
    assert read(entry).low == 1e-9  # it may be nothing
    with pytest.raises(QuantityProblem, match="too small"):
        read(entry, above=True)
    for above, fits in ((False, True), (True, False)):
        if fits:
            assert read("0 m", above=above).value == 0.0
        else:
            with pytest.raises(QuantityProblem, match="must be above 0"):
                read("0 m", above=above)
    assert read("3 m", high=3.0).value == 3.0
    with pytest.raises(QuantityProblem, match="at most 3"):
        read("3.1 m", high=3.0)


def test_an_entry_without_a_range_is_fixed_and_with_one_normal() -> None:
    assert read({"value": "1 m"}).distribution == "fixed"
    assert read({"value": "1 m", "high": "2 m"}).distribution == "normal"


@given(st.integers(1, 10**6))
def test_an_inverse_unit_divides_where_that_rounds_once(count: int) -> None:
    assert to_si(f"{count} per min", DIMENSIONS["rate"]) == count / 60
    odd = Dimension("odd", "m", {"u": 1 / (60 + 9e-8)})  # 1.5e-9 off a whole number: not one
    assert to_si(f"{count} u", odd) == count * odd.factors["u"]


@given(st.floats(1e-6, 9e3), st.sampled_from(["length", "force", "angle", "factor"]))
def test_a_number_is_typed_so_that_reading_gives_it_again(value: float, name: str) -> None:
    typed = typed_as(value, Quantity(name))
    assert isinstance(typed, dict)
    assert to_si(typed["value"], DIMENSIONS[name]) == pytest.approx(value, rel=3e-16)


@pytest.mark.parametrize("name", DIMENSIONS)
def test_a_number_is_typed_in_the_unit_that_it_is_in_or_in_the_nearest(name: str) -> None:
    """Where the SI unit itself can be typed, in that: nobody has to work it out again."""
    dimension = DIMENSIONS[name]
    text = typed_as(dimension.most / 2, Quantity(name))["value"]
    unit = text.partition(" ")[2]
    assert unit in dimension.factors
    si = [one for one, factor in dimension.factors.items() if factor == 1.0]
    assert unit in (si or ["%"])  # of a share there is no other


@pytest.mark.parametrize("by_hand", [False, True])
def test_what_is_found_later_is_told_at_its_place_where_it_has_one(by_hand: bool) -> None:
    scenario = load_text(text_of("pick-off", {}), "made.yaml")
    if by_hand:
        scenario = scenario.model_copy(update={"source": ""})
    found = problems_at(scenario, [("edges/lip/radius", "too sharp"), ("anchors/west", "weak")])
    told = sorted((one.file, one.address, one.message) for one in found)
    assert told == [("made.yaml", "anchors/west", "weak"),
                    ("made.yaml", "edges/lip/radius", "too sharp")]  # fmt: skip
    assert all((one.line == 0) == (one.column == 0) == by_hand for one in found)


@pytest.mark.parametrize(
    ("steps", "said"),
    [([{"nonsense": 1}], "unknown step 'nonsense'"), ([{"rest": "x"}], "begin with a number"),
     ([{"rest": "1 s"}, {"rest": "x"}], "begin with a number"), ([], "at least 1"),
     ("x", "a list is due")],
)  # fmt: skip
def test_steps_that_cannot_be_read_are_told_once_and_not_missed_too(steps, said) -> None:
    change = {"job/rescuer": [{"repeat": {"times": 2, "steps": steps}}]}
    with pytest.raises(ScenarioError) as told:
        load_text(text_of("pick-off", change), "made.yaml")
    [problem] = told.value.problems
    assert said in problem.message
    assert problem.address.startswith("job/rescuer/1/")


NAMED = {"surfaces": "concrete", "techniques": "normal", "systems": None, "sheaths": None}
"""Section of the library -> a word whose values fill in what is left out; None: any."""


@pytest.mark.parametrize("section", NAMED)
def test_what_is_typed_whole_has_no_other_s_name(section: str) -> None:
    """With one value left out it is like the usual one, and has the rest from there."""
    library = built_in()
    word = NAMED[section] or next(iter(library[section]))
    whole = {key: f"typed {key}" for key in library[section][word]}
    expander = Expander(library, lambda path, message: pytest.fail(message))
    of = partial(expander.named, section, path=("it",), noun="thing", default=word)
    assert of(whole) == {"name": "thing", **whole}
    assert of({**whole, "more": "x"}) == {"name": "thing", **whole, "more": "x"}
    for key in whole:
        part = {name: value for name, value in whole.items() if name != key}
        found = of(part)
        assert found["name"] == word
        assert {name: found[name] for name in part} == part
        assert key in found
    assert of({"like": word})["name"] == of(word)["name"] == word


@pytest.mark.parametrize("share", [0.4768274479944552, 0.6005, 0.01, 0.07, 0.29, 1.1])
def test_a_share_is_typed_in_percent_so_that_reading_gives_it_again(share: float) -> None:
    """A hundred times a share is rounded, and so is its hundredth: not every text leads back."""
    assert to_si(typed_as(share, Quantity("share"))["value"], DIMENSIONS["share"]) == share


def test_a_count_is_typed_as_one_and_a_text_stays() -> None:
    assert [typed_as(one, None) for one in (3.0, 2.5, "x")] == ["3", "2.5", "x"]


def test_a_file_is_written_as_it_is_read_in_its_order_and_in_its_letters() -> None:
    data = {"title": "Brücke", "a": {"z": "1", "b": ["x", "y"]}, "long": "word " * 30}
    text = spelled_out(data)
    assert parse_tree(text, "file").data == {**data, "long": ("word " * 30)}
    assert text.index("title") < text.index("z:") < text.index("b:")
    assert "Brücke" in text
    assert max(map(len, text.splitlines())) <= 102  # a hundred, and two quotes


# Grids.


def axis(first: str, last: str, steps: object, most: int = MAX_POINTS) -> tuple[str, ...]:
    return _range("a", {"from": first, "to": last, "steps": steps}, most)


def test_an_axis_is_written_out_with_both_ends_in_plain_digits() -> None:
    assert axis("2 m", "38 m", 4) == ("2 m", "14 m", "26 m", "38 m")
    assert axis("0", "1", "3") == ("0", "0.5", "1")
    assert axis("100 mm", "200 mm", "2") == ("100 mm", "200 mm")  # no digit is lost
    assert axis("3 m", "1 m", "3") == ("3 m", "2 m", "1 m")
    assert _values("a", "5 m", 9) == ("5 m",)
    assert _values("a", ["1 m"], 9) == ["1 m"]


@pytest.mark.parametrize("steps", ["1", "0", "-2", "2.0", "x", "9" * 19, "11", ""])
def test_steps_are_whole_numbers_from_two_to_what_is_left(steps: str) -> None:
    assert len(axis("0 m", "1 m", 10, 10)) == 10
    with pytest.raises(ValueError, match="whole number from 2 on"):
        axis("0 m", "1 m", steps, 10)


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [("far", "2 m", "'far'"), ("1 m", "", "''"), ("1 m", "2 km", "must have the same unit"),
     ("-1e13 m", "1 m", r"within 1e\+12 m"), ("0 m", "1e13 m", r"within 1e\+12 m")],
)  # fmt: skip
def test_both_ends_of_an_axis_are_numbers_in_one_unit(first: str, last: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        axis(first, last, 3)


def test_the_axes_of_a_grid_have_so_many_values_together() -> None:
    half = MAX_POINTS // 2

    def text(second: int) -> str:
        grid = (
            f"study: {{grid: {{edges/arris/radius: {{from: 1 mm, to: 2 mm, steps: {half}}}, "
            f"people/climber/mass: {{from: 80 kg, to: 90 kg, steps: {second}}}}}}}\njob:"
        )
        return changed("job:", grid)

    assert any("all axes have at most" in one for one in problems(text(MAX_POINTS - half + 1)))


# Addresses.


def test_a_short_spelling_is_written_out_where_a_part_of_it_is_addressed() -> None:
    for path, word, wanted in (
        (("people", "a", "technique"), "jerky", {"like": "jerky"}),
        (("options", "o", "protect", "lip"), "pad", {"is": "pad"}),
        (("options", "o", "safety line", "backup"), "toothed", {"is": "toothed"}),
        (("options", "o", "shift"), "0.4 m every 10 strokes", {"by": "0.4 m", "every": "10"}),
        (("job", 0, "descend"), "5 m", {"height": "5 m"}),
        (("people", "a"), "", {}),
        (("people", "a"), None, {}),
        (("people", "a"), 5, {}),
    ):
        assert _unfolded(word, path) == wanted


SHIFTED = changed("{rope: rope, over", "{rope: rope, shift: 0.4 m every 10 strokes, over")


def test_a_shift_is_written_like_its_example_and_its_length_has_an_address() -> None:
    scenario = load_text(SHIFTED, "bench.yaml")
    moved = scenario.with_values({"options/bare/shift/by": "0.3 m"})
    for found, by in ((scenario, 0.4), (moved, 0.3)):
        shift = found.options["bare"].lines["climber"].working.shift
        assert shift is not None
        assert (shift.by.value, shift.every) == (by, 10)
    for wrong in ("0.4 m every x strokes", "0.4 m every 10 hours", "0.4 m"):
        said = problems(SHIFTED.replace("0.4 m every 10 strokes", wrong))
        assert any("write it like 0.4 m every 10 strokes" in one for one in said), wrong


def test_a_word_of_an_own_library_has_an_address_and_a_word_of_nobody_none() -> None:
    said = None
    try:
        addresses_of(bench(), "techniques/none of ours/rise")
    except ScenarioError as error:
        [said] = error.problems
    assert said is not None
    assert (said.line, said.column) == (0, 0)  # of no line
    assert "nothing is named 'none of ours'" in said.message


def test_a_word_may_be_an_own_librarys_where_the_section_has_words_and_a_library_is_named() -> None:
    own = {"library": "own.yaml"}
    assert matching(own, "techniques/mine").paths == (("techniques", "mine"),)
    assert "nothing is named 'mine'" in matching({}, "techniques/mine").problem
    assert "nothing is named 'mine'" in matching(own, "edges/mine").problem


# What is due.


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("job:\n  - ascend: 5 m\n", "job: 5\n", "a list of steps is due, or one for each person"),
        ("job:\n  - ascend: 5 m\n", "job: {}\n", "a list of steps is due, or one for each person"),
        ("job:\n  - ascend: 5 m\n", "job: {climber: []}\n", "a list of steps is due, each with"),
        ("job:\n  - ascend: 5 m\n", "job: {climber: x}\n", "a list of steps is due, each with"),
        ("title: Bench", "title: [x]", "a text is due"),
        ("start: 8 m", "start: 8 m, technique: {lik: jerky}", "given twice"),
        ("- ascend: 5 m", "- {ascend: 5 m, descend: 3 m}", "in one entry: one step an entry"),
        ("- ascend: 5 m", "- ascend: {}", "'height' is missing"),
        ("- ascend: 5 m", "- repeat: 5", "has no short spelling"),
        ("rope: rope, over", "rope: [x], over", "a text is due, not a list"),
        ("edge: arris", "edge: {x: y}", "a text is due, not keys with values"),
        ("mass: 90 kg", "mass: yes", "does not begin with a number"),
    ],
)
def test_what_is_due_is_said(old: str, new: str, said: str) -> None:
    found = problems(changed(old, new))
    assert any(said in one for one in found), found


def test_the_limits_of_a_rescue_may_be_left_out_or_set_one_by_one() -> None:
    assert bench().limits.drop is None
    one = load_text(changed("job:", "limits: {drop: 1 m}\njob:"), "bench.yaml").limits
    assert one.drop is not None
    assert (one.drop.value, one.peak) == (1.0, None)


def test_a_weather_factor_that_cannot_be_read_is_told_and_the_others_stay() -> None:
    word = next(iter(built_in()["weather"]))
    said = problems(changed("job:", f"weather: {{{word}: -1}}\njob:"))
    assert any(f"weather/{word}" in one for one in said)


# Rope records and rules.

RECORD = {"rope": "R1", "entry": 3, "hash": "ab" * 32, "length m": 50.0, "like": "low-stretch 11",
          "worn": [[1.0, 2.0, 0.0, 0.1, 0.2], [3.0, 4.0, 0.05, 0.1, 0.2]]}  # fmt: skip


def test_a_record_fills_in_what_was_not_typed_and_never_over_worn_parts() -> None:
    found = with_record({"record": "store.ropes", "worn": ["own"]}, RECORD, "store.ropes")
    assert (found["length"], found["like"]) == ("50.000 m", "low-stretch 11")
    # from nothing on there is no logarithm
    shapes = [part["sheath"]["distribution"] for part in found["worn"][:2]]
    assert shapes == ["normal", "lognormal"]
    assert found["worn"][2] == "own"
    own = with_record({"family": "dynamic", "length": "40 m"}, RECORD, "store.ropes")
    assert "like" not in own
    assert own["length"] == "40 m"
    assert "like" not in with_record({}, {**RECORD, "like": None}, "store.ropes")


def test_a_record_that_was_kept_and_cannot_be_read_is_told_at_its_rope() -> None:
    text = changed("like: low-stretch 11, length: 80 m", "record: store.ropes")
    with pytest.raises(ScenarioError, match="what was kept of rope 'rope' cannot be read") as told:
        load_text(text, "bench.yaml", f"\n{RECORDS}: {{rope: {{rope: rope}}}}\n")
    assert [one.address for one in told.value.problems] == ["ropes/rope/record"]  # and no more


@pytest.mark.parametrize(
    ("limit", "days"),
    [("1 day", 1.0), ("2 days", 2.0), ("1 week", 7.0), ("1 month", 365.25 / 12),
     ("0.5 years", 182.625)],
)  # fmt: skip
def test_a_rules_time_is_read_in_days(tmp_path: Path, limit: str, days: float) -> None:
    word = next(w for w, rule in built_in_rules().items() if rule.limit and rule.limit > 1.0)
    own = tmp_path / "own.yaml"
    own.write_text(f"rope rules:\n  {word}: {{asks: retire, limit: {limit}}}\n")
    assert own_rules(own)[word].limit == days
    own.write_text(f"rope rules:\n  {word}: {{asks: retire, limit: soon}}\n")
    with pytest.raises(ScenarioError, match="a time such as 6 months is due"):
        own_rules(own)


# Legs, and an own library.


def test_coordinates_from_legs_are_exact_only_where_no_leg_was_uncertain() -> None:
    found = Spot([1.0, 2.0, 3.0], [0.0, 0.5, 0.0], "taped").entries()
    assert [one.distribution for one in found.values()] == ["fixed", "normal", "fixed"]
    assert (found["along"].low, found["along"].value, found["along"].high) == (1.5, 2.0, 2.5)
    assert [bool(one.pedigree) for one in found.values()] == [False, True, False]


def test_ways_of_a_leg_lead_along_three_axes_there_and_back() -> None:
    pairs = [("out", "back"), ("out", "in"), ("right", "left"), ("up", "down")]
    for there, back in pairs:
        assert WAYS[there] == (WAYS[back][0], -WAYS[back][1])
    assert [WAYS[word] for word in ("out", "right", "up")] == [(0, 1.0), (1, 1.0), (2, 1.0)]


def test_an_anchor_that_is_no_set_of_keys_is_told_as_it_was_typed() -> None:
    said = problems(changed("job:", "anchors: {post: 5}\njob:"))
    assert any("anchors/post" in one and "'5'" in one for one in said), said


def test_an_unknown_kind_of_reading_is_told_at_its_key() -> None:
    with pytest.raises(ScenarioError) as caught:
        load_text(BENCH, "bench.yaml", "accuracy:\n  sighted: {least: 1 m}\n")
    [one] = [p for p in caught.value.problems if "unknown kind of reading" in p.message]
    assert (one.line, one.column) == (2, 3)


def test_a_section_of_an_own_library_that_is_no_set_of_words_is_told() -> None:
    with pytest.raises(ScenarioError, match="words with their values are due"):
        load_text(BENCH, "bench.yaml", "ropes: 5\n")
