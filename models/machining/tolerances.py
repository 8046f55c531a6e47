"""How true the cuts must be: ISO 2768-1, class m, and tighter only where the window or the metal asks for it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from planestock.models.body.layout import Layout
from planestock.models.checks.wood import BED_STEP
from planestock.models.machining import iso_2768
from planestock.models.window.budgets import thickness_stray
from planestock.models.window.thickness import Settled
from planestock.params.parameter_set import ParameterSet

Asked = Literal["general", "window", "flush"]
"""Where a tolerance comes from: ISO 2768-m; the window; the step between frog and bed that the iron bridges."""

SHARE = 0.5
"""Share of what the window allows that the seat's height may use, the rest is the bed angle's: both move the edge, and the
worst of both together must stay within it. An even share is our own choice."""


@dataclass(frozen=True)
class Tolerance:
    """One size with its tolerance; nominal, minus and plus in mm or degrees.

    general: what ISO 2768-m gives, None where it gives none; asked: what it comes from.
    """

    what: str
    nominal: float
    unit: Literal["mm", "deg"]
    general: float | None
    minus: float
    plus: float
    asked: Asked

    @property
    def tighter(self) -> bool:
        """Whether it asks for more than the general tolerance."""
        return self.general is not None and min(self.minus, self.plus) < self.general


def tolerances(given: ParameterSet, settled: Settled, at: Layout) -> tuple[Tolerance, ...]:
    """Return the tolerances that a setup sheet states, the tight ones first."""
    return tuple(_tolerances(given, settled, at))


def _tolerances(given: ParameterSet, settled: Settled, at: Layout) -> Iterator[Tolerance]:
    yield seat_height(given, settled, at)
    yield bed_angle(given, settled, at)
    if at.recess is not None:
        yield recess_depth(given)
    yield _length("mouth, front to bed's foot", at.bed_foot[0] - at.mouth_front[0])
    yield _length("toe to mouth's front", at.mouth_front[0])
    yield _length("half throat", at.throat_half_width)
    if at.let_in > 0:
        yield _length("let-in of the casting", at.let_in)
        yield _length("seat, length", at.seat_rear[0] - at.seat_front[0])
    if at.tail is not None and at.tail.centre is not None:
        radius = at.tail.centre[1] - at.tail.cove_low[1]
        yield _general("cove, radius", radius, iso_2768.radius(radius))
    yield _length("body, length", at.length)
    yield _length("half, thickness", at.plan.half_width - at.plan.inner)


def _length(what: str, nominal: float) -> Tolerance:
    return _general(what, nominal, iso_2768.linear(nominal))


def _general(what: str, nominal: float, found: float | None) -> Tolerance:
    stray = found if found is not None else 0.0
    return Tolerance(what, nominal, "mm", found, stray, stray, "general")


def allowed(given: ParameterSet, settled: Settled) -> tuple[float, float]:
    """Return how far the edge may stray further back and further out than designed, mm, for a body that is sure to work.

    Thicker or flatter holds the edge back, by (safe_high - T) + s at most; thinner or steeper lets it further out, by
    (T - safe_low) + s, with s the cutting tolerance that the safe thicknesses leave room for already.
    """
    stray = thickness_stray(given)
    back = max(0.0, settled.safe_high - settled.thickness + stray)
    out = max(0.0, settled.thickness - settled.safe_low + stray)
    return back, out


def seat_height(given: ParameterSet, settled: Settled, at: Layout) -> Tolerance:
    """Return the tolerance of the seat plane above the sole."""
    name = "seat above the sole, slip included" if at.slip else "seat above the sole"
    back, out = allowed(given, settled)
    return _from_window(name, settled.thickness, "mm", iso_2768.linear(settled.thickness), out, back)


def bed_angle(given: ParameterSet, settled: Settled, at: Layout) -> Tolerance:
    """Return the tolerance of the bed's angle to the sole.

    Turned about the corner D by a small angle, the bed moves the edge up or down by that angle times the distance along the
    sole from D to the edge (plane geometry).
    """
    back, out = allowed(given, settled)
    per_degree = math.radians(1.0) * (at.corner[0] - at.edge[0])
    leg = settled.thickness / math.sin(math.radians(at.bed_angle))
    general = iso_2768.angle(min(leg, at.length))
    return _from_window("bed angle", at.bed_angle, "deg", general, back / per_degree, out / per_degree)


def _from_window(
    what: str, nominal: float, unit: Literal["mm", "deg"], general: float | None, minus: float, plus: float
) -> Tolerance:
    most = general if general is not None else math.inf
    low, high = min(most, SHARE * minus), min(most, SHARE * plus)
    return Tolerance(what, nominal, unit, general, low, high, "window" if min(low, high) < most else "general")


def recess_depth(given: ParameterSet) -> Tolerance:
    """Return the tolerance of the frog's recess below the bed: what the set leaves of the step that the iron bridges."""
    depth, foot = given.frog.recess_depth.value, given.frog.foot_thickness.value
    general = iso_2768.linear(depth)
    most = general if general is not None else math.inf
    low, high = (max(0.0, min(most, BED_STEP + side * (depth - foot))) for side in (1.0, -1.0))
    return Tolerance("frog's recess, depth below the bed", depth, "mm", general, low, high,
                     "flush" if min(low, high) < most else "general")  # fmt: skip
