from __future__ import annotations

import math
import re

import pytest
from lxml import etree

from planestock.exports.drawing.model import Anchor, Stroke, View, Words, bounds_of_item
from planestock.exports.drawing.svg import MARGIN, svg_file, svg_files
from planestock.exports.files.stamp import Stamp
from planestock.params.outlines.polygons import chain
from tests.support.paper_support import SETS, shipped_design, shipped_views, stamp

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


def test_layers_are_groups_and_letters_are_outlines_that_say_their_text() -> None:
    root = read(svg_file(view("inside-right-half"), stamp(shipped_design("jack"))))
    assert {"outline", "throat", "bed", "seat", "holes", "dimensions", "text"} <= {
        group.get("id") for group in root.iter(f"{SVG}g")
    }
    said = {path.get("aria-label"): path for path in root.iter(f"{SVG}path") if path.get("aria-label")}
    assert "mouth, front 115.80" in said
    assert all(path.get("d") for path in said.values())
    assert not list(root.iter(f"{SVG}text")), "a font that a computer lacks would change the drawing"
    assert "font-family" not in etree.tostring(root).decode()


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_outlined_letters_lie_in_the_box_that_words_are_placed_by(anchor: Anchor) -> None:
    words = Words("text", "frog Ø 3, 18 deep", (40.0, 20.0), 2.82, anchor=anchor)
    corner = Stroke("outline", chain((0.0, 0.0), (80.0, 40.0)))
    root = read(svg_file(View("one", "One", (corner, words)), Stamp("a", "b", "c")))
    (path,) = (path for path in root.iter(f"{SVG}path") if path.get("aria-label"))
    x, y, size, _ = numbers(path.get("transform", ""))
    xs, ys = ends_of(path.get("d", ""))
    box, at = bounds_of_item(words), root_place(root)
    left, right = x + size * min(xs) - at[0], x + size * max(xs) - at[0]
    low, high = at[1] - y + size * min(ys), at[1] - y + size * max(ys)
    assert box.left - 0.1 <= left < right <= box.right + 0.1
    assert box.low - 0.1 <= low < high <= box.high + 0.1
    assert right - left > 0.95 * box.width


def root_place(root: etree._Element) -> tuple[float, float]:
    """Return where the drawing's origin lies on the page that `Stroke` from (0, 0) to (80, 40) makes, mm."""
    height = float(root.get("height", "").removesuffix("mm"))
    return MARGIN, height - MARGIN


def ends_of(data: str) -> tuple[list[float], list[float]]:
    """Return the places that relative path data goes through, control points aside."""
    xs, ys, x, y, start = [], [], 0.0, 0.0, (0.0, 0.0)
    for letter, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", data):
        found = numbers(rest)
        if letter == "M":
            x, y = found
        elif letter == "m":
            x, y = x + found[0], y + found[1]
            start = (x, y)
        elif letter == "h":
            x += found[0]
        elif letter == "v":
            y += found[0]
        elif letter in ("l", "c"):
            x, y = x + found[-2], y + found[-1]
        elif letter == "Z":
            x, y = start
        else:
            raise AssertionError(letter)
        if letter != "M":
            xs.append(x)
            ys.append(y)
    return xs, ys


@pytest.mark.parametrize("name", NAMES)
def test_any_name_stays_inside_the_title(name: str) -> None:
    root = read(svg_file(view("toe"), Stamp(name, "ab" * 32, "0.1.0")))
    assert {child.tag for child in root} == {f"{SVG}title", f"{SVG}g"}
    assert "ab" * 6 in root.findtext(f"{SVG}title", "")


def test_the_same_view_gives_the_same_bytes() -> None:
    one = stamp(shipped_design("jack"))
    assert svg_file(view("top"), one) == svg_file(view("top"), one)
