"""Parts split across their length until they fit the printer's bed, with pegs where the wood has room for them.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import manifold3d
import numpy as np
import numpy.typing as npt
from manifold3d import CrossSection, Manifold

from planestock.models.prints import pegs
from planestock.models.prints.bed import Bed, bed_words, longest_on
from planestock.models.prints.meshing import block, mesh_of, solid, without
from planestock.models.prints.print_groups import SIDES, Joint, Piece
from planestock.models.solids.parts import Mesh, Vector
from planestock.params.lengths import METRIC, Lengths
from planestock.params.outlines.pieces import Point
from planestock.params.problems import InputProblem, Problem

LEAST_PIECE = 40.0
"""Shortest piece a part is split into, mm: shorter ones are all pegs and joints."""

MOST_PIECES = 12
"""Most pieces of one part: a body of more is no longer a thing to try metal on."""

LEAST_WALL = 1.2
"""Least plastic round a socket, mm; 1.2 to 1.6 is preferred over the bare minimum of two lines (common
practice, no published source)."""

SEARCH_STEP = 3.0
"""Step in which places for a joint are tried, mm."""

FREE = 1e-6
"""Room to spare that a joint leaves to the bed, mm."""

CLEAN = 2.0
"""Nothing should end nearer than this to a joint, mm."""

CRUMB, CRUMB_AREA = 0.15, 0.5
"""What ends there counts where it is more than a rim of so many mm, as a taper leaves it, and more than so many mm²."""

SPARE = 0.01
"""Room beyond the least wall, mm: places of pegs are rounded to a thousandth, and offset arcs are chords."""

SLIVER = 1.0
"""Bodies smaller than this, mm³, are crumbs where a cut grazes a curved face; they are not printed."""


@dataclass(frozen=True)
class Making:
    """What splitting goes by. clearance: on each side of a peg, mm; nozzle: mm; lengths: how sentences write them."""

    bed: Bed
    clearance: float
    nozzle: float
    lengths: Lengths = METRIC

    @property
    def wall(self) -> float:
        """Least plastic round a socket, mm: `LEAST_WALL`, or three lines of a wider nozzle."""
        return max(LEAST_WALL, 3 * self.nozzle)


@dataclass(frozen=True, eq=False)
class SplitPart:
    """A part's pieces from toe to heel, its joints, and the pegs for them."""

    pieces: tuple[Piece, ...]
    joints: tuple[Joint, ...]
    pegs: tuple[Piece, ...]


def split(name: str, mesh: Mesh, making: Making, downs: tuple[Vector, ...] = SIDES) -> SplitPart:
    """Return a part's pieces, each short enough for the bed. Raises InputProblem where the printer is too small."""
    split_up = [_split_body(name, body, making, downs) for body in _separate(solid(mesh))]
    joints = tuple(joint for _, found in split_up for joint in found)
    bodies = [body for found, _ in split_up for body in found]
    names = [name] if len(bodies) == 1 else [f"{name} {number} of {len(bodies)}" for number in range(1, len(bodies) + 1)]
    pieces = tuple(Piece(called, mesh_of(one), downs) for called, one in zip(names, bodies, strict=True))
    return SplitPart(pieces, joints, tuple(_pegs(name, joints)))


def _split_body(name: str, body: Manifold, making: Making, downs: tuple[Vector, ...]) -> tuple[list[Manifold], list[Joint]]:
    joints = list(_joints(name, body, making, downs))
    if not joints:
        return [body], []
    cut = without(body, (socket for joint in joints for socket in sockets(joint, making.clearance)))
    return [one for piece in _sliced(cut, [joint.x for joint in joints]) for one in _separate(piece)], joints


def sockets(joint: Joint, clearance: float) -> list[Manifold]:
    """Return what a joint's pegs need cut away."""
    return [pegs.socket(joint.x, place, joint.size, clearance) for place in joint.places]


