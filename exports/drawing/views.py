"""All views of the drawing, in the order they are filed."""

from __future__ import annotations

from dataclasses import replace

from planestock.exports.drawing.ends import bed, heel, toe
from planestock.exports.drawing.model import View
from planestock.exports.drawing.mouth import mouth_section, mouth_wear_view
from planestock.exports.drawing.plan import sole, top
from planestock.exports.drawing.side import inside_left, inside_right, strip_side
from planestock.models.design import Design

FOLDER = "drawings"
"""Folder of the views' files."""


def views(made: Design) -> tuple[View, ...]:
    """Return every view of a design; the last one needs the solids."""
    from planestock.exports.drawing.exploded import exploded

    return (*flat_views(made), exploded(made))


def _told(made: Design, found: tuple[View, ...]) -> tuple[View, ...]:
    """Return views that know the unit of their figures."""
    return tuple(replace(view, unit=made.given.units) for view in found)


def flat_views(made: Design) -> tuple[View, ...]:
    """Return the views that are made from the layout alone."""
    return (*template_views(made), *_told(made, (mouth_section(made), mouth_wear_view(made))))


def template_views(made: Design) -> tuple[View, ...]:
    """Return the views that are stuck on the wood at full size."""
    strip = (strip_side(made),) if made.layout.strip else ()
    found = (inside_right(made), inside_left(made), *strip, toe(made), heel(made), top(made), sole(made), bed(made))
    return _told(made, found)
