"""The colour map as binary glTF: the scan in its bands' colours, the wood around it half transparent.

Through trimesh, which writes glTF with colours at points; names, opacity, axes and unit are decided here, as in
exports/files/glb.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from planestock.exports.files.glb import BODY_TO_GLTF, METRES, linear
from planestock.exports.files.shading import split_vertices
from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import one_line
from planestock.exports.scan.colours import LEFT_OUT, LEFT_OUT_WORDS, bands, meaning, palette
from planestock.exports.scan.shown import Shown, shown, table_shown

if TYPE_CHECKING:
    import trimesh

    from planestock.models.scan.fit import Fitted
    from planestock.models.solids.parts import Part

MOST_TRIANGLES = 200_000
"""Triangles of the scan in the file."""

MOST_OF_TABLE = 20_000
"""Triangles of a table that was left out."""

TABLE = "table, left out"
"""Name of that part."""

SEE_THROUGH = 0.22
"""Opacity of the wood, and of what was left out."""


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
    table = table_shown(fitted, MOST_OF_TABLE)
    if table is not None:
        scene.add_geometry(_left_out(table), geom_name=TABLE, node_name=TABLE)
    for part in fitted.made.assembly.wood:
        scene.add_geometry(_see_through(part), geom_name=one_line(part.name), node_name=one_line(part.name))
    content: bytes = scene.export(
        file_type="glb", include_normals=None, tree_postprocessor=_stamped(fitted, stamp, seen.reach)
    )
    return content


def _see_through(part: Part) -> trimesh.Trimesh:
    import trimesh

    points, normals, faces = split_vertices(part.mesh)
    mesh = trimesh.Trimesh(points @ BODY_TO_GLTF.T * METRES, faces, vertex_normals=normals @ BODY_TO_GLTF.T, process=False)
    return _of_glass(mesh, part.material, part.colour[:3], both_sides=False)


def _left_out(table: Shown) -> trimesh.Trimesh:
    import trimesh

    mesh = trimesh.Trimesh(table.points @ BODY_TO_GLTF.T * METRES, table.faces, process=False)
    return _of_glass(mesh, LEFT_OUT_WORDS, LEFT_OUT, both_sides=True)


def _of_glass(mesh: trimesh.Trimesh, name: str, colour: Sequence[float], *, both_sides: bool) -> trimesh.Trimesh:
    """Return the mesh in a colour (sRGB) that can be seen through."""
    from trimesh import visual
    from trimesh.visual import material as materials

    textured: Any = visual.TextureVisuals
    physical: Any = materials.PBRMaterial
    red, green, blue = map(linear, colour)
    material = physical(
        name=one_line(name), baseColorFactor=[red, green, blue, SEE_THROUGH], metallicFactor=0.0,
        roughnessFactor=0.8, alphaMode="BLEND", doubleSided=both_sides,
    )  # fmt: skip
    mesh.visual = textured(material=material)
    return mesh


def _stamped(fitted: Fitted, stamp: Stamp, reach: float) -> Callable[[dict[str, Any]], None]:
    """Return what puts the stamp and the legend into the file's head, and lets the scan be seen from both sides."""
    more, less = meaning(fitted)
    legend = [{"colour": [round(value, 3) for value in band.colour], "mm": band.words()} for band in bands(reach)]
    if fitted.scan.left_out:
        legend.append({"colour": list(LEFT_OUT), "mm": LEFT_OUT_WORDS})

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
