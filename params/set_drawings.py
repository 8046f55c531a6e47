"""Drawings that a set names: read where the set lies, and put into it as path data, so that the set stands by itself."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from planestock.params.metal import Tracing
from planestock.params.outlines.path_text import written
from planestock.params.parsing import parameter_set
from planestock.params.problems import refuse
from planestock.params.traced.cleaning import How, Kind, clean_file

KINDS: tuple[Kind, Kind] = ("outline", "profile")


def with_drawings(values: dict[str, Any], folder: Path | None, typed: Collection[str] = ()) -> dict[str, Any]:
    """Return raw values in which each drawing that is named stands as path data instead.

    folder: of the set's file, None where there is none (a pipe). typed: paths that were given beside the set; a file named
    there is looked for from the working folder and may lie anywhere, one that a set names must lie in the set's folder or
    below it: sets are handed on, and must not reach around in other people's folders.

    Raises InputProblem for a file that cannot be used, and for any rule that the set breaks without it.
    """
    casting = dict(values["casting"])
    files = {kind: casting.pop(f"{kind}_file", None) for kind in KINDS}
    for kind in KINDS:
        _one_of_two(kind, casting, files, typed)
    how = _how(parameter_set({**values, "casting": casting}).casting.tracing)
    for kind, name in files.items():
        if name is not None:
            path = f"casting.{kind}_file"
            found = clean_file(_place(path, name, folder, typed), kind, how[kind], path)
            casting[kind] = written(found.outline, closed=kind == "outline")
    return {**values, "casting": casting}


def _one_of_two(kind: Kind, casting: dict[str, Any], files: dict[Kind, Any], typed: Collection[str]) -> None:
    """Let what was typed beside the set take the place of what stands in it; refuse a file beside path data."""
    if files[kind] is None or kind not in casting:
        return
    if f"casting.{kind}" in typed:
        files[kind] = None
    elif f"casting.{kind}_file" in typed:
        del casting[kind]
    else:
        raise refuse(f"casting.{kind}_file", files[kind], f"is given beside casting.{kind}", "give only one of them")


def _place(path: str, name: object, folder: Path | None, typed: Collection[str]) -> Path:
    if not isinstance(name, str) or not name.strip() or "\0" in name:
        raise refuse(path, name, "must be the name of a file, in quotes", 'for example "casting.dxf"')
    if path in typed:
        return Path(name)
    if folder is None:
        raise refuse(
            path,
            name,
            "cannot be looked for: this set is not read from a file in a folder",
            "name the set's own file, or put the outline into the set with planestock build",
        )
    strays = any(
        kind(name).is_absolute() or kind(name).drive or ".." in kind(name).parts for kind in (PurePosixPath, PureWindowsPath)
    )
    if strays or not (folder / name).resolve().is_relative_to(folder.resolve()):
        raise refuse(
            path,
            name,
            "lies outside the set's folder",
            f"put the file beside the set, or name it on the command line: --set {path}=FILE",
        )
    return folder / name


def _how(tracing: Tracing) -> dict[Kind, How]:
    """Return how each drawing is read."""
    marks = {"outline": tracing.outline_marks, "profile": tracing.profile_marks}
    return {
        kind: How(
            unit=tracing.unit,
            largest_gap=tracing.largest_gap.value,
            tolerance=tracing.tolerance.value,
            marks=tracing.placing == "marks",
            places=places(f"casting.tracing.{kind}_marks", text) if (text := marks[kind]) else None,
            apart=tracing.marks_apart.value if tracing.marks_apart else None,
        )
        for kind in KINDS
    }


def places(path: str, text: str) -> tuple[float, float, float, float]:
    """Return four numbers, x y x y, of two marks. Raises InputProblem."""
    try:
        a, b, c, d = (float(part) for part in text.replace(",", " ").split())
    except ValueError:
        raise refuse(
            path,
            text,
            "must be four numbers: x y of the corner mark, x y of the middle mark",
            'for example "12.5 40 212.5 40"',
        ) from None
    if not all(abs(value) < 1e6 for value in (a, b, c, d)):
        raise refuse(path, text, "holds a number that is no place in a drawing", "give them in the drawing's own units")
    return a, b, c, d
