"""What a command says while it works, on stderr, and machine output on stdout."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def busy(doing: str) -> Iterator[None]:
    """Show on a terminal's stderr that something takes a moment; nothing where `doing` is empty or stderr is no terminal."""
    if not doing or not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(doing):
        yield


@contextmanager
def steps(count: int) -> Iterator[Callable[[str], None]]:
    """Show a bar of `count` steps on a terminal's stderr; call what this gives with the name of each step as it begins."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), TimeElapsedColumn(), TextColumn("{task.description}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=count)
        begun = 0

        def begin(name: str) -> None:
            nonlocal begun
            bar.update(task, completed=begun, description=name)
            begun += 1

        yield begin


def say(line: str) -> None:
    """Print a line about the work itself to stderr."""
    print(line, file=sys.stderr)


def print_json(value: dict[str, Any]) -> None:
    """Print one JSON object to stdout: plain ASCII, so that no terminal's encoding can spoil it."""
    from planestock.exports.files.plain_data import as_json

    sys.stdout.write(as_json(value, ascii_only=True))
