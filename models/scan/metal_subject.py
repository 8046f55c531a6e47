"""The metal as faces that hang on its readings, with the corner D as origin: x to the heel, y across, z up from the seat."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from planestock.models.body.layout import Tail
from planestock.models.body.metal_outlines import casting_opening, iron_place
from planestock.models.design import Design
from planestock.models.scan.faces import Face, Flat, Mask, Round
from planestock.models.scan.motion import Array
from planestock.models.scan.subjects import EDGE, Of, Patch, Subject, Values, always, looked_at, widest
from planestock.models.window.readings import value_at
from planestock.params.outlines.pieces import Arc, Line, Outline, Point, shifted
from planestock.params.outlines.polygons import rounded

FRONT, REAR = "casting.front", "casting.rear"
FRONT_WIDTH, REAR_WIDTH, CORNER = "casting.front_width", "casting.rear_width", "casting.corner_radius"
THICK, COVE, DROP, TAIL = "casting.thickness", "casting.cove_radius", "casting.tail_drop", "casting.tail_length"
ANGLE, FROG_WIDTH, FOOT_LOW, FOOT_HIGH, FOOT_THICK = (
    f"frog.{name}" for name in ("bed_angle", "width", "foot_low", "foot_high", "foot_thickness")
)
IRON_WIDTH, IRON_THICK, IRON_LENGTH, BEVEL = (f"iron.{name}" for name in ("width", "thickness", "length", "bevel_angle"))

CASTING_PATHS = (FRONT, REAR, FRONT_WIDTH, REAR_WIDTH, CORNER, COVE, DROP, TAIL)
FROG_PATHS = (ANGLE, FROG_WIDTH, FOOT_LOW, FOOT_HIGH, FOOT_THICK)
IRON_PATHS = (IRON_WIDTH, IRON_THICK, BEVEL, EDGE)
KEPT = (THICK, IRON_LENGTH)
"""Values that bound faces but are not found by a fit: tops are not true."""

LEAST_FACE = 0.5
"""A face narrower than this tells nothing, mm."""

CLOSE_BY = 2.0
"""Metal is looked at this far beyond the ends of the casting's opening, mm, as the design's opening is only a stand-in."""

LEAST_REACH = 0.4
"""Least distance within which a sample is taken for a wall of the outline, mm, however near the opening is."""


def metal(made: Design, of: Of, edge: float | None = None) -> Subject:
    """Return the metal of a design as a subject. of: "metal" or "casting"; edge: how far the iron's edge stands below the
    seat plane, mm, None where the drawn place will do for a beginning."""
    values = {path: value_at(made.given, path) for path in (*CASTING_PATHS, *FROG_PATHS, *IRON_PATHS[:3], *KEPT)}
    values[EDGE] = _edge(made, values, edge)
    patches = tuple(_patches(made, of))
    free = tuple(
        path for path in (*CASTING_PATHS, *FROG_PATHS, *IRON_PATHS) if any(path in patch.paths for patch in patches)
    )
    at = made.layout
    origin = np.array([at.corner[0], 0.0, at.corner[1]])
    seen, facing = looked_at(patches, values, lambda name, points: _exists(name, points, values, made))
    whole = widest(seen)
    return Subject(of, patches, values, free, "seat", "bed" if of == "metal" else None, origin, seen, facing, whole)


def _edge(made: Design, values: Values, depth: float | None) -> float:
    """Return the edge's place up the bed for its depth below the seat."""
    if depth is None:
        return iron_place(made.given, made.layout, made.settled.window.out(made.layout.thickness)).along
    theta = math.radians(values[ANGLE])
    return -(depth + values[IRON_THICK] * math.cos(theta)) / math.sin(theta)


def edge_depth(values: Values) -> float:
    """Return how far the edge lies below the seat plane, mm: h = -(a sin θ + t cos θ), a its place up the bed."""
    theta = math.radians(values[ANGLE])
    return -(values[EDGE] * math.sin(theta) + values[IRON_THICK] * math.cos(theta))


