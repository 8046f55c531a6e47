"""The viewer's scripts and styles, bundled when planestock was installed (exports/viewer_build.py)."""

from __future__ import annotations

from importlib import resources

from planestock.exports.files.writer_rules import WriterFailed

FOLDER = "viewer_bundle"


def bundled(name: str) -> str:
    """Return one file of the bundle as text. Raises WriterFailed where planestock was installed without it."""
    try:
        return (resources.files("planestock.exports") / FOLDER / name).read_text("utf-8")
    except (FileNotFoundError, NotADirectoryError):
        raise WriterFailed(
            f"the viewer ({FOLDER}/{name}) is missing from this installation; it is made by pip: run 'pip install -e .' in "
            "the source folder, or install a wheel"
        ) from None
