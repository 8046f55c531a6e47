"""`planestock picture`: a rendered picture of the body with its metal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planestock.exports.commands.options import Changes, SetSource

if TYPE_CHECKING:
    from planestock.models.design import Design

PictureFile = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="FILE", help="PNG to write; NAME.png where left out.", show_default=False),
]
Of = Annotated[
    str | None,
    typer.Option(
        "--of",
        metavar="PIECE",
        help="A test piece or jig instead: seat-gauge, mouth-gauge, drill-guide, dowel-guide, paring-block-bed, "
        "paring-block-wear, body-full-size, body-half-size.",
        show_default=False,
    ),
]
Exploded = Annotated[bool, typer.Option("--exploded", help="Show halves and metal apart.")]


def picture(
    source: SetSource, output: PictureFile = None, changes: Changes = None, exploded: Exploded = False, of: Of = None
) -> int:
    """Draw a picture of the body and its metal, or of a piece to print."""
    from planestock.exports.commands.endings import FINE
    from planestock.exports.commands.progress import busy
    from planestock.exports.files.file_names import file_name
    from planestock.exports.files.front_door import write_one
    from planestock.exports.files.picture import picture as draw
    from planestock.models.design import design
    from planestock.params.files import load

    made = design(load(source, changes or ()))
    with busy("building and drawing"):
        image = draw(made, exploded=exploded) if of is None else _piece(made, of)
    name = "-".join(filter(None, (file_name(made.given.name), of)))
    path = write_one(output if output is not None else Path(f"{name}.png"), image)
    typer.echo(f"Wrote {path}")
    return FINE


def _piece(made: Design, of: str) -> bytes:
    from planestock.exports.prints.print_picture import piece_picture

    return piece_picture(made, of)
