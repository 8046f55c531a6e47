"""Parameter sets on disk: shipped sets, TOML files, single values given beside them, and writing with comments kept."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterable
from importlib import resources
from pathlib import Path
from typing import Any

from planestock.params.parameter_set import ParameterSet, parameter_set
from planestock.params.problems import nearest, refuse

LARGEST_FILE = 1_000_000
"""Bytes of a set; one is a few thousand, so a larger file is not a set and is not read into memory."""

DEEPEST_PATH = 5
"""Names in a path; the tree is no deeper."""


def shipped() -> dict[str, str]:
    """Return the shipped sets: name to TOML text, sorted by name."""
    folder = resources.files("planestock.params") / "sets"
    return {
        Path(entry.name).stem: entry.read_text("utf-8")
        for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".toml")
    }


def load(source: str, changes: Iterable[str] = ()) -> ParameterSet:
    """Load a set by file path or shipped name, with `path=value` changes laid over it.

    Raises InputProblem for a file that cannot be read, is not TOML, or breaks a rule.
    """
    return parameter_set(changed(raw(source), changes))


def raw(source: str) -> dict[str, Any]:
    """Return a set's values as TOML gives them, unvalidated."""
    return parsed(text_of(source), source)


def parsed(text: str, source: str) -> dict[str, Any]:
    """Parse TOML text. source: what to call it in a message."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise refuse(
            source, str(error) or "nested too deeply", "is not TOML", "mend the line; texts stand in quotes"
        ) from None


def text_of(source: str) -> str:
    """Return the text of a set by file path or shipped name."""
    path = Path(source)
    if not path.suffix and source in shipped():
        return shipped()[source]
    return _read(path, source)


def _read(path: Path, source: str) -> str:
    try:
        if path.is_dir():
            raise refuse(source, "a folder", "a set is one TOML file", f"name the file: {path / 'NAME.toml'}")
        with path.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except (FileNotFoundError, NotADirectoryError):
        known = ", ".join(shipped())
        raise refuse(
            source,
            "no such file",
            "a set is a file or a shipped name",
            f"{nearest(source, shipped())} Shipped: {known}",
        ) from None
    except (OSError, ValueError) as error:
        raise refuse(
            source,
            getattr(error, "strerror", None) or str(error),
            "cannot be read",
            "check the name and its permissions",
        ) from None
    if len(data) > LARGEST_FILE:
        raise refuse(source, "larger than 1 MB", "a set is a small text file", "check that this is the file you meant")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse(
            source, f"byte {error.start} is not UTF-8", "a set is UTF-8 text", "save it as UTF-8 in the editor"
        ) from None


def changed(values: dict[str, Any], changes: Iterable[str]) -> dict[str, Any]:
    """Return a copy of raw values with each `path=value` laid over it; list items are numbered from 0."""
    result = copy.deepcopy(values)
    for change in changes:
        path, mark, text = change.partition("=")
        if not mark or not path.strip():
            raise refuse("--set", change, "must be path=value", "for example --set throat.opening=0.8")
        _lay(result, path.strip(), value_of(text.strip()))
    return result


def value_of(text: str) -> Any:
    """Read a value as TOML would, or take it as plain text, so that `41.2` is a number and `1-5/8 in` needs no quotes."""
    try:
        value = tomllib.loads(f"value = {text}")
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return text
    return value["value"] if set(value) == {"value"} else text


def _lay(values: dict[str, Any], path: str, value: Any) -> None:
    names = path.split(".")
    if len(names) > DEEPEST_PATH:
        raise refuse("--set", path, f"a path has at most {DEEPEST_PATH} names", "see `planestock schema`")
    here: Any = values
    for name in names[:-1]:
        here = _step(here, name, path)
    if isinstance(here, list):
        here[_position(here, names[-1], path)] = value
    elif isinstance(here, dict):
        here[names[-1]] = value
    else:
        raise refuse("--set", path, "leads into a single value", "see `planestock schema` for the paths")


def _step(here: Any, name: str, path: str) -> Any:
    if isinstance(here, dict):
        return here.setdefault(name, {})
    if isinstance(here, list):
        return here[_position(here, name, path)]
    raise refuse("--set", path, f"'{name}' is inside a single value", "see `planestock schema` for the paths")


def _position(items: list[Any], name: str, path: str) -> int:
    if not name.isdecimal() or len(name) > 4 or int(name) >= len(items):
        raise refuse("--set", path, f"'{name}' is not one of the {len(items)} items", "items are numbered from 0")
    return int(name)
