"""Where a catch swings a safety line off its protection, every output has it in mind."""

from __future__ import annotations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from edgewear.findings.rigging import OffInCatch
from edgewear.rigging.findings.facts import facts
from edgewear.scenario import load_text

SITE = """\
edgewear: 1
title: Two lines side by side over one kerb
setting: industrial
target: 60 %
anchors:
  near: {{out: -{behind:.2f} m, up: 0 m, kind: pair, strength: 15 kN}}
  aside: {{out: -{behind:.2f} m, up: 0 m, along: {along:.2f} m, kind: pair, strength: 15 kN}}
edges:
  kerb: {{out: 0 m, up: 0 m, radius: 5 mm, surface: steel}}
ropes:
  red: {{like: low-stretch 11, length: 100 m, stopper: yes}}
people:
  lead: {{mass: 90 kg, technique: normal, system: pre-threaded, start: 1 m}}
kit: {{pad: 2}}
options:
  only:
    anchor: near
    rope: red
    protect: {{kerb: pad}}
    safety line:
      anchor: aside
      rope: red
      protect: {{kerb: {{is: {piece}, covers: {covers:.2f} m}}}}
    why not higher: {{rigid or rolling: none here}}
job:
  - descend: {down:.2f} m
  - work: 10 min
"""


def in_mind(piece: str, **site: float) -> bool:
    """Whether the report's facts keep in mind that the catch leaves the protection."""
    scenario = load_text(SITE.format(piece=piece, **site), "kerb.yaml")
    found = facts(scenario, "only")
    kept = [one for one in found.mind if isinstance(one, OffInCatch)]
    assert all(one.remark in found.warnings for one in kept)
    return bool(kept)


@settings(max_examples=30)
@given(
    behind=st.floats(1.0, 15.0), along=st.floats(0.2, 4.0), covers=st.floats(0.2, 12.0),
    down=st.floats(3.0, 20.0),
)  # fmt: skip
def test_a_pad_too_short_for_the_swing_is_kept_in_mind(
    behind: float, along: float, covers: float, down: float
) -> None:
    """Unfolded at the kerb the line is straight: it crosses at along*below/(behind + below).

    Under the anchor it crosses at `along`, at least so far it travels; on the far side of a swing
    at twice that at most. A pad reaches half its length to either side. What lies between, and a
    fifth for the depth of the fall, is left out: friction decides there.
    """
    least = along * behind / (behind + 5.0 + down)
    assume(not 0.8 * least < 0.5 * covers < 2.0 * along)
    off = 0.5 * covers < least
    assert in_mind("pad", behind=behind, along=along, covers=covers, down=down) is off


@settings(max_examples=10)
@given(along=st.floats(0.2, 4.0), covers=st.floats(0.2, 1.0))
def test_what_is_fixed_to_the_rope_goes_with_it(along: float, covers: float) -> None:
    assert not in_mind("sleeve, fixed to: rope", behind=8.0, along=along, covers=covers, down=5.0)
