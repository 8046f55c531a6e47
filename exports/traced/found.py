"""What `planestock trace` found: files to write, figures, and words for them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from planestock.exports.file_names import file_name
from planestock.exports.traced import typed
from planestock.params.problems import refuse
from planestock.params.traced.cleaning import Cleaned, How, Kind, clean_file
from planestock.params.traced.path_text import written
from planestock.params.traced.pieces import Arc, Bounds, Point, area, bounds, perimeter

if TYPE_CHECKING:
    from planestock.exports.traced.perspective import Scale

Entry = dict[str, Any]

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

    @property
    def kind(self) -> Kind:
        """What is looked for."""
        return "profile" if self.profile else "outline"


@dataclass(frozen=True)
class Found:
    """What was found in a file. tolerance, pixel, limit: mm, the last two of a picture only; level: shade of its edge."""

    source: str
    cleaned: Cleaned
    tolerance: float
    files: Mapping[str, bytes]
    pixel: float | None = None
    limit: float | None = None
    level: float | None = None
    holes: int = 0
    notes: tuple[str, ...] = field(default=())


def of_drawing(path: Path, asked: Wanted) -> Found:
    """Return what is found in a DXF or SVG. Raises InputProblem."""
    picture_only = {
        "--scale": asked.scale,
        "--rectangle": asked.rectangle,
        "--sides": asked.sides,
        "--level": asked.level,
        "--light": asked.light or None,
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
    from planestock.exports.commands.progress import busy
    from planestock.exports.traced.from_picture import Asked, from_picture
    from planestock.exports.traced.overlay import overlay
    from planestock.exports.traced.pictures import opened

    scale, known = _scale(asked)
    if asked.unit != "file":
        raise refuse("--unit", asked.unit, "is for drawings; a picture has no unit", "give its --scale or --rectangle")
    marks = _marks(asked)
    corner, middle = marks or (None, None)
    within = known if len(known) == 4 else None
    tolerance = None if asked.tolerance is None else _tolerance(asked, DRAWING_TOLERANCE)
    picture = opened(path, "FILE")
    _require_inside(picture.size, asked, known, marks)
    with busy("looking for the casting"):
        done = from_picture(
            picture,
            Asked(asked.kind, scale, corner, middle, asked.light, asked.level, within, tolerance),
            f"FILE ({path.name})",
        )
    named = [("corner D", corner), ("middle", middle)] if corner and middle else []
    shown = overlay(picture, done.region.outline, known, named)
    files = {**_drawings(path, done.cleaned), f"{_stem(path)}-{asked.kind}.png": shown}
    return Found(
        path.name,
        done.cleaned,
        done.tolerance,
        files,
        done.pixel,
        done.limit,
        done.region.level,
        done.region.holes,
        done.cleaned.notes,
    )


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
    from planestock.exports.traced.perspective import by_distance, by_rectangle

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
    from planestock.exports.traced.written import dxf, svg

    name = f"{_stem(path)}-{cleaned.kind}"
    return {f"{name}.svg": svg(cleaned, f"{cleaned.kind} traced from {path.name}"), f"{name}.dxf": dxf(cleaned)}


# ---- in figures and words -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Evenness:
    """How far an outline is its own mirror image. off, askew: its own middle line beside the x axis, mm at D and degrees."""

    asymmetry: float
    off: float
    askew: float


def evenness(cleaned: Cleaned) -> Evenness | None:
    """Return how even an outline is, None of a profile. Its own middle line is the best through its middles across."""
    import numpy as np

    from planestock.models.casting_outline import plan_of
    from planestock.params.traced.pieces import crossings, flattened

    if cleaned.kind != "outline":
        return None
    points = flattened(cleaned.outline, 0.01)
    box = bounds(cleaned.outline)
    xs = np.linspace(box.left + 0.1 * box.long, box.right - 0.1 * box.long, 81)
    middles = [(float(x), (found[0] + found[-1]) / 2) for x in xs if (found := crossings(points, float(x)))]
    if len(middles) < 3 or box.low >= 0 or box.high <= 0:
        return None
    rows = np.array(middles)
    slope, off = np.polyfit(rows[:, 0], rows[:, 1], 1)
    asymmetry = plan_of(written(cleaned.outline, closed=True)).asymmetry
    return Evenness(asymmetry, float(off), math.degrees(math.atan(float(slope))))


def doubt(done: Found) -> str | None:
    """Return why an outline cannot be what was meant, None where nothing speaks against it."""
    box, even = bounds(done.cleaned.outline), evenness(done.cleaned)
    if done.cleaned.kind != "outline" or done.limit is None or done.notes:
        return None
    if even is None or not box.left < 0 < box.right:
        return "D lies outside the outline: look at the marks in the picture that was written, and at --corner and --middle"
    if even.asymmetry > UNEVEN * done.limit:
        return (
            f"its two sides differ {even.asymmetry / done.limit:.0f} times as much as the picture can be wrong: look at "
            "--corner and --middle, at the order of --sides (the first is from the first corner to the second), and at "
            "whether the casting lay flat"
        )
    return None


UNEVEN = 3.0
"""Times its ± by which an outline may differ from its mirror image before its places are doubted: castings are cast to be
even, and those that warped did so by less."""


def as_data(done: Found) -> Entry:
    """Return the figures as plain data: mm, degrees, mm²."""
    from planestock.exports.plain_data import plain

    cleaned, box = done.cleaned, bounds(done.cleaned.outline)
    even = evenness(cleaned)
    data = {
        "source": done.source,
        "kind": cleaned.kind,
        "path": written(cleaned.outline, closed=cleaned.kind == "outline"),
        "pieces": len(cleaned.outline),
        "arcs": sum(isinstance(piece, Arc) for piece in cleaned.outline),
        "front": box.left,
        "rear": box.right,
        "length": box.long,
        "low": box.low,
        "high": box.high,
        "across": box.tall,
        "perimeter": perimeter(cleaned.outline),
        "area": area(cleaned.outline) if cleaned.kind == "outline" else None,
        "asymmetry": even.asymmetry if even else None,
        "middle_line_off": even.off if even else None,
        "middle_line_askew": even.askew if even else None,
        "tolerance": done.tolerance,
        "strays": cleaned.strays,
        "largest_gap_closed": cleaned.gap,
        "left_out": cleaned.left_out,
        "unit": cleaned.unit,
        "pixel": done.pixel,
        "limit": done.limit,
        "level": done.level,
        "holes": done.holes if done.pixel is not None else None,
        "notes": list(cleaned.notes),
        "doubt": doubt(done),
    }
    found: Entry = plain(data)
    return found


def as_lines(done: Found, folder: Path) -> Iterator[str]:
    """Yield what is said on the screen."""
    cleaned, box = done.cleaned, bounds(done.cleaned.outline)
    yield from _size_lines(cleaned, box)
    arcs = sum(isinstance(piece, Arc) for piece in cleaned.outline)
    yield (
        f"Made of {len(cleaned.outline)} pieces ({len(cleaned.outline) - arcs} straight, {arcs} arcs) for {cleaned.drawn} "
        f"drawn; they stray {cleaned.strays:.3f} mm at most, {done.tolerance:.3f} mm asked."
    )
    if done.pixel is None:
        yield f"Unit: {cleaned.unit}. Widest gap that was closed: {cleaned.gap:.3f} mm."
    if cleaned.left_out:
        lines = "line was" if cleaned.left_out == 1 else "lines were"
        yield f"{cleaned.left_out} other {lines} in the drawing and left out."
    yield from _picture_lines(done)
    wrong = doubt(done)
    if wrong is not None:
        yield f"DO NOT USE IT YET: {wrong}."
    for note in cleaned.notes:
        yield f"Note: {note}."
    yield f"Wrote {', '.join(str(folder / name) for name in done.files)}"
    name = next(iter(done.files))
    yield f'Use it with: casting.{cleaned.kind}_file = "{name}", the file beside the set.'


def _size_lines(cleaned: Cleaned, box: Bounds) -> Iterator[str]:
    place = f"x {box.left:.2f} to {box.right:.2f} mm from D".replace("-", "−")
    if cleaned.kind == "profile":
        yield f"Underside {box.long:.2f} mm long, {place}; it comes down {-box.low:.2f} mm."
        return
    yield f"Outline {box.long:.2f} mm long and {box.tall:.2f} mm across, {place}."
    even = evenness(cleaned)
    if even is not None:
        yield (
            f"It differs from its mirror image by {even.asymmetry:.2f} mm; its own middle line lies {abs(even.off):.2f} mm "
            f"beside the one given, {abs(even.askew):.2f}° askew."
        )
    else:
        yield "It does not lie on both sides of the middle line: place it by two marks."


def _picture_lines(done: Found) -> Iterator[str]:
    if done.pixel is None or done.limit is None or done.level is None:
        return
    holes = {0: "no hole", 1: "one hole"}.get(done.holes, f"{done.holes} holes")
    yield f"Edge at shade {done.level:.2f} (0 black, 1 white); {holes} inside closed over."
    yield (
        f"One pixel is {done.pixel:.3f} mm. The edge is seen to about a pixel, the fit adds its tolerance, and the scale "
        "hangs on points read to a pixel: "
        f"the outline is true to about ± {done.limit:.2f} mm, lens and height left aside."
    )
    if doubt(done) is None:
        yield f'Write casting.tracing.limit = "{math.ceil(done.limit * 20) / 20:.2f} mm".'
