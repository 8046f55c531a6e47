"""Gauges: pieces of the body that metal is tried on. The seat gauge carries casting and frog, the mouth gauge the irons.

Both stand in the body's coordinates and are made by cutting the body's own tools from a block, so that every face that metal
touches is the body's. What no metal touches is thinned away.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from manifold3d import Manifold

from planestock.models.body.holes import Hole
from planestock.models.body.layout import OVERRUN, Layout
from planestock.models.prints.lettering import LEAST_TALL, fitted, length, lettering
from planestock.models.prints.meshing import (
    anticlockwise,
    block,
    flat,
    joined,
    side_prism,
    solid,
    turned,
    upright,
    without,
)
from planestock.models.solids.meshes import mesh
from planestock.models.solids.wood import cutting_tools
from planestock.params.outlines.pieces import Point

RIM = 4.0
"""Plastic around the casting's outline, mm."""

SHELL = 4.0
"""Least plastic under seat, cove, tail and frog recess, mm: stiff over the narrow hollows below it."""

WALL = 2.4
"""Plastic between two arches, mm; never less than three lines of the nozzle."""

WIDEST_ARCH = 44.0
"""Widest arch below the seat, mm: its roof rises at 45 degrees from both sides, so that it needs no support."""

LEAST_ARCH = 12.0
"""Narrower arches are not worth their walls, mm."""

BELOW_FOOT = 3.0
"""How much bed the seat gauge keeps below the frog's foot, mm."""

SHALLOWEST = 16.0
"""Least depth of the gauge below the seat plane, mm: it bridges the throat by its two cheeks alone and must not bend."""

GROOVE = 0.6
"""Depth of the scribed datum lines, mm; they are twice as wide."""

V_GROOVE = ((-GROOVE, 0.0), (GROOVE, -2 * GROOVE), (GROOVE, 2 * GROOVE))
"""Section of a datum line: out of the face it is cut in, and to the side; it ends outside, so that it cuts cleanly."""

RAISED = 0.8
"""How far letters stand out, mm."""

SUNK = 0.4
"""How far letters reach into what they stand on, mm, so that they are one body with it."""

TALLEST, LINE_LETTER, NAME_UP = 8.0, 4.0, 2.5
"""Highest letters, the letters beside the datum lines, and how far the name stands above the bottom, mm."""

LINE_STEP = 1.35
"""From one line of letters to the next, as a share of their height."""

LINE_LENGTH = 14.0
"""Length of the datum lines on the sides, mm, from the top down."""

AROUND_MOUTH = 16.0
"""Wood kept ahead of the mouth and behind the bed in the mouth gauge, mm."""

ABOVE_WEAR = 16.0
"""Height of the mouth gauge above the top of the wear, mm."""

MOUTH_CHEEK = 6.0
"""Thickness of the mouth gauge's one cheek, mm."""


def seat_gauge(at: Layout, title: str, digest: str) -> Manifold:
    """Return the wood around seat, cove, bed and frog recess as one body, standing as in the plane, not thinned yet.

    title: raised on its left side as far as there is room, with the digest's beginning; any text.
    """
    low, high = _seat_box(at)
    tools = [solid(mesh(tool.solid)) for tool in cutting_tools(at) if not tool.feature.startswith("body.dowels")]
    cut = without(block(low, high), [*tools, *_datum_lines(at, low, high)])
    body = max(cut.decompose(), key=lambda one: one.volume())
    ahead = (low[0] + RIM, max(at.corner[0] - RIM, low[0] + RIM))
    room = at.thickness - LINE_LENGTH - low[2] - 2 * NAME_UP
    names = _names((title, digest), ahead, low, room)
    return joined([body, *names, *_line_letters(at, low, high)])


