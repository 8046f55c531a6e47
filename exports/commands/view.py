"""`planestock view`: a body in the browser, as one page that can be mailed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planestock.exports.commands.options import Changes, Output, SetSource

PAGE = "preview.html"
"""Name of the page, in the set's own folder as `build` writes it too."""

NoOpen = Annotated[bool, typer.Option("--no-open", help="Write the page, but do not open it in the browser.")]


def view(source: SetSource, output: Output = None, changes: Changes = None, no_open: NoOpen = False) -> int:
    """Show a body in the browser.

    Writes preview.html into out/NAME, into the folder that -o names or the .html file that it names, and opens it. The page
    needs no network and no server and can be mailed as it is. It is written also while a check fails, and then says so.
    Ends with 1 when a check fails.
    """
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import busy
    from planestock.exports.files.file_names import file_name
    from planestock.exports.files.front_door import write_one
    from planestock.exports.files.stamp import stamp_of
    from planestock.exports.pages.preview import preview
    from planestock.models.design import design
    from planestock.params.files import load

    made = design(load(source, changes or ()))
    with busy("building the body and checking it"):
        stamp = stamp_of(made, made.checks)
        page = preview(made, stamp)
    folder = output if output is not None else Path("out") / file_name(made.given.name)
    path = write_one(folder if folder.suffix == ".html" else folder / PAGE, page)
    typer.echo(str(path))
    if not no_open:
        show(path)
    return CHECK_FAILED if stamp.failing else FINE


def show(path: Path) -> None:
    """Open a page in the reader's browser, or say that there is none to open it with."""
    import webbrowser

    from planestock.exports.commands.progress import say

    if not webbrowser.open(path.resolve().as_uri()):
        say(f"planestock: no browser was found; open {path} in one")
