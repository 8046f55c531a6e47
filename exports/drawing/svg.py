"""SVG of the views at true scale, in mm: letters are outlines in files of their own, and text on the pages they go on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

from planestock.exports.drawing.letters import EM, outlined
from planestock.exports.drawing.model import Area, Item, Round, View, Words
from planestock.exports.drawing.views import FOLDER, views
from planestock.exports.files.pdf import FAMILY, settable
from planestock.exports.files.stamp import Stamp
from planestock.models.design import Design
from planestock.params.outlines.pieces import Arc, Bounds, Outline, Point

DECIMALS = 5
"""Decimals of coordinates in mm: a hundredth of a micrometre, below what any reader keeps."""

MARGIN = 5.0
"""Free edge around a view, mm on paper."""


def svg_files(design: Design, stamp: Stamp, drawn: Sequence[View] | None = None) -> dict[str, bytes]:
    """Return one SVG file per view, by its name in the output folder. drawn: the views, where they are at hand already."""
    return {f"{FOLDER}/{view.name}.svg": svg_file(view, stamp) for view in drawn or views(design)}


def svg_file(view: View, stamp: Stamp) -> bytes:
    """Return one view as an SVG document at its scale; width and height in mm, groups named by layer."""
    box = view.box.grown(MARGIN / view.scale)
    return picture(view.items, box, view.scale, title=f"{view.heading} - {stamp.line}", grouped=True).encode()


def picture(items: Sequence[Item], box: Bounds, scale: float = 1.0, *, title: str = "", grouped: bool = False) -> str:
    """Return what a rectangle shows as an SVG document. scale: paper to real thing; line widths and dashes are on paper."""
    width, height = box.width * scale, box.height * scale
    head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
    head += f'viewBox="0 0 {_n(width)} {_n(height)}">'
    named = f"<title>{escape(settable(title))}</title>" if title else ""
    drawn = _Draw(box, scale, outlines=grouped)
    body = _by_layer(items, drawn) if grouped else "".join(drawn.item(item) for item in items)
    return f"{head}{named}{body}</svg>"


def _by_layer(items: Iterable[Item], drawn: _Draw) -> str:
    groups: dict[str, list[str]] = {}
    for item in items:
        groups.setdefault(item.layer, []).append(drawn.item(item))
    return (
        "".join(
            f"\n<g id={quoteattr(layer.replace(' ', '-'))}>\n{chr(10).join(rows)}\n</g>" for layer, rows in groups.items()
        )
        + "\n"
    )


class _Draw:
    """Turns items into elements; second axis down, origin at the rectangle's upper left corner, mm on paper."""

    def __init__(self, box: Bounds, scale: float, *, outlines: bool) -> None:
        self._box, self._scale, self._outlines = box, scale, outlines

    def item(self, item: Item) -> str:
        if isinstance(item, Words):
            return self._lettering(item) if self._outlines else self._words(item)
        if isinstance(item, Area):
            tint = "" if item.shade == 1 else f' fill="{_grey(item.shade)}"'
            return f'<path d="{self._polygon(item.corners)}Z"{tint}/>'
        dashes = f' stroke-dasharray="{" ".join(_n(one) for one in item.style.dashes)}"' if item.style.dashes else ""
        pen = f'fill="none" stroke="#000" stroke-width="{_n(item.style.width)}"{dashes}'
        if isinstance(item, Round):
            x, y = self._place(item.centre)
            return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(item.radius * self._scale)}" {pen}/>'
        end = "Z" if item.closed else ""
        return f'<path d="{self._chain(item.pieces)}{end}" stroke-linejoin="miter" {pen}/>'

    def _place(self, point: Point) -> Point:
        return ((point[0] - self._box.left) * self._scale, (self._box.high - point[1]) * self._scale)

    def _xy(self, point: Point) -> str:
        x, y = self._place(point)
        return f"{_n(x)} {_n(y)}"

    def _polygon(self, corners: Sequence[Point]) -> str:
        return "M" + "L".join(self._xy(corner) for corner in corners)

    def _chain(self, pieces: Outline) -> str:
        return f"M{self._xy(pieces[0].start)}" + "".join(self._pieces(pieces))

    def _pieces(self, pieces: Outline) -> Iterator[str]:
        for piece in pieces:
            if isinstance(piece, Arc):
                r = _n(piece.radius * self._scale)
                large = int(abs(piece.sweep) > 3.141592653589793)
                yield f"A{r} {r} 0 {large} {int(piece.clockwise)} {self._xy(piece.end)}"
            else:
                yield f"L{self._xy(piece.end)}"

    def _words(self, words: Words) -> str:
        x, y = self._place(words.at)
        anchor = f' text-anchor="{words.anchor}"' if words.anchor != "start" else ""
        slant = ' font-style="italic"' if words.slanted else ""
        turn = f' transform="rotate({_n(-words.turn)} {_n(x)} {_n(y)})"' if words.turn else ""
        size = _n(words.size * self._scale)
        return (f'<text x="{_n(x)}" y="{_n(y)}" font-family="{FAMILY}" font-size="{size}"{anchor}{slant}{turn}>'
                f"{escape(settable(words.text))}</text>")  # fmt: skip

    def _lettering(self, words: Words) -> str:
        """Return words as one path of outlines, which says its text to those who cannot see it."""
        x, y = self._place(words.at)
        text = settable(words.text)
        size = words.size * self._scale / EM
        turn = f" rotate({_n(-words.turn)})" if words.turn else ""
        outline = outlined(text, {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor], slanted=words.slanted)
        return (f'<path role="img" aria-label={quoteattr(text)} transform="translate({_n(x)} {_n(y)}){turn} '
                f'scale({_n(size)} {_n(-size)})" d="{outline}"/>')  # fmt: skip


def _grey(shade: float) -> str:
    level = round(255 * (1 - shade))
    return f"#{level:02x}{level:02x}{level:02x}"


def _n(value: float) -> str:
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