def _seat_box(at: Layout) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Return the gauge's block: the casting's outline and a rim, no wider or longer than the body, down past the frog."""
    half = min(max(abs(y) for _, y in flat(at.seat)) + RIM, at.plan.half_width)
    front, rear = max(0.0, at.seat_front[0] - RIM), min(at.length, at.seat_rear[0] + RIM)
    bottom = min(_frog_bottom(at), at.thickness - SHALLOWEST, _lowest_top(at, front, rear) - SHELL - LEAST_ARCH)
    return (front, -half, max(0.0, bottom)), (rear, half, at.height)


def _frog_bottom(at: Layout) -> float:
    """Return the height of the bed below the frog's foot and below every frog screw."""
    ends = [*at.recess[:2]] if at.recess else []
    ends += [(hole.start[0], hole.start[2] - hole.diameter) for hole in at.holes if hole.kind == "frog screw"]
    return min([z for _, z in ends], default=at.thickness) - BELOW_FOOT


def _lowest_top(at: Layout, first: float, last: float) -> float:
    return min(at.top_at(float(x)) for x in np.linspace(first, last, 60))


def _bed_back(at: Layout, x: float) -> float:
    """Return the height under which plastic behind bed and frog recess may go, at x."""
    deep = SHELL + (np.hypot(*np.subtract(at.recess[1], at.recess[0])) if at.recess else 0.0)
    (cos, sin), (corner_x, corner_z) = at.up_the_bed, at.corner
    return float(corner_z + (x - corner_x) * sin / cos - deep / cos)


Corner = tuple[float, float, float]
Span = tuple[float, float]


def arches(at: Layout, nozzle: float, keep: Sequence[Span] = ()) -> list[Manifold]:
    """Return what is cut from below the seat gauge to thin it: arches right across, with roofs of 45 degrees.

    `SHELL` stays below all that metal touches, and walls stand under every screw. keep: lengths (x to x) that stay solid.
    """
    low, high = _seat_box(at)
    wall = max(WALL, 3 * nozzle)
    solid_spans = [*keep, *(_under(hole, wall) for hole in at.holes if hole.kind != "dowel")]
    behind = (_behind_bed(at, low[2]) + wall, high[0] - 2 * wall)
    spans = [share for left in _left_open(behind, solid_spans) for share in _shares(left, low[2], wall, at)]
    found = [_arch(at, span, low, high) for span in spans]
    return [one for one in found if one is not None]


def _under(hole: Hole, wall: float) -> Span:
    first, last = sorted((hole.start[0], hole.end[0]))
    return (first - hole.radius - wall, last + hole.radius + wall)


def _behind_bed(at: Layout, bottom: float) -> float:
    """Return where the shell behind the bed comes down to the gauge's bottom."""
    cos, sin = at.up_the_bed
    return at.corner[0] + (bottom - _bed_back(at, at.corner[0])) * cos / sin


def _left_open(span: Span, closed: Sequence[Span]) -> list[Span]:
    """Return what is left of a length when others are taken from it."""
    left, start = [], span[0]
    for first, last in sorted(closed):
        if first > start:
            left.append((start, min(first, span[1])))
        start = max(start, last)
    left.append((start, span[1]))
    return [(a, b) for a, b in left if b - a >= LEAST_ARCH]


def _shares(span: Span, bottom: float, wall: float, at: Layout) -> list[Span]:
    """Return equal shares of a length with walls between, so narrow that roofs of 45 degrees have room below the shell."""
    most = min(WIDEST_ARCH, max(LEAST_ARCH, 2 * (_roof(at, span) - bottom - LEAST_ARCH / 2)))
    count = int(np.ceil((span[1] - span[0] + wall) / (most + wall)))
    step = (span[1] - span[0] + wall) / count
    return [(span[0] + index * step, span[0] + (index + 1) * step - wall) for index in range(count)]


def _roof(at: Layout, span: Span) -> float:
    """Return how high an arch may rise: the shell stays between it and what metal touches."""
    roof = min(min(at.top_at(float(x)), at.thickness) for x in np.linspace(*span, 12)) - SHELL
    return min(roof, _bed_back(at, span[0])) if span[1] > at.bed_foot[0] else roof


def _arch(at: Layout, span: Span, low: Corner, high: Corner) -> Manifold | None:
    """Return one arch across the gauge; None where it is too low or narrow to be worth its walls."""
    (start, end), roof = span, _roof(at, span)
    half = (end - start) / 2
    if roof - half - low[2] < LEAST_ARCH / 4 or end - start < LEAST_ARCH:
        return None
    down, eaves = low[2] - OVERRUN, roof - half
    corners = [(start, down), (end, down), (end, eaves), (start + half, roof), (start, eaves)]
    return side_prism(corners, low[1] - OVERRUN, high[1] + OVERRUN)