WITHIN_PLATE = 0.45
"""Share of a plate's thickness that a sample may lie from its face: nearer to it than to the other side."""


def _patches(made: Design, of: Of) -> Iterator[Patch]:
    plate = WITHIN_PLATE * value_at(made.given, THICK)
    tail = made.layout.tail
    yield from _underside(plate) if tail is None or tail.centre is not None else _traced_underside(made, tail, plate)
    yield from _traced_walls(made) if made.layout.is_traced else _walls()
    if of == "metal":
        iron = WITHIN_PLATE * min(value_at(made.given, IRON_THICK), value_at(made.given, "cap_iron.thickness"))
        yield from _frog(plate)
        yield from _iron(iron)


# ---- casting -----------------------------------------------------------------------------------------------------------


def _underside(reach: float) -> Iterator[Patch]:
    yield Patch("seat", "underside on the seat", (), _seat, bears=True, reach=reach)
    yield Patch("cove", "cove", (COVE, DROP, TAIL, REAR), _cove, bears=True, reach=reach)
    yield Patch("tail", "underside of the tail", (DROP,), _tail, bears=True, reach=reach)


def cove_ends(values: Values) -> tuple[float, float]:
    """Return x where the cove leaves the seat and where it meets the tail; both are the rear end where there is no tail."""
    rear, drop, radius = values[REAR], values[DROP], values[COVE]
    if drop <= 0:
        return rear, rear
    low = rear - values[TAIL]
    return low - math.sqrt(max(0.0, 2 * radius * drop - drop**2)), low


def _half_at(values: Values, x: float) -> float:
    share = (x - values[FRONT]) / (values[REAR] - values[FRONT])
    return (values[FRONT_WIDTH] + share * (values[REAR_WIDTH] - values[FRONT_WIDTH])) / 2


def _level(values: Values, z: float, low: float, high: float) -> Flat | None:
    """Return a level face of the underside between two x, as wide as the outline there."""
    if high - low < LEAST_FACE:
        return None
    half = (_half_at(values, low), _half_at(values, high))
    return Flat(np.array([0.0, 0.0, z]), np.array([0.0, 0.0, -1.0]), np.array([1.0, 0.0, 0.0]), (low, high), half)


def _seat(values: Values) -> Face | None:
    return _level(values, 0.0, values[FRONT], cove_ends(values)[0])


def _tail(values: Values) -> Face | None:
    low = cove_ends(values)[1]
    return _level(values, -values[DROP], low, values[REAR]) if values[DROP] > 0 else None


def _cove(values: Values) -> Face | None:
    high, low = cove_ends(values)
    radius, drop = values[COVE], values[DROP]
    if drop <= 0 or low - high < LEAST_FACE:
        return None
    turn = math.acos(max(-1.0, 1.0 - drop / radius)) / 2
    middle = np.array([-math.sin(turn), 0.0, -math.cos(turn)])
    half = min(_half_at(values, high), _half_at(values, low))
    return Round(np.array([low, 0.0, radius - drop]), np.array([0.0, 1.0, 0.0]), radius, middle, turn, (-half, half))


def corners(values: Values) -> tuple[Point, Point, Point, Point]:
    """Return the outline's corners before they are rounded, anticlockwise from the front end's left (y < 0)."""
    front, rear = values[FRONT], values[REAR]
    half_front, half_rear = values[FRONT_WIDTH] / 2, values[REAR_WIDTH] / 2
    return ((front, -half_front), (rear, -half_rear), (rear, half_rear), (front, half_front))


def _outline(values: Values) -> Outline:
    return rounded(corners(values), values[CORNER])


def _walls() -> Iterator[Patch]:
    paths = {
        "left side": (FRONT, REAR, FRONT_WIDTH, REAR_WIDTH),
        "right side": (FRONT, REAR, FRONT_WIDTH, REAR_WIDTH),
        "rear end": (REAR,),
        "front end": (FRONT,),
    }
    names = ("left side", "rear end", "right side", "front end")
    for index, name in enumerate(names):
        yield Patch(name, f"{name} of the outline", (*paths[name], CORNER), _wall_maker(index))
    round_names = ("front left corner", "rear left corner", "rear right corner", "front right corner")
    for index, name in enumerate(round_names):
        yield Patch(name, name, (FRONT, REAR, FRONT_WIDTH, REAR_WIDTH, CORNER), _corner_maker(index))


