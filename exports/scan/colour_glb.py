"""The colour map as binary glTF: the scan in its bands' colours, the wood around it half transparent.

Through trimesh, which writes glTF with colours at points; names, opacity, axes and unit are decided here, as in
exports/files/glb.py.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from planestock.exports.files.glb import BODY_TO_GLTF, METRES, linear
from planestock.exports.files.shading import split_vertices
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import one_line
from planestock.exports.scan.colours import bands, meaning, palette
from planestock.exports.scan.shown import shown

if TYPE_CHECKING:
    import trimesh

    from planestock.models.scan.fit import Fitted
    from planestock.models.solids.parts import Part

MOST_TRIANGLES = 200_000
"""Triangles of the scan in the file."""

SEE_THROUGH = 0.22
"""Opacity of the wood."""


UNLIT = "KHR_materials_unlit"
"""Extension of glTF under which a surface shows its own colours whatever the light: here colours are numbers. It also spares
normals, which a scan with triangles turned any way has none of."""


def colour_map(fitted: Fitted, stamp: Stamp) -> bytes:
    """Return the colour map as GLB; its legend stands in the file's `asset.extras`."""
    import trimesh

    scene: Any = trimesh.Scene()
    seen = shown(fitted, MOST_TRIANGLES)
    colours = np.array([[*map(linear, colour), 1.0] for colour in palette()])
    mesh = trimesh.Trimesh(seen.points @ BODY_TO_GLTF.T * METRES, seen.faces, process=False)
    mesh.visual = trimesh.visual.ColorVisuals(mesh, vertex_colors=np.rint(colours[seen.shade] * 255).astype(np.uint8))
    scene.add_geometry(mesh, geom_name="scan", node_name="scan")
    for part in fitted.made.assembly.wood:
        scene.add_geometry(_see_through(part), geom_name=one_line(part.name), node_name=one_line(part.name))
    content: bytes = scene.export(
        file_type="glb", include_normals=None, tree_postprocessor=_stamped(fitted, stamp, seen.reach)
    )
    return content


def _see_through(part: Part) -> trimesh.Trimesh:
    import trimesh
    from trimesh import visual
    from trimesh.visual import material as materials

    textured: Any = visual.TextureVisuals
    physical: Any = materials.PBRMaterial
    points, normals, faces = split_vertices(part.mesh)
    red, green, blue = map(linear, part.colour[:3])
    material = physical(
        name=one_line(part.material), baseColorFactor=[red, green, blue, SEE_THROUGH], metallicFactor=0.0,
        roughnessFactor=0.8, alphaMode="BLEND", doubleSided=False,
    )  # fmt: skip
    mesh = trimesh.Trimesh(points @ BODY_TO_GLTF.T * METRES, faces, vertex_normals=normals @ BODY_TO_GLTF.T, process=False)
    mesh.visual = textured(material=material)
    return mesh


def _stamped(fitted: Fitted, stamp: Stamp, reach: float) -> Callable[[dict[str, Any]], None]:
    """Return what puts the stamp and the legend into the file's head, and lets the scan be seen from both sides."""
    more, less = meaning(fitted)
    legend = [{"colour": [round(value, 3) for value in band.colour], "mm": band.words} for band in bands(reach)]

    def stamped(tree: dict[str, Any]) -> None:
        tree["asset"] = {
            "version": "2.0",
            "generator": one_line(f"planestock {stamp.version}"),
            "extras": {
                "name": one_line(stamp.name), "digest": stamp.digest, "version": one_line(stamp.version),
                "failing": list(stamp.failing), "stamp": one_line(stamp.line), "scan": one_line(fitted.scan.name),
                "legend": legend, "positive": more, "negative": less,
            },
        }  # fmt: skip
        plain = {
            "name": "deviation",
            "doubleSided": True,
            "pbrMetallicRoughness": {"metallicFactor": 0.0, "roughnessFactor": 0.9},
            "extensions": {UNLIT: {}},
        }
        tree["extensionsUsed"] = sorted({*tree.get("extensionsUsed", []), UNLIT})
        materials = tree.setdefault("materials", [])
        materials.append(plain)
        for mesh in tree["meshes"]:
            if mesh["name"] == "scan":
                mesh["primitives"][0]["material"] = len(materials) - 1

    return stamped