def mirrored(part: SplitPart, name: str, own: str) -> SplitPart:
    """Return a split part mirrored across the mid-plane, exactly, under another name."""
    flip = np.array([1.0, -1.0, 1.0])
    turned = [Piece(one.name.replace(own, name, 1), _mirror(one.mesh, flip), tuple((x, 0.0 - y, z) for x, y, z in one.downs),
                    peg=one.peg) for one in (*part.pieces, *part.pegs)]  # fmt: skip
    joints = tuple(Joint(one.x, one.size, tuple((-y, z) for y, z in one.places)) for one in part.joints)
    count = len(part.pieces)
    return SplitPart(tuple(turned[:count]), joints, tuple(turned[count:]))


def _mirror(mesh: Mesh, flip: npt.NDArray[np.float64]) -> Mesh:
    return Mesh(mesh.vertices * flip + 0.0, np.ascontiguousarray(mesh.faces[:, ::-1]))


def _pegs(name: str, joints: Iterable[Joint]) -> Iterator[Piece]:
    places = [(joint, place) for joint in joints for place in joint.places]
    for number, (joint, place) in enumerate(places, 1):
        called = f"peg {number} of {name}"
        yield Piece(called, mesh_of(pegs.peg(joint.x, place, joint.size)), ((0.0, 0.0, -1.0),), peg=True)


def _sliced(body: Manifold, cuts: Sequence[float]) -> list[Manifold]:
    x0, y0, z0, x1, y1, z1 = body.bounding_box()
    return [body ^ block((a, y0 - 1, z0 - 1), (b, y1 + 1, z1 + 1)) for a, b in pairwise([x0 - 1, *cuts, x1 + 1])]


def _separate(body: Manifold) -> list[Manifold]:
    """Return the bodies of one slice from toe to heel: a strip is in two where the throat severs it."""
    found = [one for one in body.decompose() if one.volume() > SLIVER]
    return sorted(found, key=lambda one: (round(one.bounding_box()[0], 6), one.bounding_box()[2]))


def _joints(name: str, body: Manifold, making: Making, downs: tuple[Vector, ...]) -> Iterator[Joint]:
    start, y0, z0, end, y1, z1 = body.bounding_box()
    total = end - start
    most = max(longest_on(down, y1 - y0, z1 - z0, making.bed) for down in downs) - FREE
    count = _count(name, total, most, making)
    before = start
    for number in range(1, count):
        first = max(before + min(LEAST_PIECE, total / count), end - (count - number) * most)
        last = min(before + most, end - (count - number) * min(LEAST_PIECE, total / count))
        wanted = before + (end - before) / (count - number + 1)
        joint = _best(body, _tried(first, wanted, last), making)
        before = joint.x
        yield joint


def _count(name: str, total: float, most: float, making: Making) -> int:
    """Return how many pieces there will be, one more than must be where that leaves no room to choose the joints."""
    if most < LEAST_PIECE or total > MOST_PIECES * most:
        length = making.lengths
        rule = f"takes no piece of the {name} longer than {length.rough(max(most, 0.0))}"
        remedy = (
            f"it must take pieces of {length.short(LEAST_PIECE)} or longer, {MOST_PIECES} of them at most; enter a larger "
            "printer"
        )
        bed = bed_words(making.bed, length)
        raise InputProblem([Problem("shop.printer.x", bed, rule, remedy)])
    count = math.ceil(total / most)
    return count + 1 if count > 1 and count * most - total < 2 * SEARCH_STEP else count


def _tried(first: float, wanted: float, last: float) -> list[float]:
    """Return places between two bounds, the nearest to the one wanted first."""
    middle = min(max(wanted, first), last)
    steps = np.arange(math.ceil((first - middle) / SEARCH_STEP), math.floor((last - middle) / SEARCH_STEP) + 1)
    return [middle + SEARCH_STEP * float(step) for step in sorted(steps, key=lambda step: (abs(step), step))] or [middle]


