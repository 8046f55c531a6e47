"""What the hand-over says, in the maker's words: positions, zeros, cuts, reasons, corners, holding, tolerances."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from planestock.exports.wording.inch import INCH
from planestock.exports.wording.said import angle, listed, many, number
from planestock.models.checks.rows import Row
from planestock.models.machining.all_setups import Cutter
from planestock.models.machining.corners import Corner
from planestock.models.machining.holding import CLAMP_MARGIN, LEAST_JAW, SCREW_MARGIN, Holding
from planestock.models.machining.part_blocks import PartName
from planestock.models.machining.pockets import Pocket
from planestock.models.machining.setups import OUTLINE, Cut, HandWork, PartPlan, Setup
from planestock.models.machining.tolerances import Tolerance

Units = Literal["mm", "in"]


@dataclass(frozen=True)
class Figures:
    """How lengths are written: `26.40`, for sets in inches with the inches after it: `26.40 (1.039)`."""

    units: Units

    def __call__(self, value: float, decimals: int = 2) -> str:
        """Return a length."""
        metric = f"{value + 0.0:.{decimals}f}"
        text = f"{metric} ({value / INCH + 0.0:.3f})" if self.units == "in" else metric
        return text.replace("-", "−")

    @property
    def unit(self) -> str:
        """The unit for the head of a column."""
        return "mm (in)" if self.units == "in" else "mm"

    def said(self, value: float, decimals: int = 2) -> str:
        """Return a length with its unit: `26.40 mm`, `26.40 mm (1.039 in)`."""
        metric = f"{number(value, decimals)} mm"
        return f"{metric} ({value / INCH:.3f} in)".replace("-", "−") if self.units == "in" else metric


def under(plan: PartPlan) -> str:
    """Return what the underside of a part is: the sole, or the face that the slip is glued to."""
    return "sole" if plan.stretch.low == 0 else "underside"


def lies_on(plan: PartPlan, setup: Setup) -> str:
    """Return the face that a part lies on."""
    if plan.name == "pad":
        return "its mating face"
    if plan.name == "slip":
        return "the sole side"
    if setup.position == "top up":
        return f"the {under(plan)}"
    return "its other face" if plan.name == "centre strip" else "its outer face"


def zero(plan: PartPlan, setup: Setup) -> str:
    """Return where the machine's zero lies, and which face is Z0."""
    if plan.name == "pad":
        return "X0 toe, Y0 mid-plane, Z0 mating face (below)"
    if plan.name == "slip":
        return "X0 toe, Y0 mid-plane, Z0 mating face (above)"
    if setup.position == "top up":
        return f"X0 toe, Y0 mating face, Z0 {under(plan)} (below)"
    return f"X0 toe, Y0 {under(plan)}, Z0 {'upper' if plan.name == 'centre strip' else 'mating'} face (above)"


def stock_size(setup: Setup, said: Figures) -> str:
    """Return the block's size along x, y and z."""
    return " × ".join(said(side, 1) for side in setup.stock.size) + f" {said.unit}"


def waste(plan: PartPlan, setup: Setup, said: Figures) -> str:
    """Return how the block lies about the finished part: its waste at each face that has any."""
    low, high = _beyond(setup)
    faces = _faces(plan, setup)
    found = [f"{said(low[0], 1)} at toe and heel"]
    for axis, (under_name, over_name) in enumerate(faces, 1):
        if low[axis] > LEAST_WASTE and abs(low[axis] - high[axis]) < LEAST_WASTE:
            found.append(f"{said(low[axis], 1)} at {under_name} and {over_name}")
        else:
            sizes = ((low[axis], under_name), (high[axis], over_name))
            found += [f"{said(size, 1)} at the {name}" for size, name in sizes if size > LEAST_WASTE]
    return ", ".join(found)


LEAST_WASTE = 1e-9
"""Waste below this is none, mm."""


def _beyond(setup: Setup) -> tuple[list[float], list[float]]:
    low = [a - b for a, b in zip(setup.shape.low, setup.stock.low, strict=True)]
    high = [a - b for a, b in zip(setup.stock.high, setup.shape.high, strict=True)]
    return low, high


