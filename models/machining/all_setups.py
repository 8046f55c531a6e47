"""Everything that a shop with a router is told about one design, as numbers."""

from __future__ import annotations

from dataclasses import dataclass

from planestock.models.body.layout import Layout
from planestock.models.checks.rows import Row
from planestock.models.machining.corners import Choice, Corner, corners
from planestock.models.machining.cutter_checks import cutter_checks
from planestock.models.machining.holding import Holding, holding
from planestock.models.machining.leftovers import PathBroken
from planestock.models.machining.part_blocks import PartName
from planestock.models.machining.relief_room import Limits
from planestock.models.machining.setups import PartPlan, part_plans
from planestock.models.machining.tolerances import Tolerance, tolerances
from planestock.models.window.thickness import Settled
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import refuse


@dataclass(frozen=True)
class Cutter:
    """The cutter of the set, mm, and what becomes of inside corners."""

    diameter: float
    reach: float
    corners: Choice

    @property
    def radius(self) -> float:
        """Half its diameter."""
        return self.diameter / 2


@dataclass(frozen=True)
class PlanOfWork:
    """Setups, corners, tolerances and checks. holdings: by part and number of the setup."""

    cutter: Cutter
    parts: tuple[PartPlan, ...]
    corners: tuple[Corner, ...]
    holdings: dict[tuple[PartName, int], Holding]
    tolerances: tuple[Tolerance, ...]
    checks: tuple[Row, ...]

    def reliefs(self, part: str, setup: int) -> tuple[Corner, ...]:
        """Return the corners of a part that are relieved in a setup; the left half's are the right one's, y turned round."""
        own = "right half" if part == "left half" else part
        return tuple(one for one in self.corners if one.part == own and one.setup == setup and one.relief is not None)


def plan_of_work(given: ParameterSet, settled: Settled, at: Layout) -> PlanOfWork:
    """Return the plan of work of a design. Numbers only; some hundredths of a second.

    Raises InputProblem at shop.cutter.diameter where walls nearly touch the cutter on both sides, so that its path cannot be
    closed.
    """
    try:
        return _planned(given, settled, at)
    except PathBroken as error:
        asked = given.shop.cutter.diameter
        raise refuse("shop.cutter.diameter", asked.text, str(error), "make it 0.01 mm larger or smaller") from error


def _planned(given: ParameterSet, settled: Settled, at: Layout) -> PlanOfWork:
    asked = given.shop.cutter
    cutter = Cutter(asked.diameter.value, asked.reach.value, asked.corners)
    parts = part_plans(at, cutter.radius)
    limits = Limits(given.work.least_cheek.value, given.work.least_cover.value)
    found = corners(at, parts, cutter.corners, limits)
    held = {
        (plan.name, setup.number): holding(at, plan.stretch, setup, cutter.reach) for plan in parts for setup in plan.setups
    }
    checks = cutter_checks(parts, found, cutter.diameter, cutter.reach)
    return PlanOfWork(cutter, parts, found, held, tolerances(given, settled, at), checks)
