"""Checks that ask whether the cutter fits: reach, passages, and the wood around relieved corners."""

from __future__ import annotations

from collections.abc import Sequence

from planestock.models.checks.rows import Row, at_least, at_most
from planestock.models.machining.corners import Corner
from planestock.models.machining.setups import PartPlan, all_cuts


def cutter_checks(plans: Sequence[PartPlan], found: Sequence[Corner], diameter: float, reach: float) -> tuple[Row, ...]:
    """Return the rows. What the cutter cannot do is hand work and warns; it fails where it can cut nothing at all."""
    routed = [(plan, cut) for plan, _, cut in all_cuts(plans) if cut.pockets]
    deepest = max(routed, key=lambda one: one[1].depth, default=None)
    open_ways = [(cut.passage, plan, cut) for plan, cut in routed if cut.passage is not None]
    tightest = min(open_ways, key=lambda one: one[0], default=None)
    reliefs = [corner.room for corner in found if corner.relief is not None and corner.room is not None]
    scarcest = min(reliefs, key=lambda room: room.left - room.wanted, default=None)
    where = f" ({deepest[1].name}, {deepest[0].name})" if deepest else ""
    narrow = f" ({tightest[2].name}, {tightest[1].name})" if tightest else ""
    beyond = f" (to the {scarcest.beyond})" if scarcest else ""
    return (
        at_least("cutter-cuts", "The cutter goes into some pocket", float(len(routed)), 1.0,
                 "take a thinner cutter (shop.cutter.diameter)", unit=""),
        at_most("cutter-reaches", f"The cutter reaches the floor of every pocket{where}",
                deepest[1].depth if deepest else None, reach,
                "take a longer cutter (shop.cutter.reach), or finish the floor by hand", advisory=True),
        at_least("cutter-passes", f"Every passage is wider than the cutter{narrow}", tightest[0] if tightest else None,
                 diameter, "take a thinner cutter (shop.cutter.diameter), or open it by hand", advisory=True),
        at_least("relief-cover", f"Wood around relieved corners{beyond}", scarcest.left if scarcest else None,
                 scarcest.wanted if scarcest else 0.0, "leave them for the chisel (shop.cutter.corners)"),
    )  # fmt: skip
