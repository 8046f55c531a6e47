"""Binary STL: triangles and nothing else, in millimetres by agreement, because the format has no unit."""

from __future__ import annotations

import struct

import numpy as np
import numpy.typing as npt

from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import one_line, require_sound
from planestock.models.solids.parts import Mesh

HEADER_BYTES = 80
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""One facet: 50 bytes, little-endian, without padding (published layout; kaitai description stl.ksy)."""


def binary(mesh: Mesh, stamp: Stamp) -> bytes:
    """Return the mesh as binary STL of 84 + 50 n bytes, coordinates in millimetres.

    Raises `WriterFailed` on a mesh that is not closed and sound.
    """
    require_sound(stamp.name, mesh)
    facets = np.zeros(len(mesh.faces), dtype=FACET)
    corners = mesh.vertices[mesh.faces]
    facets["corners"] = corners
    facets["normal"] = facet_normals(corners)
    return header(stamp) + struct.pack("<I", len(facets)) + facets.tobytes()


def header(stamp: Stamp) -> bytes:
    """Return the 80-byte ASCII header: unit, warning, digest, version, and what there is room for of the name.

    It begins with "mm", never with "solid", by which readers tell the text form of STL. The name comes last
    because it is the one entry of any length; letters outside ASCII become "?".
    """
    warning = "FAILS ITS CHECKS; " if stamp.failing else ""
    text = f"mm; {warning}{stamp.digest[:12]}; planestock {one_line(stamp.version)}; {one_line(stamp.name)}"
    return text.encode("ascii", "replace")[:HEADER_BYTES].ljust(HEADER_BYTES)


def facet_normals(corners: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return unit normals, (n, 3), of triangles (n, 3, 3), by the right-hand rule; zero without an area."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    normals = np.zeros_like(cross)
    np.divide(cross, length, out=normals, where=length > 0)
    return normals
