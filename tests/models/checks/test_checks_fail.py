"""Every check, made to fail or warn by changing a value or two of a set on which all pass; and every refusal by its rule.

To cover a new check, add its id with a change to `CASES`; `test_no_check_is_left_out` asks for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import cadquery as cq
import numpy as np
import pytest

from planestock.models.body.holes import clear_of_touching
from planestock.models.checks.rows import Row, Verdict, at_least, at_most, failing
from planestock.models.design import Design, design
from planestock.models.solids.assembly import Assembly
from planestock.models.solids.checks import solid_checks
from planestock.models.solids.parts import Mesh, Part
from planestock.params.files import changed, load, shipped
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.full_set import FULL, PLAIN, Values, full, full_design, plain_design, row, without
from tests.support.solid_worker import GUARDS

THIN_WALL = ("body.width=61", "body.toe_width=61", "body.heel_width=61")


@dataclass(frozen=True)
class Case:
    """Changes to a good set, what they make of one check, and which other checks cannot but follow."""

    id: str
    verdict: Verdict
    changes: tuple[str, ...]
    others: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()
    base: str = "full"

    def design(self) -> Design:
        values: Values = PLAIN if self.base == "plain" else FULL
        return design(parameter_set(changed(without(values, *self.lacking), self.changes)))


SAFE = ("thickness-within-safe-window", "seasons-in-window")
"""A thickness outside the window is outside the safe part of it, too."""

CASES = [
    # Reach and window
    Case("window-open", "fail", ("adjuster.pin_high=21",),
         ("edge-withdraws", "wear-left", "window-wider-than-uncertainty", *SAFE)),
    Case("edge-reaches-out", "fail", ("body.thickness=52",), SAFE),
    Case("edge-withdraws", "fail", ("work.withdraw=4",), ("wear-left", *SAFE)),
    Case("wear-left", "warn", ("work.truings=10", "work.widest_mouth=6")),
    Case("two-methods-agree", "fail", ("bench.edge_low=52.9", "bench.edge_high=47.2")),
    Case("window-wider-than-uncertainty", "fail", ("instrument.length=2",), ("wear-left", "thickness-within-safe-window")),
    Case("thickness-within-safe-window", "warn", ("body.thickness=51.2",)),
    Case("old-body-copy", "warn", ("old_body={thickness_mouth=55}",)),
    # Seasons
    Case("seasons-in-window", "fail", ("wood.wet={moisture=25}",), ("thickness-within-safe-window", "mouth-dampest")),
    Case("side-clearance-driest", "fail", ("throat.side_clearance=0.5",)),
    Case("seat-gap-driest", "warn", ("body.seat_gap=0.3",)),
    Case("mouth-dampest", "warn", ("throat.opening=1.65", "wood.wet={moisture=20}", "body.thickness=50")),
    Case("glue-lines", "warn", ("body.pad=18", "wood.pad_species=teak")),
    # Edge, mouth and shavings
    Case("clearance-angle", "fail", ("iron.bevel_angle=41",)),
    Case("clearance-angle", "warn", ("iron.bevel_angle=38",)),
    Case("mouth-passes-cut", "fail", ("throat.opening=1.5",), ("mouth-dampest",)),
    Case("mouth-now", "fail", ("throat.opening=3.1",), ("mouth-after-truings",)),
    Case("mouth-after-truings", "warn", ("throat.opening=2.3",)),
    Case("shavings-pass", "fail", ("throat.wear_lean=-10",)),
    Case("shavings-pass", "fail", ("cap_iron.hump_height=10",)),
    Case("side-clearance", "fail", ("throat.side_clearance=0.1",), ("side-clearance-driest",)),
    Case("side-clearance", "warn", ("throat.side_clearance=0.3",), ("side-clearance-driest",)),
    # Wood around the cuts
    Case("cheek", "fail", THIN_WALL),
    Case("cheek", "fail", ("work.least_cheek=13",)),
    Case("seat-wall", "fail", ("casting.front_width=71",)),
    Case("casting-on-wood", "fail", ("casting.front_width=80", "casting.let_in=0")),
    Case("wood-under-tail", "fail", ("casting.tail_drop=36", "casting.cove_radius=36", "work.least_cover=8",
                                     "casting.screws.1.length=10"), ("casting-screw-covered",), lacking=("tote",)),
    Case("wood-behind-bed", "fail", ("casting.rear=98",)),
    Case("wood-ahead-of-mouth", "fail", ("body.toe_to_mouth=36", "casting.front=-85"), base="plain"),
    Case("wood-behind-casting", "fail", ("body.heel_top=full", "body.length=343")),
    Case("wood-under-recess", "fail", ("frog.foot_low=-60",)),
    Case("bed-and-frog-flush", "fail", ("frog.recess_depth=5.2",)),
    Case("seat-gap", "warn", ("body.seat_gap=0.05",), ("seat-gap-driest",)),
    Case("seat-gap", "fail", ("body.seat_gap=0.04",), ("seat-gap-driest",)),
    # Holes
    Case("frog-screw-covered", "fail", ("frog.screws.0.depth=45",)),
    Case("casting-screw-covered", "fail", ("casting.screws.1.length=52",)),
    Case("casting-screw-covered", "fail", ("casting.screws.0.y=37",), ("screws-in-metal",)),
    Case("screws-in-metal", "fail", ("casting.screws.0.x=-94",)),
    Case("screws-in-metal", "fail", ("frog.screws.0.across=21",)),
    Case("tote-bolt-covered", "fail", ("tote.bolt_depth=40",)),
    Case("tote-toe-screw-covered", "fail", ("tote.toe_screw_depth=38",)),
    Case("knob-bolt-covered", "fail", ("knob.bolt_depth=50",)),
    Case("dowels-covered", "fail", ("body.dowels.depth=30",)),
    Case("dowels-placed", "fail", ("body.pad=20", "body.slip=12", "body.dowels.diameter=16")),
    Case("strip-beside-holes", "warn", ("body.centre_strip=6", "knob.bolt_diameter=6")),
    Case("holes-apart", "fail", ("tote.toe_screw_x=122",)),
    # Metal in wood
    Case("cap-iron-clear-out", "fail", ("throat.opening=1", "work.deepest_cut=0.1"), ("iron-lifts-out",)),
    Case("cap-iron-clear-back", "fail", ("cap_iron.hump_height=14", "cap_iron.hump_distance=6", "throat.opening=1",
                                         "work.deepest_cut=0.1"), ("shavings-pass", "cap-iron-clear-out", "iron-lifts-out")),
    Case("iron-lifts-out", "fail", ("cap_iron.hump_height=10", "cap_iron.hump_distance=6"),
         ("shavings-pass", "cap-iron-clear-out")),
    Case("frog-clear", "fail", ("frog.foot_thickness=5.09",)),
    Case("tote-clear", "fail", ("tote.toe_screw_x=72",)),
    Case("knob-clear", "fail", ("casting.thickness=1.5", "knob.from_toe=88")),
    Case("casting-clear", "fail", ("body.heel_top=full", "body.seat_gap=0.02"), ("seat-gap", "seat-gap-driest")),
]  # fmt: skip

GUARDED = {*GUARDS, "iron-clear-out", "iron-clear-back"}
"""Checks that no set fails: they watch the program. The throat follows from the iron, so that no iron can touch its wood."""


def not_passing(rows: tuple[Row, ...]) -> set[str]:
    return {row.id for row in rows if row.verdict != "pass"}


def test_every_check_passes_on_the_good_sets() -> None:
    assert not_passing(full_design().checks) == set()
    assert not_passing(plain_design().checks) == set()


@pytest.mark.parametrize("case", CASES, ids=[f"{case.id}, {case.changes[0]}" for case in CASES])
def test_a_changed_value_fails_its_own_check(case: Case) -> None:
    made = case.design()
    found = row(made, case.id)
    assert found.verdict == case.verdict
    assert not_passing(made.checks) == {case.id, *case.others}
    assert found.value is not None
    assert found.margin is not None
    assert case.verdict == "warn" or found.margin < 0
    assert len(found.change) > 10


def test_no_check_is_left_out() -> None:
    ids = [row.id for row in full_design().checks]
    assert len(set(ids)) == len(ids)
    assert set(ids) == {case.id for case in CASES} | GUARDED


def test_every_shipped_set_has_every_check() -> None:
    ids = [row.id for row in full_design().number_checks]
    for name in shipped():
        assert [row.id for row in design(load(name)).number_checks] == ids


# Guards of the program, with assemblies that it would not make


def with_wood(change: Callable[[Part], Part], *names: str) -> set[str]:
    """Ids of the guards that do not pass when some parts of a sound assembly are changed."""
    made = full_design()
    wood = tuple(change(part) if part.name in names else part for part in made.assembly.wood)
    return guards(made, replace(made.assembly, wood=wood))


def guards(made: Design, assembly: Assembly) -> set[str]:
    rows = solid_checks(made.given, made.settled, made.layout, assembly)
    return not_passing(rows) & GUARDED


def test_a_part_in_two_pieces_is_not_sound() -> None:
    def severed(part: Part) -> Part:
        crumb = cq.Solid.makeBox(1, 1, 1, cq.Vector(0, 50, 0))
        return replace(part, shape=cq.Compound.makeCompound([*part.shape.Solids(), crumb]))

    assert "solids-sound" in with_wood(severed, "right half")


def test_an_invalid_solid_is_not_sound() -> None:
    def opened(part: Part) -> Part:
        shell = cq.Shell.makeShell(part.shape.Faces()[:-1])
        return replace(part, shape=cq.Solid.makeSolid(shell))

    assert "solids-sound" in with_wood(opened, "left half")


def test_a_mesh_that_lacks_a_triangle_is_not_closed() -> None:
    def holed(part: Part) -> Part:
        return replace(part, mesh=Mesh(part.mesh.vertices, part.mesh.faces[1:]))

    assert "meshes-closed" in with_wood(holed, "right half")


def test_halves_of_different_volume_are_not_mirror_images() -> None:
    def shaved(part: Part) -> Part:
        shaving = cq.Solid.makeBox(20, 20, 0.001, cq.Vector(5, -25, 0))
        return replace(part, shape=part.shape.cut(shaving))

    assert with_wood(shaved, "left half") == {"halves-mirror"}


def test_a_mesh_of_another_size_does_not_have_its_solids_volume() -> None:
    def swollen(part: Part) -> Part:
        return replace(part, mesh=Mesh(part.mesh.vertices * 1.001, part.mesh.faces))

    assert with_wood(swollen, "right half") == {"mesh-volume"}


def test_more_wood_than_the_blank_is_out_of_bounds() -> None:
    def doubled(part: Part) -> Part:
        return replace(part, shape=part.shape.scale(1.2), mesh=Mesh(part.mesh.vertices * 1.2, part.mesh.faces))

    assert "volume-in-bounds" in with_wood(doubled, "right half", "left half")


def test_a_thicker_iron_than_the_wood_was_cut_for_is_seen() -> None:
    # The wood was cut for 3 mm: 9 mm out of the bed an iron stands in the wear, drawn back too.
    cut_for, thicker = full_design(), full("iron.thickness=9")
    made = replace(cut_for, given=thicker)
    assert guards(made, cut_for.assembly) == {"iron-clear-out", "iron-clear-back"}


# Rows


@pytest.mark.parametrize(
    ("value", "verdict", "margin"),
    [(None, "pass", None), (5.0, "pass", 1.0), (4.0, "pass", 0.0), (4 - 1e-12, "pass", -1e-12), (3.0, "fail", -1.0)],
)
def test_a_value_that_reaches_its_limit_passes(value: float | None, verdict: Verdict, margin: float | None) -> None:
    low = at_least("x", "asked", value, 4.0, "change it")
    assert low.verdict == verdict
    assert low.margin is None if margin is None else low.margin == pytest.approx(margin, abs=1e-15)
    mirrored = at_most("x", "asked", None if value is None else -value, -4.0, "change it")
    assert mirrored.verdict == verdict


def test_between_the_limits_a_value_warns_and_an_advisory_never_fails() -> None:
    assert at_least("x", "asked", 4.5, 4.0, "", warn_below=5.0).verdict == "warn"
    assert at_most("x", "asked", 4.5, 5.0, "", warn_above=4.0).verdict == "warn"
    assert at_least("x", "asked", 3.0, 4.0, "", advisory=True).verdict == "warn"
    assert failing((at_least("a", "", 1.0, 2.0, ""), at_least("b", "", 3.0, 2.0, ""))) == ("a",)


# Refusals

REFUSED = [
    ("body.toe_to_mouth", "between toe and throat", ("throat.breast_lean=45", "body.toe_to_mouth=60")),
    ("body.length", "behind the bed", ("body.length=190",)),
    ("throat.wear_height", "as high as the body", ("throat.wear_height=40", "body.thickness=36.5", "casting.let_in=4")),
    ("body.width", "beside the throat",
     ("throat.side_clearance=6", "body.width=63", "body.toe_width=63", "body.heel_width=63")),
    ("body.centre_strip", "as wide as the throat",
     ("body.centre_strip=25", "iron.width=22", "cap_iron.width=22", "throat.side_clearance=0.5")),
    ("casting.tail_drop", "down to the sole", ("casting.tail_drop=40", "casting.cove_radius=40", "body.thickness=40.5")),
    ("body.pad", "cuts through the pad", ("body.pad=4.5",)),
    ("body.pad", "for the halves", ("body.pad=30", "body.slip=12")),
    ("body.slip", "thinner than 1 mm", ("body.slip=0.5",)),
    ("body.centre_strip", "thinner than 1 mm", ("body.centre_strip=0.5",)),
    ("body.toe_radius", "reaches the throat from the toe", ("body.toe_to_mouth=60", "body.toe_radius=30")),
    ("body.heel_radius", "reaches the throat from the heel", ("body.heel_radius=32", "body.length=218", "casting.rear=110")),
    ("body.heel_radius", "reaches the throat from the heel",
     ("body.heel_radius=20", "body.length=204", "casting.screws.1.x=20")),
    ("body.toe_width", "one in two", ("body.toe_width=20", "body.toe_to_mouth=80")),
    ("body.heel_radius", "no flat face", ("body.heel_radius=36",)),
    ("body.edge_size", "is thick", ("body.edge_size=12", "body.pad=12", "body.toe_radius=20", "body.heel_radius=20")),
    ("body.edge_size", "not smaller than body.toe_radius", ("body.edge_size=8",)),
    ("body.edge_size", "top of the cheek", ("body.edge_size=7.5", "body.width=66")),
    ("casting.rear", "before the bed ends", ("casting.rear=92",)),
    ("body.length", "before the foot of the cove", ("body.length=262",)),
    ("body.width", "around the casting's pocket", ("casting.front_width=75",)),
    ("body.width", "around the casting's pocket", ("body.heel_top=full", "body.length=339.5")),
    ("frog.width", "wider than the throat", ("frog.width=52",)),
    ("frog.foot_low", "through the sole", ("frog.foot_low=-66",)),
    ("frog.foot_high", "behind the heel", ("frog.foot_high=30", "body.length=200")),
    ("frog.recess_depth", "into the cove", ("casting.rear=100", "frog.foot_high=10", "frog.recess_depth=10")),
    ("knob.from_toe", "begins outside the wood or in the throat", ("knob.from_toe=130",)),
    ("casting.screws.0", "begins outside the wood", ("casting.screws.0.y=38",)),
    ("knob.from_toe", "just touches the toe", ("knob.from_toe=5", "knob.bolt_diameter=10")),
    ("knob.from_toe", "just touches the sole", ("knob.bolt_depth=54.5",)),
    ("casting.screws.0", "just touches the cheek", ("casting.screws.0.y=36.612",)),
    ("tote.toe_screw_x", "lies inside the tote bolt", ("tote.bolt_tilt=0", "tote.toe_screw_x=126")),
    ("tote.bolt_x", "just touches the tote toe screw", ("tote.bolt_tilt=0", "tote.toe_screw_x=130.5")),
    ("tote.toe_screw_x", "where the pad runs out to nothing", ("body.pad=14", "tote.toe_screw_x=84")),
    ("body.pad", "just under or over the lowered tail", ("body.pad=14.5",)),
    ("frog.foot_low", "lies above the wood", ("frog.foot_low=8", "frog.foot_high=20", "frog.screws=[]")),
    ("body.edge_size", "less than 0.05 mm", ("body.edge_size=0.01",)),
    ("body.toe_width", "draws the end in by less than 0.05 mm", ("body.toe_width=75.999",)),
    ("casting.tail_drop", "less than 0.05 mm", ("casting.tail_drop=0.000001",)),
    ("casting.tail_length", "less than 0.05 mm", ("casting.tail_length=0.02",)),
    ("frog.recess_depth", "less than 0.05 mm", ("frog.recess_depth=0.01",)),
    ("frog.foot_high", "a mere scratch",
     ("frog.foot_low=-20", "frog.foot_high=-19.99", "body.seat_gap=0", "frog.screws=[]")),
    ("body.seat_gap", "leaves a hair", ("body.seat_gap=0.01", "body.heel_top=full", "casting.tail_length=0")),
    ("casting.corner_radius", "less than 0.05 mm", ("casting.corner_radius=0.001",)),
]  # fmt: skip


@pytest.mark.parametrize(("path", "rule", "changes"), REFUSED, ids=[f"{path}, {rule}" for path, rule, _ in REFUSED])
def test_what_cannot_become_a_body_is_refused_by_its_rule(path: str, rule: str, changes: tuple[str, ...]) -> None:
    with pytest.raises(InputProblem) as refused:
        design(full(*changes))
    found = [problem for problem in refused.value.problems if problem.path == path and rule in problem.rule]
    assert len(found) == 1, str(refused.value)
    assert found[0].value
    assert len(found[0].remedy) > 10


def test_a_bolt_as_wide_as_the_strip_is_a_hair_wider_in_the_solids_and_nowhere_else() -> None:
    (bolt,) = [hole for hole in full_design("body.centre_strip=6").layout.holes if hole.kind == "knob bolt"]
    assert bolt.diameter == 6
    assert clear_of_touching(bolt, 3.0).diameter == pytest.approx(6.02, abs=1e-12)
    assert clear_of_touching(bolt, 2.5) is bolt


def test_a_hole_that_takes_the_whole_strip_is_told_with_a_remedy() -> None:
    found = row(full_design("body.centre_strip=5"), "strip-beside-holes")
    assert found.value == pytest.approx(-0.5)
    assert "after the glue-up" in found.change
    assert row(full_design("body.centre_strip=10"), "strip-beside-holes").verdict == "pass"
    assert row(full_design(), "strip-beside-holes").value is None


def test_a_hole_beside_the_throat_is_measured_to_the_cheek_and_to_the_throat() -> None:
    from planestock.models.checks.wood import walls

    # y = 31, throat 26 wide each side, cheek at 38; pilot of a gauge 9 screw in hardwood.
    made = full_design("casting.screws.0.x=-20", "casting.screws.0.y=31", "casting.front_width=70")
    hole = next(hole for hole in made.layout.holes if hole.path == "casting.screws.0")
    left = dict(walls(hole, made.layout))
    assert left["throat"] == pytest.approx(5 - hole.radius, abs=1e-9)
    assert left["cheek"] == pytest.approx(7 - hole.radius, abs=1e-9)
    assert math.isclose(min(left.values()), left["throat"])


def test_the_front_walls_foot_is_its_nearest_place_to_the_toe_when_it_leans_to_the_heel() -> None:
    made = plain_design("throat.wear_lean=-10", "throat.breast_lean=-5")
    assert row(made, "wood-ahead-of-mouth").value == pytest.approx(98, abs=1e-9)
    assert made.layout.plan.toe.shoulder == pytest.approx(88, abs=1e-9)


def test_a_knob_bolt_beside_the_pocket_is_measured_to_its_wall() -> None:
    made = full_design("knob.from_toe=76")
    hole = next(hole for hole in made.layout.holes if hole.kind == "knob bolt")
    assert row(made, "knob-bolt-covered").value == pytest.approx(made.layout.seat_front[0] - 76 - hole.radius, abs=1e-9)


def test_meshes_of_the_good_set_are_finite() -> None:
    assert all(np.isfinite(part.mesh.vertices).all() for part in full_design().assembly.parts)


@pytest.mark.parametrize(
    "changes", [("tote.bolt_tilt=0", "tote.toe_screw_x=126"), ("tote.bolt_tilt=0", "tote.toe_screw_x=130.5")]
)
def test_the_other_hole_is_named_as_sentences_name_it(changes: tuple[str, ...]) -> None:
    with pytest.raises(InputProblem) as caught:
        design(full(*changes))
    assert not any("(" in problem.rule for problem in caught.value.problems)