def _datum_lines(at: Layout, low: Corner, high: Corner) -> Iterator[Manifold]:
    """Yield grooves: on both sides, plumb, where the corner D and the iron's edge are; on both ends where the middle is."""
    for x in _marked(at, low[0], high[0]):
        yield _side_groove(x, low[1], -1.0, low, high)
        yield _side_groove(x, high[1], 1.0, low, high)
    yield from _middle_line(low, high)


def _marked(at: Layout, first: float, last: float) -> list[float]:
    return [x for x in (at.corner[0], at.edge[0]) if first + 2 * RIM < x < last - 2 * RIM]


def _middle_line(low: Corner, high: Corner) -> Iterator[Manifold]:
    """Yield grooves down both ends where the middle of the plane is."""
    for face, out in ((low[0], -1.0), (high[0], 1.0)):
        yield upright([anticlockwise([(face + out * deep, side) for deep, side in V_GROOVE])], low[2] - 1, high[2] + 1)


def _side_groove(x: float, face: float, out: float, low: Corner, high: Corner) -> Manifold:
    """Return a groove down a side, long enough to be seen; below it is room for the name."""
    section = anticlockwise([(x + side, face + out * deep) for deep, side in V_GROOVE])
    return upright([section], max(low[2] - 1, high[2] - LINE_LENGTH), high[2] + 1)


def _names(lines: Sequence[str], room: Span, low: Corner, high: float) -> Iterator[Manifold]:
    """Yield lines of raised letters on the left side, the last one lowest; none where there is no room for letters."""
    each = high / len(lines) / LINE_STEP
    for number, words in enumerate(reversed(lines)):
        shown, tall = fitted(words, room[1] - room[0], min(TALLEST, each))
        if shown and each >= LEAST_TALL and length(shown, tall) <= room[1] - room[0] + 1e-6:
            up = low[2] + NAME_UP + number * min(TALLEST, each) * LINE_STEP
            yield on_side(lettering(shown, tall, RAISED + SUNK), room[0], up, low[1])


def _line_letters(at: Layout, low: Corner, high: Corner) -> Iterator[Manifold]:
    """Yield D and E beside their lines on the left side."""
    for letter, x in (("D", at.corner[0]), ("E", at.edge[0])):
        if x in _marked(at, low[0], high[0]):
            yield on_side(lettering(letter, LINE_LETTER, RAISED + SUNK), x - 5.5, at.thickness - 7.0, low[1])


def on_side(letters: Manifold, x: float, z: float, face: float) -> Manifold:
    """Return letters stood on the left side (y = face, seen from the left), their lower left corner at (x, z)."""
    stand = np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
    return turned(letters, stand, np.array([x, face + SUNK, z]))


def mouth_gauge(at: Layout, title: str, digest: str) -> Manifold:
    """Return the wood right around the mouth: sole, wear, foot of the bed; the right side open, so that a shaving is seen.

    The bed runs through, without the frog's recess, so that the irons lie on it as on frog and bed together.
    """
    top = min(at.wear_top[1] + ABOVE_WEAR, at.thickness)
    on_bed = at.bed_foot[0] + top * at.up_the_bed[0] / at.up_the_bed[1]
    front = max(0.0, min(at.mouth_front[0], at.wear_top[0], at.front_at(top)) - AROUND_MOUTH)
    rear = min(at.length, on_bed + AROUND_MOUTH)
    left = -min(at.throat_half_width + MOUTH_CHEEK, at.plan.half_width)
    low, high = (front, left, 0.0), (rear, at.throat_half_width, top)
    throat = side_prism([(x, z) for x, z in _throat_corners(at)], -at.throat_half_width, at.throat_half_width + OVERRUN)
    body = max(without(block(low, high), [throat, *_middle_line(low, high)]).decompose(), key=lambda one: one.volume())
    names = _names((title, digest), (front + 3.0, rear - 3.0), low, top - 2 * NAME_UP)
    return joined([body, *names])


def _throat_corners(at: Layout) -> list[Point]:
    return [piece.start for piece in at.throat_tool()]
