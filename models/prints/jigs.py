"""What every jig has in common: a solid of the kernel, standing on the body, bushings, and letters cut into its side.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq
import numpy as np
from manifold3d import Manifold

from planestock.models.bench.drill_table import inch_bit, metric_bit
from planestock.models.body.holes import Hole, Vector
from planestock.models.prints.lettering import LEAST_TALL, fitted, length, lettering
from planestock.models.prints.meshing import mesh_of, solid, turned, without
from planestock.models.prints.print_groups import Piece
from planestock.models.solids.kernel import KernelProblem, Tool, cut, drill, naming
from planestock.models.solids.meshes import mesh
from planestock.params.lengths import Lengths
from planestock.params.outlines.pieces import Point

LEAST_WALL = 1.6
"""Least plastic round a bushing, mm; never less than four lines of the nozzle. A drill pulls sideways."""

BUSHING_WALL = 1.0
"""Least steel in a bushing between its bore and its outside, mm (common practice, no published source)."""

ENGRAVED, TALLEST, LINE_STEP = 0.5, 6.0, 1.35
"""Depth of engraved letters and their greatest height, mm; from one line to the next as a share of their height."""

HAIR = 1e-6
"""Rounding of lengths that were fitted, mm."""


def size_words(value: float, lengths: Lengths) -> str:
    """Return a size that a tool is bought or set by, without noughts at its end: `8 mm`, `3.18 mm`, `0.125 in`."""
    number = lengths.number(value)
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {lengths.units}"


def bit_words(diameter: float, lengths: Lengths) -> str:
    """Return a bit as it is asked for: its diameter, and what is sold next to it: `Ø 3.18 mm (3.2 mm or 1/8 in)`."""
    inch = inch_bit(diameter).name
    sold = inch if lengths.units == "in" else f"{metric_bit(diameter).name} or {inch}"
    return f"Ø {size_words(diameter, lengths)} ({sold})"


def collar_words(stop: float, lengths: Lengths) -> str:
    """Return where a stop collar is set, to what a rule can show: a tenth of a mm, or a hundredth of an inch."""
    return f"{lengths.number(stop, 1 if lengths.units == 'mm' else 2)} {lengths.units}"


@dataclass(frozen=True)
class Bushing:
    """A drill bushing in a jig. hole: what is drilled through it; start: middle of its end next to the wood; direction: away
    from the wood, unit; stop: from the other end to the point of
    the bit when the hole is deep enough, mm: where the stop collar is set."""

    hole: Hole
    start: Vector
    direction: Vector
    diameter: float
    length: float
    stop: float

    def bore(self, clearance: float, before: float, beyond: float) -> Hole:
        """Return the bore that takes it: `clearance` wider on each side, from `before` it to `beyond` its ends, mm."""
        (x, y, z), (dx, dy, dz) = self.start, self.direction
        start = (x - before * dx, y - before * dy, z - before * dz)
        return Hole(self.hole.kind, self.hole.path, start, self.direction, self.diameter + 2 * clearance,
                    before + self.length + beyond, 0.0)  # fmt: skip

    def solid(self) -> cq.Shape:
        """Return the bushing as a full cylinder."""
        return drill(Hole(self.hole.kind, self.hole.path, self.start, self.direction, self.diameter, self.length, 0.0))


@dataclass(frozen=True, eq=False)
class Jig:
    """A jig on the body. piece: what is printed, letters and all; bushings: none in a block that only guides a chisel."""

    name: str
    piece: Piece
    bushings: tuple[Bushing, ...]
    use: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Words:
    """Letters on a jig's left side (y = face): lines from the top down, the lower left corner at `place` in the side view,
    running at `angle` degrees, with `room` to run and `high` in all, mm."""

    lines: tuple[str, ...]
    place: Point
    angle: float
    room: float
    high: float
    face: float


def made(name: str, blank: cq.Shape, tools: Sequence[Tool], words: Words, downs: tuple[Vector, ...]) -> Piece:
    """Return a jig's piece: tools cut from its blank in one operation, then letters from its mesh. Raises KernelProblem."""
    with naming(name, "change shop.bushing_diameter or the printer's clearance slightly"):
        shape, used = cut(blank, tools) if tools else (blank, frozenset[str]())
        idle = [tool.feature for tool in tools if tool.feature not in used]
        solids = shape.Solids()
        if idle or len(solids) != 1:
            raise KernelProblem(
                f"{name}: {', '.join(idle) or 'it'} does not leave one sound piece; change a bushing's diameter"
            )
        meshed = without(solid(mesh(solids[0])), engraving(words))
        return Piece(name, mesh_of(max(meshed.decompose(), key=lambda one: one.volume())), downs, solids[0])


def engraving(words: Words) -> list[Manifold]:
    """Return the letters to cut away; lines for which there is no room are left out, the first ones first."""
    lines = list(words.lines)
    while lines and words.high / len(lines) / LINE_STEP < LEAST_TALL:
        del lines[0]
    found = []
    cos, sin = math.cos(math.radians(words.angle)), math.sin(math.radians(words.angle))
    for number, line in enumerate(reversed(lines)):
        each = min(TALLEST, words.high / len(lines) / LINE_STEP)
        shown, tall = fitted(line, words.room, each)
        if not shown or length(shown, tall) > words.room + HAIR:
            continue
        up = number * each * LINE_STEP
        stand = np.array([[cos, -sin, 0.0], [0.0, 0.0, -1.0], [sin, cos, 0.0]])
        place = np.array([words.place[0] - up * sin, words.face + ENGRAVED, words.place[1] + up * cos])
        found.append(turned(lettering(shown, tall, 2 * ENGRAVED), stand, place))
    return found