def _wall_maker(index: int) -> Callable[[Values], Face | None]:
    def place(values: Values) -> Face | None:
        if values[CORNER] > 0:
            arcs = [piece for piece in _outline(values) if isinstance(piece, Arc)]
            start, end = arcs[index].end, arcs[(index + 1) % 4].start
        else:
            around = corners(values)
            start, end = around[index], around[(index + 1) % 4]
        return _wall(start, end, _rim(values, max(start[0], end[0]), min(start[0], end[0])))

    return place


def _corner_maker(index: int) -> Callable[[Values], Face | None]:
    def place(values: Values) -> Face | None:
        if values[CORNER] <= LEAST_FACE:
            return None
        arc = [piece for piece in _outline(values) if isinstance(piece, Arc)][index]
        return _rounding(arc, _rim(values, arc.centre[0], arc.centre[0]))

    return place


def _traced_walls(made: Design) -> Iterator[Patch]:
    """Yield a wall for each piece of a traced outline; it is as it was drawn and hangs on no reading."""
    rims = {path: value_at(made.given, path) for path in (*CASTING_PATHS, THICK)}
    for number, piece in enumerate(shifted(made.layout.casting, (-made.layout.corner[0], 0.0)), start=1):
        far, near = max(piece.start[0], piece.end[0]), min(piece.start[0], piece.end[0])
        rim = _rim(rims, far, near)
        face = _rounding(piece, rim) if isinstance(piece, Arc) else _wall(piece.start, piece.end, rim)
        yield Patch(f"outline {number}", "outline as traced", (), always(face), reach=_beside_opening(piece, made))


def _beside_opening(piece: Line | Arc, made: Design) -> float:
    """Return how far from a piece of the outline a sample may lie, mm, so that none of the casting's opening is taken for
    it: half the metal between them. piece: from the corner D."""
    side, half = casting_opening(made.given, made.layout)
    xs = [one.start[0] - made.layout.corner[0] for one in side]
    ends = (piece.start, piece.end)
    if max(x for x, _ in ends) < min(xs) - CLOSE_BY or min(x for x, _ in ends) > max(xs) + CLOSE_BY:
        return math.inf
    return max(LEAST_REACH, (min(abs(y) for _, y in ends) - half) / 2)


def _traced_underside(made: Design, tail: Tail, reach: float) -> Iterator[Patch]:
    """Yield the underside as it was traced: the seat, each piece of the fall, the level tail."""
    at = made.layout
    x, z = at.corner
    widths = {path: value_at(made.given, path) for path in CASTING_PATHS}
    high, end, rear = tail.cove_high[0] - x, tail.level_from[0] - x, at.casting_rear - x
    yield Patch("seat", "underside on the seat", (), always(_level(widths, 0.0, at.casting_front - x, high)), True, reach)
    half = min(_half_at(widths, high), _half_at(widths, end))
    for number, piece in enumerate(shifted(tail.fall, (-x, -z)), start=1):
        face = _fallen_arc(piece, half) if isinstance(piece, Arc) else _fallen_line(piece, half)
        yield Patch(f"cove {number}", "cove as traced", (), always(face), True, reach)
    yield Patch("tail", "underside of the tail", (), always(_level(widths, tail.level - z, end, rear)), True, reach)


def _fallen_line(piece: Line, half: float) -> Flat | None:
    """Return a straight piece of the underside, toe to heel, as a face across the casting."""
    length = math.dist(piece.start, piece.end)
    if length < LEAST_FACE:
        return None
    dx, dz = (piece.end[0] - piece.start[0]) / length, (piece.end[1] - piece.start[1]) / length
    point, along = np.array([piece.start[0], 0.0, piece.start[1]]), np.array([dx, 0.0, dz])
    return Flat(point, np.array([dz, 0.0, -dx]), along, (0.0, length), (half, half))


