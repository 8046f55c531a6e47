"""The options of `planestock thickness`, made from the declared fields when the command is run; what it does with them."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from dataclasses import replace
from inspect import Parameter, Signature
from pathlib import Path
from typing import Annotated, Any, Literal

import typer

from planestock.exports.commands.options import AsJson
from planestock.params.catalogue import catalogue, declared
from planestock.params.files import changed
from planestock.params.first_stage import BENCH, CHOICES, PINS, FirstStage, from_values, needed
from planestock.params.problems import NOTHING, InputProblem, Problem
from planestock.params.reading import LengthUnit, Reading
from planestock.params.template import explained

WOOD = ("wood.species", "wood.cut")
"""What the seasons hang on most; the climates are given with --set."""

PATHS = (*BENCH, *PINS, *CHOICES, *WOOD)
"""Fields that have an option of their own, in the order of the help."""

Units = Annotated[
    Literal["mm", "in"], typer.Option("--units", help="Unit of lengths written without one, and of the answer.")
]
Others = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        help="Give another field of a set that the thickness hangs on, for example wood.dry.humidity=20, "
        "instrument.depth_gauge=0.05 or bench.setback=1.5; repeatable.",
    ),
]
Write = Annotated[
    Path | None,
    typer.Option("--write", metavar="FILE", help="Begin a set with these readings, the rest to be filled in.",
                 show_default=False),
]  # fmt: skip
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace FILE if there is one.")]


def with_options(summary: str) -> typer.Typer:
    """Return the command as an application of its own. summary: its help."""
    made = typer.Typer(
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    def command(*, units: LengthUnit, others: list[str] | None, as_json: bool, write: Path | None, overwrite: bool,
                **texts: str | None) -> int:  # fmt: skip
        told = [f"{path}={text}" for path in PATHS if (text := texts[_name(path)]) is not None]
        try:
            given = _completed(changed({}, [*told, *(others or ())]), units, ask=not as_json and _at_a_terminal())
            return _answered(given, units, as_json=as_json, write=write, overwrite=overwrite)
        except InputProblem as problem:
            raise InputProblem(map(_by_option, problem.problems)) from None

    fixed = {"units": (Units, "mm"), "others": (Others, None), "as_json": (AsJson, False), "write": (Write, None),
             "overwrite": (Overwrite, False)}  # fmt: skip
    every = {**{_name(path): (_option(path), None) for path in PATHS}, **fixed}
    # typer reads a command's options from its signature: this one is made of the fields, which are declared once.
    command.__dict__["__signature__"] = Signature(
        [
            Parameter(name, Parameter.KEYWORD_ONLY, default=default, annotation=kind)
            for name, (kind, default) in every.items()
        ]
    )
    command.__annotations__ = {name: kind for name, (kind, _) in every.items()}
    made.command(help=summary)(command)
    return made


def option_of(path: str) -> str:
    """Return the option of a field: its name, with its group's before it where other groups have a field of that name."""
    group, _, name = path.rpartition(".")
    alone = sum(each.path.rpartition(".")[2] == name for each in catalogue() if "[]" not in each.path) == 1
    return f"--{name if alone or path in WOOD else f'{group}_{name}'}".replace("_", "-")


def _by_option(problem: Problem) -> Problem:
    """Return a problem of a field under the name that it was given by."""
    return replace(problem, path=option_of(problem.path)) if problem.path in PATHS else problem


def _name(path: str) -> str:
    return path.replace(".", "__")


def _option(path: str) -> Any:
    field = declared(path)
    assert field is not None, f"{path} is declared"
    default = field.default if path in (*CHOICES, *WOOD) else None
    if isinstance(default, Reading):
        default = replace(default, limit=None).text
    said = f"{explained(field, 'mm')}{f' Default: {default}.' if default else ''}"
    metavar = "READING" if path not in WOOD else "WORD"
    return Annotated[str | None, typer.Option(option_of(path), metavar=metavar, help=said, show_default=False)]


