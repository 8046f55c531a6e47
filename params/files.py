"""Parameter sets on disk: shipped sets, TOML files, single values given beside them, and writing with comments kept."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterable, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

from planestock.params.catalogue import declared, nearest_paths
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem, nearest, refuse
from planestock.params.states import keep_states
from planestock.params.toml_bounds import MOST_DOTS, is_too_deep, too_much

LARGEST_FILE = 1_000_000
"""Bytes of a set; one is a few thousand, so a larger file is not a set and is not read into memory."""

LONGEST_POSITION = 4
"""Digits of a position in a list; no list of a set is so long."""


def shipped() -> dict[str, str]:
    """Return the shipped sets: name to TOML text, sorted by name."""
    folder = resources.files("planestock.params") / "sets"
    return {
        Path(entry.name).stem: entry.read_text("utf-8")
        for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".toml")
    }


def load(source: str, changes: Iterable[str] = ()) -> ParameterSet:
    """Load a set by file path or shipped name, with `path=value` changes laid over it, and drawings that it names read.

    Raises InputProblem for a file that cannot be read, is not TOML, or breaks a rule.
    """
    return loaded(text_of(source), source, changes)


def loaded(text: str, source: str, changes: Iterable[str] = ()) -> ParameterSet:
    """Return the set in a text that was read from `source`, as `load` does; drawings are looked for beside that file.

    The set that is returned names no file: it carries the drawings' outlines themselves.
    """
    laid = tuple(changes)
    values = changed(parsed(text, source), laid)
    if names_drawings(values):
        from planestock.params.set_drawings import with_drawings

        values = with_drawings(values, _folder_of(source), {change.partition("=")[0].strip() for change in laid})
    return parameter_set(values)


def names_drawings(values: Mapping[str, Any]) -> bool:
    """Tell whether raw values name the file of a drawing of the casting."""
    casting = values.get("casting")
    return isinstance(casting, Mapping) and any(name in casting for name in DRAWINGS)


DRAWINGS = {"outline_file": "outline", "profile_file": "profile"}
"""Fields of [casting] that name a drawing, and those that carry what it becomes."""


def _folder_of(source: str) -> Path | None:
    """Return the folder that a set lies in; None for a shipped one and for a pipe."""
    path = Path(source)
    return path.parent if path.is_file() else None


def carrying_drawings(text: str, source: str) -> str:
    """Return a set's text with each drawing that it names read and put in; as it is where it names none or is no set."""
    if not names_drawings(parsed(text, source)):
        return text
    return text_as_used(text, (), loaded(text, source))


def raw(source: str) -> dict[str, Any]:
    """Return a set's values as TOML gives them, unvalidated."""
    return parsed(text_of(source), source)


def parsed(text: str, source: str) -> dict[str, Any]:
    """Parse TOML text. source: what to call it in a message. Raises InputProblem where it is none, or far too much."""
    found = too_much(text)
    if found is not None:
        raise refuse(source, found, "is not TOML that a set can have", "mend the line; see `planestock schema`")
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise refuse(
            source, str(error) or "nested too deeply", "is not TOML", "mend the line; texts stand in quotes"
        ) from None
    if is_too_deep(values):
        raise refuse(source, "nested too deeply", "is not TOML that a set can have", "mend it; see `planestock schema`")
    return values


def text_of(source: str) -> str:
    """Return the text of a set by file path or shipped name."""
    path = Path(source)
    if not path.suffix and source in shipped():
        return shipped()[source]
    return _read(path, source)


def _read(path: Path, source: str) -> str:
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except IsADirectoryError:
        raise refuse(source, "a folder", "a set is one TOML file", f"name the file: {path / 'NAME.toml'}") from None
    except (FileNotFoundError, NotADirectoryError):
        known = f"{nearest(source, shipped())} Shipped: {', '.join(shipped())}"
        raise refuse(source, "no such file", "a set is a file or a shipped name", known) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refuse(source, reason, "cannot be read", "check the name and its permissions") from None
    if len(data) > LARGEST_FILE:
        raise refuse(source, "larger than 1 MB", "a set is a small text file", "check that this is the file you meant")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise refuse(
            source, f"byte {error.start} is not UTF-8", "a set is UTF-8 text", "save it as UTF-8 in the editor"
        ) from None


