"""Binary glTF 2.0: the picture of the whole assembly, one node, mesh and primitive for each part.

Written directly. A mesh library would do, but decides on its own about splitting normals, opacity and names, and
those are what makes the picture readable: hard edges hard, metal see-through, every part under its own name.

Positions are stored in the unit and axes glTF prescribes (metres, y up), not turned by a node, so that a reader that
skips node transforms, or measures in the buffer, is right as well: (x, y, z) mm becomes (x, z, -y) / 1000.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from planestock.exports.files.shading import split_vertices
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line, require_sound
from planestock.models.solids.parts import Kind, Part

Entry = dict[str, Any]
"""One JSON object of glTF; what it may hold is the format's affair, so it stays loosely typed."""

BODY_TO_GLTF = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
"""Turns z up into y up: a quarter turn about x, so left stays left."""
METRES = 1e-3
FINISH: dict[Kind, tuple[float, float]] = {"wood": (0.0, 0.8), "metal": (0.3, 0.45)}
"""Metallic and roughness by kind. Bare metal would be wholly metallic, but a metal only mirrors what
surrounds it, and a viewer without surroundings would show it black."""

_FLOAT, _UNSIGNED_INT = 5126, 5125
_VERTEX_DATA, _INDEX_DATA = 34962, 34963
_TRIANGLES = 4


def scene(parts: Sequence[Part], stamp: Stamp) -> bytes:
    """Return all parts, in their order, as one binary glTF scene.

    Raises `WriterFailed` when there is no part, or when a part's mesh is not closed and sound.
    """
    if not parts:
        raise WriterFailed("GLB: no part to draw; name at least one part")
    for part in parts:
        require_sound(part.name, part.mesh)
    binary = _Binary()
    materials: list[Entry] = []
    meshes = [_mesh(part, materials, binary) for part in parts]
    return _container(
        {
            "asset": _asset(stamp),
            "scene": 0,
            "scenes": [{"name": one_line(stamp.name), "nodes": list(range(len(parts)))}],
            "nodes": [_node(number, part) for number, part in enumerate(parts)],
            "meshes": meshes,
            "materials": materials,
            "accessors": binary.accessors,
            "bufferViews": binary.views,
            "buffers": [{"byteLength": len(binary.data)}],
        },
        bytes(binary.data),
    )


class _Binary:
    """The binary chunk as it grows, with the views and accessors that describe it."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[Entry] = []
        self.accessors: list[Entry] = []

    def vectors(self, rows: npt.NDArray[np.float64]) -> int:
        """Append (n, 3) values as 32-bit floats with their bounds; return the accessor's number."""
        values = (rows + 0.0).astype("<f4")
        bounds = {"min": values.min(axis=0).tolist(), "max": values.max(axis=0).tolist()}
        return self._append(values, _VERTEX_DATA, {"componentType": _FLOAT, "type": "VEC3", **bounds})

    def indices(self, faces: npt.NDArray[np.int64]) -> int:
        """Append (m, 3) indices as 32-bit integers with their bounds; return the accessor's number."""
        values = faces.astype("<u4").ravel()
        bounds = {"min": [int(values.min())], "max": [int(values.max())]}
        return self._append(values, _INDEX_DATA, {"componentType": _UNSIGNED_INT, "type": "SCALAR", **bounds})

    def _append(self, values: npt.NDArray[Any], target: int, accessor: Entry) -> int:
        # Every component is four bytes wide, so each view begins at the multiple of four that glTF asks for.
        view = {"buffer": 0, "byteOffset": len(self.data), "byteLength": values.nbytes, "target": target}
        self.data += values.tobytes()
        self.views.append(view)
        self.accessors.append({"bufferView": len(self.views) - 1, "count": len(values), **accessor})
        return len(self.accessors) - 1


def _mesh(part: Part, materials: list[Entry], binary: _Binary) -> Entry:
    points, normals, faces = split_vertices(part.mesh)
    primitive = {
        "attributes": {
            "POSITION": binary.vectors(points @ BODY_TO_GLTF.T * METRES),
            "NORMAL": binary.vectors(normals @ BODY_TO_GLTF.T),
        },
        "indices": binary.indices(faces),
        "material": _material_number(part, materials),
        "mode": _TRIANGLES,
    }
    return {"name": one_line(part.name), "primitives": [primitive]}


def _node(number: int, part: Part) -> Entry:
    extras = {"kind": part.kind, "material": one_line(part.material)}
    return {"name": one_line(part.name), "mesh": number, "extras": extras}


def _material_number(part: Part, materials: list[Entry]) -> int:
    """The number of the part's material, appended unless an equal one is there already."""
    material = _material(part)
    if material not in materials:
        materials.append(material)
    return materials.index(material)


def _material(part: Part) -> Entry:
    *colour, opacity = part.colour
    metallic, roughness = FINISH[part.kind]
    return {
        "name": one_line(part.material),
        "alphaMode": "BLEND" if opacity < 1 else "OPAQUE",
        "pbrMetallicRoughness": {
            "baseColorFactor": [*map(linear, colour), opacity],
            "metallicFactor": metallic,
            "roughnessFactor": roughness,
        },
    }


def linear(value: float) -> float:
    """Return the linear light, 0 to 1, of an sRGB value, 0 to 1; glTF colours are linear (IEC 61966-2-1, from
    memory).

    Six decimals are kept, finer than any screen, so that the last bit of a power cannot change the file.
    """
    return round(value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4, 6)


def _asset(stamp: Stamp) -> Entry:
    return {
        "version": "2.0",
        "generator": one_line(f"planestock {stamp.version}"),
        "extras": {
            "name": one_line(stamp.name),
            "digest": stamp.digest,
            "version": one_line(stamp.version),
            "failing": list(stamp.failing),
            "stamp": one_line(stamp.line),
        },
    }


def _container(document: Entry, data: bytes) -> bytes:
    """Join the JSON and the binary chunk into one GLB file (glTF 2.0, chapter 4, from memory)."""
    text = json.dumps(document, separators=(",", ":"), allow_nan=False).encode("ascii")
    chunks = _chunk(b"JSON", text + b" " * (-len(text) % 4)) + _chunk(b"BIN\0", data)
    return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def _chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack("<I4s", len(content), kind) + content
