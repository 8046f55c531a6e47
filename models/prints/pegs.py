"""Alignment pegs: eight-sided, separate, and the sockets they go into.

Separate pegs print lying down, so that their layers run along them; one that grew out of a split face would stick out
sideways into the air and snap off between two layers. Eight flat sides because a socket with a roof as narrow as one side,
and walls at 45 degrees beside it, prints without support; and because flat sides leave exactly the clearance asked for.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math

from manifold3d import Manifold

from planestock.models.prints.meshing import end_prism
from planestock.params.outlines.pieces import Point

SIZES = (8.0, 6.0, 5.0, 4.0, 3.0)
"""Pegs across their flats, mm, the largest that has room is taken; thinner ones break in the hand."""

REACH_SHARE = 1.5
"""How deep a peg goes into each piece, as a share of its size."""

END_ROOM = 0.5
"""How much deeper than the peg each socket is, mm, beyond the clearance: glue and strings of plastic go there."""

SIDES = 8


def reach(size: float) -> float:
    """Return how deep a peg goes into each piece, mm."""
    return REACH_SHARE * size


def socket_depth(size: float, clearance: float) -> float:
    """Return how deep the socket is in each piece, mm."""
    return reach(size) + clearance + END_ROOM


def corner_radius(size: float) -> float:
    """Return the distance from a peg's axis to its corners, from its size across flats."""
    return size / 2 / math.cos(math.pi / SIDES)


def peg(x: float, place: Point, size: float) -> Manifold:
    """Return the peg across a joint at x, its axis along x through (y, z)."""
    return _prism(x, place, size, reach(size))


def socket(x: float, place: Point, size: float, clearance: float) -> Manifold:
    """Return what is cut from both pieces for the peg, `clearance` mm wider on each side."""
    return _prism(x, place, size + 2 * clearance, socket_depth(size, clearance))


def _prism(x: float, place: Point, size: float, half_length: float) -> Manifold:
    radius = corner_radius(size)
    turns = [(2 * index + 1) * math.pi / SIDES for index in range(SIDES)]
    corners = [(place[0] + radius * math.cos(turn), place[1] + radius * math.sin(turn)) for turn in turns]
    return end_prism(corners, x - half_length, x + half_length)