def _fallen_arc(arc: Arc, half: float) -> Round | None:
    """Return a curved piece of the underside, toe to heel; one walked anticlockwise bulges down, and metal lies above it."""
    if abs(arc.sweep) * arc.radius < LEAST_FACE:
        return None
    mx, mz = arc.at(0.5)
    middle = np.array([mx - arc.centre[0], 0.0, mz - arc.centre[1]]) / arc.radius
    centre, across = np.array([arc.centre[0], 0.0, arc.centre[1]]), np.array([0.0, 1.0, 0.0])
    return Round(centre, across, arc.radius, middle, abs(arc.sweep) / 2, (-half, half), -1.0 if arc.clockwise else 1.0)


def _rim(values: Values, far: float, near: float) -> tuple[float, float]:
    """Return from where to where in z a wall between two x reaches."""
    high, low = cove_ends(values)
    bottom = -values[DROP] if far > high else 0.0
    top = values[THICK] - (values[DROP] if near >= low - LEAST_FACE else 0.0)
    return bottom, top


def _wall(start: Point, end: Point, rim: tuple[float, float]) -> Flat | None:
    """Return the upright face over a straight piece of an anticlockwise outline."""
    length = math.dist(start, end)
    if length < LEAST_FACE:
        return None
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    half = (rim[1] - rim[0]) / 2
    point = np.array([start[0], start[1], (rim[0] + rim[1]) / 2])
    return Flat(point, np.array([dy, -dx, 0.0]), np.array([dx, dy, 0.0]), (0.0, length), (half, half))


def _rounding(arc: Arc, rim: tuple[float, float]) -> Round | None:
    """Return the upright face over a rounded corner of an anticlockwise outline."""
    if arc.radius < LEAST_FACE or abs(arc.sweep) * arc.radius < LEAST_FACE:
        return None
    mx, my = arc.at(0.5)
    middle = np.array([mx - arc.centre[0], my - arc.centre[1], 0.0]) / arc.radius
    centre, up = np.array([*arc.centre, 0.0]), np.array([0.0, 0.0, 1.0])
    return Round(centre, up, arc.radius, middle, abs(arc.sweep) / 2, rim, -1.0 if arc.clockwise else 1.0)


# ---- frog and iron -------------------------------------------------------------------------------------------------------


def _bed_axes(values: Values) -> tuple[Array, Array]:
    theta = math.radians(values[ANGLE])
    return np.array([math.cos(theta), 0.0, math.sin(theta)]), np.array([-math.sin(theta), 0.0, math.cos(theta)])


def _on_bed(values: Values, along: float, out: float) -> Array:
    u, n = _bed_axes(values)
    return along * u + out * n


def _frog(reach: float) -> Iterator[Patch]:
    yield Patch("bed", "frog's face and the iron's back", (ANGLE,), _bed, bears=True, reach=reach)
    yield Patch("foot back", "back of the frog's foot", (ANGLE, FOOT_THICK), _foot_back, bears=True, reach=reach)
    yield Patch("foot low end", "lower end of the frog's foot", (ANGLE, FOOT_LOW), _foot_end(FOOT_LOW, -1.0))
    yield Patch("foot high end", "upper end of the frog's foot", (ANGLE, FOOT_HIGH), _foot_end(FOOT_HIGH, 1.0))
    for name, sign in (("foot left side", -1.0), ("foot right side", 1.0)):
        yield Patch(name, f"{name.removeprefix('foot ')} of the frog's foot", (FROG_WIDTH,), _foot_side(sign))


def _bed(values: Values) -> Face | None:
    u, n = _bed_axes(values)
    half = max(values[FROG_WIDTH], values[IRON_WIDTH]) / 2
    return Flat(np.zeros(3), n, u, (values[EDGE], values[EDGE] + values[IRON_LENGTH]), (half, half))


