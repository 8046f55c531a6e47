"""Lines and arcs as SVG path data (W3C, Scalable Vector Graphics 2, chapter Paths), the text that a parameter set carries.

In a set the numbers are millimetres in the casting's own coordinates, x from the corner D towards the heel, the second
across (outline) or up (profile); an arc's sweep flag is 1 where it turns from the first axis to the second. Written are
only M, L, A and Z; read are M, L, H, V, A and Z, absolute or relative, one path, arcs of circles. Other curves are read
from files.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

from planestock.params.lengths import DECIMALS as SHOWN_DECIMALS
from planestock.params.lengths import Lengths
from planestock.params.outlines.pieces import Arc, Line, Outline, Piece, Point, bounds
from planestock.params.problems import InputProblem, refuse

DECIMALS = 5
"""Decimals of a written number: a hundredth of a micrometre, so that tangents stay tangent to a few seconds of arc."""

LONGEST_TEXT = 60_000
"""Characters of path data in a set: room for `MOST_PIECES` arcs."""

MOST_PIECES = 400
"""Lines and arcs of one outline. A casting has some ten to forty; more means that noise was taken for shape."""

WIDEST_ARC = 2 * math.pi / 3
"""Arcs that turn more are written as two: the centre of one near half a turn hangs on the last decimal of its ends."""

FARTHEST = 10_000.0
"""Largest coordinate, mm; ten metres are no plane."""

LARGEST_RADIUS = 1e8
"""An arc of a larger radius, mm, rises less than a ten-thousandth over a casting's length, and is read as straight."""

_TOKEN = re.compile(r"\s*,?\s*(?:(?P<command>[A-Za-z])|(?P<number>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?))")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7, "Z": 0}


def written(outline: Sequence[Piece], *, closed: bool) -> str:
    """Return pieces as path data. closed: the last one ends where the first begins."""
    parts = [f"M {_place(outline[0].start)}"]
    for piece in outline:
        if isinstance(piece, Line):
            parts.append(f"L {_place(piece.end)}")
            continue
        radius = _number(piece.radius)
        count = math.ceil(abs(piece.sweep) / WIDEST_ARC - 1e-9)
        ends = [*(piece.at(index / count) for index in range(1, count)), piece.end]
        parts += [f"A {radius} {radius} 0 0 {int(not piece.clockwise)} {_place(end)}" for end in ends]
    return " ".join([*parts, "Z"] if closed else parts)


def _place(point: Point) -> str:
    return f"{_number(point[0])} {_number(point[1])}"


def _number(value: float) -> str:
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def read(text: str, path: str) -> Outline:
    """Return the pieces of path data. path: what to call it in a message.

    A closed path that does not end where it began gets a straight piece there. Raises InputProblem for anything that is not
    one path of lines and arcs of circles, or has a number beyond `FARTHEST`, or too many pieces.
    """
    if len(text) > LONGEST_TEXT:
        raise refuse(path, f"{len(text)} characters", f"path data in a set has at most {LONGEST_TEXT}",
                     "give it as a file, or raise casting.tracing.tolerance")  # fmt: skip
    reader = _Reader(path)
    for command, numbers in _commands(text, path):
        reader.take(command, numbers)
    if not reader.pieces:
        raise refuse(path, text, "holds no line or arc", _HOW)
    if len(reader.pieces) > MOST_PIECES:
        raise refuse(path, f"{len(reader.pieces)} pieces", f"an outline has at most {MOST_PIECES}",
                     "give it as a file, which is simplified")  # fmt: skip
    return tuple(reader.pieces)


_HOW = "it is path data as in SVG, such as M -90 -30 L 90 -30 A 30 30 0 0 1 90 30 L -90 30 Z"


def _commands(text: str, path: str) -> Iterator[tuple[str, list[float]]]:
    """Yield the commands with their numbers; numbers that go on after a command's own repeat it, after M as L."""
    command, numbers, fresh = "", list[float](), False
    for token, value in _tokens(text, path):
        if token:
            if numbers or fresh:
                raise refuse(path, command, "lacks numbers", _HOW)
            command, fresh = token, token not in "Zz"
            if not fresh:
                yield command, []
            continue
        if not command or command in "Zz":
            raise refuse(path, f"{value:g}", "stands after no command", _HOW)
        numbers.append(value)
        if len(numbers) == _TAKES[command.upper()]:
            yield command, numbers
            command, numbers, fresh = {"M": "L", "m": "l"}.get(command, command), [], False
    if numbers or fresh:
        raise refuse(path, command, "lacks numbers at its end", _HOW)


