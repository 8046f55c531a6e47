"""From a drawing to an outline or a profile: chained, placed by the corner D, fitted with lines and arcs, checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Literal

from planestock.params.outlines.along import directions
from planestock.params.outlines.path_text import FARTHEST
from planestock.params.outlines.pieces import (
    Bounds,
    Line,
    Outline,
    Piece,
    Point,
    area,
    bounds,
    flattened,
    turn_between,
    walked_back,
)
from planestock.params.problems import refuse
from planestock.params.traced.drawing import CORNER_MARK, MIDDLE_MARK, Drawing, bytes_of
from planestock.params.traced.fitting import fitted, joined
from planestock.params.traced.strokes import Chain, Chained, Curve, Move, Stroke, chained

Kind = Literal["outline", "profile"]

SAGITTA = 0.005
"""Chords that stand for arcs in checks stray at most this far, mm."""

SCALE_CHECK = 0.02
"""Share by which the marks' distance may differ from the stated one; paper and cameras stretch less, wrong marks more."""

LEAST_SIZE, MOST_SIZE = 20.0, 1000.0
"""Shortest and longest that a casting's outline or profile can be, mm; its readings judge it more closely."""

STEEP = math.radians(45)
"""The underside's ends are trimmed where a drawing of the whole side turns up more steeply than this round its corners."""


@dataclass(frozen=True)
class How:
    """How a drawing is read. unit: of its numbers; largest_gap, tolerance: mm; marks: place it by them, else by its origin.

    places: x, y of the corner mark and of the middle one in the drawing's units, None to find them in it; apart: their
    distance, mm.
    """

    unit: Literal["file", "mm", "in"] = "file"
    largest_gap: float = 0.1
    tolerance: float = 0.01
    marks: bool = False
    places: tuple[float, float, float, float] | None = None
    apart: float | None = None


@dataclass(frozen=True)
class Cleaned:
    """What came of a drawing. outline: closed and anticlockwise, or the underside from front to rear; mm from D.

    strays: the farthest the drawing lies from it; gap: the widest that was closed; left_out: loops or lines not used;
    drawn: pieces and points of the drawing that were used; unit: of the drawing; notes: what the maker should know.
    """

    outline: Outline
    kind: Kind
    strays: float
    gap: float
    left_out: int
    drawn: int
    unit: str
    notes: tuple[str, ...] = field(default=())


def clean_file(path: Path, kind: Kind, how: How, called: str) -> Cleaned:
    """Read a DXF or SVG file, told by its first bytes. called: its field or argument, for messages. Raises InputProblem."""
    data = bytes_of(path, called)
    return clean(drawing_of(data, how.tolerance, f"{called} ({path.name})"), kind, how, f"{called} ({path.name})")


def drawing_of(data: bytes, tolerance: float, called: str) -> Drawing:
    """Return the drawing in some bytes. Raises InputProblem where they are neither DXF nor SVG."""
    from planestock.params.traced import from_dxf, from_svg

    start = data.removeprefix(b"\xef\xbb\xbf").lstrip()[:4096]
    if start.startswith(b"<"):
        return from_svg.read(data, tolerance, called)
    looks_like_dxf = start.startswith((b"0\r", b"0\n", b"999")) or from_dxf.is_binary(data)
    if not looks_like_dxf:
        raise refuse(called, "the file", "is neither DXF nor SVG", "save the drawing as DXF or as plain SVG")
    return from_dxf.read(data, tolerance, called)


def clean(drawing: Drawing, kind: Kind, how: How, called: str) -> Cleaned:
    """Return the outline or profile in a drawing. Raises InputProblem where there is none that can be used."""
    scale, unit = _scale(drawing, how)
    move, notes = _placing(drawing, how, scale, called)
    moved: list[Chain] = [[move.stroke(stroke) for stroke in chain] for chain in drawing.chains]
    chains = chained(moved, how.largest_gap, called)
    chain, left_out = (_outline_chain if kind == "outline" else _profile_chain)(chains, how, called)
    _size(chain, unit, called)
    made = fitted(chain, how.tolerance, called)
    pieces = (
        _anticlockwise(made.pieces) if kind == "outline" else _underside(made.pieces, closed=chain.closed, called=called)
    )
    uncrossed(pieces, kind, called)
    drawn = sum(len(stroke.points) if isinstance(stroke, Curve) else 1 for stroke in chain.strokes)
    return Cleaned(pieces, kind, made.strays, chain.gap, left_out, drawn, unit, tuple(notes))


