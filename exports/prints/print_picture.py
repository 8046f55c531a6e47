"""Pictures of test pieces and jigs, by themselves and on the body, drawn as the picture of the whole plane is.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from planestock.exports.files.file_names import file_name
from planestock.exports.files.picture import drawn
from planestock.exports.files.shading import split_vertices
from planestock.exports.files.stl import facet_normals
from planestock.models.prints.jigs import Jig
from planestock.models.prints.print_groups import Group, Piece
from planestock.models.prints.print_list import prints
from planestock.models.solids.meshes import mesh
from planestock.models.solids.parts import Mesh
from planestock.params.problems import refuse

if TYPE_CHECKING:
    from planestock.models.design import Design

Array = npt.NDArray[np.float64]
Colour = tuple[float, float, float, float]

CREASE = 25.0
"""Degrees between two facets from which their edge is drawn: above the steps of a meshed arc, below a chamfer's corner."""

PLASTIC: Colour = (0.33, 0.62, 0.56, 1.0)
PEG: Colour = (0.55, 0.36, 0.58, 1.0)
STEEL: Colour = (0.62, 0.65, 0.69, 1.0)

APART = 0.3
"""How far apart the pieces of a split part are drawn, as a share of its length."""

ASIDE = 0.4
"""How far halves, pad and slip are drawn aside, as a share of the body's width and height."""


def drawn_meshes(meshes: Sequence[tuple[Mesh, Colour]]) -> bytes:
    """Return a PNG of meshes where they are. Raises Unavailable where this machine cannot draw off screen."""
    arrays: dict[str, npt.NDArray[np.generic]] = {}
    for number, (meshed, colour) in enumerate(meshes):
        points, normals, faces = split_vertices(meshed)
        lines = crease_lines(meshed)
        arrays |= {
            f"points{number}": points,
            f"normals{number}": normals,
            f"faces{number}": faces,
            f"lines{number}": lines.reshape(-1, 3),
            f"lengths{number}": np.full(len(lines), 2, dtype=np.int64),
            f"colour{number}": np.array(colour),
            f"metal{number}": np.array(False),
        }
    stream = io.BytesIO()
    np.savez(stream, **arrays)  # type: ignore[arg-type]
    return drawn(stream.getvalue())


def crease_lines(meshed: Mesh) -> Array:
    """Return the edges, (n, 2, 3), at which two facets meet at more than `CREASE` degrees."""
    normals = facet_normals(meshed.vertices[meshed.faces])
    start, end = meshed.faces.ravel().astype(np.int64), np.roll(meshed.faces, -1, axis=1).ravel().astype(np.int64)
    facet = np.repeat(np.arange(len(meshed.faces)), 3)
    count = len(meshed.vertices)
    forth, back = np.argsort(start * count + end), np.argsort(end * count + start)
    one, other = facet[forth], facet[back]
    sharp = ((normals[one] * normals[other]).sum(axis=1) < np.cos(np.radians(CREASE))) & (start[forth] < end[forth])
    ends: Array = meshed.vertices[np.column_stack((start[forth][sharp], end[forth][sharp]))]
    return ends


def piece_picture(made: Design, name: str) -> bytes:
    """Return a PNG of one group of pieces by its file name ("seat-gauge"); jigs stand on the body's right half.

    Raises InputProblem on a name that this design has no pieces of, Unavailable, KernelProblem.
    """
    found = prints(made)
    groups = {file_name(group.name): group for group in found.groups}
    jigs = {file_name(jig.name): jig for jig in found.jigs}
    if name in jigs:
        return drawn_meshes(_on_body(made, jigs[name]))
    if name in groups:
        return drawn_meshes(_apart(groups[name]))
    missing = {file_name(one.name): one.why for one in found.missing}
    raise refuse(
        "--of", name, missing.get(name, "names nothing to print"), f"one of {', '.join(dict.fromkeys([*groups, *jigs]))}"
    )


def _on_body(made: Design, jig: Jig) -> list[tuple[Mesh, Colour]]:
    """Return a jig and its bushings on the right half, which is seen from its inside."""
    half = next(part for part in made.assembly.wood if part.name == "right half")
    bushings = [(mesh(one.solid()), STEEL) for one in jig.bushings]
    return [(half.mesh, half.colour), (jig.piece.mesh, PLASTIC), *bushings]


def _apart(group: Group) -> list[tuple[Mesh, Colour]]:
    """Return pieces drawn apart along the body, halves aside, pad up, slip down, pegs between the pieces they join."""
    if len(group.pieces) == 1:
        return [(group.pieces[0].mesh, PLASTIC)]
    points = np.concatenate([piece.mesh.vertices for piece in group.pieces])
    low, high = points.min(axis=0), points.max(axis=0)
    return [(_moved(piece, low, high), PEG if piece.peg else PLASTIC) for piece in group.pieces]


def _moved(piece: Piece, low: Array, high: Array) -> Mesh:
    """Return a piece moved away from the middle of all pieces."""
    own = (piece.mesh.vertices.min(axis=0) + piece.mesh.vertices.max(axis=0)) / 2
    along = 2 * APART * (own - (low + high) / 2)[0]
    sides = {"right half": (0.0, 1.0, 0.0), "left half": (0.0, -1.0, 0.0), "pad": (0.0, 0.0, 1.0), "slip": (0.0, 0.0, -1.0)}
    side = next((way for part, way in sides.items() if part in piece.name), (0.0, 0.0, 0.0))
    return Mesh(piece.mesh.vertices + np.array((along, 0.0, 0.0)) + ASIDE * (high - low) * np.array(side), piece.mesh.faces)
