"""A picture of a sweep as SVG: filled contours over two varied values, or a curve over one. Same table, same bytes.

The contours come from contourpy, a small library that does nothing else and that the solid kernel's own parts already bring
along; lines and labels are placed here, in units of a screen's pixel, and rounded so that no last bit of a float shows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

import numpy as np
import numpy.typing as npt

from planestock.exports.files.markup import Markup, joined, tag, text
from planestock.exports.files.stamp import Stamp
from planestock.models.variants.sweep_axes import Axis
from planestock.models.variants.sweep_ties import unmoved

Floats = npt.NDArray[np.float64]

WIDTH, HEIGHT = 760.0, 560.0
"""Size of the picture, px."""

LEFT, TOP, RIGHT, BOTTOM = 84.0, 64.0, 132.0, 76.0
"""Free room around the field, px: axis labels, title, key, axis name."""

BANDS = 9
"""Bands that are aimed at; round steps give some fewer or more."""

TICKS = 6
"""Marks on an axis that are aimed at."""

BELOW = ((140, 59, 18), (207, 138, 82), (246, 224, 204))
"""Colours of bands below nothing, from the worst, as red, green, blue; those between are mixed."""

ABOVE = ((228, 238, 245), (116, 167, 201), (22, 60, 93))
"""Colours of bands from nothing up, to the best."""

LABELS_APART = 26.0
"""Least distance of two labels on lines, px; the key has every value."""

INK, FAINT, PAPER = "#1c2329", "#6a747c", "#ffffff"
NOTHING = "#d9d9d9"
"""Where the outcome could not be worked out."""

NAMES = {
    "window.width": "Width of the window, mm",
    "wear_left": "Wear that is surely left, mm",
    "thickness": "Thickness, mm",
    "window.min": "Thinnest body, mm",
    "window.max": "Thickest body, mm",
    "window.u_min": "Uncertainty of the thinnest body, mm",
    "window.u_max": "Uncertainty of the thickest body, mm",
    "window.safe_min": "Thinnest body that is sure, mm",
    "window.safe_max": "Thickest body that is sure, mm",
    "reach.out": "Edge comes out, mm",
    "reach.in": "Edge goes back, mm",
    "mouth.opening": "Mouth, mm",
    "mouth.growth_per_mm": "Mouth opens for each mm planed off the sole, mm",
    "mouth.after_truings": "Mouth after the truings wanted, mm",
    "clearance_angle": "Clearance angle, °",
}
"""What a picture can show, with its name."""


@dataclass(frozen=True)
class Field:
    """What is drawn. outcome: name of the column; values: shape (nx, ny) over two axes or (n,) over one.

    own: the set's own values at the axes, None for one that the set does not have.
    """

    outcome: str
    axes: tuple[Axis, ...]
    values: Floats
    own: tuple[float | None, ...]


def picture(field: Field, stamp: Stamp) -> bytes:
    """Return the picture as an SVG document. Raises ValueError for more than two axes: a mistake of the caller."""
    if len(field.axes) not in (1, 2):
        raise ValueError(f"a picture has one or two axes, not {len(field.axes)}")
    drawn = joined(_contours(field) if len(field.axes) == 2 else _curve(field), *_flatness(field))
    head = joined(
        tag("title", text(f"{NAMES[field.outcome]} - {stamp.line}")),
        tag("rect", width=WIDTH, height=HEIGHT, fill=PAPER),
        _words(LEFT, 28.0, NAMES[field.outcome], size=17.0, halo=True),
        _words(LEFT, 48.0, stamp.line, size=11.0, fill=FAINT),
    )
    document = tag("svg", head, drawn, xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}",
                   width=WIDTH, height=HEIGHT, font_family="system-ui, sans-serif")  # fmt: skip
    return (document + "\n").encode()


def _flatness(field: Field) -> Iterator[Markup]:
    """Say that the field is flat, or along which axis it is."""
    still = [axis for place, axis in enumerate(field.axes) if unmoved(field.values.ravel(), field.axes, place)]
    finite = field.values[np.isfinite(field.values)]
    if len(still) == len(field.axes) and finite.size:
        value = f"{float(finite[0]):.2f}".replace("-", "−")
        yield _words((LEFT + WIDTH - RIGHT) / 2, TOP + 34, f"flat: {value} everywhere, none is best",
                     size=15.0, anchor="middle", halo=True)  # fmt: skip
    if still and finite.size:
        paths = " and ".join(axis.path for axis in still)
        yield _words(LEFT, HEIGHT - 8, f"{paths} {'change' if len(still) > 1 else 'changes'} nothing here", size=12.0)


@dataclass(frozen=True)
class _Frame:
    """Turns values into places in the picture."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, value: float) -> float:
        return LEFT + (value - self.x_low) / (self.x_high - self.x_low) * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        return HEIGHT - BOTTOM - (value - self.y_low) / (self.y_high - self.y_low) * (HEIGHT - TOP - BOTTOM)

    def path(self, points: Floats) -> str:
        """Return points of shape (n, 2) as a path."""
        return "M" + "L".join(f"{self.x(float(x)):.2f} {self.y(float(y)):.2f}" for x, y in points)


