"""What `report.json`, `check --json` and `build --json` promise: every key, in their order. Null where there is none."""

from __future__ import annotations

from typing import Any, Literal

from planestock.exports.files.promised import Number, Place, Point, Promised, key

Verdict = Literal["pass", "warn", "fail"]


class SetUsed(Promised):
    """The set that was used. digest: of its values, hexadecimal; values: as `planestock schema` declares them."""

    name: str
    digest: str
    values: dict[str, Any]


class Assumed(Promised):
    """A reading that was not taken. low, high: what is assumed of it; adds_to_…: what that adds to the thin end, mm."""

    path: str
    low: Number
    high: Number
    value: Number
    adds_to_min: Number
    adds_to_safe_min: Number


class Window(Promised):
    """Thicknesses that work, mm. u_…: expanded uncertainty of an end; safe_…: what surely works all year; road: the readings
    that it rests on; notes: what it rests on besides, in sentences."""

    min: Number
    max: Number
    u_min: Number
    u_max: Number
    width: Number
    safe_min: Number
    safe_max: Number
    road: str
    notes: tuple[str, ...]
    assumed: tuple[Assumed, ...]


class Allowances(Promised):
    """What is kept free inside the window, mm: uncertainty of either end, movement of the wood, the cut."""

    expanded_low: Number
    expanded_high: Number
    swelling: Number
    shrinkage: Number
    cutting: Number


class Reach(Promised):
    """How far the edge stands below the sole, adjuster all the way out, and above it, all the way back, mm."""

    out: Number
    in_: Number = key("in")


class Layout(Promised):
    """Points of the side view, [x, z] from the toe and the sole, and sizes of the body, mm."""

    edge: Point
    bed_foot: Point
    corner: Point
    mouth_front: Point
    wear_top: Point
    breast_top: Point
    seat_front: Point
    seat_rear: Point
    recess: tuple[Point, ...] | None
    cove_high: Point | None
    cove_low: Point | None
    cove_centre: Point | None
    tail_rear: Point | None
    length: Number
    height: Number
    throat_half_width: Number
    recess_half_width: Number | None


class Hole(Promised):
    """A round hole; off the mid-plane it stands for a pair. start: on the wood; direction: into it, of length 1; overrun:
    how far the tool begins before the start, mm; path: field it comes from."""

    kind: str
    path: str
    start: Place
    direction: Place
    diameter: Number
    depth: Number
    overrun: Number


class Mouth(Promised):
    """The mouth, mm; growth_per_mm, closing_per_mm: for each mm planed off the sole, and for each mm of advance."""

    opening: Number
    u_opening: Number
    growth_per_mm: Number
    closing_per_mm: Number


class Term(Promised):
    """What one reading adds to an uncertainty. dof: null where not finite; share: of the variance."""

    path: str
    value: Number
    u: Number
    dof: Number | None
    sensitivity: Number
    contribution: Number
    share: Number


class Budget(Promised):
    """A value with its standard uncertainty u, coverage factor k, and expanded uncertainty k u."""

    value: Number
    u: Number
    k: Number
    expanded: Number
    terms: tuple[Term, ...]


class FullBudget(Promised):
    """A budget with its effective degrees of freedom (null where not finite) and the coverage probability p."""

    value: Number
    u: Number
    dof: Number | None
    p: Number
    k: Number
    expanded: Number
    terms: tuple[Term, ...]


class Retake(Promised):
    """The reading most worth taking again: to ± limit, which brings the expanded uncertainty from before to after."""

    path: str
    limit: Number
    before: Number
    after: Number


class Ends(Promised):
    """Both ends of a window, mm."""

    min: Number
    max: Number


class EndApart(Promised):
    """How far two ends lie apart (readings less bench), its expanded uncertainty, both mm, and their ratio: E_n of ISO/IEC
    17043."""

    value: Number
    expanded: Number
    error: Number


class Apart(Promised):
    """How far the ends of both windows lie apart."""

    min: EndApart
    max: EndApart


class Suspect(Promised):
    """A reading that may explain a disagreement: what it would have to change by, how many times its ± that is, and the
    chance that such a reading errs by so much."""

    path: str
    probability: Number
    change: Number
    limits: Number
    chance: Number


