"""Meshes written as text, read in pieces and within bounds: STL, OBJ and PLY. Only points and triangles are kept."""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import IO

import numpy as np

from planestock.models.scan.from_file import FromFile
from planestock.params.problems import refuse

MOST_POINTS = MOST_TRIANGLES = 4_000_000
"""Points and triangles of a scan that is written as text: twice what one is used with."""

MOST_LINES = 12_000_000
"""Lines of such a scan, those that are passed over too: textures and normals take as many again as the points."""

LONGEST_LINE = 10_000
"""Characters of a line."""

PIECE = 1 << 20
"""Bytes that are read at once."""

LONGEST_HEADER = 100_000
"""Bytes of a PLY's header; some hundred lines at most."""


def lines_of(stream: IO[bytes]) -> Iterator[bytes]:
    """Yield lines one by one. Raises ValueError for too many, or too long ones."""
    for count, line in enumerate(iter(lambda: stream.readline(LONGEST_LINE), b"")):
        if count >= MOST_LINES:
            raise ValueError(f"it has more than {MOST_LINES // 1_000_000} million lines")
        if len(line) == LONGEST_LINE:
            raise ValueError(f"line {count + 1} is longer than {LONGEST_LINE} characters")
        yield line


class _Mesh:
    """Points and triangles as they are read, as plain numbers."""

    def __init__(self) -> None:
        self.numbers, self.corners = array("d"), array("q")

    def point(self, place: Sequence[bytes]) -> None:
        """Take a point's first three numbers."""
        if len(place) != 3:
            raise ValueError("it has a point without three numbers")
        x, y, z = place
        self.numbers.extend((float(x), float(y), float(z)))
        if len(self.numbers) > 3 * MOST_POINTS:
            raise ValueError(f"it has more than {MOST_POINTS // 1_000_000} million points")

    def face(self, corners: Sequence[int]) -> None:
        """Take a face; one of more than three corners as a fan of triangles."""
        for second, third in pairwise(corners[1:]):
            self.corners.extend((corners[0], second, third))
        if len(self.corners) > 3 * MOST_TRIANGLES:
            raise ValueError(f"it has more than {MOST_TRIANGLES // 1_000_000} million triangles")

    def made(self) -> FromFile:
        """Return what was read."""
        vertices = np.frombuffer(self.numbers, dtype=np.float64).reshape(-1, 3)
        return FromFile(vertices, np.frombuffer(self.corners, dtype=np.int64).reshape(-1, 3), None)


def read_obj(stream: IO[bytes]) -> FromFile:
    """Return an OBJ's points and faces; its groups, materials, textures and normals are passed over.

    A corner is numbered from 1, or from the last point backwards where it is negative. Raises ValueError.
    """
    mesh = _Mesh()
    for line in lines_of(stream):
        words = line.split()
        if not words:
            continue
        if words[0] == b"v":
            mesh.point(words[1:4])
        elif words[0] == b"f":
            there = len(mesh.numbers) // 3
            corners = [int(word.partition(b"/")[0]) for word in words[1:]]
            mesh.face([corner - 1 if corner > 0 else there + corner if corner else -1 for corner in corners])
    return mesh.made()


_FACET = re.compile(
    rb"facet\s+normal(?:\s+[^\s]{1,40}){3}\s+outer\s+loop((?:\s+vertex(?:\s+[^\s]{1,40}){3}){3})\s+endloop\s+endfacet",
    re.IGNORECASE,
)


def read_stl(stream: IO[bytes], called: str) -> FromFile:
    """Return the triangles of all the solids of an STL of text. Raises InputProblem, or ValueError."""
    mesh = _Mesh()
    rest = b""
    while piece := stream.read(PIECE):
        piece = rest + piece
        end = 0
        for facet in _FACET.finditer(piece):
            _require_whole(piece[end : facet.start()])
            words = facet[1].split()
            for begin in (1, 5, 9):
                mesh.point(words[begin : begin + 3])
            end = facet.end()
        rest = piece[end:]
        if len(rest) > PIECE:
            raise refuse(called, "text without triangles", "is no STL", "export the scan again, as binary STL")
    _require_whole(rest)
    corners = np.arange(len(mesh.numbers) // 3, dtype=np.int64).reshape(-1, 3)
    return FromFile(np.frombuffer(mesh.numbers, dtype=np.float64).reshape(-1, 3), corners, None)


def _require_whole(between: bytes) -> None:
    """Raise ValueError where a triangle stands between those that were read."""
    if b"facet" in between.lower():
        raise ValueError("it has a triangle that is cut off or has no nine numbers")


def require_ply_header(stream: IO[bytes]) -> list[bytes]:
    """Return the lines of a PLY's header, the stream after it. Raises ValueError where there is none, or it is endless."""
    lines: list[bytes] = []
    for line in lines_of(stream):
        lines.append(line.strip())
        if lines[-1] == b"end_header":
            return lines
        if stream.tell() > LONGEST_HEADER:
            break
    raise ValueError("its header does not end")


def read_ply(stream: IO[bytes]) -> FromFile:
    """Return points and faces of a PLY of text; its other elements and properties are passed over. Raises ValueError."""
    elements = _elements(require_ply_header(stream))
    mesh = _Mesh()
    lines = lines_of(stream)
    for name, count, properties in elements:
        places = [properties.index(axis) for axis in (b"x", b"y", b"z")] if name == b"vertex" else []
        if name == b"face" and (not properties or properties[0] not in LISTS_OF_CORNERS):
            raise ValueError("its faces do not begin with their corners")
        for _ in range(count):
            words = next(lines, b"").split()
            if not words:
                raise ValueError(f"it ends before the last {name.decode('ascii', 'replace')[:20]}")
            if places:
                mesh.point([words[place] for place in places if place < len(words)])
            elif name == b"face":
                mesh.face([int(word) for word in words[1 : 1 + int(words[0])]])
    return mesh.made()


LISTS_OF_CORNERS = (b"vertex_indices", b"vertex_index")
"""Names of the list that tells a face's corners."""


def _elements(header: list[bytes]) -> list[tuple[bytes, int, list[bytes]]]:
    """Return each element of a PLY's header: its name, how many there are, the names of its properties."""
    found: list[tuple[bytes, int, list[bytes]]] = []
    for words in (line.split() for line in header):
        if words[:1] == [b"element"]:
            found.append((words[1], int(words[2]), []))
        elif words[:1] == [b"property"]:
            found[-1][2].append(words[-1])
    return found