def changed(values: dict[str, Any], changes: Iterable[str]) -> dict[str, Any]:
    """Return a copy of raw values with each `path=value` laid over it; list items are numbered from 0.

    Readings that stay keep the state they were taken in (`states.keep_states`).
    Raises InputProblem for a change that is not `path=value`, or whose path is not declared or leads nowhere.
    """
    result = copy.deepcopy(values)
    for change in changes:
        path, mark, text = (part.strip() for part in change.partition("="))
        if not mark or not path:
            raise refuse("--set", change, "must be path=value", "for example --set throat.opening=0.8")
        _lay(result, _declared(path, text), text)
    keep_states(values, result)
    return result


def rewritten(text: str, changes: Iterable[str]) -> str:
    """Return a set's TOML text with each `path=value` laid over it, comments and order kept."""
    import tomlkit

    return tomlkit.dumps(changed(tomlkit.parse(text), changes))


def text_as_used(text: str, changes: Iterable[str], given: ParameterSet) -> str:
    """Return TOML text that reads back as exactly the set `given`, which came from `text` with `changes` laid over it.

    Comments and order are kept; where the text's layout does not survive that, the values are written plainly instead.
    """
    from tomlkit.exceptions import TOMLKitError

    try:
        kept = _with_outlines(rewritten(text, changes), given)
        if parameter_set(parsed(kept, "the set as used")).digest == given.digest:
            return kept
    except (TOMLKitError, InputProblem):
        pass
    return plainly(given)


def _with_outlines(text: str, given: ParameterSet) -> str:
    """Return a set's text in which the outlines that `given` carries stand where files were named."""
    import tomlkit

    document: Any = tomlkit.parse(text)
    if not names_drawings(document):
        return text
    for name, inline in DRAWINGS.items():
        if name in document["casting"]:
            del document["casting"][name]
            carried = getattr(given.casting, inline)
            if carried is not None:
                document["casting"][inline] = carried
    return tomlkit.dumps(document)


def plainly(given: ParameterSet) -> str:
    """Return a set as TOML without comments; fields that are not given are left out."""
    import tomlkit

    return tomlkit.dumps(given.model_dump(mode="json", exclude_none=True))


def value_of(text: str) -> Any:
    """Read a value as TOML would, or take it as plain text, so that `41.2` is a number and `1-5/8 in` needs no quotes."""
    if too_much(text) is not None:
        return text
    try:
        tomllib.loads(f"value = [{text}]")  # Fails where a comment would swallow the rest, or more than a value follows.
        values = tomllib.loads(f"value = {text}")
        return text if is_too_deep(values) else values["value"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return text


def _declared(path: str, text: str) -> list[str]:
    """Return the names of a path; refuse one that is not a field or group of a parameter set."""
    if path.count(".") > MOST_DOTS:
        raise refuse("--set", path, "is not a field of a parameter set", "see `planestock schema` for the paths")
    if declared(path) is None:
        raise refuse(path, text, "is not a field of a parameter set", nearest_paths(path))
    return path.split(".")


def _lay(values: dict[str, Any], names: list[str], text: str) -> None:
    here: Any = values
    for count, name in enumerate(names[:-1]):
        key = _key(here, name, names, text)
        if isinstance(here, dict) and name not in here:
            here[name] = [] if names[count + 1].isdecimal() else {}
        here = here[key]
    here[_key(here, names[-1], names, text)] = value_of(text)


def _key(here: Any, name: str, names: list[str], text: str) -> str | int:
    """Return the name in a group, or the position in a list, that one step of a path leads to."""
    path = ".".join(names)
    if isinstance(here, dict):
        return name
    if not isinstance(here, list):
        raise refuse(path, text, "leads into a single value", "see `planestock schema` for the paths")
    if not name.isdecimal() or len(name) > LONGEST_POSITION or int(name) >= len(here):
        remedy = "items are numbered from 0" if here else "the set has none there; give the whole list"
        raise refuse(path, text, f"'{name}' is not one of the {len(here)} items", remedy)
    return int(name)
