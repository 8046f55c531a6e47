"""Drawings in DXF, read with ezdxf: lines, arcs, circles, ellipses, splines and polylines of the model space."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import numpy as np

from planestock.params.outlines.pieces import Arc, Line, Point, through
from planestock.params.problems import refuse
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
    from ezdxf.document import Drawing as Document

UNITS: dict[int, tuple[float, str]] = {
    1: (25.4, "inches"),
    2: (304.8, "feet"),
    4: (1.0, "millimetres"),
    5: (10.0, "centimetres"),
    6: (1000.0, "metres"),
    13: (0.001, "micrometres"),
    14: (100.0, "decimetres"),
}
"""$INSUNITS (DXF reference, header variables): mm of one unit, and its name. The rest are no units of a workshop."""

BINARY, BINARY_AT = b"\r\n\x1a\x00", 18
"""What ends the first 22 bytes of a binary DXF (DXF reference, binary DXF files), and where; no text file holds it."""

KINDS = ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE")

MOST_ENTITIES = 100_000
"""Entities and table rows of the file, counted before anything is made of them; a careful tracing has some hundred."""

_ENTITY = re.compile(rb"\n[ \t]*0[ \t]*\r?\n")
_BINARY_ENTITY = re.compile(rb"\x00\x00[A-Z]{3}")
"""Where an entity begins: group code 0 and its name, in text and in binary files (DXF reference)."""

HIGHEST_DEGREE = 25
"""Degree of a spline; drawing programs make 2 to 5, and the time to follow one grows with its square (our own choice)."""

LEVEL = 1e-6
"""A curve's plane may lean this much from the drawing's, as a share, and still count as flat."""


def is_binary(data: bytes) -> bool:
    """Tell whether a file that begins with these bytes is a binary DXF."""
    return data.startswith(BINARY, BINARY_AT)


def read(data: bytes, tolerance: float, called: str) -> Drawing:
    """Return a DXF's outline strokes, marks and unit. tolerance: in mm, of the fit that follows.

    Slightly broken files are mended on reading. Blocks, text and hatching are left out. Raises InputProblem.
    """
    if len((_BINARY_ENTITY if is_binary(data) else _ENTITY).findall(data)) > MOST_ENTITIES:
        raise refuse(
            called, "the file", f"holds more than {MOST_ENTITIES} entities", "leave only the outline in the drawing"
        )
    if not is_binary(data) and len(re.findall(rb"\n[ \t]*10[ \t]*\r?\n", data)) > MOST_POINTS:
        raise too_many(called)
    document = _document(data, called)
    scale, unit = UNITS.get(_whole(document.header.get("$INSUNITS", 0)), (None, "no unit"))
    with np.errstate(all="ignore"):  # What overflows is no number any more, which `kept` finds.
        chains, marks = _drawn(document, FINENESS * tolerance / (scale or 1.0), called)
    return Drawing(kept(chains, called), marks, scale, unit)


def _whole(value: Any) -> int:
    """Return a header's whole number, 0 where it is none."""
    try:
        return int(value or 0)
    except (TypeError, ValueError, OverflowError):
        return 0


def _drawn(document: Document, sagitta: float, called: str) -> tuple[list[Chain], dict[str, Point]]:
    """Return the strokes of the model space and its marks. sagitta: how far points of curves may stray."""
    chains: list[Chain] = []
    marks: dict[str, Point] = {}
    points = 0
    for entity in document.modelspace():
        kind = entity.dxftype()
        if kind == "POINT" and str(entity.dxf.layer).casefold() in (CORNER_MARK, MIDDLE_MARK):
            place = (float(entity.dxf.location.x), float(entity.dxf.location.y))
            marks.setdefault(str(entity.dxf.layer).casefold(), marked(place, called))
        elif kind in KINDS:
            chain = _chain(entity, kind, sagitta, called)
            chains.append(chain)
            points += sum(len(one.points) if isinstance(one, Curve) else 1 for one in chain)
            if points > MOST_POINTS:
                raise too_many(called)
    return chains, marks


def _document(data: bytes, called: str) -> Document:
    """Parse a DXF, in recover mode where the strict reader fails."""
    import logging

    from ezdxf import recover
    from ezdxf.document import Drawing as BareDocument
    from ezdxf.filemanagement import read as read_strictly
    from ezdxf.lldxf.tagger import binary_tags_loader

    logger = logging.getLogger("ezdxf")
    level = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        if is_binary(data):  # the recover mode reads text only
            return BareDocument.load(binary_tags_loader(data))
        with suppress(Exception):  # Whatever is wrong, the recover mode below has its own say.
            return read_strictly(io.StringIO(data.decode("utf-8")))
        document, _ = recover.read(io.BytesIO(data))
        return document
    except Exception as error:  # noqa: BLE001 - the reader of a broken file fails in many ways, all mean one thing
        reason = (str(error).strip() or type(error).__name__).splitlines()[0]
        raise refuse(called, "the file", f"cannot be read as DXF ({reason[:80]})",
                     "save the drawing again as DXF (R12 or later) or as plain SVG") from None  # fmt: skip
    finally:
        logger.setLevel(level)


def _chain(entity: Any, kind: str, sagitta: float, called: str) -> Chain:
    try:
        return list(_polyline(entity, kind) if kind.endswith("POLYLINE") else _single(entity, kind, sagitta))
    except (ArithmeticError, AttributeError, IndexError, KeyError, TypeError, ValueError) as error:
        raise refuse(called, kind, f"has values that make no curve ({str(error)[:60] or type(error).__name__})",
                     "save the drawing again from the program that made it") from None  # fmt: skip


