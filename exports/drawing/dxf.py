"""DXF files of the drawing's views: millimetres, one layer for each kind of thing, closed outlines as closed polylines."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from planestock.exports.drawing.model import LAYERS, STYLES, Area, Item, Round, Stroke, View, Words
from planestock.exports.drawing.views import FOLDER, views
from planestock.exports.files.pdf import settable, shortened
from planestock.exports.files.stamp import Stamp
from planestock.params.outlines.pieces import Arc, Outline

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

    from planestock.models.design import Design

VERSION = "R2010"
"""AC1024: the oldest version with text in UTF-8 that shop programs commonly read."""

MILLIMETRES = 4
"""$INSUNITS of millimetres."""

CAPITALS = 0.65
"""Height of capitals as a share of the type size; DXF text is given by it."""

LONGEST_TEXT = 250
"""Characters of one text of a DXF file; readers may cut at 255."""

LINETYPES = {kind: re.sub("[ -]", "_", style.name.upper()) for kind, style in STYLES.items() if style.dashes}
"""Names of the lines that are not continuous: ISO 128's words for them."""

HATCH_LEAN, HATCH_APART = 30.0, 1.5
"""Lean of a section's hatching in degrees, off every usual bed and edge, and distance of its lines, mm on paper; our own
choice."""

USER_DEFINED = 0
"""Kind of a hatch pattern that is spelled out in the file."""

CODES = str.maketrans({"Ø": "%%c", "°": "%%d", "±": "%%p", "−": "-", "×": "x"})
"""Signs that DXF text has codes for, and signs that stroke fonts lack."""


def dxf_files(design: Design, stamp: Stamp, drawn: Sequence[View] | None = None) -> dict[str, bytes]:
    """Return one DXF file per view, by its name in the output folder. drawn: the views, where they are at hand already."""
    return {f"{FOLDER}/{view.name}.dxf": dxf_file(view, stamp) for view in drawn or views(design)}


def dxf_file(view: View, stamp: Stamp) -> bytes:
    """Return one view as a DXF document, its coordinates mm of the real thing, its origin on the face's datum."""
    import ezdxf

    options = ezdxf.options  # type: ignore[attr-defined]
    kept = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        return _written(_document(view, stamp))
    finally:
        options.write_fixed_meta_data_for_testing = kept


def _document(view: View, stamp: Stamp) -> Drawing:
    from ezdxf.filemanagement import new

    document = new(VERSION, units=MILLIMETRES)
    document.header["$MEASUREMENT"] = 1
    document.header["$LTSCALE"] = 1 / view.scale
    for key, value in _identity(view, stamp).items():
        document.header.custom_vars.append(key, shortened(settable(value), LONGEST_TEXT))
    _add_layers(document)
    space = document.modelspace()
    for item in view.items:
        _add(space, item, view.scale)
    return document


def _identity(view: View, stamp: Stamp) -> Mapping[str, str]:
    warning = {"Fails its checks": ", ".join(stamp.failing)} if stamp.failing else {}
    return {
        "View": view.heading,
        "Set": stamp.name,
        "Digest": stamp.digest,
        "Program": f"planestock {stamp.version}",
        **warning,
    }


def _add_layers(document: Drawing) -> None:
    for kind, name in LINETYPES.items():
        dashes = STYLES[kind].dashes
        pattern = [sum(dashes), *(length if index % 2 == 0 else -length for index, length in enumerate(dashes))]
        document.linetypes.add(name, pattern, description=STYLES[kind].name)
    for layer, kind in LAYERS.items():
        document.layers.add(layer, linetype=LINETYPES.get(kind, "CONTINUOUS"), lineweight=_weight(STYLES[kind].width))


def _weight(width: float) -> int:
    """Return a line's width as DXF has it: hundredths of a millimetre."""
    return round(width * 100)


def _add(space: Modelspace, item: Item, scale: float) -> None:
    look: dict[str, Any] = {"layer": item.layer}
    if isinstance(item, Stroke | Round) and item.kind is not None:
        look |= {"linetype": LINETYPES.get(item.kind, "CONTINUOUS"), "lineweight": _weight(item.style.width)}
    if isinstance(item, Stroke):
        _add_stroke(space, item, look)
    elif isinstance(item, Round):
        space.add_circle(item.centre, item.radius, look)
    elif isinstance(item, Area):
        _add_area(space, item, look, scale)
    else:
        _add_words(space, item, look)


def _add_stroke(space: Modelspace, item: Stroke, look: dict[str, Any]) -> None:
    single = item.pieces[0] if len(item.pieces) == 1 else None
    if isinstance(single, Arc):
        first, last = (
            math.degrees(math.atan2(y - single.centre[1], x - single.centre[0])) for x, y in (single.start, single.end)
        )
        space.add_arc(single.centre, single.radius, first, last, not single.clockwise, look)
    elif single is not None:
        space.add_line(single.start, single.end, look)
    else:
        space.add_lwpolyline(_vertices(item.pieces, closed=item.closed), "xyb", close=item.closed, dxfattribs=look)


def _vertices(pieces: Outline, *, closed: bool) -> list[tuple[float, float, float]]:
    """Return vertices with bulges: the tangent of a quarter of the arc's turn."""
    vertices = [(*piece.start, math.tan(piece.sweep / 4) if isinstance(piece, Arc) else 0.0) for piece in pieces]
    return vertices if closed else [*vertices, (*pieces[-1].end, 0.0)]


def _add_area(space: Modelspace, item: Area, look: dict[str, Any], scale: float) -> None:
    hatch = space.add_hatch(dxfattribs=look)
    if item.shade < 1:
        lean, apart = math.radians(HATCH_LEAN), HATCH_APART / scale
        across = (-apart * math.sin(lean), apart * math.cos(lean))
        hatch.set_pattern_fill("SECTION", pattern_type=USER_DEFINED, definition=[[HATCH_LEAN, (0.0, 0.0), across, []]])
    hatch.paths.add_polyline_path(item.corners, is_closed=True)


def _add_words(space: Modelspace, item: Words, look: dict[str, Any]) -> None:
    from ezdxf.enums import TextEntityAlignment as Alignment

    anchors = {"start": Alignment.LEFT, "middle": Alignment.CENTER, "end": Alignment.RIGHT}
    text = space.add_text(settable(item.text).translate(CODES), height=item.size * CAPITALS, rotation=item.turn,
                          dxfattribs=look)  # fmt: skip
    text.set_placement(item.at, align=anchors[item.anchor])


def _written(document: Drawing) -> bytes:
    # ezdxf lists the classes in use in the order of a set, which changes with every process; sorted first, they stay.
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)
    stream = io.StringIO(newline="")
    document.write(stream)
    return stream.getvalue().replace("\r\n", "\n").encode("utf-8")