def _foot_back(values: Values) -> Face | None:
    if values[FOOT_THICK] < LEAST_FACE or values[FOOT_HIGH] - values[FOOT_LOW] < LEAST_FACE:
        return None
    u, n = _bed_axes(values)
    half = values[FROG_WIDTH] / 2
    return Flat(_on_bed(values, 0.0, -values[FOOT_THICK]), -n, u, (values[FOOT_LOW], values[FOOT_HIGH]), (half, half))


def _foot_end(path: str, sign: float) -> Callable[[Values], Face | None]:
    def place(values: Values) -> Face | None:
        if values[FOOT_THICK] < LEAST_FACE:
            return None
        u, n = _bed_axes(values)
        half = values[FROG_WIDTH] / 2
        return Flat(_on_bed(values, values[path], 0.0), sign * u, n, (-values[FOOT_THICK], 0.0), (half, half))

    return place


def _foot_side(sign: float) -> Callable[[Values], Face | None]:
    def place(values: Values) -> Face | None:
        if values[FOOT_THICK] < LEAST_FACE:
            return None
        half = values[FOOT_THICK] / 2
        point = _on_bed(values, 0.0, -half) + np.array([0.0, sign * values[FROG_WIDTH] / 2, 0.0])
        u = _bed_axes(values)[0]
        return Flat(point, np.array([0.0, sign, 0.0]), u, (values[FOOT_LOW], values[FOOT_HIGH]), (half, half))

    return place


def _iron(reach: float) -> Iterator[Patch]:
    yield Patch("iron front", "flat face of the iron", (ANGLE, IRON_THICK), _iron_front, reach=reach)
    yield Patch("bevel", "bevel of the iron", (ANGLE, IRON_THICK, BEVEL, EDGE), _bevel)
    for name, sign in (("iron left side", -1.0), ("iron right side", 1.0)):
        yield Patch(name, f"{name.removeprefix('iron ')} of the iron", (IRON_WIDTH,), _iron_side(sign))


def _iron_front(values: Values) -> Face | None:
    u, n = _bed_axes(values)
    half = values[IRON_WIDTH] / 2
    span = (values[EDGE], values[EDGE] + values[IRON_LENGTH])
    return Flat(_on_bed(values, 0.0, values[IRON_THICK]), n, u, span, (half, half))


def _bevel(values: Values) -> Face | None:
    u, n = _bed_axes(values)
    beta = math.radians(values[BEVEL])
    back = math.cos(beta) * u - math.sin(beta) * n
    normal = -math.sin(beta) * u - math.cos(beta) * n
    half = values[IRON_WIDTH] / 2
    return Flat(_on_bed(values, values[EDGE], values[IRON_THICK]), normal, back, (0.0, values[IRON_THICK] / math.sin(beta)),
                (half, half))  # fmt: skip


def _iron_side(sign: float) -> Callable[[Values], Face | None]:
    def place(values: Values) -> Face | None:
        half = values[IRON_THICK] / 2
        point = _on_bed(values, 0.0, half) + np.array([0.0, sign * values[IRON_WIDTH] / 2, 0.0])
        start = values[EDGE] + values[IRON_THICK] / math.tan(math.radians(values[BEVEL]))
        span = (start, values[EDGE] + values[IRON_LENGTH])
        return Flat(point, np.array([0.0, sign, 0.0]), _bed_axes(values)[0], span, (half, half))

    return place


# ---- which points of the faces a real casting has ------------------------------------------------------------------------


def _exists(name: str, points: Array, values: Values, made: Design) -> Mask:
    """Leave out what is cut from the casting for iron and frog, what a wall does not reach, and what the cap iron covers."""
    x, y, z = points.T
    gone = np.full(len(points), name == "iron front")
    if name == "seat":
        at = made.layout
        mouth, behind = at.breast_top[0] - at.corner[0], values[FOOT_THICK] / math.sin(math.radians(values[ANGLE]))
        gone = (x > mouth) & (x < behind) & (np.abs(y) < at.throat_half_width)
    elif name in ("left side", "right side"):
        high, low = cove_ends(values)
        under = -np.interp(x, [high, max(low, high + LEAST_FACE)], [0.0, values[DROP]])
        gone = (z <= under) | (z >= under + values[THICK])
    return ~gone
