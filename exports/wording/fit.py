"""What a fit says, in sentences for people; lists of rows for tables."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from planestock.exports.wording.window_notes import window_notes
from planestock.models.scan.fit import WORDS
from planestock.models.scan.places import Place
from planestock.params.lengths import DECIMALS, Lengths

if TYPE_CHECKING:
    from planestock.models.scan.body_findings import Size
    from planestock.models.scan.corrected import Corrected
    from planestock.models.scan.fit import Fitted
    from planestock.models.scan.proposals import Proposal

MINUS = "−"


def signed(value: float, digits: int = 2) -> str:
    """Return a number with its sign, minus as a minus; none for what rounds to nothing."""
    shown = f"{value:+.{digits}f}".replace("-", MINUS)
    return shown[1:] if float(f"{value:.{digits}f}") == 0 else shown


def number(value: float, digits: int = 2) -> str:
    """Return a number, minus as a minus."""
    shown = f"{value:.{digits}f}".replace("-", MINUS)
    return shown.removeprefix(MINUS) if float(f"{value:.{digits}f}") == 0 else shown


def about_the_scan(fitted: Fitted) -> Iterator[str]:
    """Yield what was read and how it was taken."""
    scan = fitted.scan
    yield f"{scan.name}: {scan.triangles} triangles, unit {scan.scale.words}."
    if scan.thinned:
        yield f"Reduced to {len(scan.faces)} triangles: more than two million bring nothing here."
    if scan.dropped:
        yield f"{scan.dropped} triangles without area were left out."
    yield from left_out_sentences(fitted)
    how = "as stated" if fitted.told else "as its faces tell; say --of if that is wrong"
    yield f"It shows {WORDS[fitted.subject.of]}, {how}. Found of the design's faces: {fitted.seen * 100:.0f} %."
    length, limit = fitted.made.given.lengths, fitted.asked.scanner_limit
    scatter = f"{length.number(fitted.fine.noise, DECIMALS[length.units] + 1)} {length.units}"
    yield f"Scatter of its surface: {scatter}. Limit of error of the scanner taken: ± {length.short(limit)}."


def left_out_sentences(fitted: Fitted) -> Iterator[str]:
    """Yield what of the scan is no part of the thing and was left out."""
    length = fitted.made.given.lengths
    tables = [one for one in fitted.scan.left_out if one.what == "table"]
    pieces = [one for one in fitted.scan.left_out if one.what == "piece"]
    for one in tables:
        scatter = f"{length.number(one.noise, DECIMALS[length.units] + 1)} {length.units}"
        yield (
            f"It stands on a table, which was left out: {len(one.faces)} triangles, {_area(one.area, length)}, their "
            f"scatter from a plane {scatter}. If that is a part of it, say --table keep."
        )
    if pieces:
        what = "A flat piece apart from it was" if len(pieces) == 1 else f"{len(pieces)} flat pieces apart from it were"
        count, area = sum(len(one.faces) for one in pieces), sum(one.area for one in pieces)
        yield (
            f"{what} left out as of a table or bench: {count} triangles, {_area(area, length)}. "
            "If that is a part of it, say --table keep."
        )


def residual_rows(fitted: Fitted) -> list[tuple[str, str, str, str, str, str]]:
    """Return words, count, median, 95 %, RMS against the set, and RMS against the scan's own readings; lengths in the set's
    unit, with one decimal more than a caliper shows."""
    length = fitted.made.given.lengths
    after = {one.name: one for one in fitted.after}

    def shown(value: float) -> str:
        return length.number(value, DECIMALS[length.units] + 1)

    return [
        (one.words, str(one.count), shown(one.median), shown(one.most), shown(one.rms), shown(after[one.name].rms))
        for one in fitted.before
    ]


RESIDUAL_NAMES = ("face", "points", "median", "95 %", "RMS", "RMS, readings of the scan")


def datum_sentences(fitted: Fitted) -> Iterator[str]:
    """Yield how corner, bed and seat plane lie, and the seat's own shape."""
    datum, flat, length = fitted.datum, fitted.flat, fitted.made.given.lengths
    if datum is not None and datum.front is not None and datum.rear is not None:
        values = fitted.subject.values
        yield (
            f"Corner D lies {_end(datum.front, length)} behind the casting's front end (readings "
            f"{length.number(-values['casting.front'])}) "
            f"and {_end(datum.rear, length)} ahead of its rear end (readings {length.number(values['casting.rear'])})."
        )
    elif datum is not None and not datum.corner:
        known = "are known only by their distance" if fitted.length is not None else "were not seen well enough, either"
        yield f"Corner D was not seen, as no frog is in the scan: front and rear end {known}."
    angle = next((one for one in fitted.proposed if one.path == "frog.bed_angle" and one.found is not None), None)
    if angle is not None and angle.found is not None and angle.given is not None:
        yield f"Bed angle {angle.found:.2f} ± {angle.u:.2f}°, {_more(angle.found - angle.given)} the set's {angle.given:g}°."
    if datum is not None:
        yield (
            f"Seat plane: against the casting as a whole {length.signed(datum.up)} {length.units} up, tilted "
            f"{signed(datum.tilt_along)}° along "
            f"(front end up) and {signed(datum.tilt_across)}° across (right side up)."
        )
    if flat is not None:
        what = "Seat" if fitted.body is None else "Sole"
        yield (
            f"{what}: {length(flat.peak)} from lowest to highest, twisted {signed(flat.twist)} ± {flat.u_twist:.2f}° from "
            f"end to end (right side of the heel end up), {_bend(flat.along, length)} along and "
            f"{_bend(flat.across, length)} across "
            f"(± {length(flat.u)})."
        )
    if fitted.length is not None:
        long, u = fitted.length
        wanted = fitted.subject.values["casting.rear"] - fitted.subject.values["casting.front"]
        agree = (
            "as the readings have it"
            if abs(long - wanted) <= u + 0.1
            else (
                f"{length.signed(long - wanted)} {length.units} from the readings; "
                "scan it with the frog on to see which end is wrong"
            )
        )
        yield f"Casting from front to rear: {length.spread(long, u)}, {agree}."
    if fitted.edge is not None:
        yield _edge_sentence(fitted, *fitted.edge)
    elif fitted.edge_meant is not None:
        yield "The iron's edge was not seen: scan its bevel and its flat face, too."


