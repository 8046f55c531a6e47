"""A design as the viewer takes it: one JSON object of parts, edges, travel, places to cut and words.

Points are whole numbers of a fixed step from an origin, 16 bits each, in base64; the step is 0.01 mm wherever the plane is
shorter than 650 mm, so that what is measured on the screen are the readings and not their rounding. Each part carries a
digest of its own content, so that a viewer that holds it already can keep it. What the viewer cannot know is said here:
how parts come apart, how the iron travels, where a cut shows something.
"""

from __future__ import annotations

import hashlib
import json
import math
from base64 import b64encode
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from planestock.exports.files.stamp import Stamp
from planestock.exports.files.writer_rules import WriterFailed, one_line
from planestock.exports.wording.numbers import seen_in_words

if TYPE_CHECKING:
    from planestock.exports.files.edges import EdgeLines
    from planestock.models.design import Design
    from planestock.models.solids.parts import Part, Vector

Entry = dict[str, Any]
"""One JSON object; its keys are the viewer's affair (exports/viewer/src/parts.js reads them)."""
Points = npt.NDArray[np.float64]

STEPS = (0.01, 0.02, 0.05, 0.1)
"""Steps of the grid in mm, the finest that holds the whole plane is taken."""

STEPS_EACH_WAY = 32767
"""Steps a signed 16-bit number reaches from the origin."""

APART = 50.0
"""How far the casting rises from the body when all is taken apart, mm; what stands on it rises further."""

FINISHES = {"steel": "steel", "cast iron": "iron"}
"""How a reference part is drawn, by its material; whatever else stands on the plane is a turned or sawn handle."""

RIDING = ("iron", "cap iron")
"""Parts that the adjuster moves."""


@dataclass(frozen=True)
class Grid:
    """Where points are counted from, mm, and in which steps."""

    origin: tuple[float, float, float]
    step: float

    def counted(self, points: Points) -> npt.NDArray[np.int16]:
        """Return points (n, 3) in mm as whole steps."""
        steps: npt.NDArray[np.int16] = np.rint((points - np.array(self.origin)) / self.step).astype("<i2")
        return steps


def scene(design: Design, stamp: Stamp) -> Entry:
    """Return the scene of a design as plain JSON values. Builds the solids. Raises KernelProblem, WriterFailed."""
    parts = design.assembly.parts
    grid = _grid(parts)
    lines = _edges(parts)
    return {
        "name": one_line(stamp.name),
        "stamp": one_line(stamp.line),
        "digest": stamp.digest,
        "units": design.given.units,
        "grid": {"origin": list(grid.origin), "step": grid.step},
        "parts": [_part(part, lines[part.name], grid, design) for part in parts],
        "travel": travel(design),
        "places": places(design),
        "seen": seen_in_words(design),
    }


def as_json(entry: Entry) -> str:
    """Return a scene as compact ASCII text, the same for the same scene."""
    return json.dumps(entry, separators=(",", ":"), allow_nan=False)


def _grid(parts: Sequence[Part]) -> Grid:
    low = np.min([part.mesh.vertices.min(axis=0) for part in parts], axis=0)
    high = np.max([part.mesh.vertices.max(axis=0) for part in parts], axis=0)
    x, y, z = np.round((low + high) / 2)
    reach = float(np.max(np.maximum(high - (x, y, z), (x, y, z) - low)))
    for step in STEPS:
        if reach <= step * STEPS_EACH_WAY:
            return Grid((float(x), float(y), float(z)), step)
    raise WriterFailed(f"scene: the plane reaches {reach:.0f} mm from its middle; nothing this large can be drawn")


def _edges(parts: Sequence[Part]) -> dict[str, EdgeLines]:
    from planestock.exports.files.edges import edge_lines

    # The left half is the right one mirrored and has no facets of its own, so its edges are mirrored as well.
    twins = {"left half": "right half"}
    found = {part.name: edge_lines(part.shape) for part in parts if part.name not in twins}
    return found | {name: found[twin].mirrored() for name, twin in twins.items()}


