"""Reading the triangles of a 3MF file (core specification 1.4.0), within bounds: no DTD, no entity, no link out of the
file."""

from __future__ import annotations

import zipfile
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

import numpy as np
import numpy.typing as npt

from planestock.models.scan.from_file import FromFile, joined
from planestock.models.scan.motion import Array
from planestock.params.problems import refuse

LARGEST_MODEL = 300_000_000
"""Bytes of the unpacked model part: some four million triangles. A small archive can hold any size."""

MOST_OBJECTS = 1_000
"""Objects placed in a build; a scan is one, or a few pieces."""

DEEPEST = 8
"""Objects made of objects made of objects; a loop of them would have no end."""

MODEL_PART = "3d/3dmodel.model"
"""Where every writer puts the model, letters in any case."""

REMEDY = "export the scan again as 3MF, or as binary STL"


@dataclass
class _Object:
    """One object: its own triangles, and the objects it is made of, each with how it is placed."""

    vertices: list[Array] = field(default_factory=list)
    faces: list[npt.NDArray[np.int64]] = field(default_factory=list)
    parts: list[tuple[str, Array]] = field(default_factory=list)


@dataclass
class _Model:
    unit: str = "millimeter"
    objects: dict[str, _Object] = field(default_factory=dict)
    placed: list[tuple[str, Array]] = field(default_factory=list)


def read_threemf(path: Path) -> FromFile:
    """Return the file's triangles as they are placed, and its unit. Raises InputProblem, or whatever a broken archive
    raises."""
    with zipfile.ZipFile(path) as archive:
        entry = next((one for one in archive.infolist() if one.filename.lower().lstrip("/") == MODEL_PART), None)
        if entry is None:
            raise refuse(str(path), "an archive without 3D/3dmodel.model", "is no 3MF file", REMEDY)
        if entry.file_size > LARGEST_MODEL:
            size, most = (f"{count // 1_000_000} MB" for count in (entry.file_size, LARGEST_MODEL))
            raise refuse(str(path), f"{size} unpacked", f"a model may have {most}", "thin it out in the scanner's program")
        with archive.open(entry) as stream:
            model = _model(stream)
    meshes = [piece for name, place in model.placed for piece in _pieces(model, name, place, DEEPEST)]
    if not meshes:
        raise refuse(str(path), "no triangles", "a scan is a mesh", REMEDY)
    return FromFile(*joined(meshes), model.unit)


def _model(stream: IO[bytes]) -> _Model:
    """Read the model part in one pass, letting go of every element once it is read."""
    from defusedxml.ElementTree import iterparse

    reading = _Reading()
    parents: list[Any] = []
    for count, (event, element) in enumerate(iterparse(stream, events=("start", "end"), forbid_dtd=True)):
        name = element.tag.rpartition("}")[2]
        if event == "start":
            parents.append(element)
            reading.begins(name, element)
            continue
        parents.pop()
        reading.ends(name, element)
        if name not in _NUMEROUS:
            element.clear()
        elif parents and count % LET_GO == 0:
            parents[-1].clear()
    if len(reading.model.placed) > MOST_OBJECTS:
        raise ValueError(f"{len(reading.model.placed)} objects are placed; a scan is at most {MOST_OBJECTS} pieces")
    return reading.model


_NUMEROUS = ("vertex", "triangle")
LET_GO = 4096
"""Elements after which the list of points or triangles read so far is let go of; one by one, each would take its length."""


class _Reading:
    """A model as it is read. Points and triangles are kept as plain numbers, which is a tenth of what tuples take."""

    def __init__(self) -> None:
        self.model = _Model()
        self.current = _Object()
        self.numbers, self.corners = array("d"), array("q")

    def begins(self, name: str, element: Any) -> None:
        if name == "model":
            self.model.unit = element.get("unit", "millimeter")
        elif name == "object":
            self.current = _Object()
            self.model.objects[element.get("id", "")] = self.current

    def ends(self, name: str, element: Any) -> None:
        if name == "vertex":
            self.numbers.extend(float(element.get(axis)) for axis in "xyz")
        elif name == "triangle":
            self.corners.extend(int(element.get(corner)) for corner in ("v1", "v2", "v3"))
        elif name == "mesh":
            self.current.vertices.append(np.array(self.numbers, dtype=float).reshape(-1, 3))
            self.current.faces.append(np.array(self.corners, dtype=np.int64).reshape(-1, 3))
            self.numbers, self.corners = array("d"), array("q")
        elif name in ("component", "item"):
            placed = self.current.parts if name == "component" else self.model.placed
            placed.append((element.get("objectid", ""), _placing(element.get("transform"))))


def _placing(text: str | None) -> Array:
    """Return a 3MF transform, twelve numbers row by row, as a matrix (4, 3) that points are multiplied by from the left."""
    if text is None:
        return np.vstack((np.eye(3), np.zeros(3)))
    return np.array([float(one) for one in text.split()]).reshape(4, 3)


def _pieces(model: _Model, name: str, place: Array, depth: int) -> Iterator[tuple[Array, npt.NDArray[np.int64]]]:
    found = model.objects.get(name)
    if found is None:
        raise ValueError(f"object {name} is placed but not there")
    if depth == 0:
        raise ValueError(f"object {name} is made of objects too deep, or of itself")
    if len(found.parts) > MOST_OBJECTS:
        raise ValueError(f"object {name} is made of {len(found.parts)} objects")
    for vertices, faces in zip(found.vertices, found.faces, strict=True):
        if len(faces):
            yield vertices @ place[:3] + place[3], faces
    for inner, moved in found.parts:
        together = np.vstack((moved[:3] @ place[:3], moved[3] @ place[:3] + place[3]))
        yield from _pieces(model, inner, together, depth - 1)
