from __future__ import annotations

import math
import re

import pytest
from lxml import etree

from planestock.exports.drawing.model import View
from planestock.exports.drawing.svg import MARGIN, svg_file, svg_files
from planestock.exports.stamp import Stamp
from tests.paper_support import SETS, shipped_design, shipped_views, stamp

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("a <b> & \"c\" 'd' ]]>", "<script>alert(1)</script>", "🪵 \x00\x07\ud800", "W" * 300)


def view(which: str) -> View:
    return next(one for one in shipped_views("jack") if one.name == which)


def read(content: bytes) -> etree._Element:
    return etree.fromstring(content)


def numbers(text: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", text)]


@pytest.mark.parametrize("name", SETS)
def test_sizes_are_millimetres_and_one_unit_is_one_millimetre(name: str) -> None:
    files = svg_files(shipped_design(name), stamp(shipped_design(name)), shipped_views(name))
    for (file, content), shown in zip(files.items(), shipped_views(name), strict=True):
        root = read(content)
        width, height = root.get("width"), root.get("height")
        assert width is not None
        assert height is not None
        assert width.endswith("mm"), file
        box = [float(one) for one in root.get("viewBox").split()]
        assert box == [0.0, 0.0, float(width[:-2]), float(height[:-2])]
        assert box[2] == pytest.approx(shown.box.width * shown.scale + 2 * MARGIN, abs=1e-4)


def test_points_of_the_layout_lie_where_they_belong() -> None:
    shown, at = view("inside-right-half"), shipped_design("jack").layout
    root = read(svg_file(shown, stamp(shipped_design("jack"))))
    throat = root.find(f"{SVG}g[@id='throat']/{SVG}path").get("d")
    found = list(zip(numbers(throat)[::2], numbers(throat)[1::2], strict=True))
    left, high = shown.box.left - MARGIN, shown.box.high + MARGIN
    for x, z in at.throat:
        assert min(math.dist((x - left, high - z), one) for one in found) < 1e-4
    assert throat.endswith("Z")


def test_layers_are_groups_and_text_stays_text() -> None:
    root = read(svg_file(view("inside-right-half"), stamp(shipped_design("jack"))))
    assert {"outline", "throat", "bed", "seat", "holes", "dimensions", "text"} <= {
        group.get("id") for group in root.iter(f"{SVG}g")
    }
    assert "mouth, front 115.80" in [text.text for text in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("name", NAMES)
def test_any_name_stays_inside_the_title(name: str) -> None:
    root = read(svg_file(view("toe"), Stamp(name, "ab" * 32, "0.1.0")))
    assert {child.tag for child in root} == {f"{SVG}title", f"{SVG}g"}
    assert "ab" * 6 in root.findtext(f"{SVG}title", "")


def test_the_same_view_gives_the_same_bytes() -> None:
    one = stamp(shipped_design("jack"))
    assert svg_file(view("top"), one) == svg_file(view("top"), one)
