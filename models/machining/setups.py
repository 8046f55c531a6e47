"""The setups of every part: how it lies, what is cut there, and what stays for hand work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from planestock.models.body.layout import Layout
from planestock.models.machining import pockets
from planestock.models.machining.bores import Bore, Obstacle, bores
from planestock.models.machining.part_blocks import (
    Block,
    Frame,
    PartName,
    Position,
    Stretch,
    finished,
    frame_of,
    stock,
    stretches,
)
from planestock.models.machining.pockets import LEAST_REACHED, Pocket
from planestock.params.outlines.clipping import kept, region_area
from planestock.params.outlines.pieces import Line, Point, flattened, mirrored_across, walked_back
from planestock.params.outlines.polygons import polygon

Reason = Literal[Obstacle, "undercut", "inside the strip", "cutter too wide"]
"""Why a feature stays for hand work: a hole's obstacle; wood hangs over it; it does not come to the strip's face; the cutter
goes nowhere into it."""

LEAST_CUT = 0.01
"""Area below which a part has no share in a cut, mm²."""


@dataclass(frozen=True)
class Cut:
    """One feature as it is cut in a setup. feature: as the solids name it, or "outline".

    pockets: what is routed, empty for holes; depth: of the deepest; places: of holes in machine coordinates, mm; diameter:
    of the hole, else None.
    """

    feature: str
    name: str
    pockets: tuple[Pocket, ...]
    depth: float
    places: tuple[Point, ...] = ()
    diameter: float | None = None

    @property
    def passage(self) -> float | None:
        """The narrowest passage of its pockets, None where all are open."""
        return min((pocket.passage for pocket in self.pockets if pocket.passage is not None), default=None)


@dataclass(frozen=True)
class HandWork:
    """One feature that stays for hand work in a part. lean: of a hole, degrees; depth: in mm; diameter: of a hole."""

    feature: str
    name: str
    reason: Reason
    lean: float = 0.0
    depth: float = 0.0
    diameter: float | None = None


@dataclass(frozen=True)
class Setup:
    """One position of a part on the machine. number: from 1 in the order of work; shape: its finished box."""

    part: PartName
    number: int
    position: Position
    frame: Frame
    stock: Block
    shape: Block
    cuts: tuple[Cut, ...]


@dataclass(frozen=True)
class PartPlan:
    """All setups of a part, and what is left for the bench. mirror_of: the part whose mirror image it is."""

    stretch: Stretch
    setups: tuple[Setup, ...]
    hand: tuple[HandWork, ...]
    mirror_of: PartName | None

    @property
    def name(self) -> PartName:
        """The part's name."""
        return self.stretch.name

    @property
    def features(self) -> list[str]:
        """Every feature accounted for, as often as it is."""
        cuts = [cut.feature for setup in self.setups for cut in setup.cuts if cut.feature != OUTLINE]
        return [*cuts, *(work.feature for work in self.hand)]


OUTLINE = "outline"
"""Stands for the plan's outline and the broken edges: they are shaped into the blank, not cut from it."""


def part_plans(at: Layout, radius: float) -> tuple[PartPlan, ...]:
    """Return the plans of all parts, halves first. radius: of the cutter, mm."""
    found: list[PartPlan] = []
    for own in stretches(at):
        if own.name == "left half":
            found.append(_mirrored_plan(found[0], own))
        else:
            found.append(_plan(at, own, radius))
    return tuple(found)


def _plan(at: Layout, own: Stretch, radius: float) -> PartPlan:
    drilled = bores(at, own)
    routed = list(_routed(at, own, radius))
    positions: tuple[Position, ...] = ("mating face up", "top up")
    setups: list[Setup] = []
    for position in positions:
        frame = frame_of(own, position)
        cuts = [cut for where, cut in routed if where == position and isinstance(cut, Cut)]
        cuts += [_drilled(bore, frame) for bore in drilled if bore.obstacle is None and _bored_in(bore, own) == position]
        if position == _shaped_in(own) and _is_shaped(at, own):
            cuts.append(Cut(OUTLINE, "outline and edges", (), own.upright))
        if cuts or (position == positions[-1] and not setups):
            setups.append(Setup(own.name, len(setups) + 1, position, frame, stock(own, position), finished(own, position),
                                tuple(cuts)))  # fmt: skip
    hand = [cut for _, cut in routed if isinstance(cut, HandWork)]
    hand += [_by_hand(bore) for bore in drilled if bore.obstacle is not None]
    return PartPlan(own, tuple(setups), tuple(hand), None)


def _shaped_in(own: Stretch) -> Position:
    """Return the setup in which the outline is shaped."""
    return "mating face up" if own.name in ("slip", "centre strip") else "top up"


def _bored_in(bore: Bore, own: Stretch) -> Position:
    return "mating face up" if bore.kind == "dowel" or own.name == "slip" else "top up"


def _is_shaped(at: Layout, own: Stretch) -> bool:
    """Tell whether a part's outline is anything but a plain box."""
    if own.name == "centre strip":
        return False
    plan = at.plan
    drawn_in = min(plan.toe.half_width, plan.heel.half_width) < plan.half_width
    broken = at.edge_size > 0 and own.name != "slip" and own.high >= at.height
    return drawn_in or plan.toe.corner_radius > 0 or plan.heel.corner_radius > 0 or broken


def _routed(at: Layout, own: Stretch, radius: float) -> Iterator[tuple[Position, Cut | HandWork]]:
    """Yield throat, recess, seat and tail, each with the setup it belongs to, as far as the part has a share in them."""
    yield from _whole_width(at, own, radius) if own.whole_width else _upright(at, own, radius)


