"""Letters from strokes of one width, as a nozzle draws them; made from numbers here, so that no font is needed.

Sizes for which no source is named are our own choice.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator
from itertools import pairwise

import manifold3d
import numpy as np
from manifold3d import CrossSection, Manifold

TALL, ADVANCE, WIDE = 6.0, 5.8, 4.0
"""Grid that the letters are drawn on: height, step from one letter to the next, width of one."""

LEAST_TALL = 3.5
"""Lowest letters, mm: lower ones run together in a print."""

STROKE_SHARE = 0.17
"""Width of a stroke as a share of the letters' height: 1 mm, two lines of a 0.5 mm nozzle, in letters 6 mm high."""

UNKNOWN = "?"
"""Stands for a letter that is not drawn here."""

ENDED = ".."
"""Ends words that had no room."""

ROUND_SEGMENTS = 8
"""Corners of a stroke's round end."""

_O = "100105163645413010"
STROKES: dict[str, tuple[str, ...]] = {
    "A": ("002640", "1232"), "B": ("00063645443303", "3342413000"), "C": ("4536160501103041",), "D": ("00062644422000",),
    "E": ("46060040", "0333"), "F": ("460600", "0333"), "G": ("45361605011030414323",), "H": ("0006", "4046", "0343"),
    "I": ("1030", "2026", "1636"), "J": ("4641301001",), "K": ("0006", "460340"), "L": ("060040",), "M": ("0006234640",),
    "N": ("00064046",), "O": (_O,), "P": ("00063645443303",), "Q": (_O, "2240"), "R": ("00063645443303", "2340"),
    "S": ("453616050413334241301001",), "T": ("0646", "2620"), "U": ("060110304146",), "V": ("062046",),
    "W": ("0610233046",), "X": ("0046", "0640"), "Y": ("062346", "2320"), "Z": ("06460040",), "0": (_O,),
    "1": ("152620", "1030"), "2": ("05163645440040",), "3": ("064624344341301001",), "4": ("360242", "3630"),
    "5": ("460603334241301001",), "6": ("36160501103041423303",), "7": ("064610",),
    "8": ("130405163645443313", "1302011030414233"), "9": ("10304145361605041343",), "-": ("1333",), ".": ("2020",),
    ",": ("2110",), ":": ("2121", "2424"), "/": ("0046",), "+": ("1333", "2224"), "(": ("36151130",), ")": ("16353110",),
    "'": ("2625",), "_": ("0040",), "=": ("0242", "0444"), "!": ("2622", "2020"), "?": ("05163645442322", "2020"), " ": (),
}  # fmt: skip
"""Strokes of each letter, as pairs of digits: a point's place across (0 to 4) and up (0 to 6)."""


def drawable(text: str) -> str:
    """Return any text as capitals that are drawn here, accents dropped, the rest as `UNKNOWN`; "" where none is drawn."""
    apart = unicodedata.normalize("NFKD", " ".join(text.split())).upper()
    letters = [letter for letter in apart if not unicodedata.combining(letter)]
    known = [letter if letter in STROKES else UNKNOWN for letter in letters]
    return "".join(known).strip() if any(letter in STROKES and letter.isalnum() for letter in letters) else ""


def fitted(text: str, room: float, tallest: float) -> tuple[str, float]:
    """Return drawable words and their height, mm, so that they are no longer than `room`; shortened where they must be."""
    words = drawable(text)
    while len(words) > len(ENDED) and length(words, LEAST_TALL) > room:
        words = words.removesuffix(ENDED)[:-1].rstrip() + ENDED
    return words, max(LEAST_TALL, min(tallest, tallest * room / max(length(words, tallest), 1e-9)))


def length(words: str, tall: float) -> float:
    """Return how long words are at a height, mm, the strokes' width included."""
    return (max(len(words) - 1, 0) * ADVANCE + WIDE + TALL * STROKE_SHARE) * tall / TALL


def lettering(words: str, tall: float, high: float) -> Manifold:
    """Return words as a body from z = 0 to `high`, read along x, their lower left corner at the origin."""
    half = tall * STROKE_SHARE / 2
    capsules = [
        CrossSection.hull_points(np.array([*_ring(start, half), *_ring(end, half)])) for start, end in _lines(words, tall)
    ]
    drawn = CrossSection.batch_boolean(capsules, manifold3d.OpType.Add)
    return drawn.extrude(high).translate((half, half, 0))


def _lines(words: str, tall: float) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    unit = tall / TALL
    for place, letter in enumerate(words):
        for stroke in STROKES[letter]:
            points = [((int(x) + place * ADVANCE) * unit, int(y) * unit)
                      for x, y in zip(stroke[::2], stroke[1::2], strict=True)]  # fmt: skip
            yield from pairwise(points)


def _ring(middle: tuple[float, float], radius: float) -> Iterator[tuple[float, float]]:
    for index in range(ROUND_SEGMENTS):
        turn = math.tau * index / ROUND_SEGMENTS
        yield (middle[0] + radius * math.cos(turn), middle[1] + radius * math.sin(turn))