FAR_OFF = 1.0
"""Distance, mm, between the edge as scanned and as the set has it from which the adjuster's stated place is doubted."""


def _edge_sentence(fitted: Fitted, depth: float, u: float) -> str:
    length = fitted.made.given.lengths
    said = f"The iron's edge stands {length.spread(depth, 2 * u)} below the seat plane"
    if fitted.edge_meant is None:
        return f"{said}; say --adjuster out or back to take it as a reading."
    doubt = f"; was the adjuster really {fitted.asked.adjuster}?" if abs(depth - fitted.edge_meant) > FAR_OFF else "."
    return f"{said}, adjuster {fitted.asked.adjuster}; the set has it at {length(fitted.edge_meant)}{doubt}"


def _more(by: float) -> str:
    """Return how an angle stands to another."""
    return "the same as" if abs(by) < 0.005 else f"{abs(by):.2f}° {'more' if by > 0 else 'less'} than"


def _end(found: tuple[float, float], length: Lengths) -> str:
    return length.spread(abs(found[0]), found[1])


def _bend(value: float, length: Lengths) -> str:
    if abs(value) < 0.005:
        return "straight"
    return f"{length(abs(value))} {'hollow' if value > 0 else 'proud'}"


def places_words(places: Sequence[Place], verb: str, length: Lengths) -> list[str]:
    """Return each place as a line: how much, where, over what area."""
    return [
        f"{length(one.amount)} {verb} at the {one.where}: {_at(one, length)}, over {_area(one.area, length)}"
        for one in places
    ]


