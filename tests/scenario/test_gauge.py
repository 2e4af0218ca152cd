"""The printed gauge has the radii it says."""

from __future__ import annotations

import importlib.util
import re
import xml.etree.ElementTree as xml

import pytest

from edgewear.scenario.models.gear import CUTTING_RADIUS_M
from support.scenario_files import ROOT

FOLDER = ROOT / "docs" / "how-to"
SVG = "{http://www.w3.org/2000/svg}"
TREE = xml.parse(FOLDER / "edge-gauge.svg").getroot()
PATHS = {p.get("id"): p.get("d", "") for p in TREE.iter(f"{SVG}path")}
RADII = [float(str(name)[1:]) for name in PATHS if str(name).startswith("r")]


def test_drawing_is_the_one_made_now() -> None:
    spec = importlib.util.spec_from_file_location("gauge", FOLDER / "make_edge_gauge.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert (FOLDER / "edge-gauge.svg").read_text() == module.drawing()


def test_one_unit_is_one_millimetre() -> None:
    _, _, width, height = map(float, str(TREE.get("viewBox")).split())
    assert (TREE.get("width"), TREE.get("height")) == (f"{width:g}mm", f"{height:g}mm")
    assert PATHS["check"].endswith("h 100")


@pytest.mark.parametrize("radius", RADII)
def test_corner_has_its_radius(radius: float) -> None:
    found = re.fullmatch(
        r"M (\S+) (\S+) H (\S+) A (\S+) (\S+) 0 0 1 (\S+) (\S+) V (\S+)", PATHS[f"r{radius:g}"]
    )
    assert found is not None
    _, y0, x1, rx, ry, x2, y2, _ = map(float, found.groups())
    assert rx == ry == radius
    # a quarter circle tangent to both sides ends one radius further in both directions
    assert (x2 - x1, y2 - y0) == pytest.approx((radius, radius), abs=1e-9)


def test_limit_of_cutting_edges_is_drawn() -> None:
    assert CUTTING_RADIUS_M * 1e3 in RADII


def test_everything_lies_on_the_sheet() -> None:
    width, height = (float(str(TREE.get(k)).removesuffix("mm")) for k in ("width", "height"))
    for radius in RADII:
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", PATHS[f"r{radius:g}"])]
        assert numbers[0] > 0
        assert numbers[6 + 2] < width
        assert numbers[-1] < height - 25  # above the check line and its text
