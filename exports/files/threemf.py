"""3MF (core specification 1.4.0): named meshes in millimetres, laid beside each other on the printer's plate.

The package is written directly, not through a mesh library: it is three short files, a library adds random
identifiers and the production extension, and neither could be kept out of the bytes.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

import numpy as np
import numpy.typing as npt

from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line, require_sound
from planestock.models.solids.parts import Mesh

PLATE_GAP = 8.0
"""Millimetres between parts on the plate, room for a brim round each (common practice, no published source)."""
DECIMALS = 6
"""Coordinates are rounded to a nanometre: far below any printer, without the tails of binary fractions."""

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
OWN = "urn:planestock:3mf"
"""Namespace of our own metadata; the specification allows only its own names without one (3.4.1)."""

_CONTENT_TYPES = """<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"""
_RELATIONSHIPS = """<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="model" Target="/3D/3dmodel.model" \
Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"""
_UNIX = 3


def package(meshes: Sequence[tuple[str, Mesh]], stamp: Stamp, shifts: npt.NDArray[np.float64] | None = None) -> bytes:
    """Return a 3MF package with one object and one build item for each (name, mesh), in a row along y.

    The meshes keep their own coordinates; each build item moves its object so that the lowest corner stands
    at x = 0, z = 0, `PLATE_GAP` behind the one before; or by `shifts`, (n, 3) in mm, where they are given. Raises
    `WriterFailed` on a mesh that is not closed, or when there is none.
    """
    if not meshes:
        raise WriterFailed("3MF: no part to print; name at least one part")
    for name, mesh in meshes:
        require_sound(name, mesh)
    moved = places([mesh for _, mesh in meshes]) if shifts is None else shifts
    return _zipped(
        {
            "[Content_Types].xml": _CONTENT_TYPES,
            "_rels/.rels": _RELATIONSHIPS,
            "3D/3dmodel.model": "\n".join(_model(meshes, stamp, moved)),
        }
    )


def places(meshes: Sequence[Mesh]) -> npt.NDArray[np.float64]:
    """Return the shift, (n, 3) in mm, that brings each mesh to its place on the plate."""
    lows = np.array([mesh.vertices.min(axis=0) for mesh in meshes])
    depths = np.array([np.ptp(mesh.vertices[:, 1]) for mesh in meshes])
    starts = np.zeros_like(lows)
    starts[1:, 1] = np.cumsum(depths + PLATE_GAP)[:-1]
    starts -= lows
    return starts


def _model(meshes: Sequence[tuple[str, Mesh]], stamp: Stamp, shifts: npt.NDArray[np.float64]) -> Iterator[str]:
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield f'<model unit="millimeter" xml:lang="und" xmlns="{CORE}" xmlns:planestock="{OWN}">'
    yield from _metadata(stamp)
    yield "<resources>"
    for number, (name, mesh) in enumerate(meshes, start=1):
        yield f'<object id="{number}" type="model" name={quoteattr(one_line(name))}><mesh>'
        yield from _mesh(mesh)
        yield "</mesh></object>"
    yield "</resources>\n<build>"
    for number, shift in enumerate(_rounded(shifts), start=1):
        yield f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {" ".join(map(repr, shift))}"/>'
    yield "</build>\n</model>\n"


def _metadata(stamp: Stamp) -> Iterator[str]:
    entries = {
        "Title": stamp.name,
        "Description": stamp.line,
        "Application": f"planestock {stamp.version}",
        "planestock:digest": stamp.digest,
    }
    for name, value in entries.items():
        yield f'<metadata name="{name}" preserve="1">{escape(one_line(value))}</metadata>'


def _mesh(mesh: Mesh) -> Iterator[str]:
    yield "<vertices>"
    yield from (f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in _rounded(mesh.vertices))
    yield "</vertices><triangles>"
    yield from (f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces.tolist())
    yield "</triangles>"


def _rounded(points: npt.NDArray[np.float64]) -> list[list[float]]:
    """Points as plain floats at the written precision; adding zero turns -0 into 0."""
    rounded: list[list[float]] = (np.round(points, DECIMALS) + 0.0).tolist()
    return rounded


def _zipped(files: dict[str, str]) -> bytes:
    """Pack texts in order, undated, and stored: deflated bytes differ from one build of zlib to another."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name)  # dated 1980-01-01, the format's first day, unless told otherwise
            entry.create_system = _UNIX
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, text.encode("utf-8"))
    return buffer.getvalue()