def _part(part: Part, lines: EdgeLines, grid: Grid, design: Design) -> Entry:
    faces = part.mesh.faces
    wide = len(part.mesh.vertices) > np.iinfo(np.uint16).max
    content = {
        "name": one_line(part.name),
        "kind": part.kind,
        "material": one_line(part.material),
        "finish": "wood" if part.kind == "wood" else FINISHES.get(part.material, "handle"),
        "colour": [round(value, 4) for value in part.colour[:3]],
        "cut": design.given.wood.cut,
        "rides": part.name in RIDING,
        "apart": [round(value, 3) for value in apart(part.name, design)],
        "wide": wide,
        "points": _packed(grid.counted(part.mesh.vertices)),
        "faces": _packed(faces.astype("<u4" if wide else "<u2")),
        "sharp": _polylines(lines.sharp, grid),
        "smooth": _polylines(lines.smooth, grid),
        "centres": _packed(grid.counted(lines.centres)),
    }
    told = json.dumps([content, grid.origin, grid.step], sort_keys=True).encode()
    return {**content, "key": hashlib.sha256(told).hexdigest()[:16]}


def _polylines(lines: Iterable[Points], grid: Grid) -> Entry:
    every = list(lines)
    lengths = np.array([len(line) for line in every], dtype="<u2")
    points = np.concatenate(every) if every else np.empty((0, 3))
    return {"points": _packed(grid.counted(points)), "lengths": _packed(lengths)}


def _packed(values: npt.NDArray[Any]) -> str:
    return b64encode(np.ascontiguousarray(values).tobytes()).decode("ascii")


def apart(name: str, design: Design) -> Vector:
    """Return how far a part moves when all is taken apart, mm: halves aside, laminations and metal up, the slip down."""
    at = design.layout
    aside = 0.4 * design.given.body.width.value
    lifted = APART * (1.0 if at.pad == 0 else 2.0)
    out_x, out_z = at.out_of_the_bed
    moves: dict[str, Vector] = {
        "right half": (0.0, aside, 0.0),
        "left half": (0.0, -aside, 0.0),
        "pad": (0.0, 0.0, APART),
        "slip": (0.0, 0.0, -APART),
        "casting": (0.0, 0.0, lifted),
        "frog": (0.0, 0.0, lifted + APART),
        "iron": (APART * out_x, 0.0, lifted + APART * (1.4 + out_z)),
        "cap iron": (1.6 * APART * out_x, 0.0, lifted + APART * (1.4 + 1.6 * out_z)),
        "knob": (0.0, 0.0, lifted),
        "tote": (0.0, 0.0, lifted + 0.8 * APART),
    }
    return moves.get(name, (0.0, 0.0, 0.0))


def travel(design: Design) -> Entry:
    """Return how iron and cap iron ride: mm of the edge below the sole (negative above), and what follows for the mouth.

    per_mm: move of the iron for each mm that the edge comes further out; it slides along the bed.
    """
    theta = math.radians(design.given.frog.bed_angle.value)
    window, thickness = design.settled.window, design.settled.thickness
    return {
        "out": _known(window.out(thickness)),
        "back": _known(-window.back(thickness)),
        "drawn": _known(window.out(thickness)),
        "per_mm": [-_known(1.0 / math.tan(theta)), 0.0, -1.0],
        "opening": design.given.throat.opening.value,
        "closing": _known(1.0 / math.tan(theta)),
        "wear_lean": _known(math.tan(math.radians(design.given.throat.wear_lean.value))),
        "wear_height": design.given.throat.wear_height.value,
        "deepest_cut": design.given.work.deepest_cut.value,
    }


def _known(value: float) -> float:
    """Return a number without the last bits, in which one computer's arithmetic differs from another's."""
    return round(value, 9) + 0.0


def places(design: Design) -> list[Entry]:
    """Return the named places worth a cut: along the body at some y, across it at some x, from the toe to the heel."""
    at = design.layout
    along = [_place("y", 0.0, "the mid-plane")]
    along += [_place("y", abs(hole.start[1]), f"the {hole.kind}s") for hole in at.holes
              if hole.kind in ("frog screw", "casting screw") and hole.start[1] > 0]  # fmt: skip
    across = [_place("x", at.edge[0], "the iron's edge"), _place("x", at.corner[0], "the bed's corner")]
    across += [_place("x", hole.start[0], _called(hole.kind)) for hole in at.holes]
    if at.tail is not None:
        across.append(_place("x", at.tail.cove_low[0], "the cove's foot"))
    return [*_once(along), *_once(across)]


def _called(kind: str) -> str:
    return f"a {kind}" if kind in ("dowel", "frog screw", "casting screw") else f"the {kind}"


def _place(axis: str, at: float, name: str) -> Entry:
    return {"axis": axis, "at": round(at, 3), "name": name}


def _once(found: list[Entry]) -> list[Entry]:
    """Return places sorted, of those at one spot only the first."""
    kept: dict[float, Entry] = {}
    for entry in found:
        kept.setdefault(round(entry["at"], 1), entry)
    return [kept[at] for at in sorted(kept)]
