"""A set's TOML text while it is edited: single values laid in, groups and list items added or taken out, comments kept.

Every function takes a text and returns a new one. Raises InputProblem for a path that is no field, or that leads nowhere.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from planestock.exports.app.fields import kind_of, read_typed
from planestock.params.catalogue import declared, nearest_paths
from planestock.params.fields import group_of
from planestock.params.files import parsed
from planestock.params.problems import refuse
from planestock.params.states import drop_states_in_use, keep_states, kept_fields

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

LARGEST_SET = 100_000
"""Characters of a set in the app; one is some thousand, and keeping comments makes reading a larger one slow."""

LONGEST_TYPED = 6000
"""Characters of one field; a note has some hundred, and whatever breaks a field's own rule is kept to be mended."""

LONGEST_PATH = 8
"""Names in a path; the declared ones have four at most."""


def opened(text: str, source: str) -> TOMLDocument:
    """Return a text as a document that remembers comments. source: what to call it in a message."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    if len(text) > LARGEST_SET:
        raise refuse(
            source, f"{len(text)} characters", f"a set has at most {LARGEST_SET}", "check that this is the file you meant"
        )
    parsed(text, source)
    try:
        return tomlkit.parse(text)
    except (TOMLKitError, RecursionError, ValueError) as error:
        raise refuse(source, str(error), "cannot be edited here", "write it more plainly in an editor") from None


def written(text: str, path: str, typed: str) -> str:
    """Return the text with a field set to what was typed; nothing typed leaves the field out.

    Readings that stay keep the state they were taken in, as with `--set` (`params.states`).
    """
    field = declared(path)
    if field is None:
        raise refuse(path, typed, "is not a field of a parameter set", nearest_paths(path))
    if group_of(field.annotation)[0] is not None:
        raise refuse(path, typed, "is a group of fields, not a single value", "name a field inside it")
    if len(typed) > LONGEST_TYPED:
        raise refuse(path, typed, f"{len(typed)} characters; a field takes at most {LONGEST_TYPED}", "write it shorter")
    document = opened(text, path)
    names = path.split(".")
    if typed.strip():
        _holder(document, names, make=True)[_key(names[-1])] = read_typed(kind_of(field), typed)
    elif _is_there(document, names):
        _drop(document, names)
    return _kept(text, document, path)


def _kept(before: str, document: TOMLDocument, path: str) -> str:
    """Return a changed document's text, its readings with the state they were taken in; one that is in use again goes."""
    keep_states(parsed(before, path), document)
    if path in {kept.in_use for kept in kept_fields()}:
        drop_states_in_use(document)
    return _checked(document, path)


def taken_out(text: str, path: str) -> str:
    """Return the text without what is at a path: a value, a group, one item of a list, or a field that is not declared."""
    document = opened(text, path)
    _drop(document, _few(path))
    return _kept(text, document, path)


def added(text: str, path: str) -> str:
    """Return the text with an empty group at a path, or with one more item where the path is a list of groups."""
    field = declared(path)
    group, many = (None, False) if field is None else group_of(field.annotation)
    if group is None:
        raise refuse(path, "a group", "is not a group of a parameter set", nearest_paths(path))
    document = opened(text, path)
    names = path.split(".")
    holder, name = _holder(document, names, make=True), names[-1]
    if isinstance(holder, list):  # An item comes by its list's own path, at the end.
        raise _nowhere(names)
    if many:
        _append(holder, name)
    elif name not in holder:
        holder[name] = _empty(holder)
    return _checked(document, path)


def _few(path: str) -> list[str]:
    names = path.split(".")
    if len(names) > LONGEST_PATH:
        raise refuse(path, f"{len(names)} names", "leads nowhere in this set", "see the set's own text")
    return names


def _key(name: str) -> str | int:
    return int(name) if name.isdecimal() else name


def _holder(document: Any, names: list[str], *, make: bool = False) -> Any:
    """Return what holds the last name of a path. make: groups on the way that are missing are added."""
    here: Any = document
    for name in names[:-1]:
        if make and isinstance(here, dict) and name not in here:
            here[name] = _empty(here)
        here = _step(here, name, names)
    if not isinstance(here, dict | list):
        raise _nowhere(names)
    return here


def _step(here: Any, name: str, names: list[str]) -> Any:
    if isinstance(here, Mapping) and name in here:
        return here[name]
    if isinstance(here, list) and name.isdecimal() and len(name) < LONGEST_PATH and int(name) < len(here):
        return here[int(name)]
    raise _nowhere(names)


def _nowhere(names: list[str]) -> Exception:
    return refuse(".".join(names), "nothing", "leads nowhere in this set", "load the page again to see it as it is")


def _is_there(document: Any, names: list[str]) -> bool:
    here = document
    for name in names:
        if not (isinstance(here, Mapping) and name in here) and not isinstance(here, list):
            return False
        here = _step(here, name, names)
    return True


def _drop(document: Any, names: list[str]) -> None:
    holder = _holder(document, names)
    _step(holder, names[-1], names)
    del holder[int(names[-1]) if isinstance(holder, list) else names[-1]]


def _empty(holder: Any) -> Any:
    """Return an empty group as it may stand in its holder: inside braces, only braces."""
    import tomlkit
    from tomlkit.items import InlineTable

    return tomlkit.inline_table() if isinstance(holder, InlineTable) else tomlkit.table()


def _append(holder: Any, name: str) -> None:
    import tomlkit
    from tomlkit.items import AoT

    if name not in holder or not isinstance(holder[name], list):
        holder[name] = tomlkit.array()
    items = holder[name]
    items.append(tomlkit.table() if isinstance(items, AoT) else tomlkit.inline_table())


def _checked(document: TOMLDocument, path: str) -> str:
    """Return a document's text, once it is sure to read back as what it holds."""
    import tomlkit

    text = tomlkit.dumps(document)
    try:
        same = tomllib.loads(text) == document.unwrap()
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        same = False
    if not same:
        raise refuse(path, "this set's layout", "cannot be changed here without harm to the file", "change it in an editor")
    if len(text) > LARGEST_SET:
        raise refuse(path, f"{len(text)} characters", f"a set has at most {LARGEST_SET}", "shorten the note")
    return text
