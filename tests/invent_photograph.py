"""Invents the photograph of the README's story: python -m tests.invent_photograph FILE

A waisted casting on a white A4 sheet, seen askew, with blur and noise. No real casting was photographed. Prints the command
that traces it, with the places as a person would read them off the picture.
"""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

from tests.traced_support import Photograph, waisted

CORNERS = ((148.0, 131.0), (1392.0, 88.0), (1449.0, 951.0), (96.0, 903.0))
"""Where the sheet's corners lie in the picture, pixels."""

SIZE = (1520, 1040)


def main() -> None:
    """Write the photograph as JPEG."""
    path = Path(sys.argv[1])
    taken = Photograph(waisted(), CORNERS, 1)
    taken.image(SIZE).convert("RGB").save(path, "JPEG", quality=88)
    print(shlex.join(["planestock", "trace", path.name, *taken.options()]))


if __name__ == "__main__":
    main()
