"""Sole life: what is left after each truing, and when a slip or a mouth piece is due."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planestock.models.window import reach
from planestock.models.window.reach import ROUNDING
from planestock.models.window.thickness import Settled
from planestock.params.parameter_set import ParameterSet

MOST_ROWS = 60
"""Rows of the table; very thin truings of a long-lived sole would fill pages."""


@dataclass(frozen=True)
class Truing:
    """The body after `count` truings; mm. removed: off the sole in all; out, back: how far the edge then comes below and
    goes above the sole; wear_left: what may still surely be planed off; mouth: its opening.

    due: what must be done before the plane is used in this state: slip, mouth piece, both, or nothing.
    """

    count: int
    removed: float
    thickness: float
    out: float
    back: float
    wear_left: float
    mouth: float
    due: tuple[str, ...]


@dataclass(frozen=True)
class SoleLife:
    """A sole from new to worn out. slip_due, mouth_piece_due: loss, mm, beyond which each is due; slip_gone: loss that
    takes away the slip there is, None without one. cut_short: rows were left off."""

    rows: tuple[Truing, ...]
    slip_due: float
    mouth_piece_due: float
    slip_gone: float | None
    cut_short: bool

    @property
    def truings(self) -> int:
        """How many truings the sole surely takes without a slip or a mouth piece, as far as the table goes."""
        return max((row.count for row in self.rows if not row.due), default=0)


def mouth_after(given: ParameterSet, loss: float) -> float:
    """Return the mouth's opening after `loss` mm off the sole (`reach.mouth_worn`)."""
    throat, theta = given.throat, given.frog.bed_angle.value
    return float(
        reach.mouth_worn(
            throat.opening.value, loss, theta, throat.wear_height.value, throat.wear_lean.value, throat.breast_lean.value
        )
    )


def loss_until(given: ParameterSet, opening: float) -> float:
    """Return the loss at which the mouth has this opening: `mouth_after` solved; 0 where it has it already."""
    throat, theta = given.throat, given.frog.bed_angle.value
    wear, breast = (float(reach.mouth_growth(theta, lean.value)) for lean in (throat.wear_lean, throat.breast_lean))
    needed, height = max(0.0, opening - throat.opening.value), throat.wear_height.value
    return needed / wear if needed <= wear * height else height + (needed - wear * height) / breast


def sole_life(given: ParameterSet, settled: Settled) -> SoleLife:
    """Return the table, truing by truing (work.truing_depth) up to the first after which something is due, and at least as
    many as are wanted; it ends before the sole reaches the seat."""
    slip_due = max(0.0, settled.wear_left)
    mouth_due = loss_until(given, given.work.widest_mouth.value)
    depth = given.work.truing_depth.value
    wanted = max(given.work.truings, math.floor(min(slip_due, mouth_due) / depth + ROUNDING) + 1)
    last = min(wanted, math.ceil(settled.thickness / depth) - 1)
    rows = tuple(_truing(given, settled, count) for count in range(min(last, MOST_ROWS) + 1))
    slip = given.body.slip.value
    return SoleLife(rows, slip_due, mouth_due, slip if slip > 0 else None, last > MOST_ROWS)


def _truing(given: ParameterSet, settled: Settled, count: int) -> Truing:
    removed = count * given.work.truing_depth.value
    thickness, mouth = settled.thickness - removed, mouth_after(given, removed)
    wear_left = settled.wear_left - removed
    due = [
        name
        for name, now in (
            ("slip", wear_left < -ROUNDING),
            ("mouth piece", mouth > given.work.widest_mouth.value + ROUNDING),
        )
        if now
    ]
    window = settled.window
    return Truing(count, removed, thickness, window.out(thickness), window.back(thickness), wear_left, mouth, tuple(due))
