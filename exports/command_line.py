"""The command line. Each command is a function in a module of its own (`commands/`) and one line here.

Those modules import what is slow inside their functions, so that `--help` and `check --numbers` start at once.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from planestock.exports.commands.build import build
from planestock.exports.commands.check import check
from planestock.exports.commands.compare import compare
from planestock.exports.commands.endings import ended
from planestock.exports.commands.fit import fit
from planestock.exports.commands.picture import picture
from planestock.exports.commands.salvage import salvage
from planestock.exports.commands.serve import serve
from planestock.exports.commands.sets import new, schema, sets
from planestock.exports.commands.sweep import sweep
from planestock.exports.commands.thickness import thickness
from planestock.exports.commands.trace import trace
from planestock.exports.commands.view import view
from planestock.exports.commands.worksheet import worksheet

HELP = """\
From caliper readings of a transitional plane's metal to a wooden body that fits it.

A SET is a parameter-set file (TOML) or the name of a shipped set. Results go to stdout, progress and errors to stderr.
Exit codes: 0 fine, 1 a check failed, 2 bad input, 3 something broke.
"""

COMMANDS = (thickness, new, sets, check, build, view, compare, sweep, salvage, worksheet, picture, trace, fit, serve, schema)
"""Every command, in the order of the help; a function's name is the command's."""


LATE = (thickness,)
"""Commands that make their own options when they are run: of the declared fields, which `--help` must not wait for."""

PASSED_ON = {"ignore_unknown_options": True, "allow_extra_args": True, "help_option_names": []}
"""Settings of a late command: it gets its arguments as they were typed."""


def _show_version(wanted: bool) -> None:
    if wanted:
        from planestock.exports.files.stamp import program_version

        typer.echo(f"planestock {program_version()}")
        raise typer.Exit


def _options(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and exit.", callback=_show_version, is_eager=True)
    ] = False,
) -> None:
    """Options of the program itself: all do their work in their callbacks."""


def application() -> typer.Typer:
    """Return the command line with all its commands."""
    made = typer.Typer(
        help=HELP,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    made.callback()(_options)
    for command in COMMANDS:
        made.command(context_settings=PASSED_ON if command in LATE else None)(command)
    return made


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code. arguments: without the program's name; None for the process's own."""
    given = list(sys.argv[1:] if arguments is None else arguments) or ["--help"]
    _never_fail_on_letters()
    return ended(lambda: application()(args=given, prog_name="planestock", standalone_mode=False))


def _never_fail_on_letters() -> None:
    """Print what stdout's encoding lacks as ?, instead of failing half-way through a table."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")
