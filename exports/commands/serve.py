"""`planestock serve`: the app in the browser, on this machine only."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from planestock.exports.app.states import Source

Sets = Annotated[
    list[str] | None,
    typer.Argument(metavar="[SET]…", help="Sets to open: files (TOML) or names of shipped sets.", show_default=False),
]
Folder = Annotated[Path, typer.Option("--folder", metavar="DIR", help="Folder that sets are opened from and saved to.")]
Port = Annotated[
    int | None, typer.Option("--port", min=1, max=65535, help="Port to be found at; else 7373, or a free one.",
                             show_default=False)
]  # fmt: skip
NoBrowser = Annotated[bool, typer.Option("--no-browser", help="Only print the address; open no browser.")]

MOST_SETS = 8
"""Sets that are opened at once; more cannot be seen side by side."""


def serve(sources: Sets = None, folder: Folder = Path(), port: Port = None, no_browser: NoBrowser = False) -> int:
    """Enter readings, see body and metal, and take the files away, in the browser; on this machine only."""
    from planestock.exports.app.drafts import Drafts
    from planestock.exports.app.folder import SetsFolder
    from planestock.exports.app.server import listening, run
    from planestock.exports.app.shared import Shared
    from planestock.exports.commands.endings import FINE
    from planestock.params.problems import refuse

    if not folder.is_dir():
        raise refuse("--folder", str(folder), "must be a folder that is there", "make it, or name another one")
    if sources and len(sources) > MOST_SETS:
        raise refuse("SET", len(sources), f"at most {MOST_SETS} are opened at once", "open the others from the page")
    place = listening(port)
    shared = Shared(
        SetsFolder(folder.resolve()), tuple(_given(source) for source in sources or ()), drafts=Drafts(_drafts_folder())
    )
    run(shared, place, browser=not no_browser, ready=_ready)
    return FINE


def _drafts_folder() -> Path:
    """Return the folder of the person's own state where drafts are kept."""
    from platformdirs import user_state_path

    return user_state_path("planestock", appauthor=False) / "drafts"


def _ready(address: str) -> None:
    typer.echo(f"The app is at {address} (the address works once, then the next is printed; Ctrl+C ends the app).")


def _given(source: str) -> Source:
    """Read a set that was named on the command line; it may lie anywhere, as its person named it."""
    from planestock.exports.app.states import Source, drawings_read
    from planestock.params.files import carrying_drawings, shipped, text_of

    written = text_of(source)
    text = carrying_drawings(written, source)
    kind = "shipped" if source in shipped() and not Path(source).suffix else "given"
    return Source(kind, source, text, source, drawings_read(written, text))
