"""`planestock worksheet`: a printable form to measure the metal with, empty or filled in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from planestock.exports.commands.options import Changes

Source = Annotated[
    str | None,
    typer.Argument(metavar="[SET]", help="Set to fill the form in with; left out, the form is empty.", show_default=False),
]
FormFile = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="FILE",
        help="PDF to write; worksheet.pdf or NAME-worksheet.pdf where left out.",
        show_default=False,
    ),
]
FormPaper = Annotated[
    Literal["A4", "Letter"] | None,
    typer.Option("--paper", help="Paper; that of the set, or A4, where left out.", show_default=False),
]
FormUnits = Annotated[
    Literal["mm", "in"] | None,
    typer.Option("--units", help="Unit of all lengths; as they were written, or mm, where left out.", show_default=False),
]


def worksheet(
    source: Source = None, changes: Changes = None, output: FormFile = None, paper: FormPaper = None, units: FormUnits = None
) -> int:
    """Write a form to measure the metal with.

    Pictures show what to measure from where, with which tool and how fine; each box carries the path of its value in a set.
    With a SET the form is filled in with its values, to compare with what was written by hand.
    """
    from planestock.exports.commands.endings import FINE
    from planestock.exports.files.file_names import file_name
    from planestock.exports.files.front_door import write_one
    from planestock.exports.files.stamp import program_version
    from planestock.exports.worksheet.form import worksheet_pdf
    from planestock.params.files import load
    from planestock.params.problems import refuse

    if source is None and changes:
        raise refuse("--set", changes[0], "changes a value of a set, and there is none", "name a SET before it")
    given = None if source is None else load(source, changes or ())
    chosen: Literal["A4", "Letter"] = paper or (
        "Letter" if given is not None and given.shop.paper in ("Letter", "Tabloid") else "A4"
    )
    path = (
        output
        if output is not None
        else Path("worksheet.pdf" if given is None else f"{file_name(given.name)}-worksheet.pdf")
    )
    write_one(path, worksheet_pdf(given, program_version(), chosen, units))
    typer.echo(f"Wrote {path}")
    return FINE
