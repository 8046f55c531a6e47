"""Checks as rows: what was asked, what is, the limit, the margin, the verdict, and what to change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planestock.models.window.reach import ROUNDING

Verdict = Literal["pass", "warn", "fail"]


@dataclass(frozen=True)
class Row:
    """One check. value and limit are in `unit`; `at_least` tells on which side of the limit the value belongs.

    value is None where there is nothing to measure (no such feature); such a row passes. change: what to do about it.
    warns_at: a stricter level than the limit, a miss of which warns; None where there is none.
    """

    id: str
    asked: str
    value: float | None
    limit: float
    unit: str
    at_least: bool
    verdict: Verdict
    change: str
    warns_at: float | None = None

    @property
    def margin(self) -> float | None:
        """How far the value is on the good side of the limit; negative on the bad one."""
        return self._inside(self.limit)

    @property
    def missed(self) -> float:
        """The level that the value misses: the limit, or the stricter one at which the row warns; the limit if it passes."""
        margin = self.margin
        if self.warns_at is None or self.verdict != "warn" or margin is None or margin < -ROUNDING:
            return self.limit
        return self.warns_at

    @property
    def shown_margin(self) -> float | None:
        """How far the value is on the good side of the level that it is told beside (`missed`)."""
        return self._inside(self.missed)

    def _inside(self, level: float) -> float | None:
        if self.value is None:
            return None
        return self.value - level if self.at_least else level - self.value


def at_least(  # noqa: PLR0913 - a row has these columns
    name: str, asked: str, value: float | None, limit: float, change: str,
    *, unit: str = "mm", warn_below: float | None = None, advisory: bool = False,
) -> Row:  # fmt: skip
    """Return the row of a value that must not be less than `limit`, and should not be less than `warn_below`.

    advisory: a miss is worth knowing but does not make the body wrong; it warns.
    """
    missed = value is not None and value < limit - ROUNDING
    near = value is not None and warn_below is not None and value < warn_below - ROUNDING
    stricter = warn_below if warn_below is not None and warn_below > limit else None
    return Row(name, asked, value, limit, unit, True, _verdict(missed, near, advisory), change, stricter)


def at_most(  # noqa: PLR0913 - a row has these columns
    name: str, asked: str, value: float | None, limit: float, change: str,
    *, unit: str = "mm", warn_above: float | None = None, advisory: bool = False,
) -> Row:  # fmt: skip
    """Return the row of a value that must not be more than `limit`, and should not be more than `warn_above`."""
    missed = value is not None and value > limit + ROUNDING
    near = value is not None and warn_above is not None and value > warn_above + ROUNDING
    stricter = warn_above if warn_above is not None and warn_above < limit else None
    return Row(name, asked, value, limit, unit, False, _verdict(missed, near, advisory), change, stricter)


def _verdict(missed: bool, near: bool, advisory: bool) -> Verdict:
    if missed and not advisory:
        return "fail"
    return "warn" if missed or near else "pass"


def failing(rows: tuple[Row, ...]) -> tuple[str, ...]:
    """Return the ids of the rows that fail."""
    return tuple(row.id for row in rows if row.verdict == "fail")
