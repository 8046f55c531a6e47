"""The wooden parts as the router sees them: which stretch of the body each takes, and how it may lie.

Every setup of a part has its zero in one and the same corner of the finished part, so that nothing has to be measured again
when it is turned: for halves and strip the toe, the underside and the mating face; for pad and slip, which reach across the
body, the toe, the mid-plane and the mating face.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models.bench.cut_list import LENGTH_ALLOWANCE, THICKNESS_ALLOWANCE, WIDTH_ALLOWANCE
from planestock.models.body.holes import Vector
from planestock.models.body.layout import Layout

PartName = Literal["right half", "left half", "centre strip", "pad", "slip"]

Position = Literal["mating face up", "top up"]


@dataclass(frozen=True)
class Stretch:
    """A part's share of the body, mm: x from toe to heel, y from `inner` to `outer`, z from `low` to `high`.

    The left half has the right one's numbers; its y is measured to the other side.
    """

    name: PartName
    length: float
    inner: float
    outer: float
    low: float
    high: float

    @property
    def across(self) -> float:
        """Size across the body."""
        return self.outer - self.inner

    @property
    def upright(self) -> float:
        """Size from underside to top."""
        return self.high - self.low

    @property
    def whole_width(self) -> bool:
        """Whether it reaches across the body, as pad and slip do."""
        return self.name in ("pad", "slip")


def stretches(at: Layout) -> tuple[Stretch, ...]:
    """Return the parts that there are, halves first."""
    return tuple(_stretches(at))


def _stretches(at: Layout) -> Iterator[Stretch]:
    low, high, half, wide = at.slip, at.height - at.pad, at.strip / 2, at.plan.half_width
    yield Stretch("right half", at.length, half, wide, low, high)
    yield Stretch("left half", at.length, half, wide, low, high)
    if at.strip:
        yield Stretch("centre strip", at.length, -half, half, low, high)
    if at.pad:
        yield Stretch("pad", _pad_length(at, high), -wide, wide, high, at.height)
    if at.slip:
        yield Stretch("slip", at.length, -wide, wide, 0.0, low)


def _pad_length(at: Layout, low: float) -> float:
    """Return how long the pad is: where cove and tail come down through it, it ends there. low: of its underside."""
    if at.tail is None or not at.tail_full_width or at.tail.level > low + THIN:
        return at.length
    begin, end = at.tail.cove_high[0], min(at.length, at.tail.level_from[0])
    for _ in range(60):
        middle = (begin + end) / 2
        begin, end = (begin, middle) if at.tail.height_at(middle) <= low + THIN else (middle, end)
    return end


THIN = 1e-6
"""Wood thinner than this is none, mm."""


@dataclass(frozen=True)
class Frame:
    """How a part lies: machine coordinates are rows · (body point - origin). rows: exact, of determinant +1."""

    rows: tuple[Vector, Vector, Vector]
    origin: Vector

    def place(self, point: Vector) -> Vector:
        """Return a point of the body in machine coordinates."""
        away = tuple(a - b for a, b in zip(point, self.origin, strict=True))
        x, y, z = (sum(r * v for r, v in zip(row, away, strict=True)) for row in self.rows)
        return (x, y, z)


UPRIGHT: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
RIGHT_FACE_UP: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
LEFT_FACE_UP: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
"""Toe to the left always. A half on its outer face: the right one has its sole towards the operator, the left one away."""


def frame_of(stretch: Stretch, position: Position) -> Frame:
    """Return how a part lies in a setup."""
    mating = {"right half": stretch.inner, "left half": -stretch.inner, "centre strip": stretch.inner}.get(stretch.name, 0.0)
    if stretch.whole_width:
        return Frame(UPRIGHT, (0.0, 0.0, stretch.high if stretch.name == "slip" else stretch.low))
    if position == "top up":
        return Frame(UPRIGHT, (0.0, mating, stretch.low))
    return Frame(LEFT_FACE_UP if stretch.name == "left half" else RIGHT_FACE_UP, (0.0, mating, stretch.low))


END_WASTE = LENGTH_ALLOWANCE / 2
"""Waste at toe and at heel, mm: half of what the cut list adds to a length. It takes screws, and is sawn off at the end."""

SPARE_WIDTH = WIDTH_ALLOWANCE / 2
"""Waste on the top of a half, and on each edge of pad and slip, mm: half of what the cut list adds to a width; a half's
other 3 mm go when its sole is planed."""

SPARE_FACE = THICKNESS_ALLOWANCE / 2
"""Waste on the mating face and on the outer face, mm: half of what the cut list adds to a thickness."""


@dataclass(frozen=True)
class Block:
    """The raw block in machine coordinates, mm: its lowest and highest corner."""

    low: Vector
    high: Vector

    @property
    def size(self) -> Vector:
        """Length along x, y and z."""
        x, y, z = (b - a for a, b in zip(self.low, self.high, strict=True))
        return (x, y, z)


def finished(stretch: Stretch, position: Position) -> Block:
    """Return the box around the finished part in machine coordinates."""
    return _block(stretch, position, (0.0, 0.0), (0.0, 0.0), (0.0, 0.0))


def stock(stretch: Stretch, position: Position) -> Block:
    """Return the block that a setup begins with.

    Two faces are planed before, square to each other: the sole (underside), which has no waste, and the face that the part
    lies on first. In the second setup the mating face is finished too.
    """
    ends = (END_WASTE, END_WASTE)
    if stretch.whole_width:
        under = (0.0, SPARE_FACE)
        return _block(stretch, position, ends, (SPARE_WIDTH, SPARE_WIDTH), under)
    if stretch.name == "centre strip":
        return _block(stretch, position, ends, (SPARE_FACE, 0.0), (0.0, SPARE_WIDTH))
    mating = 0.0 if position == "top up" else SPARE_FACE
    return _block(stretch, position, ends, (mating, SPARE_FACE), (0.0, SPARE_WIDTH))


def _block(
    stretch: Stretch,
    position: Position,
    along: tuple[float, float],
    across: tuple[float, float],
    upright: tuple[float, float],
) -> Block:
    """Return the part's box with waste at toe and heel, at inner and outer face, at underside and top."""
    side = -1.0 if stretch.name == "left half" else 1.0
    place = frame_of(stretch, position).place
    one = place((-along[0], side * (stretch.inner - across[0]), stretch.low - upright[0]))
    other = place((stretch.length + along[1], side * (stretch.outer + across[1]), stretch.high + upright[1]))
    low = tuple(min(a, b) + 0.0 for a, b in zip(one, other, strict=True))
    high = tuple(max(a, b) + 0.0 for a, b in zip(one, other, strict=True))
    return Block((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def holds(block: Block, other: Block) -> bool:
    """Tell whether one block holds another."""
    return all(a <= b for a, b in zip(block.low, other.low, strict=True)) and all(
        a >= b for a, b in zip(block.high, other.high, strict=True)
    )