def _scale(drawing: Drawing, how: How) -> tuple[float, str]:
    if how.unit != "file":
        return {"mm": (1.0, "millimetres, as stated"), "in": (25.4, "inches, as stated")}[how.unit]
    return (1.0, "millimetres, as the file names no unit") if drawing.scale is None else (drawing.scale, drawing.unit)


# ---- placing ------------------------------------------------------------------------------------------------------


def _placing(drawing: Drawing, how: How, scale: float, called: str) -> tuple[Move, list[str]]:
    """Return the move from the drawing to millimetres from D, and what to say about it."""
    mirror = drawing.up < 0
    if not how.marks:
        return Move(scale, 0.0, mirror=mirror), []
    corner, middle = _marks(drawing, how, called)
    flat = Move(scale, 0.0, mirror=mirror)
    (cx, cy), (mx, my) = flat.place(corner), flat.place(middle)
    apart = math.hypot(mx - cx, my - cy)
    if apart < 1.0:
        raise refuse(
            called,
            f"{apart:.3g} mm",
            "lies between the two marks, too little to place a drawing by",
            "put the second mark near the casting's rear end",
        )
    notes = [f"the marks lie {apart:.2f} mm apart in the drawing"]
    if how.apart is not None:
        _same_distance(apart, how.apart, called)
        notes[0] += f", {how.apart:.2f} mm stated"
    cos, sin = scale * (mx - cx) / apart, -scale * (my - cy) / apart
    turned = Move(cos, sin, mirror=mirror)
    x, y = turned.place(corner)
    return Move(cos, sin, -x, -y, mirror), notes


def _marks(drawing: Drawing, how: How, called: str) -> tuple[Point, Point]:
    if how.places is not None:
        return how.places[:2], how.places[2:]
    missing = [name for name in (CORNER_MARK, MIDDLE_MARK) if name not in drawing.marks]
    if missing:
        raise refuse(
            called,
            f"no mark named {' or '.join(missing)}",
            "is in the drawing",
            f'put a POINT on a layer "{CORNER_MARK}" and one on "{MIDDLE_MARK}" (DXF), or circles with these '
            "ids (SVG), or give the marks' coordinates",
        )
    return drawing.marks[CORNER_MARK], drawing.marks[MIDDLE_MARK]


def _same_distance(found: float, stated: float, called: str) -> None:
    share = found / stated
    if abs(share - 1) > SCALE_CHECK:
        wrong = wrong_scale(share)
        raise refuse(
            called,
            f"{found:.4g} mm between the marks",
            f"is not the stated {stated:.4g} mm{f': {wrong}' if wrong else ''}",
            "check the drawing's scale, the stated distance and which points are marked",
        )


FACTORS: tuple[tuple[float, str], ...] = (
    (25.4, "the drawing is in millimetres and was taken for inches"),
    (1 / 25.4, "the drawing is in inches and was taken for millimetres"),
    (1000.0, "the drawing is 1000 times too large: it is in micrometres, or was taken for metres"),
    (0.001, "the drawing is 1000 times too small: it is in metres and was taken for millimetres"),
    (10.0, "the drawing is 10 times too large: it is in millimetres and was taken for centimetres"),
    (0.1, "the drawing is 10 times too small: it is in centimetres and was taken for millimetres"),
    (2.54, "the drawing is 2.54 times too large"),
    (96 / 25.4, "the drawing's px were taken for millimetres"),
    (25.4 / 96, "the drawing's millimetres were taken for px of 1/96 in"),
)
"""Wrong scales that have a cause: too large by the factor, and what it means."""