def _best(body: Manifold, tried: Sequence[float], making: Making) -> Joint:
    """Return the first place with room for two pegs where nothing ends close by; else the best there is.

    Two pegs come before one, and one before none; among equals a clean joint comes before one that leaves a thin wall.
    """
    _, y0, z0, _, y1, z1 = body.bounding_box()
    sizes = [size for size in pegs.SIZES if 2 * _around(size, making) <= min(y1 - y0, z1 - z0)]
    best, merit = Joint(tried[0], 0.0, ()), (-1, -1, 0.0)
    for x in tried:
        joint = _most_pegs(body, x, sizes, making)
        found = (len(joint.places), int(not ends_near(body, x)), joint.size)
        if found > merit:
            best, merit = joint, found
        if merit[:2] == (2, 1) or (not sizes and merit[1]):
            break
    return best


def _most_pegs(body: Manifold, x: float, sizes: Sequence[float], making: Making) -> Joint:
    """Return the joint at x with the largest pegs of which there is room for two; for one where two have none."""
    found = [Joint(x, size, peg_places(body, x, size, making)) for size in sizes[:1]]
    for size in sizes[1:]:
        if len(found[-1].places) == 2:
            break
        found.append(Joint(x, size, peg_places(body, x, size, making)))
    return max(found, key=lambda joint: len(joint.places), default=Joint(x, 0.0, ()))


def ends_near(body: Manifold, x: float) -> bool:
    """Tell whether anything ends within `CLEAN` of a cut at x: it would leave a thin wall or a sharp edge on one side."""
    for low, high in ((x - CLEAN, x), (x, x + CLEAN)):
        section = _seen_along_x(body).slice(x + (CLEAN if high > x else -CLEAN) / 100)
        lost = section - _solid_through(body, low, high)
        if lost.offset(-CRUMB, manifold3d.JoinType.Miter).area() > CRUMB_AREA:
            return True
    return False


def peg_places(body: Manifold, x: float, size: float, making: Making) -> tuple[Point, ...]:
    """Return up to two places (y, z) for pegs of a size at x, as far apart as solid plastic allows; () where there is none.

    All that is hollow within a socket's depth and a wall of the joint is seen along x as one shadow; a place is good where
    the socket with its wall stays clear of that shadow.
    """
    deep = pegs.socket_depth(size, making.clearance) + making.wall
    around = _around(size, making)
    solid_area = _always_solid(body, x, deep).offset(-around - SPARE, manifold3d.JoinType.Round)
    corners = sorted({(round(float(y), 3), round(float(z), 3)) for ring in solid_area.to_polygons() for y, z in ring})
    if not corners:
        return ()
    points = np.array(corners)
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    one, other = np.unravel_index(int(np.argmax(apart)), apart.shape)
    if apart[one, other] < 2 * around:
        return (corners[len(corners) // 2],)
    return (corners[min(one, other)], corners[max(one, other)])


def _around(size: float, making: Making) -> float:
    """Return how much plastic a socket needs around its axis, mm."""
    return pegs.corner_radius(size + 2 * making.clearance) + making.wall


def _always_solid(body: Manifold, x: float, deep: float) -> CrossSection:
    """Return where, seen along x, the body is solid all the way from x - deep to x + deep; nowhere beyond its ends."""
    x0, _, _, x1, _, _ = body.bounding_box()
    if x - deep < x0 or x + deep > x1:
        return CrossSection()
    return _solid_through(body, x - deep, x + deep)


def _solid_through(body: Manifold, low: float, high: float) -> CrossSection:
    _, y0, z0, _, y1, z1 = body.bounding_box()
    hollow = block((low, y0, z0), (high, y1, z1)) - body
    shadow = CrossSection(_seen_along_x(hollow).project().to_polygons(), manifold3d.FillRule.Positive)
    return CrossSection.square((y1 - y0, z1 - z0)).translate((y0, z0)) - shadow


def _seen_along_x(body: Manifold) -> Manifold:
    return body.transform(np.array([[0.0, 1, 0, 0], [0, 0, 1, 0], [1, 0, 0, 0]]))
