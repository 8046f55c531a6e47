"""`planestock fit`: a scan of the metal or of a body against the design, and the readings that follow from it."""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planestock.exports.commands.options import AsJson, Changes, Output, SetSource

if TYPE_CHECKING:
    from planestock.models.scan.fit import Asked
    from planestock.params.parameter_set import ParameterSet

OUT = Path("out")
"""Folder that the folders of all sets are made in, unless -o names another place."""

STEPS = 11
"""Steps of a fit that its progress bar counts."""

LARGEST_SCALE = 10_000
"""A scan's numbers are multiplied by at most this, or one over it."""

FINEST_LIMIT, COARSEST_LIMIT = 0.0, 2.0
"""Limits of error of a scanner, mm; one that is worse measures no plane."""


class Shows(StrEnum):
    """What a scan shows."""

    metal = "metal"
    casting = "casting"
    old_body = "old-body"
    new_body = "new-body"


class ScanUnit(StrEnum):
    """Units of a scan's numbers."""

    mm = "mm"
    cm = "cm"
    m = "m"
    inch = "in"


class TableIs(StrEnum):
    """What becomes of a table in the scan."""

    left_out = "leave-out"
    kept = "keep"


class AdjusterAt(StrEnum):
    """Ends of the adjuster's travel."""

    out = "out"
    back = "back"


ScanFile = Annotated[
    Path, typer.Option("--scan", metavar="FILE", help="The scan, a mesh: STL, PLY, OBJ or 3MF.", show_default=False)
]
OfWhat = Annotated[
    Shows | None,
    typer.Option(
        "--of",
        help="What the scan shows: the metal (casting and frog bolted together, iron or not), the casting alone, the old "
        "body, or the new one, its halves closed: one half alone cannot be laid. Left out, metal or casting is told by what "
        "is there.",
        show_default=False,
    ),
]
UnitOption = Annotated[
    ScanUnit | None,
    typer.Option(
        "--unit", help="Unit of the scan's numbers; left out, as the file says, or told by its size.", show_default=False
    ),
]
ScaleOption = Annotated[
    str,
    typer.Option(
        "--scale", metavar="FACTOR", help="Multiply the scan by this beside, for a file that is wrong, e.g. 1/25.4."
    ),
]
AdjusterOption = Annotated[
    AdjusterAt | None,
    typer.Option(
        "--adjuster",
        help="Where the adjuster stood when the metal was scanned with its iron: the edge then is a bench reading.",
        show_default=False,
    ),
]
TableOption = Annotated[
    TableIs,
    typer.Option(
        "--table",
        help="What becomes of a table that the thing stands on in the scan, and of flat pieces apart from it: left out, or "
        "kept as parts of what it shows.",
    ),
]
ScannerLimit = Annotated[
    str, typer.Option("--scanner-limit", metavar="LENGTH", help="Limit of error of the scanner, from its data sheet.")
]