def _contours(field: Field) -> Markup:
    across, up = field.axes
    frame = _Frame(across.low, across.high, up.low, up.high)
    finite = field.values[np.isfinite(field.values)]
    ground = tag("rect", x=LEFT, y=TOP, width=WIDTH - LEFT - RIGHT, height=HEIGHT - TOP - BOTTOM, fill=NOTHING)
    if not finite.size:
        return joined(ground, _axes(frame, across.label, up.label), _middle("no variant could be worked out"))
    levels = _levels(float(finite.min()), float(finite.max()))
    return joined(
        ground,
        *_bands(field, frame, levels),
        *_lines(field, frame, levels),
        _axes(frame, across.label, up.label),
        *_key(levels, bool(finite.size < field.values.size)),
        _own(field, frame),
    )


def _levels(low: float, high: float) -> list[float]:
    """Return round values that enclose low to high."""
    step = _round_step((high - low) / BANDS if high > low else max(abs(low), 1.0))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(index * step, 9) for index in range(first, max(last, first + 1) + 1)]


def _round_step(rough: float) -> float:
    """Return the next of 1, 2, 2.5, 5 times a power of ten that is not less."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= rough * (1 - 1e-9))


def _bands(field: Field, frame: _Frame, levels: Sequence[float]) -> Iterator[Markup]:
    from contourpy import FillType, contour_generator

    across, up = field.axes
    made = contour_generator(across.values(), up.values(), np.ma.masked_invalid(field.values.T), name="serial",
                             fill_type=FillType.OuterOffset)  # fmt: skip
    for low, high in pairwise(levels):
        # What comes back follows the fill type, which the library's types do not tell.
        filled = cast("tuple[list[Floats], list[npt.NDArray[np.uint32]]]", made.filled(low, high))
        paths = [
            frame.path(points[start:end]) + "Z"
            for points, offsets in zip(*filled, strict=True)
            for start, end in pairwise(offsets)
        ]
        if paths:
            yield tag("path", d="".join(paths), fill=_colour(low, levels), fill_rule="evenodd")


def _lines(field: Field, frame: _Frame, levels: Sequence[float]) -> Iterator[Markup]:
    """Yield each level's lines, that of nothing stronger, with its value on its longest one."""
    from contourpy import LineType, contour_generator

    across, up = field.axes
    made = contour_generator(across.values(), up.values(), np.ma.masked_invalid(field.values.T), name="serial",
                             line_type=LineType.Separate)  # fmt: skip
    labels: list[tuple[float, float, str]] = []
    for level in levels[1:-1]:
        lines = [line for line in cast("list[Floats]", made.lines(level)) if len(line) > 1]
        if lines:
            pen = 2.0 if level == 0 else 0.8
            yield tag("path", d="".join(frame.path(line) for line in lines), fill="none", stroke=INK, stroke_width=pen)
            longest = max(lines, key=len)
            x, y = longest[len(longest) // 2]
            place = (frame.x(float(x)), frame.y(float(y)))
            if all(math.dist(place, other[:2]) >= LABELS_APART for other in labels):
                labels.append((*place, _written(level, levels)))
    for x, y, words in labels:
        yield _words(min(max(x, LEFT + 16), WIDTH - RIGHT - 16), min(max(y, TOP + 12), HEIGHT - BOTTOM - 6) + 4, words,
                     size=12.0, anchor="middle", halo=True)  # fmt: skip


def _colour(low: float, levels: Sequence[float]) -> str:
    """Return the colour of the band that begins at `low`: warm below nothing, blue above, the farther the darker."""
    below = [level for level in levels[:-1] if level < 0]
    above = [level for level in levels[:-1] if level >= 0]
    if low < 0:
        return _mixed(BELOW, below.index(low), len(below))
    return _mixed(ABOVE, above.index(low), len(above))


def _mixed(colours: Sequence[tuple[int, int, int]], index: int, count: int) -> str:
    """Return the colour at a place along a row of colours, mixed from the two beside it."""
    place = (index / (count - 1) if count > 1 else 0.5) * (len(colours) - 1)
    left = min(int(place), len(colours) - 2)
    share = place - left
    mix = (round(a + (b - a) * share) for a, b in zip(colours[left], colours[left + 1], strict=True))
    return "#" + "".join(f"{part:02x}" for part in mix)


def _written(level: float, levels: Sequence[float]) -> str:
    """Return a level with as many decimals as the step between levels has."""
    step = f"{levels[1] - levels[0]:.9f}".rstrip("0")
    return f"{level:.{len(step.partition('.')[2])}f}".replace("-", "−")


def _key(levels: Sequence[float], gaps: bool) -> Iterator[Markup]:
    """Yield the key on the right, best on top, and what grey means where there is any."""
    left, height = WIDTH - RIGHT + 22, min(24.0, (HEIGHT - TOP - BOTTOM - 40) / (len(levels) - 1))
    top = TOP + 4
    for index, low in enumerate(reversed(levels[:-1])):
        yield tag("rect", x=left, y=top + index * height, width=18.0, height=height, fill=_colour(low, levels))
    for index, level in enumerate(reversed(levels)):
        yield _words(left + 26, top + index * height + 4, _written(level, levels), size=12.0)
    if gaps:
        bottom = top + (len(levels) - 1) * height + 16
        yield tag("rect", x=left, y=bottom, width=18.0, height=14.0, fill=NOTHING)
        yield _words(left + 26, bottom + 11, "none is sure", size=11.0)


def _curve(field: Field) -> Markup:
    (across,) = field.axes
    finite = field.values[np.isfinite(field.values)]
    if not finite.size:
        return _middle("no variant could be worked out")
    levels = _levels(float(finite.min()), float(finite.max()))
    frame = _Frame(across.low, across.high, levels[0], levels[-1])
    kept = np.isfinite(field.values)
    runs = np.split(np.arange(kept.size), np.flatnonzero(np.diff(kept)) + 1)
    points = np.column_stack([across.values(), field.values])
    drawn = "".join(frame.path(points[run]) for run in runs if kept[run[0]])
    nothing = tag("path", d=f"M{LEFT:g} {frame.y(0):.2f}H{WIDTH - RIGHT:g}", stroke=FAINT, stroke_width=1.2, fill="none",
                  stroke_dasharray="5 4") if levels[0] < 0 < levels[-1] else Markup("")  # fmt: skip
    line = tag("path", d=drawn, fill="none", stroke="#23547d", stroke_width=2.4, stroke_linejoin="round")
    return joined(_axes(frame, across.label, NAMES[field.outcome]), nothing, line, _own(field, frame))


def _axes(frame: _Frame, across: str, up: str) -> Markup:
    """Return border, marks and names of both axes."""
    right, bottom = WIDTH - RIGHT, HEIGHT - BOTTOM
    pieces = [tag("rect", x=LEFT, y=TOP, width=right - LEFT, height=bottom - TOP, fill="none", stroke=INK, stroke_width=1.0)]
    for value in _ticks(frame.x_low, frame.x_high):
        x = frame.x(value)
        pieces.append(tag("path", d=f"M{x:.2f} {bottom:g}v6", stroke=INK, fill="none"))
        pieces.append(_words(x, bottom + 22, f"{value:g}".replace("-", "−"), size=12.0, anchor="middle"))
    for value in _ticks(frame.y_low, frame.y_high):
        y = frame.y(value)
        pieces.append(tag("path", d=f"M{LEFT:g} {y:.2f}h-6", stroke=INK, fill="none"))
        pieces.append(_words(LEFT - 10, y + 4, f"{value:g}".replace("-", "−"), size=12.0, anchor="end"))
    pieces.append(_words((LEFT + right) / 2, HEIGHT - 26, across, size=13.0, anchor="middle"))
    middle = (TOP + bottom) / 2
    upwards = f"rotate(-90 24 {middle:.2f})"
    pieces.append(tag("g", _words(24.0, middle, up, size=13.0, anchor="middle"), transform=upwards))
    return joined(*pieces)


def _ticks(low: float, high: float) -> list[float]:
    step = _round_step((high - low) / TICKS)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(index * step, 9) + 0.0 for index in range(first, last + 1)]


