"""What was found by `planestock trace`, in figures and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planestock.params.outlines.path_text import written
from planestock.params.outlines.pieces import Arc, Bounds, area, bounds, perimeter
from planestock.params.traced.cleaning import Cleaned
from planestock.params.traced.evenness import evenness
from planestock.params.traced.exactness import MOST, Exactness

if TYPE_CHECKING:
    from planestock.exports.traced.traced_files import Found

Entry = dict[str, Any]


def doubt(done: Found) -> str | None:
    """Return why an outline cannot be what was meant, or is too unsure; None where nothing speaks against it."""
    exact = done.exactness
    if exact is None:
        return None
    if exact.sides is not None and exact.sides < ALL_SIDES:
        return (
            f"{_sides_seen(exact.sides)} near the corners that were given: look at --rectangle in the picture that was "
            "written, and lay the sheet flat on a bench of another shade, the whole of it in the picture"
        )
    if exact.misfit > MISFIT:
        return (
            f"the sheet's edges stray {exact.misfit:.1f} mm from straight sides of the stated lengths: look at "
            "the order of --sides (the first is from the first corner to the second), at --rectangle, and at whether the "
            "sheet lay flat"
        )
    if done.cleaned.kind == "outline" and done.placed:
        wrong = _misplaced(done, exact)
        if wrong is not None:
            return wrong
    if exact.limit > MOST:
        return (
            f"the picture tells it only to ± {exact.limit:.1f} mm, more than the {MOST:.0f} mm that casting.tracing.limit "
            f"can be; most of that comes from {_largest_part(exact)}"
        )
    return None


ALL_SIDES = 4
"""Sides of the sheet that must be seen: with fewer, a corner stands where a person read it, and nothing checks that."""


def _sides_seen(count: int) -> str:
    which = {0: "none", 1: "one"}.get(count, str(count))
    return f"{'only ' * (count > 0)}{which} of the sheet's four sides {'are' if count > 1 else 'is'} seen"


def _misplaced(done: Found, exact: Exactness) -> str | None:
    box, even = bounds(done.cleaned.outline), evenness(done.cleaned)
    if even is None or not box.left < 0 < box.right:
        return "D lies outside the outline: look at the marks in the picture that was written, and at --corner and --middle"
    if even.asymmetry > UNEVEN * exact.by_picture:
        return (
            f"its two sides differ {even.asymmetry / exact.by_picture:.0f} times as much as the picture can be wrong: look "
            "at --corner and --middle, at the order of --sides (the first is from the first corner to the second), and at "
            "whether the casting lay flat"
        )
    return None


UNEVEN = 3.0
"""Times its ± by which an outline may differ from its mirror image before its places are doubted: castings are cast to be
even, and those that warped did so by less."""

MISFIT = 0.5
"""How far places on the sheet's edges may stray from straight sides of the stated lengths, mm (root of the mean square):
drawn photographs stay below a tenth of this, and sides given in the wrong order make many times as much."""


def _largest_part(exact: Exactness) -> str:
    """Name what adds most to a limit, and what helps against it."""
    sheet = "the view: show the whole sheet, its four edges plain against the bench, near the middle of the picture"
    parts = {
        sheet if exact.sides is not None else "lens and height: lay a sheet under it (--rectangle, --sides)": exact.view,
        "the edge: take a larger or sharper picture": max(exact.edge, exact.fit),
        "the shadow beside it: take it in even light, as under a cloudy sky": exact.shadow,
        "its own two sides, which differ: look at the marks, and at whether it lay flat": exact.mirror,
    }
    return max(parts, key=lambda part: parts[part])


def as_data(done: Found, folder: Path) -> Entry:
    """Return the figures, and what was written into a folder, as plain data: mm, degrees, mm²."""
    from planestock.exports.files.promised import promised, told
    from planestock.exports.traced.trace_schema import TraceFound

    cleaned, box = done.cleaned, bounds(done.cleaned.outline)
    even = evenness(cleaned)
    exact = done.exactness
    facts = {
        "source": done.source,
        "kind": cleaned.kind,
        "path": written(cleaned.outline, closed=cleaned.kind == "outline"),
        "pieces": len(cleaned.outline),
        "arcs": sum(isinstance(piece, Arc) for piece in cleaned.outline),
        "front": box.left,
        "rear": box.right,
        "length": box.width,
        "low": box.low,
        "high": box.high,
        "across": box.height,
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
        "limit": exact.limit if exact else None,
        "limit_parts": _parts_as_data(exact) if exact else None,
        "lens_moved": exact.lens if exact else None,
        "height_moved": exact.height if exact else None,
        "thickness": exact.thickness if exact else None,
        "sheet_sides_seen": exact.sides if exact else None,
        "level": done.level,
        "holes": done.holes if done.pixel is not None else None,
        "notes": list(cleaned.notes),
        "doubt": doubt(done),
        "folder": str(folder),
        "files": list(done.files),
    }
    return told(promised(TraceFound, facts))


def _parts_as_data(exact: Exactness) -> Entry:
    return {name: getattr(exact, name) for name in ("view", "edge", "fit", "shadow", "mirror")}


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
        yield f"Underside {box.width:.2f} mm long, {place}; it comes down {-box.low:.2f} mm."
        return
    yield f"Outline {box.width:.2f} mm long and {box.height:.2f} mm across, {place}."
    even = evenness(cleaned)
    if even is not None:
        yield (
            f"It differs from its mirror image by {even.asymmetry:.2f} mm; its own middle line lies {abs(even.off):.2f} mm "
            f"beside the one given, {abs(even.askew):.2f}° askew."
        )
    else:
        yield "It does not lie on both sides of the middle line: place it by two marks."


def _picture_lines(done: Found) -> Iterator[str]:
    exact = done.exactness
    if exact is None or done.pixel is None or done.level is None:
        return
    holes = {0: "no hole", 1: "one hole"}.get(done.holes, f"{done.holes} holes")
    yield (
        f"One pixel is {done.pixel:.3f} mm. Metal and ground part at shade {done.level:.2f} (0 black, 1 white); {holes} "
        "inside closed over."
    )
    if exact.lens is not None and exact.sides == ALL_SIDES:
        yield f"By the sheet the lens had moved the outline by {exact.lens:.2f} mm at most; that is taken out."
    if exact.height is not None and exact.thickness is not None:
        known = "as --thickness says" if exact.said else "taken as usual; --thickness says it more surely"
        yield (
            f"Its rim, {exact.thickness:.1f} mm above the sheet ({known}), had moved it out by {exact.height:.2f} mm at "
            "most; that is taken out too. The outline is that of the underside."
        )
    mirror = f", the difference from its mirror image {exact.mirror:.2f}" if done.cleaned.kind == "outline" else ""
    yield (
        f"What is left: the view and the places read {exact.view:.2f} mm, the edge {exact.edge:.2f}, lines and arcs "
        f"{exact.fit:.2f}, shadow {exact.shadow:.2f}{mirror}. Together the outline is true to about ± {exact.limit:.2f} mm."
    )
    if doubt(done) is None:
        yield f'Write casting.tracing.limit = "{math.ceil(exact.limit * 20) / 20:.2f} mm".'
