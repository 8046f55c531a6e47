"""The whole body as a test piece, full size or half size: every wooden part, split to the printer's bed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from planestock.models.prints.print_groups import Group, Joint
from planestock.models.prints.splitting import Making, SplitPart, mirrored, split
from planestock.models.solids.parts import Mesh, Vector
from planestock.params.lengths import Lengths

if TYPE_CHECKING:
    from planestock.models.solids.assembly import Assembly

HALF_SIZE = 0.5

LEVEL: tuple[Vector, ...] = ((0.0, 0.0, -1.0), (0.0, 0.0, 1.0))
FLAT: dict[str, tuple[Vector, ...]] = {"centre strip": ((0.0, 1.0, 0.0), (0.0, -1.0, 0.0))}
"""Thin parts lie on a broad side, never on edge."""


def body_group(made: Assembly, making: Making, scale: float) -> Group:
    """Return the body's parts to print, `scale` times as large. Pegs and their clearance keep their size.

    Raises InputProblem where the printer's bed is too small for any sensible piece.
    """
    parts = dict(split_parts(made, making, scale))
    joints = tuple((name, joint) for name, part in parts.items() for joint in part.joints)
    pieces = tuple(piece for part in parts.values() for piece in (*part.pieces, *part.pegs))
    size = "full size" if scale == 1 else "half size" if scale == HALF_SIZE else f"{scale:g} times the size"
    return Group(f"body, {size}", tuple(_use(scale)), pieces, tuple(_notes(joints, making.lengths)), joints)


def split_parts(made: Assembly, making: Making, scale: float) -> Iterator[tuple[str, SplitPart]]:
    """Yield each wooden part's name with its pieces; the left half's are the right half's, mirrored."""
    right = next(part for part in made.wood if part.name == "right half")
    split_right = split(right.name, _scaled(right.mesh, scale), making)
    for part in made.wood:
        if part.name == "right half":
            yield part.name, split_right
        elif part.name == "left half":
            yield part.name, mirrored(split_right, part.name, right.name)
        else:
            yield part.name, split(part.name, _scaled(part.mesh, scale), making, FLAT.get(part.name, LEVEL))


def _scaled(mesh: Mesh, scale: float) -> Mesh:
    return Mesh(mesh.vertices * scale, mesh.faces)


def _use(scale: float) -> Iterator[str]:
    if scale == 1:
        yield (
            "Put it together with its pegs, halves closed, and bolt the metal on as on the finished plane: the "
            "adjuster's whole "
            "travel, the mouth and the places of the screws can be tried before any wood is cut. It is not to be "
            "planed with."
        )
    else:
        yield "Put it together to see how the parts go: what is let in where, and in which order. No metal fits it."


def _notes(joints: tuple[tuple[str, Joint], ...], length: Lengths) -> Iterator[str]:
    bare = [f"{name} at {length.rough(joint.x)}" for name, joint in joints if not joint.places]
    single = [f"{name} at {length.rough(joint.x)}" for name, joint in joints if len(joint.places) == 1]
    if bare:
        yield f"No room for a peg in {', '.join(bare)}: join these against a straight edge."
    if single:
        yield f"Room for one peg only in {', '.join(single)}: line these up against a straight edge."
    if joints:
        yield "Glue each joint with its pegs in; the clearance takes the glue."