def _own(field: Field, frame: _Frame) -> Markup:
    """Return a mark where the set itself stands, when it stands inside the ranges."""
    inside = [own is not None and axis.low <= own <= axis.high for own, axis in zip(field.own, field.axes, strict=True)]
    if not all(inside):
        return Markup("")
    x = frame.x(field.own[0] or 0.0)
    if len(field.axes) == 1:
        plumb = f"M{x:.2f} {TOP:g}V{HEIGHT - BOTTOM:g}"
        mark = tag("path", d=plumb, stroke=INK, stroke_width=1.0, stroke_dasharray="2 3", fill="none")
        return joined(mark, _words(x + 5, TOP + 14, "the set", size=12.0, halo=True))
    y = frame.y(field.own[1] or 0.0)
    mark = tag("circle", cx=x, cy=y, r=5.0, fill=PAPER, stroke=INK, stroke_width=2.0)
    if x > WIDTH - RIGHT - 60:
        return joined(mark, _words(x - 9, y - 7, "the set", size=12.0, halo=True, anchor="end"))
    return joined(mark, _words(x + 9, y - 7, "the set", size=12.0, halo=True))


def _middle(words: str) -> Markup:
    return _words((LEFT + WIDTH - RIGHT) / 2, HEIGHT / 2, words, size=15.0, anchor="middle")


def _words(
    x: float, y: float, words: str, *, size: float, anchor: str = "start", fill: str = INK, halo: bool = False
) -> Markup:
    """Return words; halo: bold, with a rim of paper around them, so that they can be read on lines."""
    if not halo:
        return tag("text", text(words), x=x, y=y, font_size=size, text_anchor=anchor, fill=fill)
    return tag("text", text(words), x=x, y=y, font_size=size, text_anchor=anchor, fill=fill, font_weight="600",
               stroke=PAPER, stroke_width=3.0, paint_order="stroke", stroke_linejoin="round")  # fmt: skip
