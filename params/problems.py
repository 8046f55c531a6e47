"""Input that cannot be used, said once and clearly: which field, which value, which rule, what to do."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

LONGEST_VALUE_SHOWN = 80
"""Characters of an offending value that a message repeats; longer ones are cut so that the message stays readable."""

LONGEST_PATH_SHOWN = 300
"""The same of a path or a file's name, which is of use only when it is whole."""

NOTHING = "nothing"
"""Value of a problem about something that was not given."""


@dataclass(frozen=True)
class Problem:
    """One broken rule. path: dotted path of the field, or a file's name; rule: what must hold; remedy: what to do.

    value: as it was given, `NOTHING` where there was none.
    """

    path: str
    value: str
    rule: str
    remedy: str

    @property
    def said(self) -> str:
        """Rule and remedy; a remedy that is a sentence of its own, such as how to measure a field, stands as one."""
        return f"{self.rule}{'.' if self.remedy[:1].isupper() else ';'} {self.remedy}"

    def __str__(self) -> str:
        """The problem as one line."""
        return f"{self.path}: {self.said}" if self.value == NOTHING else f"{self.path} = {self.value}: {self.said}"


class InputProblem(ValueError):
    """Input that breaks one or more rules; `problems` lists them, in the order of the fields."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems and make the message one line for each."""
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def refuse(path: str, value: object, rule: str, remedy: str) -> InputProblem:
    """Return the exception for a single broken rule, ready to be raised."""
    return InputProblem([Problem(path_shown(path), shown(value), rule, remedy)])


def shown(value: object) -> str:
    """Return a value as a message repeats it: printable, on one line, cut at `LONGEST_VALUE_SHOWN` characters."""
    return _on_one_line(value if isinstance(value, str) else _as_written(value), LONGEST_VALUE_SHOWN)


def path_shown(path: str) -> str:
    """Return a path or a file's name as a message repeats it."""
    return _on_one_line(path, LONGEST_PATH_SHOWN)


def _on_one_line(text: str, longest: int) -> str:
    printable = "".join(character if character.isprintable() else "�" for character in text)
    if not printable.strip():
        return f'"{printable[:longest]}"'
    return printable if len(printable) <= longest else printable[: longest - 1] + "…"


def _as_written(value: object) -> str:
    """Return a value as it stands in a set: truth values as TOML writes them."""
    if isinstance(value, bool):
        return str(value).lower()
    try:
        return repr(value)
    except ValueError:  # Python refuses to write out an integer of thousands of digits.
        return "a number of thousands of digits"


def nearest(name: str, known: Iterable[str]) -> str:
    """Return a remedy that names up to three known names close to `name`, or all of them when they are few."""
    names = sorted(known)
    close = difflib.get_close_matches(name, names, n=3, cutoff=0.5) or (names if len(names) <= 12 else [])
    return f"did you mean {' or '.join(close)}?" if close else "see the list of fields in `planestock schema`"
