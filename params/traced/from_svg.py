"""Drawings in SVG: parsed with defusedxml, which refuses entities; curves by svgelements; transforms and units by hand.

Only elements that draw outlines are read. References to other files, clones and style sheets are not followed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from planestock.params.outlines.pieces import Arc, Line, Point
from planestock.params.problems import InputProblem, refuse
from planestock.params.traced.drawing import (
    CORNER_MARK,
    FINENESS,
    MIDDLE_MARK,
    MOST_OF_A_CURVE,
    Drawing,
    kept,
    marked,
    too_many,
)
from planestock.params.traced.strokes import MOST_POINTS, TINY, Chain, Curve, Floats, Stroke, sampled

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

PIXEL = 25.4 / 96
"""Millimetres of a px (CSS Values and Units 3, section 5.2: 1 in = 96 px)."""

LENGTHS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25, "px": PIXEL, "": PIXEL}
"""Millimetres of the units of a length in SVG (CSS Values and Units 3, section 5.2)."""

NAMES = {"mm": "millimetres", "cm": "centimetres", "in": "inches", "pt": "points", "pc": "picas", "q": "quarters of a mm",
         "px": "px of 1/96 in", "": "px of 1/96 in"}  # fmt: skip

LEFT_OUT = frozenset({"defs", "clipPath", "mask", "pattern", "marker", "symbol", "metadata", "style", "title", "desc",
                      "text", "image", "namedview", "script", "filter", "linearGradient", "radialGradient"})  # fmt: skip
"""Elements that hold no outline as it is seen, or nothing but definitions."""

MOST_ELEMENTS = 20_000
DEEPEST = 60
"""Elements, and groups within groups, of a drawing."""

MOST_TAGS = 200_000
"""Tags of the file, those of what is left out too; counted before anything is made of them."""

LONGEST_TRANSFORM = 2_000
LONGEST_LENGTH = 100
"""Characters of a transform, and of a length or a view box; parsers of both take the square of it, or more."""

MOST_REOPENED = 100
"""Times that a path may go on after its close without a move; for each of them the parser looks back for its start."""

_CLOSED_TWICE = re.compile(r"[zZ](?:[\s,]*[zZ])++")
_REOPENED = re.compile(r"[zZ][\s,]*(?=[^mMzZ\s,])")
_LETTERS = re.compile(r"[A-DF-Za-df-z]")

_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?)\s*(mm|cm|in|pt|pc|px|q|Q|)\s*")
_PATH = re.compile(r"[MmZzLlHhVvCcSsQqTtAaEe0-9+\-.,\s]*")
_NUMBERS = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def read(data: bytes, tolerance: float, called: str) -> Drawing:
    """Return an SVG's outline strokes, marks and unit; its second coordinate points down. Raises InputProblem."""
    root = _root(data, called)
    scale, unit, place = _page(root, called)
    reader = _Reader(FINENESS * tolerance / scale, called)
    with np.errstate(all="ignore"):  # What overflows is no number any more, which `kept` finds.
        reader.walk(root, place, 0)
    return Drawing(kept(reader.chains, called), reader.marks, scale, unit, -1)


def _root(data: bytes, called: str) -> Element:
    """Parse the file; entities, and what they could be blown up to or read from elsewhere, are refused."""
    from xml.etree.ElementTree import ParseError

    from defusedxml import DefusedXmlException, EntitiesForbidden
    from defusedxml.ElementTree import fromstring

    if data.count(b"<") > MOST_TAGS:
        raise _too_many_elements(called)
    try:
        root: Element = fromstring(data, forbid_dtd=False, forbid_entities=True, forbid_external=True)
    except EntitiesForbidden:
        raise refuse(called, "the file", "defines entities, which are not read: they can blow up without end",
                     "save it as plain SVG") from None  # fmt: skip
    except DefusedXmlException:
        raise refuse(
            called, "the file", "refers to something outside itself, which is not read", "save it as plain SVG"
        ) from None
    except (ParseError, ValueError, LookupError, RecursionError) as error:
        raise refuse(called, "the file", f"is no SVG ({str(error)[:60]})", "save the drawing again as plain SVG") from None
    if _name(root) != "svg":
        raise refuse(called, _name(root), "is not an SVG drawing", "save the drawing as plain SVG")
    return root


