"""The plane that the worksheet's pictures show: the set's own shape, or a general one where the set lacks the part."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from planestock.exports.drawing.dimensions import View, turned
from planestock.models.body.layout import Layout, lay_out
from planestock.models.body.metal_outlines import (
    IronPlace,
    cap_iron_outline,
    casting_opening,
    casting_side,
    frog_outlines,
    iron_outline,
    iron_place,
)
from planestock.models.checks.refusals import broken_rules
from planestock.models.window.thickness import settle
from planestock.params.files import load
from planestock.params.outlines.pieces import Arc, Line, Outline, Point
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import InputProblem

GENERAL_SHAPE = "jack"
"""Shipped set that an empty form is drawn from; it has every part that a form can ask for."""


@dataclass(frozen=True)
class Shape:
    """A set with its layout. own: it is the set of the form, not the general shape.

    edge_low, edge_high: from the seat plane straight down to the edge, adjuster all the way out and back, mm.
    """

    given: ParameterSet
    at: Layout
    edge_low: float
    edge_high: float
    own: bool

    def place(self, edge: float) -> IronPlace:
        """Return where the iron stands with its edge so far below the seat plane."""
        return iron_place(self.given, self.at, edge - self.at.thickness)

    def iron(self, place: IronPlace) -> Outline:
        """Return the iron's outline on the bed: up the bed from the corner D, and out from the bed."""
        return moved(iron_outline(self.given, self.at, place), self.on_bed)

    def cap_iron(self, place: IronPlace) -> Outline:
        """Return the cap iron's outline on the bed, as `iron`."""
        return moved(cap_iron_outline(self.given, self.at, place), self.on_bed)

    def frog(self) -> tuple[Outline, Outline]:
        """Return the frog's foot and upper part on the bed, as `iron`."""
        foot, upper = frog_outlines(self.given, self.at)
        return moved(foot, self.on_bed), moved(upper, self.on_bed)

    def casting(self) -> Outline:
        """Return the casting's side in x and z from the corner D."""
        return moved(casting_side(self.given, self.at), self.from_corner)

    def opening(self) -> tuple[float, float]:
        """Return where the casting is open for iron and frog: x from the corner D, at its underside and at its back."""
        outline, _ = casting_opening(self.given, self.at)
        corners = [self.from_corner(piece.start) for piece in outline]
        return min(x for x, _ in corners), max(x for x, _ in corners)

    def on_bed(self, point: Point) -> Point:
        """Return a point of the side view as (up the bed, out of the bed) from the corner D."""
        return turned(self.from_corner(point), -self.at.bed_angle)

    def from_corner(self, point: Point) -> Point:
        """Return a point of the side view as (x, z) from the corner D."""
        return (point[0] - self.at.corner[0], point[1] - self.at.corner[1])

    def bed_view(self, view: View) -> View:
        """Return the view of (up the bed, out of the bed) that goes with a view of (x, z) from the corner D."""
        return View(view.scale, view.origin, view.turn + self.at.bed_angle)


def moved(outline: Outline, place: Callable[[Point], Point]) -> Outline:
    """Return an outline taken through a rigid move."""
    return tuple(
        Line(place(piece.start), place(piece.end))
        if isinstance(piece, Line)
        else Arc(place(piece.start), place(piece.end), place(piece.centre), piece.clockwise)
        for piece in outline
    )


@cache
def general_shape() -> Shape:
    """Return the shape of an empty form."""
    return _shape(load(GENERAL_SHAPE), own=False)


def shape_of(given: ParameterSet | None) -> Shape:
    """Return the shape of a set; the general one for none, and for a set that cannot become a body."""
    if given is None:
        return general_shape()
    try:
        found = _shape(given, own=True)
    except InputProblem:
        return general_shape()
    return general_shape() if broken_rules(found.at) else found


def _shape(given: ParameterSet, *, own: bool) -> Shape:
    settled = settle(given)
    at = lay_out(given, settled.thickness)
    return Shape(given, at, settled.window.edge_low, settled.window.edge_high, own)
