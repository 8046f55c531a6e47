"""What the page shows at once for a set: its values, what is wrong with them, and else the numbers that follow."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planestock.exports.app.documents import opened
from planestock.exports.app.fields import shown_values
from planestock.exports.drawing.gauge import in_words
from planestock.exports.wording.design import RowText, first_numbers, has_failing, row_text, to_act_on
from planestock.exports.wording.window import (
    comparison_sentence,
    retake_sentence,
    seasons_sentence,
    sole_life_sentence,
    thickness_sentence,
    wear_sentence,
)
from planestock.exports.wording.window_notes import window_notes
from planestock.models.checks.rows import Row
from planestock.models.design import Design, design
from planestock.models.window.readings import limit_at, told_limit, unit_of
from planestock.params.catalogue import declared
from planestock.params.fields import Group, group_of, quantity_of
from planestock.params.lengths import DECIMALS, Lengths
from planestock.params.outlines.path_text import SHAPES
from planestock.params.outlines.path_text import in_words as shape_in_words
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem, Problem
from planestock.params.reading import Reading

Entry = dict[str, Any]

MOST_PROBLEMS = 100
"""Problems shown at once; a set with more is not a set of this program."""

LEAST_SHARE = 0.02
"""Part of the uncertainty below which a reading's share is not worth a word."""


@dataclass(frozen=True)
class Evaluated:
    """A set's text and what follows. values: single values by path; groups: paths of the groups that are there.

    lists: lengths of lists of groups; numbers: None while there are problems.
    """

    text: str
    values: Mapping[str, str]
    groups: tuple[str, ...]
    lists: Mapping[str, int]
    problems: tuple[Entry, ...]
    numbers: Entry | None


def evaluate(text: str) -> Evaluated:
    """Return what follows from a set's text. Raises InputProblem only where the text is no TOML."""
    document = opened(text, "the set")
    values: Mapping[str, Any] = document.unwrap()
    problems: tuple[Entry, ...] = ()
    numbers: Entry | None = None
    try:
        numbers = numbers_of(design(parameter_set(values)))
    except InputProblem as found:
        problems = tuple(_problem(one) for one in found.problems[:MOST_PROBLEMS])
    groups, lists = _shape(values)
    shown = shown_values(document)
    length = Lengths("in" if values.get("units") == "in" else "mm")
    shown |= {path: shape_in_words(shown[path], length) for path in SHAPES if path in shown}
    return Evaluated(text, shown, groups, lists, problems, numbers)


def _shape(values: Mapping[str, Any]) -> tuple[tuple[str, ...], dict[str, int]]:
    """Return the paths of the groups that a raw set has, and the lengths of its lists of groups."""
    groups: list[str] = []
    lists: dict[str, int] = {}

    def walk(here: Mapping[str, Any], path: str) -> None:
        for name, value in here.items():
            field = declared(f"{path}{name}") if "." not in name and name else None
            if field is None or group_of(field.annotation)[0] is None:
                continue
            if isinstance(value, Mapping):
                groups.append(f"{path}{name}")
                walk(value, f"{path}{name}.")
            elif isinstance(value, list):
                lists[f"{path}{name}"] = len(value)

    walk(values, "")
    return tuple(groups), lists


def _problem(found: Problem) -> Entry:
    return {
        "path": found.path,
        "value": found.value,
        "rule": found.rule,
        "remedy": found.remedy,
        "said": found.said,
        "title": titled(found.path),
    }


def titled(path: str) -> str:
    """Return the declared title of a field, with its group's where there is one; the path where it is not declared."""
    field = declared(path)
    if field is None:
        return path
    head, _, name = path.rpartition(".")
    above = declared(head) if name and head else None
    number = f" {int(head.rpartition('.')[2]) + 1}" if head.rpartition(".")[2].isdecimal() else ""
    return f"{above.title}{number}: {field.title}" if above is not None else str(field.title)


