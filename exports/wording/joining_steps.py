"""Steps of the order of work about trying the metal and gluing: the metal is tried on open halves before any glue."""

from __future__ import annotations

from collections.abc import Iterator

from planestock.exports.wording.said import Said, many
from planestock.models.bench.glue_up import CLAMP_PRESSURE, HAND_FORCE, GlueLine, glue_lines
from planestock.models.design import Design

FRONT_FULL = 0.5
"""How far the front of the mouth is left inside its line until the iron is in its place, mm."""

ON_TOP = 0.005
"""A seat this near to the top of the halves is the top, mm: lengths are said to 0.01 mm."""

UNDERSIZE = 1.0
"""How far pad and slip are opened inside their lines before they are glued, mm."""


def glue_up_steps(made: Design) -> Iterator[str]:
    """Yield how the halves, and the strip, are glued."""
    said = Said(made.given.units)
    line = glue_lines(made.layout)[0]
    lines = f"{line.lines} glue lines, each" if line.lines > 1 else "one glue line"
    yield (
        f"Glue {line.name} together: {lines} of {said.area(line.area)}. {_clamping(line, said)} Glue the mating faces only, "
        "thin near the throat, and clean squeeze-out from bed and mouth while it is wet."
    )
    yield (
        "Wax the cauls; clamp from the middle outwards, dowels home, soles level on a flat board. Leave it a day before you "
        "cut on."
    )


def _clamping(line: GlueLine, said: Said) -> str:
    """Say clamps and how tight, with the pressure that they are reckoned from."""
    return (
        f"Stiff cauls the whole length and {many(line.clamps, 'clamp')}, as tight as a hand turns them: so many that "
        f"{said.force(HAND_FORCE)} on each (a hand's, from memory) are at least the lower of "
        f"{said.pressures(*CLAMP_PRESSURE)} on the joint, which hardwood wants (common practice, no published source)."
    )


def pad_steps(made: Design) -> Iterator[str]:
    """Yield how the pad goes on; nothing where there is none."""
    at, said = made.layout, Said(made.given.units)
    if not at.pad:
        return
    line = next(one for one in glue_lines(at) if one.name == "pad")
    yield (
        f"Plane the top level. Saw the throat's opening in the pad, which is {said.length(at.pad)} thick, "
        f"{said.fine(UNDERSIZE)} inside its lines, then glue the pad on, grain the same way: {said.area(line.area)}. "
        f"{_clamping(line, said)}"
    )
    yield "Pare the pad flush with breast and bed from below; test the bed for high spots again over its whole length."


def slip_steps(made: Design) -> Iterator[str]:
    """Yield how the slip goes on; nothing where there is none."""
    at, said = made.layout, Said(made.given.units)
    if not at.slip:
        return
    line = next(one for one in glue_lines(at) if one.name == "slip")
    yield (
        f"Plane the sole level. Saw the mouth's slot in the slip, which is {said.length(at.slip)} thick, "
        f"{said.fine(UNDERSIZE)} inside its lines, then glue the slip on, grain the same way: {said.area(line.area)}. "
        f"{_clamping(line, said)}"
    )
    yield (
        "Pare and float the slot flush with bed and wear, from above; keep the mouth's front "
        f"{said.fine(FRONT_FULL)} inside its line."
    )


def dry_trial_steps(made: Design) -> Iterator[str]:
    """Yield the trial of the metal on the open halves, before anything is glued."""
    at, said, thickness = made.layout, Said(made.given.units), made.settled.thickness
    window = made.settled.window
    rise = at.thickness - (at.height - at.pad) if at.pad or at.slip else 0.0
    yield (
        "Nothing is glued yet, and nothing is to be before this is right. Lay a half open on its outer face. Bolt casting, "
        "frog, iron, cap iron and adjuster together without the wood and lay them into the half: the frog's face on the "
        f"bed, the casting's underside {_on_what(rise, said)}. Do the same on the other half."
    )
    lower = at.slip - max(0.0, -rise)
    place = "the sole" if not at.slip else "the underside of the half, on which the slip is not yet"
    yield (
        f"Run the adjuster all the way out: the edge stands {_beyond(window.out(thickness) + lower, said)} {place}. All the "
        f"way back it stands {_beyond(lower - window.back(thickness), said)} it. {_asked(made, said)}"
    )
    yield (
        "Then close the halves dry, dowels in and clamped, and lay the iron on the bed: it must not rock across the joint, "
        "it lies square to the mouth, with room at both sides, and the shavings' way does not narrow above it. Off by more "
        "than the cutting tolerance, stop here and measure again."
    )


def _on_what(rise: float, said: Said) -> str:
    """Return what the casting lies on. rise: from the half's top up to the seat, mm, where pad and slip are still away."""
    if rise > ON_TOP:
        return f"on packing {said.fine(rise)} thick, as high as the pad will carry it"
    if rise < -ON_TOP:
        return f"on the top, {said.fine(-rise)} higher than the seat will be"
    return "on the seat"


def _beyond(below: float, said: Said) -> str:
    return f"{said.fine(abs(below))} {'below' if below >= 0 else 'above'}"


def _asked(made: Design, said: Said) -> str:
    window = made.settled.window
    return (
        f"Asked are at least {said.fine(window.deepest_cut)} below and {said.fine(window.withdraw)} above the finished sole."
    )


def trial_steps(made: Design) -> Iterator[str]:
    """Yield the trial on the glued body, before anything is final."""
    window, thickness, said = made.settled.window, made.settled.thickness, Said(made.given.units)
    yield (
        "Screw the frog to the body and clamp the casting on its seat, with iron, cap iron and adjuster. Run the adjuster "
        f"all the way out: the edge stands {_beyond(window.out(thickness), said)} the sole. All the way back it stands "
        f"{_beyond(-window.back(thickness), said)} it. {_asked(made, said)}"
    )
    yield (
        "Off by more than the cutting tolerance, stop here and measure again; wood can still be taken from sole or "
        "seat. Look at the mouth: the iron lies square to it, with room at both sides, and the shavings' way does "
        "not narrow above it."
    )
