"""A rendered picture of a body with its metal, together or exploded.

Drawn with VTK, which comes with the solid kernel, off screen and in a process of its own: without a library that can draw
off screen, VTK does not report an error but takes the whole process down.
"""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from planestock.exports.files.picture_drawing import DONE
from planestock.exports.files.shading import split_vertices
from planestock.exports.kernel_process import Unavailable

if TYPE_CHECKING:
    from planestock.models.body.layout import Layout
    from planestock.models.design import Design
    from planestock.models.solids.parts import Part

Array = npt.NDArray[np.float64]

SLOWEST = 180.0
"""Seconds after which drawing is given up: software rendering of a picture takes some five."""

WHAT_TO_INSTALL = (
    "the picture could not be drawn: this machine has no library for drawing off screen. On Debian: "
    "apt-get install libegl1 libegl-mesa0 (or libosmesa6)"
)

PYTHON_FAILED = 1
"""Exit code of a child that ended with a Python exception; one without a library is killed, or ends with `BLANK`."""

GAP = 1.35
"""How far each half moves aside when exploded, as a share of half the body's width."""

LIFT = 1.1
"""How far metal, or a pad under it, is lifted when exploded, as a share of the body's height."""

IRONS = {"iron": (0.55, 0.45), "cap iron": (0.75, 0.95)}
"""How far the irons are drawn up along the bed and out of it beside that, as shares of the body's height."""

HANDLES = {"knob": 0.35, "tote": 0.35}
"""How much further than the casting each part is lifted, as a share of the body's height."""


def picture(made: Design, *, exploded: bool) -> bytes:
    """Return a PNG of the design. Builds the solids.

    Raises Unavailable when this machine cannot draw off screen, KernelProblem when the solids cannot be built.
    """
    moved = {part.name: offset(part, made.layout) if exploded else np.zeros(3) for part in made.assembly.parts}
    return drawn(_packed(made.assembly.parts, moved))


def drawn(packed: bytes) -> bytes:
    """Draw a packed scene in a child process and return the PNG."""
    command = [sys.executable, "-P", "-m", "planestock.exports.files.picture_drawing"]
    try:
        ran = subprocess.run(command, input=packed, capture_output=True, timeout=SLOWEST, check=False)
    except subprocess.TimeoutExpired:
        raise Unavailable(f"the picture was not drawn within {SLOWEST:g} seconds; draw it on a faster machine") from None
    image, done, _ = ran.stdout.rpartition(DONE)
    if ran.returncode == 0 and done:
        return image
    if ran.returncode == PYTHON_FAILED:
        reason = ran.stderr.decode("utf-8", "replace").strip().splitlines()[-1:]
        raise RuntimeError(f"drawing the picture failed: {''.join(reason) or 'no reason given'}")
    raise Unavailable(WHAT_TO_INSTALL)


def offset(part: Part, at: Layout) -> Array:
    """Return how far a part moves when exploded, mm: halves aside, laminations and metal up, the irons along the bed."""
    wide, high = at.plan.half_width, at.height
    if part.kind == "wood":
        ways = {"right half": (0.0, GAP * wide, 0.0), "left half": (0.0, -GAP * wide, 0.0),
                "slip": (0.0, 0.0, -LIFT * high), "pad": (0.0, 0.0, LIFT * high)}  # fmt: skip
        return np.array(ways.get(part.name, (0.0, 0.0, 0.0)))
    raised = (2 * LIFT if at.pad else LIFT) * high
    if part.name in IRONS:
        along, out = (share * high for share in IRONS[part.name])
        (ux, uz), (nx, nz) = at.up_the_bed, at.out_of_the_bed
        return np.array((ux * along + nx * out, 0.0, raised + uz * along + nz * out))
    return np.array((0.0, 0.0, raised + HANDLES.get(part.name, 0.0) * high))


def _packed(parts: Sequence[Part], moved: Mapping[str, Array]) -> bytes:
    """Return all that is drawn as one archive of arrays, numbered by part."""
    arrays: dict[str, npt.NDArray[np.generic]] = {}
    for number, (part, lines) in enumerate(zip(parts, _lines(parts), strict=True)):
        points, normals, faces = split_vertices(part.mesh)
        along = np.concatenate(lines) if lines else np.zeros((0, 3))
        arrays |= {
            f"points{number}": points + moved[part.name],
            f"normals{number}": normals,
            f"faces{number}": faces,
            f"lines{number}": along + moved[part.name],
            f"lengths{number}": np.array([len(line) for line in lines], dtype=np.int64),
            f"colour{number}": np.array(part.colour),
            f"metal{number}": np.array(part.kind == "metal"),
        }
    stream = io.BytesIO()
    np.savez(stream, **arrays)  # type: ignore[arg-type]
    return stream.getvalue()


def _lines(parts: Sequence[Part]) -> list[tuple[Array, ...]]:
    """Return each part's sharp edges. The left half has no facets of its own: its lines are the right one's, mirrored."""
    from planestock.exports.files.edges import edge_lines

    right = next(part for part in parts if part.name == "right half")
    mirrored = edge_lines(right.shape).mirrored()
    return [(mirrored if part.name == "left half" else edge_lines(part.shape)).sharp for part in parts]
