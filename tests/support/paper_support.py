"""Shop sheets of the shipped sets, set once for all tests, and what a second library reads in them: text boxes and lines."""

from __future__ import annotations

import ctypes
import io
import math
from dataclasses import dataclass
from functools import cache

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw

from planestock.exports.drawing.model import View
from planestock.exports.drawing.views import template_views, views
from planestock.exports.files.stamp import Stamp
from planestock.exports.paper.sheet import shop_sheet
from planestock.exports.paper.tiles import tiled
from planestock.models.design import Design, design
from planestock.params.files import load

POINTS_PER_MM = 72 / 25.4
SETS = ("jack", "smoother", "fore", "jointer")
PAPER_SYSTEMS = ("A4", "Letter")


@cache
def shipped_design(name: str, paper: str = "A4") -> Design:
    """Return the design of a shipped set on a kind of paper."""
    return design(load(name, [f"shop.paper={paper}"]))


@cache
def shipped_views(name: str) -> tuple[View, ...]:
    """Return all views of a shipped set; the paper does not change them."""
    return views(shipped_design(name))


def stamp(made: Design, name: str | None = None, failing: tuple[str, ...] = ()) -> Stamp:
    """Return a stamp for a design."""
    return Stamp(made.given.name if name is None else name, made.given.digest, "0.1.0", failing)


@cache
def shipped_sheet(name: str, paper: str = "A4") -> bytes:
    """Return the shop sheet of a shipped set."""
    made = shipped_design(name, paper)
    return shop_sheet(made, stamp(made), shipped_views(name))


def template_count(name: str, paper: str) -> int:
    """Return how many template sheets a shipped set has; they are the last pages of its shop sheet."""
    return len(tiled(template_views(shipped_design(name)), paper))


@dataclass(frozen=True)
class Text:
    """A run of text on a page: its box in points from the lower left corner."""

    text: str
    left: float
    low: float
    right: float
    high: float

    def covers(self, other: Text, by: float) -> bool:
        """Tell whether both boxes share more than `by` points both ways."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by
            and min(self.high, other.high) - max(self.low, other.low) > by
        )


def pages(pdf: bytes) -> list[pdfium.PdfPage]:
    """Return the pages of a PDF."""
    return list(pdfium.PdfDocument(pdf))


def texts(page: pdfium.PdfPage) -> list[Text]:
    """Return the runs of text of a page as PDFium groups them."""
    read = page.get_textpage()
    boxes = [read.get_rect(index) for index in range(read.count_rects())]
    return [Text(read.get_text_bounded(*box).strip(), *box) for box in boxes]


def type_sizes(page: pdfium.PdfPage) -> set[float]:
    """Return the type sizes on a page in points, scaling by matrices included."""
    read = page.get_textpage()
    matrix = pdfium_raw.FS_MATRIX()
    sizes: set[float] = set()
    for index in range(read.count_chars()):
        if chr(pdfium_raw.FPDFText_GetUnicode(read, index)).isspace():
            continue
        assert pdfium_raw.FPDFText_GetMatrix(read, index, ctypes.byref(matrix))
        size = pdfium_raw.FPDFText_GetFontSize(read, index)
        sizes.add(round(size * math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c)), 2))
    return sizes


def all_text(pdf: bytes) -> str:
    """Return all text of a PDF, words separated by single spaces."""
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pages(pdf)).split())


def opened(pdf: bytes) -> io.BytesIO:
    """Return a PDF as a file."""
    return io.BytesIO(pdf)
