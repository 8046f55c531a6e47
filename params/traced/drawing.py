"""A drawing as it was read: chains of strokes in the file's own units, its marks, and what one unit is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from planestock.params.outlines.pieces import Point
from planestock.params.problems import refuse
from planestock.params.traced.strokes import MOST_POINTS, Chain, count_points, is_near, is_something

LARGEST_DRAWING = 8_000_000
"""Bytes of a drawing; one outline takes some hundred thousand at most. Larger files are refused unread."""

CORNER_MARK, MIDDLE_MARK = "corner", "middle"
"""Names of the two marks, as layer of a DXF POINT or as id or label of an SVG circle: D, and a point on the middle line."""

FINENESS = 0.05
"""Splines and ellipses are turned into points that stray at most this share of the tolerance."""

FARTHEST = 1e9
"""Largest coordinate in a drawing's own units: a kilometre in micrometres. Larger ones overflow where they are squared."""

MOST_OF_A_CURVE = 4096
"""Points that one spline, ellipse or curve is turned into at most."""


@dataclass(frozen=True)
class Drawing:
    """What a file holds. scale: mm of one unit of the file, None where it does not say; unit: its name, for people.

    up: 1 where the second coordinate points up, -1 where it points down the page; marks: by name, in the file's units.
    """

    chains: tuple[Chain, ...]
    marks: dict[str, Point] = field(default_factory=dict)
    scale: float | None = None
    unit: str = "no unit"
    up: int = 1


def bytes_of(path: Path, called: str) -> bytes:
    """Return a drawing's bytes. called: what to call it in a message. Raises InputProblem where it cannot be read."""
    try:
        if not path.is_file():
            raise refuse(called, str(path), "is no file" if path.exists() else "there is no such file",
                         "check the name; it is looked for beside the set")  # fmt: skip
        with path.open("rb") as stream:
            data = stream.read(LARGEST_DRAWING + 1)
    except (OSError, ValueError) as error:
        if error.__class__.__name__ == "InputProblem":
            raise
        reason = getattr(error, "strerror", None) or str(error)
        raise refuse(called, str(path), f"cannot be read: {reason}", "check the name and its permissions") from None
    if len(data) > LARGEST_DRAWING:
        raise refuse(called, str(path), f"is larger than {LARGEST_DRAWING // 1_000_000} MB, and is not read",
                     "leave only the outline in the drawing, and simplify it")  # fmt: skip
    if not data.strip():
        raise refuse(called, str(path), "is empty", "save the drawing again")
    return data


def kept(chains: Sequence[Chain], called: str) -> tuple[Chain, ...]:
    """Return the chains without strokes of no length. Raises InputProblem for numbers beyond `FARTHEST`, or for too many."""
    if not all(is_near(stroke, FARTHEST) for chain in chains for stroke in chain):
        raise refuse(
            called,
            "a coordinate",
            f"is not a finite number, or is beyond {FARTHEST:g}",
            "save the drawing again from the program that made it",
        )
    found = tuple(chain for chain in ([one for one in chain if is_something(one)] for chain in chains) if chain)
    if count_points(found) > MOST_POINTS:
        raise too_many(called)
    if not found:
        raise refuse(called, "the drawing", "holds no line, arc or curve with any length",
                     "save it with the outline as plain lines and curves, not as text, blocks or pictures")  # fmt: skip
    return found


def marked(place: Point, called: str) -> Point:
    """Return the place of a mark. Raises InputProblem where it is beyond `FARTHEST`, or no number."""
    if not all(abs(value) <= FARTHEST for value in place):
        raise refuse(called, "a mark", "is nowhere in the drawing", f"give {CORNER_MARK} and {MIDDLE_MARK} a place in it")
    return place


def too_many(called: str) -> Exception:
    """Return the refusal of a drawing with too many points."""
    return refuse(called, "the drawing", f"has more than {MOST_POINTS} points", "leave only the outline, and simplify it")
