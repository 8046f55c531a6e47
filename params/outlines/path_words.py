"""A traced shape in a few words, where its path data would fill the page."""

from __future__ import annotations

import hashlib
from functools import lru_cache

from planestock.params.outlines.path_text import read
from planestock.params.outlines.pieces import bounds
from planestock.params.problems import InputProblem

SHAPES = ("casting.outline", "casting.profile")
"""Paths of a set that hold path data."""


@lru_cache(maxsize=256)
def in_words(text: str) -> str:
    """Return what path data is: its pieces, its size, and a mark that tells it from another of the same size."""
    mark = hashlib.sha256(text.encode()).hexdigest()[:6]
    try:
        pieces = read(text, SHAPES[0])
    except InputProblem:
        return f"{len(text)} characters that are no path ({mark})"
    box = bounds(pieces)
    return f"{len(pieces)} pieces, {box.long:.1f} × {box.tall:.1f} mm ({mark})"
