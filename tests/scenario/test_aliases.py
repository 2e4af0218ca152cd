"""Names under which numbers vary lead to every place where a file spells them, and nowhere else."""

from __future__ import annotations

import pytest

from edgewear.scenario.read.addresses import matching, value_at

ARRIS = [{"edge": "arris", "after": "2 m", "bend": "90 deg"},
         {"edge": "foot", "after": "5 m", "bend": "20 deg"}]  # fmt: skip
TWO = {
    "people": {"ann": {}, "bob": {}},
    "lines": {
        "ann": {"over": ARRIS, "protect": {"arris": "pad"},
                "safety line": {"over": ARRIS[:1], "protect": {"arris": {"is": "sleeve"}}}},
        "bob": {"over": ARRIS[1:], "protect": {"foot": {"is": "pad", "friction": "0.3"}}},
    },
    "options": {"first": {}, "second": {"lines": {"ann": {"protect": {"arris": "sleeve"}}}}},
    "job": {
        "ann": [{"descend": "3 m"}, {"work": "10 min"},
                {"repeat": {"times": 3, "steps": [{"work": {"for": "1 min"}}, {"ascend": "1 m"},
                                                  {"work": "2 min"}]}}],
        "bob": [{"work": "5 min"}],
    },
}  # fmt: skip
ONE = {"people": {"ann": {}}, "options": {"first": {"over": ARRIS}, "second": {"over": []}},
       "job": [{"descend": "3 m"}, {"work": "10 min"}]}  # fmt: skip
MACHINE = {"options": {"first": {"over": ARRIS}},
           "job": [{"rest": "1 min"}, {"reciprocate": {"load": "120 kg"}},
                   {"reciprocate": {"load": "90 kg"}}]}  # fmt: skip
OPTIONS = ("first", "second")
ANN, ANN_SAFETY, BOB = ("lines", "ann"), ("lines", "ann", "safety line"), ("lines", "bob")


@pytest.mark.parametrize(
    ("data", "name", "paths"),
    [
        (TWO, "over/ann/working line/arris/bend",
         [("options", one, *ANN, "over", 0, "bend") for one in OPTIONS]),
        (TWO, "over/ann/*/arris/after",
         [("options", one, *line, "over", 0, "after") for one in OPTIONS
          for line in (ANN, ANN_SAFETY)]),
        (TWO, "over/*/*/foot/bend",
         [("options", one, *line, "over", at, "bend") for one in OPTIONS
          for line, at in ((ANN, 1), (BOB, 0))]),
        (TWO, "protection/arris/sleeve/friction",
         [("options", "first", *ANN_SAFETY, "protect", "arris", "friction"),
          ("options", "second", *ANN, "protect", "arris", "friction"),
          ("options", "second", *ANN_SAFETY, "protect", "arris", "friction")]),
        (TWO, "protection/arris/pad/friction",
         [("options", "first", *ANN, "protect", "arris", "friction")]),
        (TWO, "protection/*/pad/friction",
         [("options", "first", *ANN, "protect", "arris", "friction"),
          *(("options", one, *BOB, "protect", "foot", "friction") for one in OPTIONS)]),
        (TWO, "job/ann/2/for", [("job", "ann", 1, "work", "for")]),
        (TWO, "job/ann/3/bounce rate",
         [("job", "ann", 2, "repeat", "steps", at, "work", "bounce rate") for at in (0, 2)]),
        (TWO, "job/bob/1/duty", [("job", "bob", 0, "work", "duty")]),
        (ONE, "over/ann/working line/foot/bend", [("options", "first", "over", 1, "bend")]),
        (ONE, "job/ann/2/tool", [("job", 1, "work", "tool")]),
        (MACHINE, "over/machine/working line/arris/bend",
         [("options", "first", "over", 0, "bend")]),
        (MACHINE, "people/machine/mass", [("job", at, "reciprocate", "load") for at in (1, 2)]),
    ],
)  # fmt: skip
def test_a_name_stands_for_all_its_places(data, name, paths) -> None:
    assert sorted(map(str, matching(data, name).paths)) == sorted(map(str, paths))


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (TWO, "over/cid/working line/arris/bend"), (TWO, "over/ann/working line/lip/bend"),
        (TWO, "protection/arris/roller/friction"), (TWO, "job/ann/1/for"), (TWO, "job/ann/4/for"),
        (TWO, "job/ann/0/for"), (TWO, "job/ann/2/height"), (TWO, "job/cid/1/for"),
        (ONE, "job/bob/2/for"), (TWO, "people/machine/mass"), (MACHINE, "people/ann/mass"),
        (MACHINE, "people/machine/height"),
    ],
)  # fmt: skip
def test_a_name_that_stands_for_nothing_leads_nowhere(data, name) -> None:
    assert matching(data, name).paths == ()
    assert matching(data, name).problem


PADS = {"ann": {"protect": {"arris": "pad"}}, "bob": {"protect": {"arris": "mat"}}}


@pytest.mark.parametrize("people", [("ann",), ("ann", "bob")])
@pytest.mark.parametrize("under", [(), ("all options",)])
def test_what_one_person_has_is_the_option_s_where_there_is_no_other(people, under) -> None:
    lines = {"lines": {who: PADS[who] for who in people}}
    data = {"people": {who: {} for who in people}, "options": {"first": {}},
            **({under[0]: lines} if under else lines)}  # fmt: skip
    alone = value_at(data, ("options", "first", "protect"))
    assert alone == ({"arris": "pad"} if len(people) == 1 else None)
    for who in people:
        found = value_at(data, ("options", "first", "lines", who, "protect"))
        assert found == PADS[who]["protect"]
