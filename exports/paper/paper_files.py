"""Everything for the bench in one go: the shop sheet, and the drawing's views as DXF and SVG, all from the same views."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planestock.exports.drawing.dxf import dxf_files
from planestock.exports.drawing.svg import svg_files
from planestock.exports.drawing.views import views
from planestock.exports.files.stamp import Stamp
from planestock.exports.paper.sheet import shop_sheet

if TYPE_CHECKING:
    from planestock.models.design import Design

SHOP_SHEET = "shop-sheet.pdf"
"""Name of the shop sheet in the output folder."""


def paper_files(design: Design, stamp: Stamp) -> dict[str, bytes]:
    """Return the shop sheet, and one DXF and one SVG file per view, by name. Builds the solids. Same design, same bytes."""
    drawn = views(design)
    sheet = {SHOP_SHEET: shop_sheet(design, stamp, drawn)}
    return {**sheet, **dxf_files(design, stamp, drawn), **svg_files(design, stamp, drawn)}
