"""Colours of deviations: bands of a diverging scale, blue through near-white to orange, which people of any colour vision
tell apart; grey where nothing is compared. Each band is named by its numbers, so that no colour is needed to read it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planestock.models.scan.fit import Fitted

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from planestock.models.scan.motion import Array
from planestock.params.lengths import METRIC, Lengths

if TYPE_CHECKING:
    from planestock.models.scan.fit import Fitted

Colour = tuple[float, float, float]

BANDS: tuple[Colour, ...] = (
    (0.02, 0.19, 0.38),
    (0.10, 0.35, 0.60),
    (0.26, 0.55, 0.77),
    (0.55, 0.75, 0.88),
    (0.93, 0.93, 0.90),
    (0.98, 0.78, 0.47),
    (0.93, 0.57, 0.17),
    (0.77, 0.36, 0.04),
    (0.50, 0.20, 0.03),
)
"""sRGB, 0 to 1, from the most missing to the most in the way; lightness falls to both ends. Chosen by eye."""

NOT_COMPARED: Colour = (0.56, 0.56, 0.56)
"""Of what the readings do not fix, and of what is no part of the thing."""

LEFT_OUT: Colour = (0.76, 0.76, 0.74)
"""Of the table that was left out."""

LEFT_OUT_WORDS = "left out: the table"
"""What that colour stands for."""

RANGES = (0.2, 0.5, 1.0, 2.0)
"""Deviations, mm, that the scale's last bands may begin at; finer ones would show noise."""


@dataclass(frozen=True)
class Band:
    """One colour. low, high: the deviations it stands for, mm; None where it is open, both None for what is not compared."""

    colour: Colour
    low: float | None
    high: float | None

    def words(self, length: Lengths = METRIC) -> str:
        """Return the band in numbers, without their unit."""
        if self.low is not None and self.high is not None:
            return f"{length.signed(self.low)} to {length.signed(self.high)}"
        end = self.low if self.low is not None else self.high
        return "not compared" if end is None else f"beyond {length.signed(end)}"


def limits(reach: float) -> tuple[float, ...]:
    """Return the borders between the bands, mm, for a scale whose last bands begin at ± reach."""
    half = len(BANDS) // 2
    steps = [reach * (2 * number + 1) / (2 * half - 1) for number in range(half)]
    return (*(-step for step in reversed(steps)), *steps)


def reach_for(apart: Array) -> float:
    """Return a scale for deviations: the smallest of `RANGES` that holds 95 % of them."""
    most = float(np.percentile(np.abs(apart), 95)) if len(apart) else 0.0
    return next((one for one in RANGES if most <= one), RANGES[-1])


def bands(reach: float) -> tuple[Band, ...]:
    """Return all bands of a scale, most in the way first, the one of what is not compared last."""
    borders = limits(reach)
    ends = [None, *borders, None]
    found = [Band(colour, ends[number], ends[number + 1]) for number, colour in enumerate(BANDS)]
    return (*reversed(found), Band(NOT_COMPARED, None, None))


def palette() -> list[Colour]:
    """Return the colours by the numbers that `shades` gives."""
    return [*BANDS, NOT_COMPARED]


def shades(apart: Array, compared: npt.NDArray[np.bool_], reach: float) -> npt.NDArray[np.uint8]:
    """Return the number of each deviation's colour in `palette`."""
    found = np.searchsorted(np.array(limits(reach)), apart).astype(np.uint8)
    found[~compared] = len(BANDS)
    return found


def meaning(fitted: Fitted) -> tuple[str, str]:
    """Return what a positive and what a negative deviation means."""
    if fitted.body is None:
        return "metal stands further into the wood than the design's", "metal stays back and leaves a gap"
    return "more wood than the design's", "wood is missing"


def legend_lines(fitted: Fitted, reach: float) -> list[str]:
    """Return the colour scale in words and numbers."""
    more, less = meaning(fitted)
    names = (
        "darkest brown",
        "brown",
        "orange",
        "light orange",
        "near white",
        "light blue",
        "blue",
        "dark blue",
        "darkest blue",
        "grey",
    )
    length = fitted.made.given.lengths
    lines = [f"{name}: {band.words(length)}{f' {length.units}' if band.low is not None or band.high is not None else ''}"
             for name, band in zip(names, bands(reach), strict=True)]  # fmt: skip
    left_out = [f"light grey: {LEFT_OUT_WORDS}"] if fitted.scan.left_out else []
    return [f"Positive: {more}. Negative: {less}.", *lines, *left_out]
