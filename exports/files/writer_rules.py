"""Rules that every file writer shares: text on one line, meshes that can be written, one kind of failure."""

from __future__ import annotations

import unicodedata

import numpy as np

from planestock.models.solids.parts import Mesh

FEWEST_TRIANGLES = 4
"""A tetrahedron: fewer triangles close no volume (3MF core specification 1.4.0, 4.1.4)."""


class WriterFailed(RuntimeError):
    """A design could not be turned into a file; the message names the part, the fault and what to do."""


def one_line(text: str) -> str:
    """Return any text as one line that every format can hold.

    Control characters, lone surrogates and the non-characters U+xxFFFE and U+xxFFFF, which XML 1.0 and JSON
    readers refuse, are dropped; what white space then remains becomes single spaces between words.
    """
    return " ".join("".join(letter for letter in text if letter.isspace() or _holdable(letter)).split())


def _holdable(letter: str) -> bool:
    return unicodedata.category(letter) not in {"Cc", "Cs"} and ord(letter) & 0xFFFE != 0xFFFE


def require_sound(name: str, mesh: Mesh) -> None:
    """Raise `WriterFailed` unless the mesh is closed, evenly turned, finite, and its indices are in range.

    A reader meets a bad index as a crash, and a slicer meets an open edge as a missing wall, so no writer
    lets one out. Every edge has to be used once in each direction (3MF core specification 1.4.0, 4.1).
    """
    fault = _fault(mesh)
    if fault:
        counts = f"{len(mesh.vertices)} vertices, {len(mesh.faces)} triangles"
        raise WriterFailed(f"mesh of {name!r} ({counts}): {fault}; check the solid it was made from")


def _fault(mesh: Mesh) -> str | None:
    vertices, faces = mesh.vertices, mesh.faces
    if vertices.ndim != 2 or vertices.shape[1] != 3 or not np.isfinite(vertices).all():
        return "vertices must be rows of three finite numbers"
    if faces.ndim != 2 or faces.shape[1] != 3 or len(faces) < FEWEST_TRIANGLES:
        return f"needs at least {FEWEST_TRIANGLES} triangles, as rows of three indices"
    if faces.min() < 0 or faces.max() >= len(vertices):
        return f"an index is outside 0 to {len(vertices) - 1}"
    return None if _closed(faces, len(vertices)) else "an edge is open, used twice one way, or joins a point to itself"


def _closed(faces: np.ndarray, count: int) -> bool:
    """Whether every directed edge occurs once and its opposite once."""
    start = faces.astype(np.int64).ravel()
    end = np.roll(faces.astype(np.int64), -1, axis=1).ravel()
    forth, back = np.sort(start * count + end), np.sort(end * count + start)
    once = bool((np.diff(forth) > 0).all())
    return once and bool((start != end).all()) and np.array_equal(forth, back)
