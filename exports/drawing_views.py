"""All views of the drawing, in the order they are filed."""

from __future__ import annotations

from planestock.exports.drawing import View
from planestock.exports.drawing_ends import bed, heel, toe
from planestock.exports.drawing_mouth import mouth_section, mouth_wear_view
from planestock.exports.drawing_plan import sole, top
from planestock.exports.drawing_side import inside_left, inside_right
from planestock.models.design import Design


def views(made: Design) -> tuple[View, ...]:
    """Return every view of a design; the last one needs the solids."""
    from planestock.exports.exploded import exploded

    return (*flat_views(made), exploded(made))


def flat_views(made: Design) -> tuple[View, ...]:
    """Return the views that are made from the layout alone."""
    return (inside_right(made), inside_left(made), top(made), sole(made), toe(made), heel(made), bed(made),
            mouth_section(made), mouth_wear_view(made))  # fmt: skip