def fit(  # noqa: PLR0913, PLR0917 - a command's options
    source: SetSource,
    scan: ScanFile,
    of: OfWhat = None,
    unit: UnitOption = None,
    scale: ScaleOption = "1",
    adjuster: AdjusterOption = None,
    table: TableOption = TableIs.left_out,
    scanner_limit: ScannerLimit = "0.05 mm",
    output: Output = None,
    changes: Changes = None,
    as_json: AsJson = False,
) -> int:
    """Lay a scan of the metal, or of a body, on the design.

    Tells residuals, where wood would touch and where a gap is too wide, and which readings the scan corrects, as lines to
    paste and as a corrected set; of a body, how it sits in the window. Writes text, data, a colour map (GLB) and a page into
    out/NAME/fit, unless -o says otherwise. Ends with 1 when the scan contradicts the set, or the body does not work.
    """
    from concurrent.futures import ThreadPoolExecutor

    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import print_json, say, steps
    from planestock.exports.files.file_names import file_name
    from planestock.exports.files.front_door import write_all
    from planestock.exports.files.stamp import stamp_of
    from planestock.exports.fit_files import fit_files, scale_reach
    from planestock.exports.scan.data import as_data
    from planestock.exports.scan.text import as_text
    from planestock.exports.wording.fit import contradicted
    from planestock.models.design import design
    from planestock.models.scan.corrected import corrected
    from planestock.models.scan.fit import expected_size, fitted, read_scan
    from planestock.params.files import loaded, text_of

    with steps(STEPS) as begin:
        begin("numbers")
        text = text_of(source)
        given = loaded(text, source, changes or ())
        asked = _asked(given, of, unit, scale, adjuster, table, scanner_limit)
        made = design(given)
        begin("reading the scan")
        read = read_scan(scan, expected_size(made, asked.of), asked)
        with ThreadPoolExecutor(1) as beside:  # the solids, which only the stamp waits for, have the other core
            checked = beside.submit(lambda: made.checks)
            found = fitted(made, read, asked, begin)
            begin("solids and their checks")
            stamp = stamp_of(made, checked.result())
        better = corrected(found, text, source, list(changes or ()))
        files = fit_files(found, better, stamp, begin)
        begin("writing")
        folder = output if output is not None else OUT / file_name(given.name) / "fit"
        write_all(folder, files)
    reach = scale_reach(found)
    if as_json:
        from planestock.exports.files.promised import promised, told
        from planestock.exports.scan.fit_schema import FitWritten

        data = as_data(found, better, stamp, reach)
        print_json(told(promised(FitWritten, {**data, "folder": str(folder), "files": list(files)})))
    else:
        typer.echo(as_text(found, better, stamp, reach), nl=False)
    say(f"planestock: wrote {', '.join(files)} into {folder}")
    return CHECK_FAILED if contradicted(found) else FINE


def _asked(
    given: ParameterSet,
    of: Shows | None,
    unit: ScanUnit | None,
    scale: str,
    adjuster: AdjusterAt | None,
    table: TableIs,
    scanner_limit: str,
) -> Asked:
    """Return what the options say. Raises InputProblem for one that cannot be read."""
    from planestock.models.scan.fit import Asked
    from planestock.params.problems import refuse

    if adjuster is not None and of not in (None, Shows.metal):
        raise refuse("--adjuster", adjuster.value, "needs the whole metal with its iron", "leave it out, or give --of metal")
    return Asked(
        of=None if of is None else of.value,
        adjuster=None if adjuster is None else adjuster.value,
        unit=None if unit is None else unit.value,
        factor=_factor(scale),
        scanner_limit=_limit(given, scanner_limit),
        keep_table=table is TableIs.kept,
    )


def _factor(text: str) -> float:
    from planestock.params.problems import refuse

    try:
        factor = float(_number(text))
    except (ValueError, ZeroDivisionError, OverflowError):
        factor = 0.0
    if not 1 / LARGEST_SCALE <= factor <= LARGEST_SCALE:
        raise refuse("--scale", text, "is a number to multiply the scan by", "write it like 25.4 or 1/25.4")
    return factor


def _number(text: str) -> Fraction:
    if len(text) > 40:
        raise ValueError(text)
    top, mark, bottom = text.partition("/")
    if "/" in bottom:
        raise ValueError(text)
    return Fraction(top.strip()) / Fraction(bottom.strip()) if mark else Fraction(top.strip())


def _limit(given: ParameterSet, text: str) -> float:
    from planestock.params.problems import refuse
    from planestock.params.reading import typed_length

    value = typed_length("--scanner-limit", text, given.units, "write it like 0.05 mm").value
    if not FINEST_LIMIT <= value <= COARSEST_LIMIT:
        rule = f"lies between {FINEST_LIMIT:g} and {COARSEST_LIMIT:g} mm"
        raise refuse("--scanner-limit", text, rule, "see the scanner's data sheet")
    return value