def _area(value: float, length: Lengths) -> str:
    return f"{value / 100:.1f} cm²" if length.units == "mm" else f"{value / 25.4**2:.2f} in²"


def _at(place: Place, length: Lengths) -> str:
    x, y, z = place.at
    side = "on the middle" if abs(y) < 0.5 else f"{length.rough(abs(y))} {'right' if y > 0 else 'left'} of the middle"
    return f"{length.rough(x)} from the toe, {side}, {length.rough(z)} above the sole"


def contact_sentence(fitted: Fitted) -> str:
    """Return whether wood would touch."""
    if not fitted.contacts:
        return "The metal nowhere stands in the wood of the design."
    return f"The metal stands in the wood at {_places(len(fitted.contacts))}:"


def gap_sentence(fitted: Fitted) -> str:
    """Return whether a gap is too wide."""
    if not fitted.gaps:
        return "No gap between metal and wood is wider than the design means it."
    return f"A gap is wider than the design means it at {_places(len(fitted.gaps))}:"


def _places(count: int) -> str:
    return "1 place" if count == 1 else f"{count} places"


def reading_row(one: Proposal) -> tuple[str, str, str, str]:
    """Return path, the set's value, the scan's, and the verdict; lengths in the set's unit, angles in degrees."""
    given, found = _either(one, one.given, one.u_given), _either(one, one.found, one.u)
    verdict = {"agrees": "agrees", "corrected": "correct it", "new": "new", "not seen": "not seen"}[one.verdict]
    return one.path, given, found, verdict


def _either(one: Proposal, value: float | None, u: float | None) -> str:
    if value is None or u is None:
        return "–"
    length = Lengths(one.units)
    return f"{number(value)} ± {u:.2f}" if one.unit == "deg" else f"{length.number(value)} ± {length.number(u)}"


READING_NAMES = ("reading", "set (expanded)", "scan (expanded)", "verdict")


def reading_sentence(fitted: Fitted) -> str:
    """Return what the readings come to."""
    if fitted.body is not None:
        return ""
    count = sum(one.verdict == "corrected" for one in fitted.proposed)
    unseen = [one.path for one in fitted.proposed if one.verdict == "not seen"]
    agree = sum(one.verdict == "agrees" for one in fitted.proposed)
    noun = "reading agrees" if agree == 1 else "readings agree"
    told = f"{agree} {noun} with the scan within the uncertainty of both" + (f", {count} not." if count else ".")
    return told + (f" Not seen, or not well enough: {', '.join(unseen)}." if unseen else "")


def window_sentences(fitted: Fitted, found: Corrected | None) -> Iterator[str]:
    """Yield what the corrected readings do to the window."""
    settled, length = fitted.made.settled, fitted.made.given.lengths
    if found is None:
        return
    for one in found.left:
        yield f"{one.path} needs the other end of the travel beside it: scan once more with the adjuster run the other way."
    if found.problem is not None:
        yield f"With these readings the set cannot be built as it is: {found.problem}"
    yield from window_notes(settled if found.made is None else found.made.settled)
    if found.made is not None:
        after = found.made.settled
        low, high = (f"{length.number(one.value)} (± {length.number(one.expanded)})" for one in (after.low, after.high))
        yield (
            f"Window now {length.span(settled.window.low, settled.window.high)}; with these readings {low} to {high} "
            f"{length.units}. Thickness {length(settled.thickness)} now, {length(after.thickness)} then."
        )


def body_rows(fitted: Fitted) -> list[tuple[str, str, str, str]]:
    """Return each size of a body: words, design, scan, difference."""
    assert fitted.body is not None
    rows, length = [], fitted.made.given.lengths
    for one in fitted.body.sizes:
        design = _sized(one.design, one.unit, length)
        if one.found is None or one.u is None:
            rows.append((one.words, design, "not seen", "–"))
            continue
        off = signed(one.found - one.design) if one.unit == "deg" else length.signed(one.found - one.design)
        rows.append((one.words, design, _spread(one.found, one.u, one.unit, length), off))
    return rows