NEAR_FACTOR = 0.08
"""Share by which a wrong scale may differ from a factor and still be named: readings and drawings differ by less."""


def wrong_scale(share: float) -> str:
    """Return the cause of a size that is `share` times what it should be, nothing where none is known."""
    return next((cause for factor, cause in FACTORS if abs(share / factor - 1) < NEAR_FACTOR), "")


# ---- choosing -----------------------------------------------------------------------------------------------------


def _outline_chain(chains: Sequence[Chained], how: How, called: str) -> tuple[Chained, int]:
    """Return the largest loop; the rest (holes, screws, words) is left out."""
    loops = [(abs(area(_rough(chain))), index) for index, chain in enumerate(chains) if chain.closed]
    if not loops:
        raise refuse(
            called,
            _loose(chains),
            "no line closes upon itself",
            f"close the outline, or raise the largest gap that is closed (now {how.largest_gap:g} mm)",
        )
    largest, index = max(loops, key=lambda loop: (loop[0], -loop[1]))
    open_size = max((_reach(chain) for chain in chains if not chain.closed), default=0.0)
    if open_size > 1.2 * _reach(chains[index]):
        raise refuse(
            called,
            _loose(chains),
            "the largest line does not close upon itself",
            f"close the outline, or raise the largest gap that is closed (now {how.largest_gap:g} mm)",
        )
    if largest <= 0:
        raise refuse(called, "the outline", "encloses no area", "save the drawing again")
    return chains[index], len(chains) - 1


def _profile_chain(chains: Sequence[Chained], how: How, called: str) -> tuple[Chained, int]:
    """Return the longest line, or the whole side of the casting where that is drawn."""
    del how, called
    best = max(range(len(chains)), key=lambda index: (_reach(chains[index]), -index))
    return chains[best], len(chains) - 1


def _loose(chains: Sequence[Chained]) -> str:
    """Say how far apart the ends of the largest open line are."""
    if not chains:
        return "nothing"
    chain = max(chains, key=_reach)
    return f"a gap of {math.dist(chain.strokes[0].start, chain.strokes[-1].end):.3g} mm"


def _rough(chain: Chained) -> Outline:
    """Return a chain with its curves as straight pieces."""
    return tuple(piece for stroke in chain.strokes for piece in _plain(stroke))


def _plain(stroke: Stroke) -> Outline:
    if not isinstance(stroke, Curve):
        return (stroke,)
    rows = [(float(x), float(y)) for x, y in stroke.points]
    return tuple(Line(a, b) for a, b in pairwise(rows))


def _reach(chain: Chained) -> float:
    box = bounds(_rough(chain))
    return math.hypot(box.width, box.height)


def _size(chain: Chained, unit: str, called: str) -> None:
    box = bounds(_rough(chain))
    long = max(box.width, box.height)
    if not LEAST_SIZE <= long <= MOST_SIZE:
        raise refuse(
            called,
            f"{long:.4g} mm long, in {unit}",
            "is no size of a casting",
            'state the unit (casting.tracing.unit = "mm" or "in"), or scale the drawing',
        )
    if max(abs(box.left), abs(box.right), abs(box.low), abs(box.high)) > FARTHEST / 2:
        raise refuse(
            called,
            f"{box.left:.4g} to {box.right:.4g} mm",
            "lies far from the drawing's origin, the corner D",
            "move the drawing so that D is its origin, or place it by two marks",
        )


def _anticlockwise(pieces: Outline) -> Outline:
    return pieces if area(pieces) > 0 else walked_back(pieces)


# ---- the underside ------------------------------------------------------------------------------------------------


