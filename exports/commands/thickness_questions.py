"""The questions of `planestock thickness` at a terminal: which road, then each reading with how it is taken."""

from __future__ import annotations

import textwrap
from typing import Any

import typer

from planestock.params.catalogue import declared
from planestock.params.files import changed
from planestock.params.first_stage import BENCH, PINS, from_values, needed
from planestock.params.problems import InputProblem
from planestock.params.reading import LengthUnit
from planestock.params.template import explained

WIDTH = 80
"""Columns of a question that is read on any screen."""

WHICH = """\
How is the metal to be measured? One way is enough; both are compared.
  1  the bench method: metal bolted together without the wood, two depths
  2  the readings by pin: adjuster, cap iron, iron and bed angle
  3  both"""

ROADS = {"1": (BENCH,), "2": (PINS,), "3": (BENCH, PINS)}

BENCH_PICTURE = """\
   toe                                            heel
   ==================+======D=====================   casting
                     |     //      its underside is the seat plane
                     |    //
          depth rod, |   //
       straight down |  //   iron on the frog
                     | //
                     v//
                   edge"""

PINS_PICTURE = """\
   toe                                            heel
                                   o   adjuster pin
                         depth    //
                         rod     //    iron on the frog
                                //
   ============================D==================   casting
                              //      its underside is the seat plane
                             //       D: corner of frog's face and
                            //           seat plane
                         edge"""

PICTURES = {BENCH: BENCH_PICTURE, PINS: PINS_PICTURE}


def asked(values: dict[str, Any], units: LengthUnit) -> dict[str, Any]:
    """Return raw values with every reading that was missing, as they were answered; a wrong answer is asked for again.

    Raises typer.Abort where the terminal is closed, and InputProblem for what was wrong among the options already.
    """
    from_values(values, units)
    known = {f"{group}.{name}" for group, inside in values.items() for name in inside}
    wanted = needed(known)
    for road in _which() if not wanted else (BENCH, PINS):
        missing = [path for path in road if path not in known and (not wanted or path in wanted or _goes_with(path, wanted))]
        if missing:
            _say(f"\n{PICTURES[road]}")
        for path in missing:
            values = _asked(values, path, units)
    return values


def _goes_with(path: str, wanted: tuple[str, ...]) -> bool:
    """Tell whether a reading that may be left out belongs to a road that was begun."""
    return path == "adjuster.play" and "adjuster.pin_low" in wanted


def _which() -> tuple[tuple[str, ...], ...]:
    _say(WHICH)
    while (answer := _prompt("1, 2 or 3")) not in ROADS:
        pass
    return ROADS[answer]


def _asked(values: dict[str, Any], path: str, units: LengthUnit) -> dict[str, Any]:
    """Return the values with the answer at a path; without it where it may be left out and was."""
    field = declared(path)
    assert field is not None, f"{path} is declared"
    may_be_left_out = path == "adjuster.play"
    _say(f"\n{textwrap.fill(explained(field, units, asked=True), WIDTH)}")
    while True:
        answer = _prompt(f"{field.title}{', or nothing' if may_be_left_out else ''}")
        if not answer and may_be_left_out:
            return values
        if answer:
            try:
                more = changed(values, [f"{path}={answer}"])
                from_values(more, units)
            except InputProblem as problem:
                _say(str(problem))
            else:
                return more


def _prompt(text: str) -> str:
    return str(typer.prompt(text, default="", show_default=False, err=True)).strip()


def _say(text: str) -> None:
    typer.echo(text, err=True)