def _sized(value: float, unit: str, length: Lengths) -> str:
    return f"{number(value)}°" if unit == "deg" else length(value)


def _spread(value: float, limit: float, unit: str, length: Lengths) -> str:
    return f"{number(value)} ± {limit:.2f}°" if unit == "deg" else length.spread(value, limit)


BODY_NAMES = ("size", "design", "scan", "difference")


def body_sentences(fitted: Fitted) -> Iterator[str]:
    """Yield how a body sits in the window, and what to do next."""
    assert fitted.body is not None
    body, window, length = fitted.body, fitted.made.settled.window, fitted.made.given.lengths
    thick, mouth = body.size("thickness_mouth"), body.size("mouth_opening")
    if thick.found is None or thick.u is None or body.margin is None:
        yield "Its thickness at the mouth was not seen: scan seat and sole together."
        return
    at = f"{length.spread(thick.found, thick.u)} at the mouth, window {length.span(window.low, window.high)}"
    if body.standing == "works":
        yield f"The body works: {at}; {length(body.margin)} inside on its worse side."
        return
    if body.standing == "thickness only":
        whether = "is" if body.margin >= 0 else "may be"
        doubts = "; ".join(_doubt(body.size(name), length) for name in body.doubts)
        yield f"The thickness {whether} in the window, but that alone does not make the body work: {doubts}. Thickness {at}."
        return
    if body.standing == "may work":
        yield f"The body may work, uncertainties leave it open: {at}."
    else:
        yield f"The body is {body.standing} by {length(-body.margin)}: {at}."
    opening = f' --mouth "{length.spread(mouth.found, mouth.u)}"' if mouth.found is not None and mouth.u is not None else ""
    yield f'Ways back: planestock salvage SET --thickness "{length.spread(thick.found, thick.u)}"{opening}'


def _doubt(one: Size, length: Lengths) -> str:
    """Return what is the matter with a size beside the thickness."""
    if one.found is None or one.u is None:
        return f"{one.words} not seen"
    off = one.found - one.design
    by = f"{signed(off)}°" if one.unit == "deg" else f"{length.signed(off)} {length.units}"
    found = _spread(one.found, one.u, one.unit, length)
    return f"{one.words} off by {by} ({found}, design {_sized(one.design, one.unit, length)})"


def old_body_lines(fitted: Fitted) -> list[str]:
    """Return the old body's thicknesses as lines for the set."""
    if fitted.body is None or fitted.subject.of != "old-body":
        return []
    sizes = [fitted.body.size(f"thickness_{place}") for place in ("toe", "mouth", "heel")]
    length = fitted.made.given.lengths
    return [f'old_body.{one.name} = "{length.spread(one.found, one.u)}"' for one in sizes if one.found is not None and one.u]


def outcome(fitted: Fitted) -> str:
    """Return the result in one sentence."""
    if fitted.body is not None:
        return next(body_sentences(fitted))
    corrected = [one.path for one in fitted.proposed if one.verdict == "corrected"]
    if corrected:
        return f"The scan contradicts {len(corrected)} of the set's readings: {', '.join(corrected)}."
    if fitted.contacts or fitted.gaps:
        return "The readings agree with the scan, but metal and wood do not meet as designed."
    return "The scan agrees with the set."


def contradicted(fitted: Fitted) -> bool:
    """Tell whether the scan says that the set, or the body, is wrong."""
    if fitted.body is not None:
        return fitted.body.standing in ("thickness only", "too thick", "too thin", "not seen")
    return bool(fitted.contacts or fitted.gaps) or any(one.verdict == "corrected" for one in fitted.proposed)
