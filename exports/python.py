"""The front door for Python: a dozen names for what the commands do, so that a script need not know the house.

    from planestock.exports.python import design, load, write

Each is the very function that its command calls, or a few lines round it. Lengths are in mm, angles in degrees, masses in g.
Numbers are there at once; the solid kernel is loaded when solids are first asked for (`Design.checks`, `.assembly`, `build`,
`write`, `report` and `compare` with solids, `fit`). Input that cannot be used raises `InputProblem`, which names the field,
the value, the rule and a remedy. What the kernel cannot do raises a RuntimeError (`models.solids.kernel.KernelProblem`).
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

from planestock.exports.building import Extra, Order, files_of, order_for, write_files
from planestock.exports.report.data import report
from planestock.models.design import Design, design
from planestock.models.salvage.judging import salvage
from planestock.models.variants.compare import compare
from planestock.models.variants.sweep import Table, inputs_of, swept
from planestock.models.variants.sweep_axes import axes
from planestock.params.files import load, plainly
from planestock.params.parameter_set import ParameterSet
from planestock.params.problems import InputProblem
from planestock.params.reading import LengthUnit, Reading, typed_length

if TYPE_CHECKING:
    from planestock.models.scan.fit import Fitted
    from planestock.models.scan.proposals import Adjuster
    from planestock.models.scan.scale import Unit
    from planestock.models.scan.subjects import Of

__all__ = (
    "ChecksFail",
    "InputProblem",
    "build",
    "compare",
    "design",
    "fit",
    "load",
    "reading",
    "report",
    "salvage",
    "sweep",
    "write",
)


class ChecksFail(RuntimeError):
    """A check fails, so nothing is made unless `allow_failing` asks for it. failing: ids of the failing checks."""

    def __init__(self, failing: tuple[str, ...]) -> None:
        """Keep the ids and make the message one line."""
        self.failing = failing
        super().__init__(f"a check fails: {', '.join(failing)}; change the set, or make it all the same with allow_failing")


def build(made: Design, *, extras: Collection[Extra] = (), allow_failing: bool = False) -> dict[str, bytes]:
    """Return every file of a body by name, as `planestock build` writes them; `set.toml` holds the values without comments.

    extras: "prints" (test pieces and jigs) and "router" (the hand-over for a router) beside the usual files. allow_failing:
    make them even though a check fails; every file then says so. Raises ChecksFail, KernelProblem, WriterFailed.
    """
    return files_of(_order(made, extras, allow_failing=allow_failing))


def write(made: Design, folder: str | Path, *, extras: Collection[Extra] = (), allow_failing: bool = False) -> list[Path]:
    """Write what `build` returns into a folder, whole or not at all, with the list of what was written; return the paths.

    What an earlier build of another set left there is removed; a file that somebody made or changed stays, or a copy of it.
    Raises what `build` raises, and InputProblem where the folder cannot be written.
    """
    order = _order(made, extras, allow_failing=allow_failing)
    files = files_of(order)
    write_files(order, files, Path(folder))
    return [Path(folder) / name for name in files]


def _order(made: Design, extras: Collection[Extra], *, allow_failing: bool) -> Order:
    order = order_for(made, plainly(made.given), solids=True, extras=frozenset(extras))
    if order.stamp.failing and not allow_failing:
        raise ChecksFail(order.stamp.failing)
    return order


def reading(text: str, units: LengthUnit = "mm") -> Reading:
    """Return a length written as in a set, "44.1 ± 0.1 mm", as `salvage` takes it. units: of bare numbers.

    Raises InputProblem.
    """
    return typed_length("reading", text, units)


def sweep(given: ParameterSet, *ranges: str, at_random: int | None = None, seed: int = 0) -> Table:
    """Return what a set becomes when values of it vary: columns by name, shape (n,) each.

    ranges: as --vary takes them, "throat.opening=0.5 to 3 mm in 6", all combined. at_random: draw so many variants instead,
    from ranges without their count; the same seed draws the same ones. Raises InputProblem for a range that cannot be read.
    """
    found = axes(ranges, given.units, at_random=at_random is not None)
    return swept(given, inputs_of(found, at_random, seed))


def fit(
    made: Design,
    scan: str | Path,
    *,
    of: Of | None = None,
    adjuster: Adjuster | None = None,
    unit: Unit | None = None,
    scanner_limit: float = 0.05,
    keep_table: bool = False,
) -> Fitted:
    """Return a scan of the metal, or of a body, laid on a design. scan: STL, PLY, OBJ or 3MF.

    of: what it shows; adjuster: where it stood when the iron was in; unit: of the scan's numbers, each found out where it is
    left out. scanner_limit: the scanner's limit of error, mm; keep_table: whether a table in the scan is a part of what it
    shows. Raises InputProblem for a scan that cannot be read or laid.
    """
    from planestock.models.scan.fit import Asked, expected_size, fitted, read_scan

    asked = Asked(of, adjuster, unit, scanner_limit=scanner_limit, keep_table=keep_table)
    return fitted(made, read_scan(Path(scan), expected_size(made, of), asked), asked)
