"""`planestock trace`: a photograph, a scan or a drawing of the casting turned into a clean outline."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from planestock.exports.commands.options import AsJson

if TYPE_CHECKING:
    from planestock.exports.traced.traced_files import Found

Source = Annotated[
    Path,
    typer.Argument(metavar="FILE", help="A picture (PNG, JPEG, TIFF) or a drawing (DXF, SVG) of the casting.",
                   show_default=False),
]  # fmt: skip
Folder = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="DIR", help="Folder to write into; the working folder where left out.",
                 show_default=False),
]  # fmt: skip
Profile = Annotated[bool, typer.Option("--profile", help="The file shows the casting from the side: take its underside.")]
Corner = Annotated[
    str | None,
    typer.Option(metavar="x,y", help="Where the corner D is: pixels, or the drawing's units.", show_default=False),
]
Middle = Annotated[
    str | None,
    typer.Option(metavar="x,y", help="A point on the middle line (from the side: on the seat plane), towards the heel.",
                 show_default=False),
]  # fmt: skip
ScaleBar = Annotated[
    str | None,
    typer.Option("--scale", metavar='"x,y x,y 100 mm"', help="Picture: two points and their true distance.",
                 show_default=False),
]  # fmt: skip
Rectangle = Annotated[
    str | None,
    typer.Option(metavar='"x,y x,y x,y x,y"', help="Picture: corners, in order around, of a known rectangle under the "
                 "casting; straightens perspective. Needs --sides.", show_default=False),
]  # fmt: skip
Sides = Annotated[
    str | None,
    typer.Option(metavar='"210 x 297 mm"', help="The rectangle's sides, first corner to second, second to third.",
                 show_default=False),
]  # fmt: skip
Level = Annotated[
    float | None,
    typer.Option(min=0.0, max=1.0, help="Picture: shade of the edge, 0 black to 1 white; found where left out.",
                 show_default=False),
]  # fmt: skip
Light = Annotated[bool, typer.Option("--light", help="Picture: the casting is lighter than its ground.")]
Unit = Annotated[Literal["file", "mm", "in"], typer.Option(help="Drawing: what one unit is.")]
Gap = Annotated[str, typer.Option(metavar="LENGTH", help="Drawing: ends that lie this near are joined.")]
Tolerance = Annotated[
    str | None,
    typer.Option(metavar="LENGTH", help="How far lines and arcs may stray; 0.01 mm, or a pixel, where left out.",
                 show_default=False),
]  # fmt: skip
Thickness = Annotated[
    str | None,
    typer.Option(metavar="LENGTH", help="Photograph: casting.thickness, how high the rim stands on the sheet; about 4 mm "
                 "is taken, with a wider limit, where left out.", show_default=False),
]  # fmt: skip
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace files that are there.")]


def trace(  # noqa: PLR0913, PLR0917 - the command line is made from these
    source: Source,
    output: Folder = None,
    profile: Profile = False,
    corner: Corner = None,
    middle: Middle = None,
    scale: ScaleBar = None,
    rectangle: Rectangle = None,
    sides: Sides = None,
    level: Level = None,
    light: Light = False,
    unit: Unit = "file",
    gap: Gap = "0.1 mm",
    tolerance: Tolerance = None,
    thickness: Thickness = None,
    overwrite: Overwrite = False,
    as_json: AsJson = False,
) -> int:
    """Find the casting's outline in a photograph, a scan or a drawing.

    Writes it as NAME-outline.svg and .dxf of lines and tangent arcs, in mm from the corner D, for casting.outline_file; with
    --profile as NAME-profile for casting.profile_file. Of a picture also NAME-outline.png, which shows what was found: look
    at it. A flat scan is truest and needs --scale. For a photograph lay the casting, underside down, on a sheet of paper and
    give --rectangle and --sides: perspective, lens and the height of the rim are taken out, and the outline is that of the
    underside. Show the whole sheet, as the camera took it, not cropped.
    Ends with 1 when what was found cannot be what was meant.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import busy, print_json
    from planestock.exports.traced import figures
    from planestock.exports.traced import traced_files as tracing
    from planestock.params.traced.photographs import looks_like_picture

    asked = tracing.Wanted(
        profile=profile, corner=corner, middle=middle, scale=scale, rectangle=rectangle, sides=sides, level=level,
        light=light, unit=unit, gap=gap, tolerance=tolerance, thickness=thickness,
    )  # fmt: skip
    with busy("looking for the casting"):
        done = tracing.of_picture(source, asked) if looks_like_picture(source) else tracing.of_drawing(source, asked)
    folder = output if output is not None else Path()
    _write(done, folder, overwrite=overwrite)
    if as_json:
        print_json(figures.as_data(done, folder))
    else:
        for line in figures.as_lines(done, folder):
            typer.echo(line)
    return FINE if figures.doubt(done) is None else CHECK_FAILED


def _write(done: Found, folder: Path, *, overwrite: bool) -> None:
    from planestock.exports.files.front_door import write_all
    from planestock.params.problems import refuse

    there = [name for name in done.files if (folder / name).exists()]
    if there and not overwrite:
        raise refuse(str(folder / there[0]), "a file", "is there already and is not replaced",
                     "choose another folder with -o, or add --overwrite")  # fmt: skip
    write_all(folder, done.files)