def _upright(at: Layout, own: Stretch, radius: float) -> Iterator[tuple[Position, Cut | HandWork]]:
    """Yield what is routed in a half or the strip."""
    face: Position = "mating face up"
    yield face, _cut("throat", "throat", pockets.throat_from_the_side(at, own, radius))
    if at.recess is not None and has_recess(at, own):
        hidden = own.name == "centre strip" and at.recess_half_width < own.outer
        pocket = pockets.recess_from_the_side(at, own, radius)
        yield (
            face,
            HandWork("frog.recess", "frog's recess", "inside the strip")
            if hidden
            else _cut("frog.recess", "frog's recess", pocket),
        )
    strip = own.name == "centre strip"
    if at.let_in > 0 and has_seat(at, own):
        pocket = pockets.seat_from_the_side(at, own, radius) if strip else pockets.seat_from_the_top(at, own, radius)
        yield face if strip else "top up", _cut("casting.seat", "casting's seat", pocket)
    if at.tail is not None and has_tail(at, own):
        found = (pockets.tail_from_the_side(at, own, radius),) if strip else _tail(at, own, radius)
        yield face if strip else "top up", _cut("casting.tail", "cove and tail", *found)


def _tail(at: Layout, own: Stretch, radius: float) -> tuple[Pocket, Pocket]:
    return pockets.tail_from_the_top(at, own, radius), pockets.cove_from_the_side(at, radius)


def _whole_width(at: Layout, own: Stretch, radius: float) -> Iterator[tuple[Position, Cut | HandWork]]:
    """Yield what is routed in pad or slip."""
    position: Position = "mating face up" if own.name == "slip" else "top up"
    slot = pockets.slot_from_the_top(at, own, radius)
    fits = pockets.slot_levels(at, own, radius).fits_from is not None
    if slot is None or not fits:
        yield position, HandWork("throat", "throat", "undercut" if slot is None else "cutter too wide", depth=own.upright)
    else:
        yield position, Cut("throat", "throat", (slot,), own.upright)
    if at.recess is not None and has_recess(at, own):
        yield position, HandWork("frog.recess", "frog's recess", "undercut")
    if own.name == "pad" and at.let_in > 0:
        yield position, _cut("casting.seat", "casting's seat", pockets.seat_from_the_top(at, own, radius))
    if at.tail is not None and has_tail(at, own):
        yield position, _cut("casting.tail", "cove and tail", *_tail(at, own, radius))


def _cut(feature: str, name: str, *found: Pocket) -> Cut | HandWork:
    depth = max(pocket.depth for pocket in found)
    if all(pocket.reached < LEAST_REACHED for pocket in found):
        return HandWork(feature, name, "cutter too wide", depth=depth)
    return Cut(feature, name, found, depth)


def has_recess(at: Layout, own: Stretch) -> bool:
    """Tell whether any of the frog's recess lies in a part."""
    assert at.recess is not None
    ring = pockets.anticlockwise(polygon(at.recess))
    share = kept(kept([ring], "above", own.low), "below", min(own.high, at.thickness))
    return at.recess_half_width > own.inner and region_area(share) > LEAST_CUT


def has_seat(at: Layout, own: Stretch) -> bool:
    """Tell whether the casting's pocket lies in a part."""
    return own.high > at.thickness and max(y for _, y in flattened(at.seat, 0.05)) > own.inner


def has_tail(at: Layout, own: Stretch) -> bool:
    """Tell whether cove and tail lie in a part."""
    assert at.tail is not None
    return own.high > at.tail.lowest + 1e-6


def _drilled(bore: Bore, frame: Frame) -> Cut:
    places = tuple((x, y) for x, y, _ in (frame.place(place) for place in bore.places))
    return Cut(bore.feature, bore.kind, (), bore.depth, places, bore.diameter)


def _by_hand(bore: Bore) -> HandWork:
    assert bore.obstacle is not None
    return HandWork(bore.feature, bore.kind, bore.obstacle, bore.lean, bore.depth, bore.diameter)


def _mirrored_plan(right: PartPlan, own: Stretch) -> PartPlan:
    setups = tuple(
        replace(
            setup,
            part=own.name,
            frame=frame_of(own, setup.position),
            stock=stock(own, setup.position),
            shape=finished(own, setup.position),
            cuts=tuple(_mirrored_cut(cut) for cut in setup.cuts),
        )
        for setup in right.setups
    )
    return PartPlan(own, setups, right.hand, right.name)


def _mirrored_cut(cut: Cut) -> Cut:
    turned = tuple(pocket if pocket.title == "cove" else _mirrored_pocket(pocket) for pocket in cut.pockets)
    return replace(cut, pockets=turned, places=tuple((x, -y) for x, y in cut.places))


def _mirrored_pocket(pocket: Pocket) -> Pocket:
    lines = walked_back(mirrored_across(pocket.bearing))
    return replace(
        pocket,
        cut=tuple(mirrored_across(ring) for ring in pocket.cut),
        walls=tuple(mirrored_across(ring) for ring in pocket.walls),
        bearing=tuple(line for line in lines if isinstance(line, Line)),
    )


def all_cuts(plans: Sequence[PartPlan]) -> Iterator[tuple[PartPlan, Setup, Cut]]:
    """Yield every cut with its part and setup, those of the left half left out: they are the right one's, mirrored."""
    for plan in plans:
        if plan.mirror_of is None:
            for setup in plan.setups:
                for cut in setup.cuts:
                    yield plan, setup, cut
