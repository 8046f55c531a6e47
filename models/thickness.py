"""The window of a set, and the thickness that is settled on."""

from __future__ import annotations

from dataclasses import dataclass

from planestock.models import reach
from planestock.models.reach import Window
from planestock.params.parameter_set import ParameterSet


@dataclass(frozen=True)
class Settled:
    """The thickness that the body gets, and the window it was taken from. chosen: by the program, not given."""

    window: Window
    thickness: float
    chosen: bool


def window_by_readings(given: ParameterSet) -> Window | None:
    """Return the window from the chain of readings, None where the adjuster was not measured."""
    adjuster, cap = given.adjuster, given.cap_iron
    if adjuster is None or cap.slot_to_edge is None:
        return None
    low, high = (
        float(reach.edge_below_seat(cap.slot_to_edge.value, cap.setback.value, pin.value,
                                    given.frog.bed_angle.value, given.iron.thickness.value))
        for pin in (adjuster.pin_low, adjuster.pin_high)
    )  # fmt: skip
    return Window(low, high, given.work.deepest_cut.value, given.work.withdraw.value, "readings")


def window_by_bench(given: ParameterSet) -> Window | None:
    """Return the window from the bench method, None where it was not used."""
    if given.bench is None:
        return None
    low, high = given.bench.edge_low.value, given.bench.edge_high.value
    return Window(low, high, given.work.deepest_cut.value, given.work.withdraw.value, "bench")


def settle(given: ParameterSet) -> Settled:
    """Return window and thickness; the bench method, which skips the bed angle, goes before the chain of readings."""
    window = window_by_bench(given) or window_by_readings(given)
    assert window is not None, "a parameter set without either road is refused when it is read"
    if given.body.thickness is not None:
        return Settled(window, given.body.thickness.value, False)
    return Settled(window, window.high - given.work.cutting_tolerance.value, True)
