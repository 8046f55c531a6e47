"""What `planestock trace` found in a file, and the files to write."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from planestock.exports.files.file_names import file_name
from planestock.exports.traced import typed
from planestock.params.outlines.pieces import Point
from planestock.params.problems import refuse
from planestock.params.traced.cleaning import Cleaned, How, Kind, clean_file

if TYPE_CHECKING:
    from planestock.params.traced.exactness import Exactness
    from planestock.params.traced.perspective import Scale

DRAWING_TOLERANCE = 0.01
"""Tolerance for drawings where none is asked for, mm; as in a parameter set."""


@dataclass(frozen=True)
class Wanted:
    """What was typed, as it was typed; None where an option was left out."""

    profile: bool = False
    corner: str | None = None
    middle: str | None = None
    scale: str | None = None
    rectangle: str | None = None
    sides: str | None = None
    level: float | None = None
    light: bool = False
    unit: Literal["file", "mm", "in"] = "file"
    gap: str = "0.1 mm"
    tolerance: str | None = None
    thickness: str | None = None

    @property
    def kind(self) -> Kind:
        """What is looked for."""
        return "profile" if self.profile else "outline"


@dataclass(frozen=True)
class Found:
    """What was found in a file. tolerance, pixel: mm; pixel, exactness, level (shade of the edge): of a picture only."""

    source: str
    cleaned: Cleaned
    tolerance: float
    files: Mapping[str, bytes]
    pixel: float | None = None
    exactness: Exactness | None = None
    level: float | None = None
    holes: int = 0
    placed: bool = True


def of_drawing(path: Path, asked: Wanted) -> Found:
    """Return what is found in a DXF or SVG. Raises InputProblem."""
    picture_only = {
        "--scale": asked.scale,
        "--rectangle": asked.rectangle,
        "--sides": asked.sides,
        "--level": asked.level,
        "--light": asked.light or None,
        "--thickness": asked.thickness,
    }
    for option, value in picture_only.items():
        if value is not None:
            raise refuse(
                option,
                value,
                "is for pictures, and this file is taken for a drawing",
                "leave it out, or give the picture an ending of PNG, JPEG or TIFF",
            )
    tolerance = _tolerance(asked, DRAWING_TOLERANCE)
    places = _marks(asked)
    how = How(
        asked.unit,
        _between("--gap", asked.gap, 0.0, 2.0),
        tolerance,
        places is not None,
        None if places is None else (*places[0], *places[1]),
    )
    cleaned = clean_file(path, asked.kind, how, "FILE")
    return Found(path.name, cleaned, tolerance, _drawings(path, cleaned))


def of_picture(path: Path, asked: Wanted) -> Found:
    """Return what is found in a picture, an overlay among the files. Raises InputProblem."""
    from planestock.exports.traced.overlay import overlay
    from planestock.params.traced.from_photograph import Asked, from_picture
    from planestock.params.traced.photographs import opened

    scale, known = _scale(asked)
    if asked.unit != "file":
        raise refuse("--unit", asked.unit, "is for drawings; a picture has no unit", "give its --scale or --rectangle")
    marks = _marks(asked)
    corner, middle = marks or (None, None)
    tolerance = None if asked.tolerance is None else _tolerance(asked, DRAWING_TOLERANCE)
    picture = opened(path, "FILE")
    _require_inside(picture.size, asked, known, marks)
    within, sides = _sheet(asked, known)
    thickness = _thickness(asked)
    done = from_picture(
        picture,
        Asked(asked.kind, scale, corner, middle, asked.light, asked.level, within, sides, tolerance, thickness),
        f"FILE ({path.name})",
    )
    named = [("corner D", corner), ("middle", middle)] if corner and middle else []
    shown = overlay(picture, done.outline, done.sheet or known, named)
    files = {**_drawings(path, done.cleaned), f"{_stem(path)}-{asked.kind}.png": shown}
    return Found(
        path.name,
        done.cleaned,
        done.tolerance,
        files,
        done.pixel,
        done.exactness,
        done.region.level,
        done.region.holes,
        marks is not None,
    )


def _sheet(
    asked: Wanted, known: Sequence[Point]
) -> tuple[tuple[Point, Point, Point, Point] | None, tuple[float, float] | None]:
    """Return the corners of the sheet under the casting and its sides, None where none was named."""
    if len(known) != 4 or asked.sides is None:
        return None, None
    return (known[0], known[1], known[2], known[3]), typed.sides("--sides", asked.sides)


def _thickness(asked: Wanted) -> float | None:
    """Return how high the rim stands on the sheet."""
    if asked.thickness is None:
        return None
    if asked.profile:
        raise refuse("--thickness", asked.thickness, "is for an outline, seen from above", "leave it out with --profile")
    return _between("--thickness", asked.thickness, 0.0, 30.0)


def _require_inside(size: tuple[int, int], asked: Wanted, known: Sequence[Point], marks: tuple[Point, Point] | None) -> None:
    """Refuse a place that is not in the picture: a digit too many, or one read in another picture."""
    named = [("--scale" if asked.scale else "--rectangle", one) for one in known]
    named += zip(("--corner", "--middle"), marks or (), strict=False)
    for option, (x, y) in named:
        if not (0 <= x <= size[0] and 0 <= y <= size[1]):
            rule = f"lies outside the picture, which is {size[0]} pixels wide and {size[1]} high"
            raise refuse(option, f"{x:g},{y:g}", rule, "read the place off again, in pixels from the upper left")


def _scale(asked: Wanted) -> tuple[Scale, tuple[Point, ...]]:
    """Return how pixels become mm, and the points that say it."""
    from planestock.params.traced.perspective import by_distance, by_rectangle

    if (asked.scale is None) == (asked.rectangle is None):
        raise refuse(
            "--scale",
            asked.scale or "nothing",
            "a picture needs either --scale, or --rectangle with --sides",
            '--scale "120,340 2010,352 200 mm" names two points and their true distance',
        )
    if asked.scale is not None:
        if asked.sides is not None:
            raise refuse("--sides", asked.sides, "goes with --rectangle", "leave it out")
        first, second, apart = typed.distance("--scale", asked.scale)
        return by_distance(first, second, apart), (first, second)
    if asked.sides is None:
        raise refuse("--sides", "nothing", "is needed with --rectangle", 'give both sides, for example "210 x 297 mm"')
    a, b, c, d = typed.points("--rectangle", asked.rectangle or "", 4)
    return by_rectangle((a, b, c, d), typed.sides("--sides", asked.sides)), (a, b, c, d)


def _marks(asked: Wanted) -> tuple[Point, Point] | None:
    if (asked.corner is None) != (asked.middle is None):
        missing = "--corner" if asked.corner is None else "--middle"
        raise refuse(missing, "nothing", "is needed beside the other mark", "give both --corner and --middle")
    if asked.corner is None or asked.middle is None:
        return None
    return typed.point("--corner", asked.corner), typed.point("--middle", asked.middle)


def _tolerance(asked: Wanted, usual: float) -> float:
    return usual if asked.tolerance is None else _between("--tolerance", asked.tolerance, 0.001, 2.0)


def _between(option: str, text: str, low: float, high: float) -> float:
    value = typed.length(option, text)
    if not low <= value <= high:
        raise refuse(option, text, f"must be between {low:g} and {high:g} mm", "leave it out for the usual value")
    return value


def _stem(path: Path) -> str:
    return file_name(path.stem)


def _drawings(path: Path, cleaned: Cleaned) -> dict[str, bytes]:
    from planestock.exports.traced.outline_files import dxf, svg

    name = f"{_stem(path)}-{cleaned.kind}"
    return {f"{name}.svg": svg(cleaned, f"{cleaned.kind} traced from {path.name}"), f"{name}.dxf": dxf(cleaned)}
