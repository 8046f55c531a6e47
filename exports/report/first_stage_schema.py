"""What `thickness --json` promises: every key, in their order; those of the report mean here what they mean there."""

from __future__ import annotations

from typing import Any

from planestock.exports.files.promised import Number, Promised
from planestock.exports.report.report_schema import Allowances, Check, Verdict, Window, WindowUncertainty


class ReadingTaken(Promised):
    """A reading or choice. written: as a set takes it, repeated ones as a list; value, limit: mm or degrees, limit being the
    ± that was written or that of its tool."""

    written: str | tuple[str, ...]
    value: Number
    limit: Number


class WoodTaken(Promised):
    """The wood and its seasons. told: whether anything of it was given; values: as `planestock schema` declares them."""

    told: bool
    values: dict[str, Any]


class FirstStageFound(Promised):
    """The answer from the readings of the stage *thickness*. Lengths in mm, angles in degrees.

    readings: by their paths in a set; thickness: the thickest that is sure, null where none is; wear_left: from there to the
    thinnest that is sure.
    """

    planestock: str
    verdict: Verdict
    readings: dict[str, ReadingTaken]
    wood: WoodTaken
    window: Window
    thickness: Number | None
    allowances: Allowances
    wear_left: Number | None
    uncertainty: WindowUncertainty
    cautions: tuple[str, ...]
    checks: tuple[Check, ...]