def _underside(pieces: Outline, *, closed: bool, called: str) -> Outline:
    """Return the underside from the front end to the rear; of a whole side, what lies below between its ends."""
    whole = bounds(pieces)
    if closed:
        pieces = _lower_half(_anticlockwise(pieces))
    elif pieces[0].start[0] > pieces[-1].end[0]:
        pieces = walked_back(pieces)
    trimmed = list(pieces)
    while trimmed and closed and _slope(trimmed[0], 0) < -STEEP:
        del trimmed[0]
    while trimmed and closed and _slope(trimmed[-1], 1) > STEEP:
        del trimmed[-1]
    if closed and trimmed:
        trimmed = _carried_on(trimmed, whole)
    if not trimmed:
        raise refuse(called, "the profile", "has no underside", "draw the underside from the front end to the rear end")
    for piece in trimmed:
        if min(way[0] for way in directions(piece)) < -UPRIGHT or piece.end[0] <= piece.start[0]:
            raise refuse(
                called,
                f"x {piece.start[0]:.2f} to {piece.end[0]:.2f}",
                "the underside runs back under itself",
                "draw it from front to rear as the wood lies against it, with no hollow behind an edge",
            )
    return tuple(trimmed)


def _carried_on(pieces: list[Piece], whole: Bounds) -> list[Piece]:
    """Return an underside carried on straight to the whole side's ends, which round off where it was trimmed."""
    ahead, behind = pieces[0].start[0] - whole.left, whole.right - pieces[-1].end[0]
    start, end = pieces[0].start, pieces[-1].end
    if ahead > A_HAIR:
        pieces = [Line((whole.left, start[1] - ahead * _fall(pieces[0])), start), *pieces]
    if behind > A_HAIR:
        pieces = [*pieces, Line(end, (whole.right, end[1] + behind * _fall(pieces[-1])))]
    return list(joined(pieces, closed=False))


def _fall(piece: Piece) -> float:
    """Return how a piece rises or falls for each mm on; level where it is too short or too round to say."""
    way = directions(piece)[0]
    return way[1] / way[0] if isinstance(piece, Line) and math.dist(piece.start, piece.end) > SAYS_ENOUGH else 0.0


SAYS_ENOUGH = 10.0
"""Length of a straight piece, mm, from which its slope is carried on."""


A_HAIR = 0.01
"""An underside ends at the end of the side where it is this near to it, mm."""

UPRIGHT = 1e-3
"""How far a direction may lean back and still count as upright, as a share: half of a tenth of a degree."""


def _lower_half(pieces: Outline) -> Outline:
    """Return the part of an anticlockwise loop from its leftmost corner along below to its rightmost."""
    box = bounds(pieces)
    starts = [piece.start for piece in pieces]

    def corner(x: float) -> int:
        near = [i for i, point in enumerate(starts) if abs(point[0] - x) < 0.02 * box.width]
        near = near or [min(range(len(starts)), key=lambda i: abs(starts[i][0] - x))]
        return min(near, key=lambda i: (starts[i][1], i))

    begin, finish = corner(box.left), corner(box.right)
    order = [*pieces[begin:], *pieces[:begin]]
    return tuple(order[: (finish - begin) % len(pieces) or len(pieces)])


def _slope(piece: Piece, end: int) -> float:
    """Return the angle from level of a piece at its start (0) or end (1)."""
    return turn_between((1.0, 0.0), directions(piece)[end])


# ---- checks -------------------------------------------------------------------------------------------------------


def uncrossed(pieces: Outline, kind: Kind, called: str) -> None:
    """Raise InputProblem where the pieces cross or touch themselves."""
    import shapely

    points = flattened(pieces, SAGITTA)
    if kind == "outline":
        shape = shapely.Polygon(points)
        if shape.is_valid and shape.area > 0:
            return
        reason = shapely.is_valid_reason(shape)
    else:
        line = shapely.LineString([*points, pieces[-1].end])
        if line.is_simple:
            return
        reason = "Self-intersection"
    where = reason.partition("[")[2].rstrip("]")
    place = f" near x, y = {where.replace(' ', ', ')} mm" if where else ""
    raise refuse(called, f"the {kind}", f"crosses or touches itself{place}", "mend the drawing there, then save it again")
