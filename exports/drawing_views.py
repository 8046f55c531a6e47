"""All views of the drawing, in the order they are filed."""

from __future__ import annotations

from planestock.exports.drawing import View
from planestock.exports.drawing_ends import bed, heel, toe
from planestock.exports.drawing_mouth import mouth_section, mouth_wear_view
from planestock.exports.drawing_plan import sole, top
from planestock.exports.drawing_side import inside_left, inside_right
from planestock.models.design import Design

FOLDER = "drawings"
"""Folder of the views' files."""


def views(made: Design) -> tuple[View, ...]:
    """Return every view of a design; the last one needs the solids."""
    from planestock.exports.exploded import exploded

    return (*flat_views(made), exploded(made))


def flat_views(made: Design) -> tuple[View, ...]:
    """Return the views that are made from the layout alone."""
    return (*template_views(made), mouth_section(made), mouth_wear_view(made))


def template_views(made: Design) -> tuple[View, ...]:
    """Return the views that are stuck on the wood at full size."""
    return (inside_right(made), inside_left(made), toe(made), heel(made), top(made), sole(made), bed(made))
