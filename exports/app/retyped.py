"""The command line that does what is on the screen: the set it began with, and each value that was changed since."""

from __future__ import annotations

import shlex
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from planestock.params.catalogue import declared
from planestock.params.files import changed, value_of
from planestock.params.problems import InputProblem

MOST_CHANGES = 40
"""Changes that one command line can still be read with."""


def command(task: str, source: str, before: str, now: str) -> str | None:
    """Return `planestock TASK SOURCE --set …`, or None where no such line says it: then the set must be saved first.

    before, now: the set's TOML text as the source has it, and as it stands.
    """
    changes = differences(tomllib.loads(before), tomllib.loads(now))
    if changes is None or len(changes) > MOST_CHANGES:
        return None
    return " ".join(["planestock", task, shlex.quote(source), *(f"--set {shlex.quote(one)}" for one in changes)])


def differences(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str] | None:
    """Return the changes, as --set takes them, that turn one raw set into another; None where none do."""
    changes = [f"{path}={_typed(value)}" for path, value in _changed(before, now, "")]
    try:
        return changes if changed(dict(before), changes) == now else None
    except InputProblem:
        return None


def _changed(before: Any, now: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Yield the paths and values of what is new or other; what was taken away cannot be said so."""
    pairs: Iterator[tuple[Any, Any]] = iter(())
    if isinstance(now, Mapping) and isinstance(before, Mapping):
        pairs = iter(now.items())
    elif isinstance(now, list) and isinstance(before, list) and _groups(now) and len(now) == len(before):
        pairs = iter(enumerate(now))
    elif now != before:
        yield from _new(now, path)
    for name, value in pairs:
        there = before.get(name, None) if isinstance(before, Mapping) else before[name]
        yield from _changed(
            {} if there is None and isinstance(value, Mapping) else there, value, f"{path}.{name}".lstrip(".")
        )


def _new(now: Any, path: str) -> Iterator[tuple[str, Any]]:
    if path and declared(path) is not None:
        yield path, now


def _groups(values: list[Any]) -> bool:
    return bool(values) and all(isinstance(one, Mapping) for one in values)


def _typed(value: Any) -> str:
    """Return a value as it is typed after --set: plainly where that is read as it is meant, else as TOML writes it."""
    import tomlkit

    if isinstance(value, str) and value_of(value) == value and value == value.strip():
        return value
    return str(tomlkit.item(value).as_string())
