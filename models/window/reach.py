"""How far the edge comes below and goes above the sole, and the window of thicknesses that follows.

Every function takes plain floats or numpy arrays alike (millimetres; angles in degrees), so that a single set, a Monte Carlo
run and a sweep all go through the same lines. Bevel down: the edge lies on the iron's flat face, `iron_thickness` out from
the bed. Formulas: plane trigonometry in the side view, x from toe to heel, z up from the sole.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

Number = Any
"""A float or a numpy array of floats; results broadcast."""

Road = Literal["readings", "bench"]

ROUNDING = 1e-9
"""What arithmetic on numbers of some hundred mm may lose; a value nearer to its limit than this has reached it."""


@dataclass(frozen=True)
class Window:
    """Thicknesses that work, in mm: at `high` the edge just reaches the deepest cut, at `low` it just withdraws enough.

    edge_low, edge_high: from the seat plane straight down to the edge, adjuster all the way out and back, each as its pin
    leaves it: pushed out, pulled back.
    road: how they were found, by the chain of readings or by the bench method.
    """

    edge_low: float
    edge_high: float
    deepest_cut: float
    withdraw: float
    road: Road

    @property
    def high(self) -> float:
        """T_max = edge_low - deepest_cut."""
        return self.edge_low - self.deepest_cut

    @property
    def low(self) -> float:
        """T_min = edge_high + withdraw."""
        return self.edge_high + self.withdraw

    @property
    def width(self) -> float:
        """T_max - T_min; negative when the adjuster's travel cannot do both."""
        return self.high - self.low

    def out(self, thickness: float) -> float:
        """How far the edge comes below the sole of a body of this thickness."""
        return self.edge_low - thickness

    def back(self, thickness: float) -> float:
        """How far the edge goes above the sole of a body of this thickness."""
        return thickness - self.edge_high

    def wear_left(self, thickness: float) -> float:
        """How much may be planed off the sole until the edge no longer withdraws enough."""
        return thickness - self.low


def edge_below_seat(slot_to_edge: Number, setback: Number, pin: Number, bed_angle: Number, iron_thickness: Number) -> Number:
    """Return the distance from the seat plane straight down to the edge: (c + b - a) sin θ - t cos θ."""
    theta = np.radians(bed_angle)
    return (slot_to_edge + setback - pin) * np.sin(theta) - iron_thickness * np.cos(theta)


def edge_move(further_back: Number, thicker: Number, bed_angle: Number) -> Number:
    """Return how much lower the edge stands when setback and iron thickness grow by so much: Δb sin θ - Δt cos θ."""
    theta = np.radians(bed_angle)
    return further_back * np.sin(theta) - thicker * np.cos(theta)


def edge_from_bed_foot(iron_thickness: Number, bed_angle: Number) -> Number:
    """Return how far the bed's foot lies behind the edge, along the sole: t / sin θ."""
    return iron_thickness / np.sin(np.radians(bed_angle))


def mouth_growth(bed_angle: Number, wear_lean: Number) -> Number:
    """Return how much the mouth opens per mm planed off the sole: cot θ + tan(wear lean)."""
    return 1.0 / np.tan(np.radians(bed_angle)) + np.tan(np.radians(wear_lean))


def mouth_worn(
    opening: Number, loss: Number, bed_angle: Number, wear_height: Number, wear_lean: Number, breast_lean: Number
) -> Number:
    """Return the mouth's opening after `loss` mm off the sole; once the wear is planed away the breast opens it.

    opening + loss · cot θ + tan(wear lean) · (loss within the wear) + tan(breast lean) · (loss above it). A negative loss
    is wood added: the mouth carried down along the wear.
    """
    in_wear = np.minimum(loss, wear_height)
    above = np.maximum(0.0, loss - wear_height)
    return opening + in_wear * mouth_growth(bed_angle, wear_lean) + above * mouth_growth(bed_angle, breast_lean)


def mouth_closing(bed_angle: Number) -> Number:
    """Return how much of the mouth an edge set 1 mm proud of the sole closes: cot θ."""
    return 1.0 / np.tan(np.radians(bed_angle))


def clearance_angle(bed_angle: Number, bevel_angle: Number) -> Number:
    """Return the angle between the bevel and the wood just cut, bevel down: bed angle - bevel angle, degrees."""
    return bed_angle - bevel_angle
