"""What `sweep --json` promises: every key, in their order. Null where there is none."""

from __future__ import annotations

from planestock.exports.files.promised import Number, Promised, key


class SetSwept(Promised):
    """The set that was varied. digest: of its values, hexadecimal."""

    name: str
    digest: str


class Varied(Promised):
    """A range, in mm, degrees or the field's own number; count: even steps of a grid, null in a random sample."""

    path: str
    from_: Number = key("from")
    to: Number
    count: int | None


class Unmoved(Promised):
    """A varied value that moves no outcome, and why, in a sentence."""

    path: str
    why: str


class MostWear(Promised):
    """The most wear left, mm, the rows that have it, numbered from 0, and how many variants are sure to work."""

    wear_left: Number
    rows: tuple[int, ...]
    sure: int


class SweepFound(Promised):
    """Variants of one set. variants: how many; columns: varied paths first, then outcomes named as in `check --json`, one
    value a variant, null where it could not be worked out; `sure` is 1 where the thickness is sure to work all year."""

    set: SetSwept
    window_notes: tuple[str, ...]
    varied: tuple[Varied, ...]
    variants: int
    unmoved: tuple[Unmoved, ...]
    most_wear: MostWear | None
    columns: dict[str, tuple[Number | str | None, ...]]