def _faces(plan: PartPlan, setup: Setup) -> tuple[tuple[str, str], tuple[str, str]]:
    """Return the names of a part's faces at low and high y, and at low and high z."""
    if plan.name == "pad":
        return ("left edge", "right edge"), ("mating face", "top")
    if plan.name == "slip":
        return ("left edge", "right edge"), ("sole", "mating face")
    if setup.position == "top up":
        return ("mating face", "outer face"), (under(plan), "top")
    outer, inner = ("other face", "upper face") if plan.name == "centre strip" else ("outer face", "mating face")
    return (under(plan), "top"), (outer, inner)


def cut_rows(setup: Setup, cutter: Cutter, said: Figures) -> list[list[str]]:
    """Return a setup's cuts: letter, what, remark, depth; holes of one kind and size are one row."""
    rows: list[list[str]] = []
    for letter, cuts in lettered(setup):
        first = cuts[0]
        rows.append([letter, _what(cuts, said), " ".join(_remarks(first, cutter, said)), _depth(first, said)])
    return rows


def lettered(setup: Setup) -> list[tuple[str, tuple[Cut, ...]]]:
    """Return a setup's cuts by letter, holes of one kind, width and depth together."""
    groups: dict[tuple[str, str], list[Cut]] = {}
    for cut in setup.cuts:
        key = (cut.name, f"{cut.diameter:.3f} {cut.depth:.3f}") if cut.diameter is not None else (cut.feature, "")
        groups.setdefault(key, []).append(cut)
    return [(_letter(index), tuple(cuts)) for index, cuts in enumerate(groups.values())]


def _letter(index: int) -> str:
    return chr(ord("a") + index) if index < 26 else f"z{index - 25}"


def _what(cuts: tuple[Cut, ...], said: Figures) -> str:
    first = cuts[0]
    if first.diameter is None:
        return first.name
    count = sum(len(cut.places) for cut in cuts)
    return f"{many(count, f'{first.name} hole')}, Ø {said(first.diameter)}"


def _depth(cut: Cut, said: Figures) -> str:
    if cut.pockets and all(pocket.through for pocket in cut.pockets if pocket.title != "cove"):
        return f"{said(cut.depth)} through"
    return said(cut.depth)


def _remarks(cut: Cut, cutter: Cutter, said: Figures) -> Iterator[str]:
    if cut.diameter is not None:
        return
    over = max(0.0, cut.depth - cutter.reach)
    if cut.feature == OUTLINE:
        yield f"The upper {said(cutter.reach, 1)}; saw and plane the rest to it." if over > 0 else "All round."
        return
    if over > 0:
        yield f"{said(over)} deeper than the cutter reaches: that much stays at the floor."
    for pocket in cut.pockets:
        yield from _pocket_remarks(pocket, cutter, said)


def _pocket_remarks(pocket: Pocket, cutter: Cutter, said: Figures) -> Iterator[str]:
    if pocket.title == "cove":
        yield "Ball-nosed cutter for the cove."
    if pocket.sloped:
        yield "Walls lean: cut in steps, pare with the block. Outline at its lower face."
    if pocket.passage is not None and pocket.passage < cutter.diameter:
        yield f"Narrows to {said(pocket.passage)}, cutter {said(cutter.diameter)}: {_stops(pocket, said)}"


def _stops(pocket: Pocket, said: Figures) -> str:
    if pocket.sloped:
        return f"it fits from {said(pocket.fits_from)} above the lower face; open the rest with saw and file."
    narrow = [left for left in pocket.leftovers if left.kind == "passage"]
    wood = sum(left.area for left in narrow)
    stays = f"{said_area(wood)} stays" if narrow else "nothing stays"
    return f"cut from both ends, {stays} between them for the file."


def said_area(area: float) -> str:
    """Return an area of wood, mm²."""
    return f"{area:.2f} mm²" if area < 100 else f"{area:.0f} mm²"