def _at_a_terminal() -> bool:
    """Tell whether somebody can be asked: the questions go to stderr, so that stdout holds the answer alone."""
    return sys.stdin is not None and sys.stdin.isatty() and sys.stderr.isatty()


def _completed(values: dict[str, Any], units: LengthUnit, *, ask: bool) -> dict[str, Any]:
    """Return raw values with nothing missing: asked for, where `ask`. Raises InputProblem that names the options."""
    if ask:
        from planestock.exports.commands.thickness_questions import asked

        return asked(values, units)
    paths = _paths(values)
    from_values(values, units)
    wanted = needed(paths)
    if not wanted:
        bench, pins = (" and ".join((", ".join(names[:-1]), names[-1])) for names in map(_options_of, (BENCH, PINS[:-1])))
        raise InputProblem([
            Problem(bench, NOTHING, "two depths give the thickness, and none was given", f"give them; or {pins}")
        ])  # fmt: skip
    missing = [path for path in wanted if path not in paths]
    if missing:
        raise InputProblem([_missing(path) for path in missing])
    return values


def _options_of(paths: Iterable[str]) -> list[str]:
    return [option_of(path) for path in paths]


def _missing(path: str) -> Problem:
    field = declared(path)
    how = (field.description or "") if field else ""
    return Problem(option_of(path), NOTHING, "is needed beside what was read, and was not given", how)


def _paths(values: Mapping[str, Any]) -> frozenset[str]:
    """Return the paths of raw values in groups."""
    return frozenset(f"{group}.{name}" for group, inside in values.items() if isinstance(inside, Mapping) for name in inside)


def _answered(values: dict[str, Any], units: LengthUnit, *, as_json: bool, write: Path | None, overwrite: bool) -> int:
    """Print the answer, and begin a set where asked."""
    from planestock.exports.commands.endings import CHECK_FAILED, FINE
    from planestock.exports.commands.progress import print_json, say
    from planestock.exports.files.stamp import overall
    from planestock.exports.report.first_stage_data import first_stage_data
    from planestock.models.checks.first_stage import first_stage_checks
    from planestock.models.window.thickness import safe_thicknesses

    given = from_values(values, units)
    safe, told = safe_thicknesses(given), _paths(values)
    rows = first_stage_checks(safe)
    if write is not None:
        _begin(write, given, values, overwrite=overwrite)
    if as_json:
        print_json(first_stage_data(given, safe, rows, told))
    else:
        from planestock.exports.report.first_stage_screen import show_answer
        from planestock.exports.report.screen import result_console

        show_answer(result_console(), given, safe, rows, told)
    if write is not None:
        say(f"Wrote {write}: these readings are in it; what else is to be measured is empty. See what is missing with: "
            f"planestock check {write} --numbers")  # fmt: skip
    return CHECK_FAILED if overall(rows) == "fail" else FINE


MODEL = "jack"
"""Shipped set whose choices a set begins with, as with `new`."""


def _begin(path: Path, given: FirstStage, values: dict[str, Any], *, overwrite: bool) -> None:
    """Write a set that holds these readings, and no other of any metal."""
    from planestock.exports.commands.sets import write_new_set
    from planestock.params.files import load
    from planestock.params.parsing import parameter_set
    from planestock.params.template import template

    metal: dict[str, Any] = {"adjuster": None, "bench": None}
    model = load(MODEL).model_dump(mode="json") | metal | {"units": given.units}
    chosen = {path.partition(".")[2]: given.readings[path].written for path in CHOICES}
    told = {group: {**(model.get(group) or {}), **inside} for group, inside in values.items()}
    told["work"] = model["work"] | chosen
    limits = {"instrument": given.instrument.model_dump(mode="json"), "wood": given.wood.model_dump(mode="json")}
    started = parameter_set(model | told | limits)
    write_new_set(path, template(started, path.stem, empty=True, read=_paths(values)), overwrite=overwrite)
