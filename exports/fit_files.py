"""All files of a fit by name: data, text, colour map, page, and the corrected set where there is one."""

from __future__ import annotations

from collections.abc import Callable

from planestock.exports.files.plain_data import as_json
from planestock.exports.files.stamp import SET_MARK, Stamp, program_version
from planestock.exports.files.writer_rules import one_line
from planestock.exports.pages.fit import page
from planestock.exports.scan.colour_glb import colour_map
from planestock.exports.scan.colours import reach_for
from planestock.exports.scan.data import as_data
from planestock.exports.scan.text import as_text
from planestock.models.scan.corrected import Corrected
from planestock.models.scan.fit import Fitted

CORRECTED_SET = "corrected.toml"
"""The set with the scan's readings in it."""


def scale_reach(fitted: Fitted) -> float:
    """Return where the last bands of the colour scale begin, mm."""
    return reach_for(fitted.found.apart[fitted.found.owner >= 0])


def fit_files(
    fitted: Fitted, found: Corrected | None, stamp: Stamp, begin: Callable[[str], None] = lambda _: None
) -> dict[str, bytes]:
    """Return the files of a fit. begin: told the name of each step. Builds the solids."""
    reach = scale_reach(fitted)
    begin("text and data")
    files = {
        "fit.txt": as_text(fitted, found, stamp, reach).encode(),
        "fit.json": as_json(as_data(fitted, found, stamp, reach)).encode(),
    }
    begin("colour map (GLB)")
    files["fit.glb"] = colour_map(fitted, stamp)
    begin("page (HTML)")
    files["fit.html"] = page(fitted, found, stamp)
    if found is not None and found.text:
        files[CORRECTED_SET] = _set(fitted, found).encode()
    return files


def _set(fitted: Fitted, found: Corrected) -> str:
    """Return the corrected set's text with a line on top that says where it comes from."""
    paths = ", ".join(one.path for one in found.taken)
    digest = f"; digest {found.made.given.digest[:12]}" if found.made is not None else "; cannot be built as it is"
    line = (
        f"{SET_MARK} corrected by the scan {one_line(fitted.scan.name)} in {paths}; planestock {program_version()}{digest}"
    )
    return f"{line}\n{found.text}"
