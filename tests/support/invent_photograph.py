"""Invents the photograph of the README's story: python -m tests.support.invent_photograph FILE

A waisted casting 4 mm thick on a white A4 sheet, seen askew through a lens with barrel, under an even sky, with blur and
noise. No real casting was photographed. Prints the command that traces it, with the places as a person would read them off.
"""

from __future__ import annotations

import io
import shlex
import sys
from pathlib import Path

import shapely

from planestock.params.outlines.pieces import flattened
from tests.support.camera_support import Lens, Scene, camera, sky
from tests.support.drawn_photographs import SHEET, Photograph, on_sheet
from tests.support.traced_support import waisted

SIZE = (2000, 1400)

PLACE = (115.0, 105.0, -4.0)
"""Where the corner D lies on the sheet, mm, and how the casting is turned, degrees."""

THICKNESS = 4.0

BARREL = -0.06
"""First radial term of the lens: it moves the picture's corner in by about 3 %."""


def taken() -> Photograph:
    """The photograph and what is known of it."""
    holes = tuple(on_sheet(shapely.Point(x, y).buffer(4), PLACE) for x, y in ((62, 16), (62, -16), (-30, 0)))
    casting = on_sheet(shapely.Polygon(flattened(waisted(), 0.01)), PLACE)
    scene = Scene(SHEET, casting, holes, THICKNESS, sky())
    seen_by = camera(SIZE, 1700, (150, 103), 318, (5, -9), 2, Lens(BARREL))
    return Photograph(seen_by, scene, waisted(), PLACE, 1, THICKNESS, (0.05, -0.05, 0.08), 0.9, 4.0, "story")


def jpeg(photograph: Photograph) -> bytes:
    """The photograph as a JPEG file's bytes."""
    stream = io.BytesIO()
    photograph.image().convert("RGB").save(stream, "JPEG", quality=88)
    return stream.getvalue()


def main() -> None:
    """Write the photograph as JPEG."""
    path, photograph = Path(sys.argv[1]), taken()
    path.write_bytes(jpeg(photograph))
    print(shlex.join(["planestock", "trace", path.name, *photograph.options(corners_read=0, marks_read=0)]))


if __name__ == "__main__":
    main()
