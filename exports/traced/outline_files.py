"""A cleaned outline or profile as SVG and DXF: mm from the corner D, which is marked; both read back as they are."""

from __future__ import annotations

import io
import math
from xml.sax.saxutils import escape

from planestock.params.outlines.path_text import written
from planestock.params.outlines.pieces import Arc, bounds
from planestock.params.traced.cleaning import Cleaned
from planestock.params.traced.drawing import CORNER_MARK

MARGIN = 5.0
"""Free edge around the drawing, mm."""

PEN = 0.2
"""Width of the line, mm."""


def svg(cleaned: Cleaned, title: str) -> bytes:
    """Return the outline as an SVG of its true size; its path is the text that a parameter set carries."""
    box = bounds(cleaned.outline)
    left, top = math.floor(min(box.left, 0.0) - MARGIN), math.floor(min(-box.high, 0.0) - MARGIN)
    wide, tall = math.ceil(max(box.right, 0.0) + MARGIN) - left, math.ceil(max(-box.low, 0.0) + MARGIN) - top
    path = written(cleaned.outline, closed=cleaned.kind == "outline")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{tall}mm" viewBox="{left} {top} {wide} {tall}">\n'
        f"<title>{escape(title)}</title>\n"
        f'<g transform="scale(1,-1)" fill="none" stroke="black" stroke-width="{PEN}">\n'
        f'<path id="{cleaned.kind}" d="{path}"/>\n'
        f'<circle id="{CORNER_MARK}" cx="0" cy="0" r="1"/>\n'
        "</g>\n</svg>\n"
    ).encode()


def dxf(cleaned: Cleaned) -> bytes:
    """Return the outline as a DXF: one polyline with bulges, millimetres, and a point for D. The same bytes each time."""
    import ezdxf
    from ezdxf.filemanagement import new

    options = ezdxf.options  # type: ignore[attr-defined]
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = new("R2010", units=4)
        document.header["$MEASUREMENT"] = 1
        for layer in (cleaned.kind, CORNER_MARK):
            document.layers.add(layer)
        pieces, closed = cleaned.outline, cleaned.kind == "outline"
        rows = [(*piece.start, math.tan(piece.sweep / 4) if isinstance(piece, Arc) else 0.0) for piece in pieces]
        rows += [] if closed else [(*pieces[-1].end, 0.0)]
        document.modelspace().add_lwpolyline(rows, "xyb", close=closed, dxfattribs={"layer": cleaned.kind})
        document.modelspace().add_point((0.0, 0.0), {"layer": CORNER_MARK})
        for name in sorted(document.entitydb.dxf_types_in_use()):  # ezdxf would list them in the order of a set.
            document.classes.add_class(name)
        stream = io.StringIO(newline="")
        document.write(stream)
        return stream.getvalue().replace("\r\n", "\n").encode("utf-8")
    finally:
        options.write_fixed_meta_data_for_testing = kept
