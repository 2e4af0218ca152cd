"""The audit sheet: of what, held to what, by whom; and why a revision is better."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import replace
from functools import cache
from html import unescape
from math import exp
from types import SimpleNamespace

import pytest

from edgewear.errors import UsageError
from edgewear.findings.plain import plain
from edgewear.procedure.faults import faults
from edgewear.procedure.judged.audit import EVERY, audit, check_courses
from edgewear.report.formats import html
from edgewear.report.procedure.audit_page import audit_sheet, write_audit
from edgewear.scenario import load_text
from edgewear.scenario.models.scenario import Limits
from edgewear.study.model import ScenarioModel
from support.planted.flaws import UNWATCHED
from support.planted.sound import text_of

SOUND = text_of("pick-off", {"notes": {"author": "A. Nyone", "revision": "B"}})
UNSEEN = text_of("pick-off", {**UNWATCHED, "notes": {"revision": "A"}})


@cache
def audited(folder):
    """A sound procedure, audited with every fault's course."""
    path = folder / "sound.yaml"
    path.write_text(SOUND, encoding="utf-8")
    found = faults(path, replicates=1, workers=1)
    return path, replace(found, audit=audit(found, [path], [EVERY]))


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return audited(tmp_path_factory.mktemp("audit"))


def shown(found) -> str:
    body = html.page(audit_sheet(found)).partition("<main>")[2].partition("<script>")[0]
    return " ".join(unescape(re.sub("<[^>]+>", " ", body)).split())


def test_the_sheet_says_of_which_bytes_it_is(whole) -> None:
    path, found = whole
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert [(one.path, one.sha256) for one in found.audit.inputs] == [("sound.yaml", digest)]
    assert digest in shown(found)
    assert " ".join(SOUND.split()) in shown(found)  # all of the input, word for word


def test_every_limit_is_told_with_its_source(whole) -> None:
    _, found = whole
    told = {one.name: one for one in found.audit.limits}
    assert set(Limits.model_fields) < set(told)
    assert (told["ground"].most, told["ground"].unit) == (2400.0, "s")  # 40 min
    assert told["ground"].source == "typed: 40 min"
    assert (told["peak"].most, told["peak"].unit) == (6000.0, "N")  # nobody typed one
    assert not told["peak"].source.startswith("typed")


def test_people_sign(whole) -> None:
    _, found = whole
    assert [(one.role, one.name) for one in found.audit.sign_off] == [
        ("prepared by", "A. Nyone"), ("checked by", None), ("accepted by", None),
    ]  # fmt: skip
    assert "prepared by A. Nyone" in shown(found)
    assert "name date signature" in shown(found)


def test_steps_have_their_words_wherever_they_are_numbered(whole) -> None:
    _, found = whole
    steps = {(one.person, one.step): one for one in found.audit.steps}
    assert steps["technician", 3].words == "work 10 min"
    depths = [steps["technician", k].depth_m for k in range(1, 6)]
    down_up_m = (depths[1] - depths[0], depths[2] - depths[3])
    assert down_up_m == pytest.approx((8.0, 8.0), abs=1e-9)  # sums of metres
    assert depths[3] == depths[4]
    assert steps["rescuer", 1].depth_m is None  # waits on top
    assert steps["rescuer", 1].to_s == steps["technician", 5].to_s > 600.0
    # crossing takes 60 s as the library has it; the work lasts ten minutes
    assert steps["technician", 1].to_s == 60.0
    assert steps["technician", 3].to_s - steps["technician", 3].from_s == pytest.approx(600.0)
    for row in found.single_failures:
        assert f"{row.step} ({row.step_words})" in shown(found)


def test_loads_are_those_that_a_comparison_knows(whole) -> None:
    path, found = whole
    known = ScenarioModel.of(load_text(SOUND, str(path)), 0).rigged(found.option)["loads"]
    assert plain(found.audit.loads) == known
    assert {one["case"] for one in known} == {"in work", "rescue", "catch"}


def test_the_course_of_each_fault_asked_for_is_told(whole) -> None:
    path, found = whole
    titles = [one.title.rpartition(": ")[2] for one in found.audit.timelines]
    assert titles == ["faints", "anchor goes"]
    one = audit(found, [path], ["anchor goes"])
    assert [t.title for t in one.timelines] == [found.audit.timelines[1].title]
    assert audit(found, [path]).timelines == ()
    for option in (None, "as written"):
        with pytest.raises(UsageError, match="no fault is called 'storm'; there are faints"):
            check_courses(path, option, ["storm"])
        check_courses(path, option, ["faints", EVERY])
    check_courses(path, "no such option", ["storm"])  # of that the run itself tells


@pytest.mark.parametrize("a_hour", [0.1, 1.0, 30.0])
def test_a_fault_by_chance_comes_in_the_middle_of_its_chances_within_the_job(
    a_hour, tmp_path
) -> None:
    """Half of those that come within the job come before it: P(t) = P(end) / 2."""
    path = tmp_path / "it.yaml"
    rated = {"attendant away": "5 min", "rate": f"{a_hour} per h", "source": "a guess"}
    path.write_text(text_of("pick-off", {"faults/away": rated}), encoding="utf-8")
    asked = SimpleNamespace(option="as written", seed=0)  # all that the courses need of a finding
    found = audit(asked, [path], ["away"])
    end_s = max(one.to_s for one in found.steps)
    [time_s] = [mark.time_s for mark in found.timelines[0].marks if mark.who == "away"]
    before, whole = (1.0 - exp(-a_hour * time / 3600.0) for time in (time_s, end_s))
    assert before / whole == pytest.approx(0.5, abs=1e-6)  # whole ticks of 0.1 ms


def test_the_document_has_what_the_sheet_has(whole, tmp_path) -> None:
    _, found = whole
    document = json.loads(json.dumps(found.as_json(), allow_nan=False))
    assert document["audit"]["inputs"][0]["sha256"] == found.audit.inputs[0].sha256
    assert len(document["audit"]["timelines"]) == 2
    assert "audit" not in replace(found, audit=None).as_json()
    write_audit(found, tmp_path / "sheet.html")
    assert (tmp_path / "sheet.html").read_text("utf-8") == html.page(audit_sheet(found))


def test_a_revision_is_better_for_a_reason_that_is_told(tmp_path) -> None:
    """Nobody watched before, somebody does now: each fate that is better says what was missing
    and who comes now; the changed lines of the input stand beside it."""
    before, after = tmp_path / "a.yaml", tmp_path / "b.yaml"
    before.write_text(UNSEEN, encoding="utf-8")
    after.write_text(SOUND, encoding="utf-8")
    found = faults(before, after, replicates=1, workers=1)
    found = replace(found, audit=audit(found, [before, after]))
    better = [one for one in found.difference.fates if one.change == "better"]
    assert better
    for one in better:
        assert "no rescue shown (nobody sees that technician cannot call) before" in one.words
        assert re.search(r"pick-off by rescuer, down by \d+:\d\d now", one.words)
    assert not [one for one in found.difference.fates if one.change == "worse"]
    lines = found.audit.changed_lines
    went = [line[1:] for line in lines if line.startswith("-")]
    came = [line[1:] for line in lines if line.startswith("+")]
    assert set(went) <= set(UNSEEN.splitlines())
    assert set(came) <= set(SOUND.splitlines())
    assert any(line.startswith("lines:") and "edge attendant" in line for line in came)
    assert "What was changed in the input" in shown(found)