def _tokens(text: str, path: str) -> Iterator[tuple[str, float]]:
    """Yield commands (with 0) and numbers (with no command)."""
    place = 0
    stripped = text.rstrip()
    while place < len(stripped):
        match = _TOKEN.match(stripped, place)
        if match is None:
            raise refuse(path, stripped[place : place + 20], "is neither a command nor a number", _HOW)
        place = match.end()
        if match["command"]:
            if match["command"].upper() not in _TAKES:
                raise refuse(path, match["command"], "is no command that a set can carry (M, L, H, V, A, Z)",
                             "give curves as a file, which is turned into lines and arcs")  # fmt: skip
            yield match["command"], 0.0
        else:
            yield "", float(match["number"])


class _Reader:
    """Where the pen is, and what it has drawn."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.pieces: list[Piece] = []
        self.here: Point = (0.0, 0.0)
        self.begun: Point | None = None
        self.closed = False

    def take(self, command: str, numbers: list[float]) -> None:
        """Draw one command."""
        if self.closed:
            raise refuse(self.path, command, "stands after the path was closed", "an outline is one closed path")
        if command in "Zz":
            self.closed = True
            self.line(self._start())
            return
        x, y = self.here if command.islower() else (0.0, 0.0)
        kind = command.upper()
        if kind == "M":
            self.move((x + numbers[0], y + numbers[1]))
        elif kind == "A":
            self.arc(numbers[:5], self._checked((x + numbers[5], y + numbers[6])))
        else:
            across = numbers[0] + x if kind in "LH" else self.here[0]
            up = numbers[-1] + y if kind in "LV" else self.here[1]
            self._start()
            self.line(self._checked((across, up)))

    def _start(self) -> Point:
        if self.begun is None:
            raise refuse(self.path, "no M", "a path begins with M and a point", _HOW)
        return self.begun

    def move(self, to: Point) -> None:
        """Begin the path."""
        if self.begun is not None:
            raise refuse(self.path, "a second M", "an outline is one path without a break", "leave holes out")
        self.here = self.begun = self._checked(to)

    def line(self, to: Point) -> None:
        """Draw a straight piece, unless there is nothing between."""
        if to != self.here:
            self.pieces.append(Line(self.here, to))
            self.here = to

    def arc(self, shape: list[float], to: Point) -> None:
        """Draw an arc of a circle by SVG's five numbers (SVG 2, section 9.5.1, out-of-range radii grown)."""
        first, second, _, large, sweep = shape
        self._start()
        start = self.here
        if abs(first - second) > 1e-9 * max(abs(first), abs(second)) or large not in (0, 1) or sweep not in (0, 1):
            raise refuse(self.path, f"A {first:g} {second:g}", "is no arc of a circle", _HOW)
        if first <= 0 or to == start:
            self.line(to)
            return
        if first > LARGEST_RADIUS:
            self.line(to)
            return
        half = math.dist(start, to) / 2
        rise = math.sqrt(max(0.0, max(first, half) ** 2 - half**2))
        side = rise if (sweep == 1) != (large == 1) else -rise
        (sx, sy), (ex, ey) = start, to
        centre = ((sx + ex) / 2 - (ey - sy) * side / (2 * half), (sy + ey) / 2 + (ex - sx) * side / (2 * half))
        self.pieces.append(Arc(start, to, centre, clockwise=sweep == 0))
        self.here = to

    def _checked(self, point: Point) -> Point:
        if not all(abs(value) <= FARTHEST for value in point):
            raise refuse(self.path, f"{point[0]:g} {point[1]:g}", f"lies more than {FARTHEST:g} mm away",
                         "coordinates are millimetres from the corner D")  # fmt: skip
        return point


def is_closed(outline: Sequence[Piece]) -> bool:
    """Tell whether the last piece ends where the first begins."""
    return outline[0].start == outline[-1].end


SHAPES = ("casting.outline", "casting.profile")
"""Paths of a set that hold path data."""


@lru_cache(maxsize=256)
def in_words(text: str, length: Lengths) -> str:
    """Return what path data is: its pieces, its size, and a mark that tells it from another of the same size."""
    mark = hashlib.sha256(text.encode()).hexdigest()[:6]
    try:
        pieces = read(text, SHAPES[0])
    except InputProblem:
        return f"{len(text)} characters that are no path ({mark})"
    box = bounds(pieces)
    wide, high = (length.number(side, SHOWN_DECIMALS[length.units] - 1) for side in (box.width, box.height))
    return f"{len(pieces)} pieces, {wide} × {high} {length.units} ({mark})"