def hand_rows(parts: Sequence[PartPlan]) -> list[list[str]]:
    """Return what stays for hand work: in which parts, what, and why; works with one reason together."""
    rows: dict[tuple[str, str], list[str]] = {}
    for plan in parts:
        works: dict[str, list[HandWork]] = {}
        for work in plan.hand:
            works.setdefault(why(work), []).append(work)
        for reason, same in works.items():
            rows.setdefault((listed(_named(same)), reason), []).append(SEVERAL.get(plan.name, plan.name))
    return [[", ".join(names), what, reason] for (what, reason), names in rows.items()]


SEVERAL: dict[str, str] = {"right half": "halves"}
"""Parts told for two."""


def _named(works: list[HandWork]) -> list[str]:
    names: dict[str, int] = {}
    for work in works:
        names[work.name] = names.get(work.name, 0) + 1
    return [name if count == 1 else f"{name}s" for name, count in names.items()]


def why(work: HandWork) -> str:
    """Return why a feature stays for hand work."""
    if work.reason == "leans":
        square = "into the bed" if work.name == "frog screw" else "leaning"
        way = f", {angle(abs(work.lean))} from plumb"
        guide = "bore through a guide on the bed" if work.name == "frog screw" else "bore with the table tilted, glued up"
        return f"{square}{way}; a three-axis spindle stands upright: {guide}."
    if work.reason == "cutter too wide":
        return "the cutter is wider than the way in: saw and pare."
    return WHY[work.reason]


WHY: dict[str, str] = {
    "on the joint": "on the joint of the halves: bore when they are glued.",
    "along the strip": "along the thin strip: bore from the top when it is glued in.",
    "begins elsewhere": "begins in the pad: bore on through it when it is glued on.",
    "undercut": "wood hangs over it as seen from above: saw and pare.",
    "inside the strip": "narrower than the strip, so it does not come to its face: pare from the bed.",
}
"""Reasons that need no figures."""


def corner_rows(found: Sequence[Corner], said: Figures) -> list[list[str]]:
    """Return the leftovers: where, x, y, angle, wood, farthest, at the corner, what becomes of them; a pair is one row.

    What is less than a file's stroke is not told on paper (`A_STROKE`); the data has it.
    """
    rows: list[list[str]] = []
    paired: set[int] = set()
    found = [corner for corner in found if corner.left.area >= A_STROKE]
    for index, corner in enumerate(found):
        twin = next((other for other in range(index + 1, len(found)) if _are_twins(corner, found[other])), None)
        if index not in paired:
            rows.append(_corner_row(corner, said, paired=twin is not None))
        paired |= {twin} if twin is not None else set()
    return rows


A_STROKE = 0.01
"""Leftovers seen along the spindle that are smaller than this, mm², go with the last stroke of a file."""


def _are_twins(one: Corner, other: Corner) -> bool:
    """Tell whether two leftovers are each other's mirror image across the mid-plane."""
    (x1, y1), (x2, y2) = one.left.place, other.left.place
    same = (one.part, one.setup, one.pocket, one.why) == (other.part, other.setup, other.pocket, other.why)
    return (
        same
        and abs(x1 - x2) < SAME_PLACE
        and abs(y1 + y2) < SAME_PLACE
        and abs(one.left.area - other.left.area) < SAME_PLACE
    )


SAME_PLACE = 1e-6
"""Places that differ by less are one, mm."""


def _corner_row(corner: Corner, said: Figures, *, paired: bool) -> list[str]:
    left = corner.left
    x, y = left.place
    return [
        f"{corner.part} {corner.setup}, {corner.pocket}",
        said(x, 1),
        f"± {said(abs(y), 1)}" if paired else said(y, 1),
        f"{left.angle:.1f}°" if left.angle is not None else left.kind,
        said_area(left.area),
        said(left.farthest, 1),
        said(left.nearest) if left.kind in ("corner", "curve") else "–",
        fate(corner, said),
    ]


