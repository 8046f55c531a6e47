"""Reading the triangles of a 3MF file (core specification 1.4.0), within bounds: no DTD, no entity, no link out of the
file."""

from __future__ import annotations

import zipfile
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import IO

import numpy as np
import numpy.typing as npt

from planestock.models.scan.from_file import FromFile, joined
from planestock.models.scan.motion import Array
from planestock.params.problems import refuse

LARGEST_MODEL = 160_000_000
"""Bytes of the unpacked model part: some two million triangles. A small archive can hold any size."""

MOST_ELEMENTS = 6_000_000
"""Elements of the model part; two million triangles have one million points."""

DEEPEST_ELEMENT = 100
"""Elements within elements of the model part; the specification has seven, extensions some more."""

MOST_TRIANGLES = 4_000_000
"""Triangles of a build, counted as often as they are placed, before any is."""

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
    _require_few(model)
    meshes = [piece for name, place in model.placed for piece in _pieces(model, name, place)]
    if not meshes:
        raise refuse(str(path), "no triangles", "a scan is a mesh", REMEDY)
    return FromFile(*joined(meshes), model.unit)


def _model(stream: IO[bytes]) -> _Model:
    """Read the model part in one pass; no element is kept. Raises ValueError for a document type, or too much."""
    from xml.parsers import expat

    reading = _Reading()
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = reading.begins
    parser.EndElementHandler = reading.ends
    parser.StartDoctypeDeclHandler = _refuse_document_type  # Entities are only ever defined in one.
    while piece := stream.read(PIECE):
        parser.Parse(piece, False)
    parser.Parse(b"", True)
    return reading.model


PIECE = 1 << 20
"""Bytes that are unpacked at once."""


def _refuse_document_type(*_: object) -> None:
    raise ValueError("it has a document type, which 3MF forbids")


class _Reading:
    """A model as it is read. Points and triangles are kept as plain numbers, which is a tenth of what tuples take."""

    def __init__(self) -> None:
        self.model = _Model()
        self.current = _Object()
        self.numbers, self.corners = array("d"), array("q")
        self.elements = self.depth = 0

    def begins(self, tag: str, attributes: dict[str, str]) -> None:
        """Take an element's attributes."""
        self.elements, self.depth = self.elements + 1, self.depth + 1
        if self.depth > DEEPEST_ELEMENT:
            raise ValueError(f"its elements lie more than {DEEPEST_ELEMENT} deep")
        if self.elements > MOST_ELEMENTS:
            raise ValueError(f"it has more than {MOST_ELEMENTS // 1_000_000} million elements")
        name = tag.rpartition(":")[2]
        if name == "vertex":
            self.numbers.extend((float(attributes["x"]), float(attributes["y"]), float(attributes["z"])))
        elif name == "triangle":
            self.corners.extend((int(attributes["v1"]), int(attributes["v2"]), int(attributes["v3"])))
        elif name == "model":
            self.model.unit = attributes.get("unit", "millimeter")
        elif name == "object":
            self.current = _Object()
            self.model.objects[attributes.get("id", "")] = self.current
        elif name in ("component", "item"):
            placed = self.current.parts if name == "component" else self.model.placed
            if len(placed) == MOST_OBJECTS:
                raise ValueError(f"more than {MOST_OBJECTS} objects are placed; a scan is a few pieces")
            placed.append((attributes.get("objectid", ""), _placing(attributes.get("transform"))))

    def ends(self, tag: str) -> None:
        """Keep the mesh that ends here."""
        self.depth -= 1
        if tag.rpartition(":")[2] == "mesh":
            self.current.vertices.append(np.array(self.numbers, dtype=float).reshape(-1, 3))
            self.current.faces.append(np.array(self.corners, dtype=np.int64).reshape(-1, 3))
            self.numbers, self.corners = array("d"), array("q")


def _placing(text: str | None) -> Array:
    """Return a 3MF transform, twelve numbers row by row, as a matrix (4, 3) that points are multiplied by from the left."""
    if text is None:
        return np.vstack((np.eye(3), np.zeros(3)))
    return np.array([float(one) for one in text.split()]).reshape(4, 3)


def _require_few(model: _Model) -> None:
    """Raise ValueError where objects, placed in objects that are placed in turn, come to too many pieces or triangles."""

    @cache
    def amount(name: str, depth: int) -> tuple[int, int]:
        found = model.objects.get(name)
        if found is None:
            raise ValueError(f"object {name[:40]} is placed but not there")
        if depth == 0:
            raise ValueError(f"object {name[:40]} is made of objects too deep, or of itself")
        inner = [amount(part, depth - 1) for part, _ in found.parts]
        return (
            1 + sum(pieces for pieces, _ in inner),
            sum(len(faces) for faces in found.faces) + sum(triangles for _, triangles in inner),
        )

    placed = [amount(name, DEEPEST) for name, _ in model.placed]
    pieces, triangles = (sum(counts) for counts in zip(*placed, strict=True)) if placed else (0, 0)
    if pieces > MOST_OBJECTS:
        raise ValueError(f"{pieces} objects are placed; a scan is at most {MOST_OBJECTS} pieces")
    if triangles > MOST_TRIANGLES:
        raise ValueError(f"{triangles} triangles are placed; a scan is at most {MOST_TRIANGLES // 1_000_000} million")


def _pieces(model: _Model, name: str, place: Array) -> Iterator[tuple[Array, npt.NDArray[np.int64]]]:
    found = model.objects[name]
    for vertices, faces in zip(found.vertices, found.faces, strict=True):
        if len(faces):
            yield vertices @ place[:3] + place[3], faces
    for inner, moved in found.parts:
        together = np.vstack((moved[:3] @ place[:3], moved[3] @ place[:3] + place[3]))
        yield from _pieces(model, inner, together)
