"""One design: everything that follows from a parameter set. Numbers at once, solids when they are asked for."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from planestock.models.body.layout import Layout, lay_out
from planestock.models.body.seasons import Seasons, seasons, wood_mass
from planestock.models.checks.confidence import confidence_checks
from planestock.models.checks.forgotten_minus import asking_for_the_minus
from planestock.models.checks.reach import reach_checks
from planestock.models.checks.refusals import refusals
from planestock.models.checks.rows import Row
from planestock.models.checks.seasons import season_checks
from planestock.models.checks.tracing import tracing_checks
from planestock.models.checks.wood import wood_checks
from planestock.models.window.old_body import OldBodyEvidence, old_body
from planestock.models.window.sole_life import SoleLife, sole_life
from planestock.models.window.thickness import Settled, settle
from planestock.models.window.year import moistures
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import InputProblem, Problem

if TYPE_CHECKING:
    from planestock.models.solids.assembly import Assembly


@dataclass(frozen=True)
class Design:
    """A parameter set and what follows from it. `assembly` (solids, meshes) is built once, on first use.

    seasons: the body through the year; old_body: what the old one tells, None where it was not measured.
    """

    given: ParameterSet
    settled: Settled
    layout: Layout
    seasons: Seasons
    old_body: OldBodyEvidence | None
    number_checks: tuple[Row, ...]

    @cached_property
    def sole_life(self) -> SoleLife:
        """What each truing leaves."""
        return sole_life(self.given, self.settled)

    @cached_property
    def assembly(self) -> Assembly:
        """Solids and meshes of wood and metal. Imports the solid kernel. Raises KernelProblem."""
        from planestock.models.solids.assembly import assemble

        return assemble(self.given, self.settled, self.layout)

    @cached_property
    def masses(self) -> dict[str, float]:
        """Mass of each wooden part by name, g, at the moisture content it is worked at. Builds the solids."""
        from planestock.models.solids.kernel import volume

        worked = moistures(self.given).worked
        return {part.name: wood_mass(volume(part.shape), part.material, worked) for part in self.assembly.wood}

    @property
    def mass(self) -> float:
        """Mass of the whole body, g, without the metal. Builds the solids."""
        return sum(self.masses.values())

    @cached_property
    def solid_checks(self) -> tuple[Row, ...]:
        """Checks that need the solids."""
        from planestock.models.solids.checks import solid_checks

        return solid_checks(self.given, self.settled, self.layout, self.assembly)

    @property
    def checks(self) -> tuple[Row, ...]:
        """All checks, numbers first."""
        return (*self.number_checks, *self.solid_checks)


def design(given: ParameterSet) -> Design:
    """Return the design of a set. Raises InputProblem where the set cannot become a body."""
    settled = settle(given)
    layout = lay_out(given, settled.thickness)
    found = refusals(layout, given)
    if found:
        raise InputProblem([*_far_off(given, settled), *asking_for_the_minus(given, found)])
    through, old = seasons(given, settled.thickness), old_body(given, settled)
    rows = (
        *reach_checks(given, settled),
        *confidence_checks(settled, old),
        *season_checks(given, settled, through),
        *wood_checks(given, layout),
        *tracing_checks(given, layout),
    )
    return Design(given, settled, layout, through, old, rows)


def _far_off(given: ParameterSet, settled: Settled) -> list[Problem]:
    """Return the likelier cause of a body that cannot be laid out: a thickness that is far outside the window."""
    window, written = settled.window, given.body.thickness
    if written is None or window.low <= settled.thickness <= window.high:
        return []
    ends = given.lengths.span(window.low, window.high)
    rule = f"lies outside the window, {ends}, and what hangs on it no longer fits the body"
    return [Problem("body.thickness", written.text, rule, 'write "from window", or measure it again')]
