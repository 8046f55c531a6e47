"""The picture with what was found drawn over it, so that the maker sees whether the outline is the casting's."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from planestock.params.outlines.pieces import Point
from planestock.params.traced.strokes import Floats

if TYPE_CHECKING:
    from PIL.Image import Image

WIDEST = 1800
"""Pixels of the longer side of the overlay; larger pictures are made smaller."""

OUTLINE, FRAME, MARK = (230, 0, 150), (0, 120, 255), (0, 160, 60)
"""Colours of the outline, the known rectangle or distance, and the marks."""


def overlay(picture: Image, outline: Floats, known: Sequence[Point], marks: Sequence[tuple[str, Point]]) -> bytes:
    """Return a PNG. outline: in pixels; known: the two points of known distance or the rectangle's corners; marks: named."""
    from PIL import ImageDraw, ImageFont

    share = min(1.0, WIDEST / max(picture.size))
    shown = picture.convert("RGB").resize((round(picture.width * share), round(picture.height * share)))
    pen = ImageDraw.Draw(shown)

    def at(point: Sequence[float]) -> Point:
        return ((float(point[0]) + 0.5) * share, (float(point[1]) + 0.5) * share)

    if len(known) > 1:
        pen.line([at(point) for point in (*known, *known[: len(known) > 2])], fill=FRAME, width=2)
    pen.line([at(row) for row in outline], fill=OUTLINE, width=3)
    if len(marks) == 2:
        pen.line([at(point) for _, point in marks], fill=MARK, width=1)
    for name, point in marks:
        x, y = at(point)
        pen.line([(x - 12, y), (x + 12, y)], fill=MARK, width=3)
        pen.line([(x, y - 12), (x, y + 12)], fill=MARK, width=3)
        pen.text((x + 10, y + 8), name, fill=MARK, font=ImageFont.load_default(24))
    stream = io.BytesIO()
    shown.save(stream, "PNG")
    return stream.getvalue()