def _single(entity: Any, kind: str, sagitta: float) -> Iterator[Stroke]:
    if kind == "LINE":
        yield Line(_flat(entity.dxf.start), _flat(entity.dxf.end))
    elif kind in ("ARC", "CIRCLE"):
        yield from _round(entity, kind, sagitta)
    else:
        yield from _tool(entity.construction_tool(), kind, sagitta)


def _flat(point: Any) -> Point:
    return (float(point[0]), float(point[1]))


def _round(entity: Any, kind: str, sagitta: float) -> Iterator[Stroke]:
    """Yield an arc or a circle, the latter as two arcs; seen from below (extrusion -z) it turns the other way."""
    from ezdxf.math import OCS

    radius, extrusion = float(entity.dxf.radius), entity.dxf.extrusion
    if abs(extrusion.z) < 1 - LEVEL:
        yield from _tool(_as_ellipse(entity), "ELLIPSE", sagitta)
        return
    begin, finish = (entity.dxf.start_angle, entity.dxf.end_angle) if kind == "ARC" else (0.0, 360.0)
    sweep = (finish - begin) % 360.0 or 360.0
    parts = 2 if sweep > 180.0 else 1
    plane = OCS(extrusion)

    def at(angle: float) -> Point:
        x, y, _ = entity.dxf.center
        a = math.radians(angle)
        return _flat(plane.to_wcs((x + radius * math.cos(a), y + radius * math.sin(a), 0.0)))

    centre = _flat(plane.to_wcs(entity.dxf.center))
    for part in range(parts):
        low, high = (begin + sweep * share / parts for share in (part, part + 1))
        yield Arc(at(low), at(high), centre, clockwise=extrusion.z < 0)


def _as_ellipse(entity: Any) -> Any:
    from ezdxf.entities.ellipse import Ellipse

    return Ellipse.from_arc(entity).construction_tool()


def _tool(tool: Any, kind: str, sagitta: float) -> Iterator[Stroke]:
    """Yield a spline or an ellipse as dense points with directions, by ezdxf's own evaluation."""
    if kind == "ELLIPSE":
        low, high = tool.start_param, tool.end_param
        high = high if high > low else high + math.tau

        def parameters(steps: Floats) -> Floats:
            found: Floats = low + (high - low) * steps
            return found

        yield sampled(lambda steps: _rows(tool.vertices(parameters(steps))),
                      lambda steps: _ellipse_ways(tool, parameters(steps)), sagitta, MOST_OF_A_CURVE)  # fmt: skip
        return
    if tool.degree > HIGHEST_DEGREE:
        raise ValueError(f"its degree is {tool.degree}")
    knots = sorted({float(knot) for knot in tool.knots()})
    low, high = float(tool.knots()[tool.order - 1]), float(tool.knots()[-tool.order])
    inner = [knot for knot in knots if low < knot < high]
    if len(inner) * 16 > MOST_POINTS:
        raise ValueError("too many knots")
    # Each span by itself: a spline may have a corner at a knot.
    for begin, finish in zip([low, *inner], [*inner, high], strict=True):
        yield _span(tool, begin, finish, sagitta)


def _span(tool: Any, begin: float, finish: float, sagitta: float) -> Curve:
    def parameters(steps: Floats) -> list[float]:
        inside = 1e-9 * (finish - begin)
        return [float(t) for t in np.clip(begin + (finish - begin) * steps, begin + inside, finish - inside)]

    return sampled(lambda steps: _rows(tool.points(parameters(steps))),
                   lambda steps: _rows(way for _, way in tool.derivatives(parameters(steps), 1)),
                   sagitta, MOST_OF_A_CURVE)  # fmt: skip


def _rows(points: Any) -> Floats:
    return np.array([(point[0], point[1]) for point in points], dtype=np.float64)


def _ellipse_ways(tool: Any, parameters: Floats) -> Floats:
    major, minor = np.array(_flat(tool.major_axis)), np.array(_flat(tool.minor_axis))
    ways: Floats = np.outer(-np.sin(parameters), major) + np.outer(np.cos(parameters), minor)
    return ways


def _polyline(entity: Any, kind: str) -> Iterator[Stroke]:
    """Yield the pieces of a polyline; a bulge is the tangent of a quarter of the angle that a piece turns."""
    from ezdxf.math import OCS

    if kind == "POLYLINE" and not entity.is_2d_polyline and not entity.is_3d_polyline:
        return
    plane = OCS(entity.dxf.extrusion) if kind == "LWPOLYLINE" or entity.is_2d_polyline else None
    if kind == "LWPOLYLINE":
        rows = [((x, y, 0.0), bulge) for x, y, bulge in entity.get_points("xyb")]
        closed = bool(entity.closed)
    else:
        rows = [(vertex.dxf.location, float(vertex.dxf.bulge)) for vertex in entity.vertices]
        closed = bool(entity.is_closed)
    turns = -1.0 if plane is not None and entity.dxf.extrusion.z < 0 else 1.0
    places = [_flat(plane.to_wcs(point) if plane else point) for point, _ in rows]
    count = len(rows) if closed else len(rows) - 1
    for index in range(count):
        start, end = places[index], places[(index + 1) % len(rows)]
        if not math.dist(start, end) <= TINY:  # So written that a coordinate that is no number is found later.
            bulge = rows[index][1]
            yield through(start, end, turns * 4 * math.atan(bulge)) if bulge else Line(start, end)
