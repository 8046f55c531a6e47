"""What `compare --json` promises: every key, in their order. Null where there is none."""

from __future__ import annotations

from planestock.exports.files.promised import Number, Promised, key


class Compared(Promised):
    """One variant. problem: why its set is no body, null where it is one; failing, warning: ids of checks."""

    label: str
    name: str
    digest: str
    problem: str | None
    solids_checked: bool
    failing: tuple[str, ...]
    window_notes: tuple[str, ...]
    warning: tuple[str, ...]


class Differs(Promised):
    """A field that is not the same in all sets, and how each variant writes it."""

    path: str
    title: str
    values: tuple[str, ...]


class Follows(Promised):
    """One thing that follows, for each variant, null where it has none. unit: mm, deg, g or nothing; spread: expanded
    uncertainties; notes: words beside the values; each null where nothing has any."""

    title: str
    unit: str
    values: tuple[Number | None, ...]
    spread: tuple[Number | None, ...] | None
    notes: tuple[str, ...] | None


class Outcomes(Promised):
    """All that follows, by its key."""

    thickness: Follows
    window_min: Follows = key("window.min")
    window_max: Follows = key("window.max")
    window_safe_min: Follows = key("window.safe_min")
    window_safe_max: Follows = key("window.safe_max")
    reach_out: Follows = key("reach.out")
    reach_in: Follows = key("reach.in")
    wear_left: Follows
    mouth_opening: Follows = key("mouth.opening")
    mouth_growth_per_mm: Follows = key("mouth.growth_per_mm")
    mouth_after_truings: Follows = key("mouth.after_truings")
    clearance_angle: Follows
    wood_thinnest: Follows = key("wood.thinnest")
    movement_thickness: Follows = key("movement.thickness")
    movement_side_clearance: Follows = key("movement.side_clearance")
    mass: Follows
    checks_warn: Follows = key("checks.warn")
    checks_fail: Follows = key("checks.fail")


class ComparisonFound(Promised):
    """Variants, what differs between their sets, and what follows."""

    variants: tuple[Compared, ...]
    differences: tuple[Differs, ...]
    outcomes: Outcomes
