"""What is printed: pieces where they belong on the body, and groups of them that are printed for one purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from planestock.models.solids.parts import Mesh, Vector

if TYPE_CHECKING:
    import cadquery

SIDES: tuple[Vector, ...] = ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))
"""Sides that a piece of a body may be printed on: never on an end, where it stands tall and its layers break across."""


@dataclass(frozen=True, eq=False)
class Piece:
    """One object for the printer, in the body's coordinates (those of half the body for the half size), mm.

    downs: unit vectors, each a side that may lie on the printer's bed, the one wanted most first. shape: the kernel's solid,
    without letters, where the piece was made by it. peg: whether it is an alignment peg.
    """

    name: str
    mesh: Mesh
    downs: tuple[Vector, ...] = SIDES
    shape: cadquery.Shape | None = None
    peg: bool = False


@dataclass(frozen=True)
class Joint:
    """Where a part was split: at x, with pegs of `size` mm across their flats on axes along x through these (y, z)."""

    x: float
    size: float
    places: tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Group:
    """Pieces that serve one purpose. name: for people; use: at the bench, in sentences; notes: what is to be known of these.

    joints: by the name of the part that was split.
    """

    name: str
    use: tuple[str, ...]
    pieces: tuple[Piece, ...]
    notes: tuple[str, ...] = ()
    joints: tuple[tuple[str, Joint], ...] = field(default=())


@dataclass(frozen=True)
class Missing:
    """A group that this set does not have, and why."""

    name: str
    why: str


def listed(names: Sequence[str]) -> str:
    """Return names as a list in words."""
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1]))) if names else "none"