def numbers_of(made: Design) -> Entry:
    """Return the numbers of a design for the page: key numbers, gauge, checks, and a few words on each reading."""
    given = made.given
    return {
        "name": given.name,
        "digest": given.digest,
        "units": given.units,
        "act": to_act_on(made, failing=has_failing(made.number_checks)),
        "act_failing": to_act_on(made, failing=True),
        "key": [{"name": one.name, "value": one.value, "words": one.words} for one in first_numbers(made)],
        "gauge": gauge(made),
        "sentences": list(_sentences(made)),
        "rows": rows_shown(made.number_checks, given.lengths),
        "notes": dict(_notes(made)),
        "limits": dict(_limits(made)),
    }


def gauge(made: Design) -> Entry:
    """Return what the gauge draws, mm: the window, how well it is known, what is safe, the thickness and its seasons."""
    settled, through = made.settled, made.seasons
    return {
        "min": settled.low.value,
        "max": settled.high.value,
        "u_min": settled.low.expanded,
        "u_max": settled.high.expanded,
        "safe_low": settled.safe_low,
        "safe_high": settled.safe_high,
        "thickness": settled.thickness,
        "chosen": settled.chosen,
        "dry": through.driest.thickness,
        "wet": through.dampest.thickness,
        "contradicted": settled.contradicted,
        "words": in_words(settled),
    }


def _sentences(made: Design) -> Iterator[str]:
    """Yield what the gauge cannot draw, most useful first."""
    settled, length = made.settled, made.given.lengths
    if settled.comparison is not None and settled.comparison.agree:
        yield comparison_sentence(settled.comparison, length)
    yield from window_notes(settled)
    yield thickness_sentence(settled)
    yield retake_sentence(settled.retake, length)
    yield seasons_sentence(made.seasons, length)
    yield wear_sentence(settled)
    yield sole_life_sentence(made.sole_life, length)


def rows_shown(rows: Sequence[Row], lengths: Lengths) -> list[Entry]:
    """Return checks as the page shows them: everything in words."""
    return [_row_shown(row, row_text(row, lengths)) for row in rows]


def _row_shown(row: Row, told: RowText) -> Entry:
    return {
        "id": row.id,
        "asked": row.asked,
        "verdict": row.verdict,
        "value": told.value,
        "limit": told.limit,
        "found": told.found,
        "change": row.change,
    }


def _notes(made: Design) -> Iterator[tuple[str, str]]:
    """Yield how each reading was understood, where that says more than what was typed."""
    shares = {term.path: term.share for term in made.settled.high.terms}
    for path, reading in _readings(made.given):
        parts = [*_meaning(path, reading, made.given.lengths), *_share(path, shares)]
        if parts:
            yield path, "; ".join(parts)


def _meaning(path: str, reading: Reading, length: Lengths) -> Iterator[str]:
    """Yield the mean of repeated readings, and what a length written in another unit than the set's is in the set's."""
    value = _finely(path, reading.value, length)
    if reading.repeats:
        yield f"mean of {len(reading.repeats)}: {value}"
    elif unit_of(path) == "mm" and reading.unit != length.units:
        yield f"= {value}"


def _finely(path: str, value: float, length: Lengths) -> str:
    """Return a value with one decimal more than sentences have: a mean is finer than its readings."""
    if unit_of(path) == "mm":
        return f"{length.number(value, DECIMALS[length.units] + 1)} {length.units}"
    return f"{value:.3f}°".replace("-", "−")


def _limits(made: Design) -> Iterator[tuple[str, str]]:
    """Yield the ± that its tool gives to each measured reading which has none written with it."""
    for path, reading in _readings(made.given):
        field = declared(path)
        quantity = quantity_of(field) if field else None
        if quantity is not None and quantity.measured and reading.limit is None:
            yield path, f"± {told_limit(path, limit_at(made.given, path), made.given.lengths)}"


def _share(path: str, shares: Mapping[str, float]) -> Iterator[str]:
    if shares.get(path, 0.0) >= LEAST_SHARE:
        yield f"{100 * shares[path]:.0f} % of the ± of T_max"


def _readings(group: Group, path: str = "") -> Iterator[tuple[str, Reading]]:
    for name in type(group).model_fields:
        value = getattr(group, name)
        if isinstance(value, Reading):
            yield f"{path}{name}", value
        elif isinstance(value, Group):
            yield from _readings(value, f"{path}{name}.")
        elif isinstance(value, tuple) and value and isinstance(value[0], Group):
            for index, one in enumerate(value):
                yield from _readings(one, f"{path}{name}.{index}.")
