"""Every hole in the wood as plain numbers: where it starts, which way it goes, how wide and how deep."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from planestock.models.body.screws import pilot_diameter
from planestock.params.metal import Casting, Frog, Knob, Tote
from planestock.params.outlines.pieces import Point

Vector = tuple[float, float, float]
HoleKind = Literal["frog screw", "casting screw", "tote bolt", "tote toe screw", "knob bolt", "dowel"]


@dataclass(frozen=True)
class Hole:
    """A round blind hole. start: on the wood's surface; direction: unit vector into the wood; diameter, depth: mm.

    path: field it comes from; overrun: how far the tool begins before `start`, so that no sliver stays.
    """

    kind: HoleKind
    path: str
    start: Vector
    direction: Vector
    diameter: float
    depth: float
    overrun: float

    @property
    def radius(self) -> float:
        """Half the diameter."""
        return self.diameter / 2

    @property
    def end(self) -> Vector:
        """Middle of the hole's bottom."""
        (x, y, z), (dx, dy, dz) = self.start, self.direction
        return (x + self.depth * dx, y + self.depth * dy, z + self.depth * dz)

    @property
    def name(self) -> str:
        """Kind and field, for messages about the set."""
        return f"{self.kind} ({self.path})"

    @property
    def said(self) -> str:
        """Kind and number, for sentences: `frog screw 2`, `tote bolt`; the holes of a pair have one number."""
        number = next((int(part) + 1 for part in self.path.split(".") if part.isdecimal()), None)
        return self.kind if number is None else f"{self.kind} {number}"


SMALL_OVERRUN = 1.0
"""Overrun of holes that start on the bed, mm: the throat in front of it is narrow low down, more could reach the breast."""

FREE_OVERRUN = 5.0
"""Overrun into open air, mm; zero leaves slivers."""

HAIR = 0.01
"""How far a hole must stay from just touching a mating face, mm: surfaces that touch along a line bound no solid, and no
drill bores truer than that."""

LEAST_PILOT = 3.0
"""A pilot is drilled at least this deep, mm, where the screw is barely longer than the casting is thick;
our own choice."""


def sides(across: float) -> tuple[float, ...]:
    """Return the places of a hole given by its distance from the mid-plane: one on it, or a pair."""
    return (0.0,) if across == 0 else (across, -across)


def frog_holes(frog: Frog, corner: Point) -> Iterator[Hole]:
    """Yield the frog's screw holes: square to the bed, turned by `tilt` towards the sole, from the recess floor."""
    theta = math.radians(frog.bed_angle.value)
    recess = frog.recess_depth.value
    for index, screw in enumerate(frog.screws):
        along, turned = screw.along.value, theta - math.radians(screw.tilt.value)
        x = corner[0] + along * math.cos(theta) + recess * math.sin(theta)
        z = corner[1] + along * math.sin(theta) - recess * math.cos(theta)
        overrun = recess + SMALL_OVERRUN + _slant(screw.diameter.value, screw.tilt.value)
        for y in sides(screw.across.value):
            yield Hole("frog screw", f"frog.screws.{index}", (x, y, z), (math.sin(turned), 0.0, -math.cos(turned)),
                       screw.diameter.value, screw.depth.value, overrun)  # fmt: skip


def casting_holes(casting: Casting, corner_x: float, top: Callable[[float], float], gravity: float) -> Iterator[Hole]:
    """Yield the pilots of the casting's screws, straight down from the wood under it. top: height of the wood at x."""
    for index, screw in enumerate(casting.screws):
        x = corner_x + screw.x.value
        depth = max(LEAST_PILOT, screw.length.value - casting.thickness.value)
        for y in sides(screw.y.value):
            yield Hole("casting screw", f"casting.screws.{index}", (x, y, top(x)), (0.0, 0.0, -1.0),
                       pilot_diameter(screw.gauge, gravity), depth, FREE_OVERRUN)  # fmt: skip


def tote_holes(tote: Tote, corner_x: float, top: Callable[[float], float]) -> Iterator[Hole]:
    """Yield the tote's bolt hole, tilted, and its toe screw's, plumb."""
    x, tilt = corner_x + tote.bolt_x.value, math.radians(tote.bolt_tilt.value)
    yield Hole("tote bolt", "tote.bolt_x", (x, 0.0, top(x)), (math.sin(tilt), 0.0, -math.cos(tilt)),
               tote.bolt_diameter.value, tote.bolt_depth.value,
               FREE_OVERRUN + _slant(tote.bolt_diameter.value, tote.bolt_tilt.value))  # fmt: skip
    if tote.toe_screw_x is not None:
        x = corner_x + tote.toe_screw_x.value
        yield Hole("tote toe screw", "tote.toe_screw_x", (x, 0.0, top(x)), (0.0, 0.0, -1.0),
                   tote.toe_screw_diameter.value, tote.toe_screw_depth.value, FREE_OVERRUN)  # fmt: skip


def knob_hole(knob: Knob, top: Callable[[float], float]) -> Hole:
    """Return the knob's bolt hole, plumb."""
    x = knob.from_toe.value
    return Hole("knob bolt", "knob.from_toe", (x, 0.0, top(x)), (0.0, 0.0, -1.0),
                knob.bolt_diameter.value, knob.bolt_depth.value, FREE_OVERRUN)  # fmt: skip


def clear_of_touching(hole: Hole, mating: float) -> Hole:
    """Return the hole as the solids have it: up to 2 `HAIR` wider in radius where it would just touch y = ± `mating`.

    A bolt hole as wide as the centre strip is an ordinary wish; it then severs the strip and grazes both halves. Numbers and
    paper keep the hole that was asked for.
    """
    to_face = abs(abs(hole.start[1]) - mating)
    return replace(hole, diameter=2 * (to_face + HAIR)) if abs(to_face - hole.radius) < HAIR else hole


def _slant(diameter: float, tilt: float) -> float:
    """Return how much further back a tilted tool must begin so that its whole end is out of the wood."""
    return diameter / 2 * math.tan(math.radians(abs(tilt)))
