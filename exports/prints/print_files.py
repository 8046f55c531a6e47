"""Files of everything to print: one 3MF for each plate, and a list of pieces as text and as data."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from planestock.exports.files import threemf
from planestock.exports.files.file_names import file_name
from planestock.exports.prints.listing import as_data, as_text
from planestock.models.prints.printing import Job, jobs

if TYPE_CHECKING:
    from planestock.exports.files.stamp import Stamp
    from planestock.models.design import Design

FOLDER = "prints"
"""Folder of all that is printed."""


def print_files(made: Design, stamp: Stamp) -> Mapping[str, bytes]:
    """Return every test piece and jig as 3MF in millimetres, a file for each plate, and `prints.txt` and `prints.json`.

    Raises InputProblem where the printer is too small, KernelProblem where a jig cannot be made, WriterFailed.
    """
    work, missing = jobs(made)
    files: dict[str, bytes] = {}
    for job in work:
        for name, content in _plates(job, stamp):
            files[f"{FOLDER}/{name}"] = content
    data = as_data(made, stamp, work, missing, plate_names)
    files[f"{FOLDER}/prints.json"] = (json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode()
    files[f"{FOLDER}/prints.txt"] = as_text(data).encode()
    return files


def plate_names(job: Job) -> list[str]:
    """Return the file name of each plate of a group."""
    name = file_name(job.group.name)
    if len(job.plates) == 1:
        return [f"{name}.3mf"]
    return [f"{name}-plate-{number}.3mf" for number in range(1, len(job.plates) + 1)]


def _plates(job: Job, stamp: Stamp) -> Iterator[tuple[str, bytes]]:
    for name, places in zip(plate_names(job), job.plates, strict=True):
        lying = [job.pieces[index].lying for index, _ in places]
        shifts = np.array([(x, y, 0.0) for _, (x, y) in places])
        yield name, threemf.package([(one.piece.name, one.mesh) for one in lying], stamp, shifts)
