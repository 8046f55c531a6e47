"""The hand-over for a shop with a router: solids in their setups, the setup sheet, and the same as data.

One STEP file for each setup, not one for each part with named positions: a program for the router takes a file's z as its
spindle and its origin as its zero, and many drop the names of positions. Opened as it is, every file lies as it is cut.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from planestock.exports.files import step
from planestock.exports.files.file_names import file_name
from planestock.exports.files.plain_data import as_json
from planestock.exports.files.stamp import Stamp
from planestock.exports.machining.data import setups_data
from planestock.exports.machining.sheet import setup_sheet
from planestock.exports.machining.solids import Laid, laid_parts
from planestock.exports.wording.machining import zero
from planestock.models.machining.all_setups import plan_of_work

if TYPE_CHECKING:
    from planestock.models.design import Design

FOLDER = "cnc"
"""Folder of the hand-over."""

SHEET = "setup-sheet.pdf"
DATA = "setups.json"


def router_files(made: Design, stamp: Stamp) -> Mapping[str, bytes]:
    """Return the files of the hand-over by name. Builds the solids. Same design, same bytes.

    Raises KernelProblem when a relief cannot be cut, WriterFailed where a file cannot be written.
    """
    work = plan_of_work(made.given, made.settled, made.layout)
    files: dict[str, bytes] = {}
    for laid in laid_parts(made, work):
        name = setup_name(laid)
        files[f"{FOLDER}/{name}.step"] = step.assembly([laid.part], _told(laid, stamp, ""))
        files[f"{FOLDER}/{name}-stock.step"] = step.assembly([laid.block], _told(laid, stamp, "raw block, "))
    files[f"{FOLDER}/{SHEET}"] = setup_sheet(made, work, stamp)
    files[f"{FOLDER}/{DATA}"] = as_json(setups_data(work, stamp)).encode()
    return files


def setup_name(laid: Laid) -> str:
    """Return the name of a setup's files, without ending: `right-half-1-mating-face-up`."""
    return file_name(f"{laid.plan.name} {laid.setup.number} {laid.setup.position}")


def _told(laid: Laid, stamp: Stamp, what: str) -> Stamp:
    """Return the stamp with part, setup and zero in the name: it becomes the product's name and the file's description."""
    where = f"{laid.plan.name}, setup {laid.setup.number}, {laid.setup.position}; {zero(laid.plan, laid.setup)}"
    return replace(stamp, name=f"{stamp.name}: {what}{where}")