def _too_many_elements(called: str) -> InputProblem:
    return refuse(called, "the file", "holds too many elements", "leave only the outline in the drawing")


def _name(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


Matrix = tuple[float, float, float, float, float, float]
"""a, b, c, d, e, f of SVG: x' = a x + c y + e, y' = b x + d y + f."""


def _page(root: Element, called: str) -> tuple[float, str, Matrix]:
    """Return mm of one unit, its name, and the matrix into these units.

    With a physical width and a viewBox, one unit is that of the viewBox; the aspect is kept as `preserveAspectRatio` says.
    """
    box = [float(one) for one in _NUMBERS.findall(root.get("viewBox", "")[:LONGEST_LENGTH])]
    wide, tall = (_physical(root.get(side, "")) for side in ("width", "height"))
    plain: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    if len(box) != 4 or min(box[2:]) <= 0 or (wide is None and tall is None):
        return PIXEL, NAMES[""], plain
    across = None if wide is None else wide[0] / box[2]
    down = None if tall is None else tall[0] / box[3]
    across, down = across or down, down or across
    if across is None or down is None or not (1e-6 < across < 1e6 and 1e-6 < down < 1e6):
        raise refuse(called, f"{root.get('width')} by {root.get('height')}", "is no size of a drawing",
                     "give the page its width and height in mm")  # fmt: skip
    unit = NAMES[(wide or tall or (0.0, ""))[1]]
    fit = root.get("preserveAspectRatio", "xMidYMid").strip()
    if fit.startswith("none"):
        return across, f"a page in {unit}", (1.0, 0.0, 0.0, down / across, 0.0, 0.0)
    scale = max(across, down) if fit.endswith("slice") else min(across, down)
    return scale, f"a page in {unit}", plain


def _physical(text: str) -> tuple[float, str] | None:
    """Return a length of the page in mm with its unit, None for percent or nothing."""
    match = None if len(text) > LONGEST_LENGTH else _LENGTH.fullmatch(text)
    if match is None:
        return None
    unit = match[2].lower()
    value = float(match[1]) * LENGTHS[unit]
    return (value, unit) if value > 0 else None


class _Reader:
    """Walks the elements and gathers strokes and marks, all in units of the page."""

    def __init__(self, sagitta: float, called: str) -> None:
        self.sagitta, self.called = sagitta, called
        self.chains: list[Chain] = []
        self.marks: dict[str, Point] = {}
        self.elements = self.pairs = self.points = 0

    def walk(self, element: Element, matrix: Matrix, depth: int) -> None:
        """Read an element and what is inside it."""
        self.elements += 1
        if self.elements > MOST_ELEMENTS or depth > DEEPEST:
            raise _too_many_elements(self.called)
        name = _name(element)
        self._no_reference(element, name)
        if name in LEFT_OUT or _is_hidden(element):
            return
        here = _times(matrix, _transform(element.get("transform", ""), self.called))
        if not self._marked(element, name, here):
            self._draw(element, name, here)
        for child in element:
            self.walk(child, here, depth + 1)

    def _no_reference(self, element: Element, name: str) -> None:
        for key, value in element.attrib.items():
            if key.rpartition("}")[2] != "href":
                continue
            outside = not value.startswith("#") and not (name == "image" and value.startswith("data:"))
            if name in ("a", "script", "style"):
                continue
            if outside:
                raise refuse(self.called, value[:60], "refers to something outside the file, which is not read",
                             "take it out, or save the drawing as plain SVG")  # fmt: skip
            if name == "use":
                raise refuse(self.called, value[:60], "is a clone, which is not followed", "unlink clones, then save again")

    def _marked(self, element: Element, name: str, here: Matrix) -> bool:
        """Take the middle of a circle that is a mark."""
        labels = {element.get("id", ""), *(value for key, value in element.attrib.items() if key.endswith("}label"))}
        found = next((mark for mark in (CORNER_MARK, MIDDLE_MARK) if mark in {each.casefold() for each in labels}), None)
        if found is None or name not in ("circle", "ellipse"):
            return False
        place = _placed(here, (_number(element, "cx"), _number(element, "cy")))
        self.marks.setdefault(found, marked(place, self.called))
        return True

    def _draw(self, element: Element, name: str, here: Matrix) -> None:
        data = _path_data(element, name)
        if not data:
            return
        if not _PATH.fullmatch(data):
            raise refuse(self.called, data[:60], "has characters that are no path", "save the drawing again as plain SVG")
        data = _CLOSED_TWICE.sub("z", data)  # Closing again draws nothing.
        self.pairs += max(len(_NUMBERS.findall(data)) // 2, len(_LETTERS.findall(data)))
        if self.pairs > MOST_POINTS:
            raise too_many(self.called)
        if len(_REOPENED.findall(data)) > MOST_REOPENED:
            raise refuse(self.called, data[:60], f"goes on after its close more than {MOST_REOPENED} times",
                         "begin each path with a move (M)")  # fmt: skip
        for chain in _chains(data, here, self.sagitta, self.called):
            self.chains.append([])
            for stroke in chain:
                self.chains[-1].append(stroke)
                self.points += len(stroke.points) if isinstance(stroke, Curve) else 1
                if self.points > MOST_POINTS:
                    raise too_many(self.called)


def _is_hidden(element: Element) -> bool:
    style = element.get("style", "").replace(" ", "")
    return "display:none" in style or element.get("display") == "none"


def _number(element: Element, name: str, default: float = 0.0) -> float:
    """Return a length of an element in units of the drawing."""
    text = element.get(name)
    if text is None:
        return default
    match = None if len(text) > LONGEST_LENGTH else _LENGTH.fullmatch(text)
    return math.nan if match is None else float(match[1]) * (LENGTHS[match[2].lower()] / PIXEL)


def _path_data(element: Element, name: str) -> str:
    """Return a shape as path data (SVG 2, chapter Basic Shapes: each has an equivalent path)."""
    if name == "path":
        return element.get("d", "")
    if name == "rect":
        return _rectangle(element)
    if name in ("circle", "ellipse"):
        x, y = _number(element, "cx"), _number(element, "cy")
        rx = _number(element, "r" if name == "circle" else "rx")
        ry = rx if name == "circle" else _number(element, "ry")
        turn = f"A{rx:.12g},{ry:.12g},0,1,1,"
        return f"M{x + rx:.12g},{y:.12g}{turn}{x - rx:.12g},{y:.12g}{turn}{x + rx:.12g},{y:.12g}Z"
    if name == "line":
        a, b, c, d = (_number(element, each) for each in ("x1", "y1", "x2", "y2"))
        return f"M{a:.12g},{b:.12g}L{c:.12g},{d:.12g}"
    if name in ("polygon", "polyline"):
        points = element.get("points", "").strip()
        return f"M{points}{'Z' if name == 'polygon' else ''}" if points else ""
    return ""


def _rectangle(element: Element) -> str:
    x, y, w, h = (_number(element, each) for each in ("x", "y", "width", "height"))
    rx, ry = _number(element, "rx", math.nan), _number(element, "ry", math.nan)
    rx = ry if math.isnan(rx) else rx
    ry = rx if math.isnan(ry) else ry
    if not (rx > 0 and ry > 0):
        return f"M{x:.12g},{y:.12g}h{w:.12g}v{h:.12g}h{-w:.12g}Z"
    rx, ry = min(rx, w / 2), min(ry, h / 2)
    turn = f"a{rx:.12g},{ry:.12g},0,0,1,"
    return (f"M{x + rx:.12g},{y:.12g}h{w - 2 * rx:.12g}{turn}{rx:.12g},{ry:.12g}v{h - 2 * ry:.12g}{turn}{-rx:.12g},{ry:.12g}"
            f"h{2 * rx - w:.12g}{turn}{-rx:.12g},{-ry:.12g}v{2 * ry - h:.12g}{turn}{rx:.12g},{-ry:.12g}Z")  # fmt: skip


# ---- transforms --------------------------------------------------------------------------------------------------


def _transform(text: str, called: str) -> Matrix:
    if not text.strip():
        return (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    if len(text) > LONGEST_TRANSFORM:
        raise refuse(called, text[:60], f"is a transform of more than {LONGEST_TRANSFORM} characters",
                     "apply the transforms to the outline, then save it as plain SVG")  # fmt: skip
    from svgelements import Matrix as Parsed

    try:
        found = Parsed(text)
        values = (float(found.a), float(found.b), float(found.c), float(found.d), float(found.e), float(found.f))
    except Exception:  # noqa: BLE001 - a transform that cannot be parsed fails in many ways, all mean one thing
        raise refuse(called, text[:60], "is no transform", "save the drawing again as plain SVG") from None
    if not all(math.isfinite(value) for value in values):
        raise refuse(called, text[:60], "is no transform of finite numbers", "save the drawing again as plain SVG")
    return values


def _times(one: Matrix, other: Matrix) -> Matrix:
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def _placed(matrix: Matrix, point: Point) -> Point:
    a, b, c, d, e, f = matrix
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def _stretch(matrix: Matrix) -> float | None:
    """Return by how much a matrix scales every direction alike, None where it does not; negative where it mirrors."""
    a, b, c, d, _, _ = matrix
    size = math.hypot(a, b)
    turned = abs(a - d) + abs(b + c) <= 1e-9 * size
    mirrored = abs(a + d) + abs(b - c) <= 1e-9 * size
    return size if turned else -size if mirrored else None


# ---- curves ------------------------------------------------------------------------------------------------------------


def _chains(data: str, matrix: Matrix, sagitta: float, called: str) -> Iterator[Iterator[Stroke]]:
    """Yield each part of a path from move to move, its strokes one after the other: curves are not made before they fit."""
    from svgelements import Close, Move, Path

    try:
        segments = list(Path(data).segments())
    except Exception as error:  # noqa: BLE001 - whatever is wrong in the data, the file cannot be read
        raise refuse(called, data[:40], f"is no path ({str(error)[:40] or type(error).__name__})",
                     "save the drawing again as plain SVG") from None  # fmt: skip
    begins = [index for index, segment in enumerate(segments) if isinstance(segment, Move)]
    for begin, end in pairwise([*begins, len(segments)]):
        drawn = [
            segment
            for segment in segments[begin + 1 : end]
            if not isinstance(segment, Close) or (segment.start is not None and segment.end is not None)
        ]
        yield (stroke for segment in drawn for stroke in _strokes(segment, matrix, sagitta, called))


def _strokes(segment: Any, matrix: Matrix, sagitta: float, called: str) -> Iterator[Stroke]:
    """Yield a segment: straight where it is, an arc of a circle where the matrix leaves it one, else dense points."""
    from svgelements import Arc as Round
    from svgelements import Close
    from svgelements import Line as Straight

    try:
        start, end = (_placed(matrix, (float(p.x), float(p.y))) for p in (segment.start, segment.end))
        if isinstance(segment, Straight | Close):
            if math.dist(start, end) > TINY:
                yield Line(start, end)
        elif isinstance(segment, Round):
            yield from _round(segment, matrix, (start, end), sagitta)
        else:
            yield from _bezier(segment, matrix, sagitta)
    except (ArithmeticError, AttributeError, TypeError, ValueError) as error:
        if isinstance(error, InputProblem):
            raise
        raise refuse(called, "a path", f"has values that make no curve ({str(error)[:40]})",
                     "save the drawing again as plain SVG") from None  # fmt: skip


def _round(segment: Any, matrix: Matrix, ends: tuple[Point, Point], sagitta: float) -> Iterator[Stroke]:
    rx, ry, sweep = float(segment.rx), float(segment.ry), float(segment.sweep)
    if min(rx, ry) <= 0 or sweep == 0:
        yield from [Line(*ends)] if math.dist(*ends) > TINY else []
        return
    turn, begin = float(segment.get_rotation().as_radians), float(segment.get_start_t())
    centre = (float(segment.center.x), float(segment.center.y))
    stretch = _stretch(matrix)
    if stretch is not None and abs(rx - ry) <= 1e-7 * rx:
        parts = 2 if abs(sweep) > math.pi else 1
        stops = [ends[0], *(_placed(matrix, _on(centre, rx, turn + begin + sweep / 2)) for _ in range(parts - 1)), ends[1]]
        for a, b in pairwise(stops):
            yield Arc(a, b, _placed(matrix, centre), clockwise=(sweep < 0) != (stretch < 0))
        return
    yield sampled(lambda s: _ellipse(centre, rx, ry, turn, begin + sweep * s, matrix),
                  lambda s: sweep * _ellipse((0.0, 0.0), rx, ry, turn, begin + sweep * s + math.pi / 2, _linear(matrix)),
                  sagitta, MOST_OF_A_CURVE)  # fmt: skip


def _on(centre: Point, radius: float, angle: float) -> Point:
    return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))


def _linear(matrix: Matrix) -> Matrix:
    return (*matrix[:4], 0.0, 0.0)


def _ellipse(centre: Point, rx: float, ry: float, turn: float, angles: Floats, matrix: Matrix) -> Floats:
    x, y = rx * np.cos(angles), ry * np.sin(angles)
    cos, sin = math.cos(turn), math.sin(turn)
    return _through(matrix, np.column_stack([centre[0] + cos * x - sin * y, centre[1] + sin * x + cos * y]))


def _through(matrix: Matrix, points: Floats) -> Floats:
    a, b, c, d, e, f = matrix
    x, y = points[:, 0], points[:, 1]
    return np.column_stack([a * x + c * y + e, b * x + d * y + f])


def _bezier(segment: Any, matrix: Matrix, sagitta: float) -> Iterator[Stroke]:
    """Yield a quadratic or cubic Bézier curve by Bernstein's polynomials; one whose points lie on a line as that line."""
    names = ("start", "control", "end") if hasattr(segment, "control") else ("start", "control1", "control2", "end")
    corners = _through(matrix, np.array([(float(getattr(segment, n).x), float(getattr(segment, n).y)) for n in names]))
    start, end = corners[0], corners[-1]
    way = end - start
    size = float(np.hypot(way[0], way[1]))
    off = np.abs((corners[:, 0] - start[0]) * way[1] - (corners[:, 1] - start[1]) * way[0])
    along = (corners - start) @ way
    if size > TINY and off.max() <= TINY * size and along.min() >= -TINY and along.max() <= size**2 + TINY:
        yield Line((float(start[0]), float(start[1])), (float(end[0]), float(end[1])))
        return
    slopes = (len(corners) - 1) * np.diff(corners, axis=0)
    curve = sampled(lambda s: _bernstein(corners, s), lambda s: _bernstein(slopes, s), sagitta, MOST_OF_A_CURVE)
    yield Curve(curve.points, curve.directions)


def _bernstein(corners: Floats, steps: Floats) -> Floats:
    n = len(corners) - 1
    weights = np.array([math.comb(n, k) * steps**k * (1 - steps) ** (n - k) for k in range(n + 1)])
    found: Floats = weights.T @ corners
    return found