def fate(corner: Corner, said: Figures) -> str:
    """Return what becomes of a corner."""
    if corner.relief is not None:
        return "relieved"
    if corner.why == "little wood" and corner.room is not None:
        return f"chisel: a relief leaves {said(max(0.0, corner.room.left), 1)} to the {corner.room.beyond}"
    return {
        "by choice": "chisel",
        "metal lies there": "chisel: metal lies on both walls",
        "leaning walls": "chisel: its walls lean",
    }.get(corner.why or "", "file" if corner.left.kind == "passage" else "saw and chisel")


def holding_words(held: Holding, plan: PartPlan, said: Figures) -> str:
    """Return how a part is held in a setup."""
    sentences: list[str] = []
    if held.clamps:
        sentences.append(f"Clamps on the tinted areas, {said(CLAMP_MARGIN, 0)} clear of every cut, once the face is planed.")
    else:
        sentences.append("WARNING: no place for a clamp on this face.")
    if held.screws:
        sentences.append(f"Screws in the end waste, {said(SCREW_MARGIN, 0)} off the finished ends.")
    if held.tabs:
        sentences.append("The outline is cut: leave tabs at toe and heel.")
    if held.jaws is not None:
        where = _runs(held, plan, said)
        sentences.append(f"Jaws on the long sides up to {said(held.jaws, 1)} above the table{where}.")
    else:
        sentences.append(f"Jaws would find less than {said(LEAST_JAW, 0)}: a flat bed, tape or vacuum.")
    return " ".join(sentences)


def _runs(held: Holding, plan: PartPlan, said: Figures) -> str:
    if held.runs == ((0.0, plan.stretch.length),) or not held.runs:
        return ""
    return ", x " + listed([f"{said(a, 0)} to {said(b, 0)}" for a, b in held.runs])


def tolerance_rows(found: tuple[Tolerance, ...], said: Figures) -> list[list[str]]:
    """Return the tolerances: size, nominal, general, asked."""
    return [_tolerance_row(one, said) for one in found]


def _tolerance_row(one: Tolerance, said: Figures) -> list[str]:
    if one.unit == "deg":
        nominal, general = f"{one.nominal:g}°", f"± {minutes(one.general or 0.0)}"
        asked = _two_sided(one, minutes)
    else:
        nominal, general = said(one.nominal), "none" if one.general is None else f"± {_fine(one.general, said)}"
        asked = _two_sided(one, lambda value: _fine(value, said))
    return [one.what, nominal, general, asked if one.tighter else ""]


def _fine(value: float, said: Figures) -> str:
    """Return a tolerance, rounded down to a hundredth: it must not grow on paper."""
    down = math.floor(value * 100 + 1e-9) / 100
    return f"{down:g} ({down / INCH:.3f})" if said.units == "in" else f"{down:g}"


def _two_sided(one: Tolerance, write: Callable[[float], str]) -> str:
    low, high = write(one.minus), write(one.plus)
    return f"± {low}" if low == high else f"+ {high} / − {low}"


def minutes(value: float) -> str:
    """Return an angle in degrees and minutes, rounded down: a tolerance must not grow on paper."""
    whole = int(value * 60 + 1e-9)
    degrees, rest = divmod(whole, 60)
    return f"{degrees}°{rest:02d}′"


TIGHTER = {
    "window": (
        "Seat and bed angle as the window asks: together they may move the edge by no more than the cutting tolerance and "
        "what the window leaves after its uncertainty and the seasons; half of it each."
    ),
    "flush": "Recess: the iron bridges a step of 0.1 mm between frog and bed, no more.",
}
"""Reasons for tolerances that are tighter than the general ones."""


def check_lines(rows: tuple[Row, ...]) -> list[list[str]]:
    """Return the checks that do not pass: verdict, what was asked, what to change."""
    return [[row.verdict, row.asked, row.change] for row in rows if row.verdict != "pass"]


PART_WORDS: dict[PartName, str] = {
    "right half": "Right half", "left half": "Left half", "centre strip": "Centre strip", "pad": "Pad", "slip": "Slip",
}  # fmt: skip
"""Names of parts at the head of a block."""