class Explanation(Promised):
    """Readings that cannot be told apart and how probable it is that it is one of them."""

    probability: Number
    readings: tuple[Suspect, ...]


class Roads(Promised):
    """The window by the readings and by the bench method, and what could explain that they differ."""

    readings: Ends
    bench: Ends
    apart: Apart
    explanations: tuple[Explanation, ...]


class WindowUncertainty(Promised):
    """Budgets of both ends, and the reading to take again; null where two roads are not both there."""

    window_min: Budget
    window_max: Budget
    retake: Retake | None
    roads_agree: bool | None
    roads: Roads | None


class Uncertainty(WindowUncertainty):
    """The same, and the chances that the body works now and all year."""

    chance_works: Number
    chance_all_year: Number


class Season(Promised):
    """The body at one moisture content (per cent): thickness, mouth and gaps, mm; null where there is no such gap."""

    moisture: Number
    thickness: Number
    mouth: Number
    side_clearance: Number
    casting_gap: Number | None
    foot_gap: Number | None
    bed_proud: Number


class GlueLine(Promised):
    """A joint of two woods: its width and how much more the one moves than the other, dry and wet, mm."""

    between: str
    across: Number
    dry: Number
    wet: Number


class Wood(Promised):
    """The wood and what it does through the year. thickness_change: from its thinnest to its thickest, mm."""

    species: str
    cut: str
    thickness_change: Number
    thickness_per_percent: Number
    worked: Season
    dry: Season
    wet: Season
    glue_lines: tuple[GlueLine, ...]


class Mass(Promised):
    """Masses of the wooden parts, g; null where there is no such part, all null where no solids were built."""

    right_half: Number | None
    left_half: Number | None
    centre_strip: Number | None
    pad: Number | None
    slip: Number | None
    body: Number | None


class Truing(Promised):
    """The plane after so many truings, mm. due: what must be done before it is used in this state."""

    count: int
    removed: Number
    thickness: Number
    out: Number
    back: Number
    wear_left: Number
    mouth: Number
    due: tuple[str, ...]


class SoleLife(Promised):
    """The sole from new to worn out; …_due: loss beyond which that is due, mm; slip_gone: loss that takes the slip away."""

    rows: tuple[Truing, ...]
    slip_due: Number
    mouth_piece_due: Number
    slip_gone: Number | None
    cut_short: bool


class Standing(Promised):
    """The old body in one state: its thickness, and how far it lies inside both ends of the window, mm."""

    what: str
    thickness: FullBudget
    below_high: FullBudget
    above_low: FullBudget


class OldBody(Promised):
    """What the old body tells, mm. is_trap: it works only by what was added to it."""

    place: str
    standings: tuple[Standing, ...]
    lost: FullBudget
    thinner_than_new: Number
    taper: FullBudget | None
    hollow: FullBudget | None
    notes: tuple[str, ...]
    is_trap: bool


class Check(Promised):
    """One check: value against limit, in unit. at_least: whether the value belongs above; value, margin: null where there is
    nothing to measure; warns_at: a stricter level than the limit, or null."""

    id: str
    asked: str
    value: Number | None
    limit: Number
    unit: str
    at_least: bool
    verdict: Verdict
    change: str
    warns_at: Number | None
    margin: Number | None


class Report(Promised):
    """A design in numbers. Lengths in mm, angles in degrees, masses in g, points [x, z]."""

    planestock: str
    set: SetUsed
    verdict: Verdict
    window: Window
    thickness: Number
    thickness_chosen: bool
    allowances: Allowances
    reach: Reach
    wear_left: Number
    wear_left_bare: Number
    layout: Layout
    holes: tuple[Hole, ...]
    mouth: Mouth
    clearance_angle: Number
    uncertainty: Uncertainty
    wood: Wood
    mass: Mass
    sole_life: SoleLife
    old_body: OldBody | None
    cautions: tuple[str, ...]
    solids_checked: bool
    checks: tuple[Check, ...]


class BuiltReport(Report):
    """`build --json`: the report, the folder, and the files that were written there."""

    folder: str
    files: tuple[str, ...]
