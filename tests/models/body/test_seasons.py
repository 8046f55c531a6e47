"""The body through the year against movement worked out by hand from the coefficients, and its mass."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from planestock.exports.wording.window import seasons_sentence
from planestock.models.body.seasons import seasons, wood_mass
from planestock.models.design import Design, design
from planestock.models.solids.parts import Mesh
from planestock.models.window.year import Change, Year, moistures, woods, year
from planestock.params.files import changed, load, shipped
from planestock.params.lengths import Lengths
from planestock.params.outlines.pieces import Point
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.full_set import FULL, PLAIN, Values, plain_design, row

EXACT = 1e-9
BEECH_RADIAL, BEECH_TANGENTIAL = 0.00190, 0.00431
"""American beech, change per 1 % moisture content: Wood Handbook, FPL-GTR-190 (2010), table 13-5."""
MAPLE_RADIAL, MAPLE_TANGENTIAL = 0.00165, 0.00353
"""Sugar maple, the same table."""
BEECH_RADIAL_SHRINKAGE = 5.5
"""American beech, percent, green to ovendry: Wood Handbook, table 4-3."""


def air(dry: float, wet: float, worked: float = 9.0) -> Values:
    return {"dry": {"moisture": dry}, "wet": {"moisture": wet}, "worked": {"moisture": worked}}


def made_of(
    base: Values, *changes: str, dry: float = 6.0, wet: float = 12.0, worked: float = 9.0, **wood: str
) -> ParameterSet:
    """A set of the tests with moisture contents given; wood: further fields of its wood."""
    return parameter_set(changed({**base, "wood": {**air(dry, wet, worked), **wood}}, changes))


def checked(base: Values, *changes: str, dry: float = 6.0, wet: float = 12.0, **wood: str) -> Design:
    return design(made_of(base, *changes, dry=dry, wet=wet, worked=9.0, **wood))


# Moisture content


def test_moisture_contents_come_from_the_air_or_are_taken_as_given() -> None:
    given = load("jack", ["wood.worked.humidity=50", "wood.worked.temperature=20", "wood.wet={ moisture = 13 }"])
    found = moistures(given)
    # The equation in °C (Simpson 1998, FPL-RN-0268), worked out by hand: 20 °C and 50 % give 9.271141 %.
    assert found.worked == pytest.approx(9.271141, abs=1e-6)
    # Wood Handbook (FPL-GTR-190, 2010) table 4-2, p. 4-4 (read): 70 °F and 30, 50, 65, 80 %
    for humidity, printed in ((30, 6.2), (50, 9.2), (65, 12.0), (80, 16.0)):
        air = load("jack", [f"wood.worked={{ temperature = {(70 - 32) / 1.8}, humidity = {humidity} }}"])
        assert moistures(air).worked == pytest.approx(printed, abs=0.1)
    assert found.wet == 13.0


def test_air_outside_the_equations_range_is_named() -> None:
    with pytest.raises(InputProblem, match=r"wood\.dry\.temperature"):
        seasons(load("jack", ["wood.dry.temperature=-8"]), 47.0)


@pytest.mark.parametrize("layer", ["strip", "pad", "slip"])
def test_an_unknown_species_of_a_layer_is_named_by_its_field(layer: str) -> None:
    with pytest.raises(InputProblem, match=rf"wood\.{layer}_species = unobtainium"):
        woods(made_of(PLAIN, f"wood.{layer}_species=unobtainium"))


# Thickness


def test_a_flat_sawn_body_moves_radially_in_its_thickness() -> None:
    found = seasons(made_of(PLAIN), 50.0)
    assert found.worked.thickness == 50.0
    assert found.dry.thickness == pytest.approx(50 - 50 * BEECH_RADIAL * 3, abs=EXACT)
    assert found.wet.thickness == pytest.approx(50 + 50 * BEECH_RADIAL * 3, abs=EXACT)
    assert found.per_percent == pytest.approx(50 * BEECH_RADIAL, abs=EXACT)


def test_a_quarter_sawn_body_moves_tangentially_in_its_thickness() -> None:
    found = seasons(made_of(PLAIN, cut="quarter"), 50.0)
    assert found.wet.thickness == pytest.approx(50 + 50 * BEECH_TANGENTIAL * 3, abs=EXACT)


def test_outside_6_to_14_percent_the_other_formula_is_taken() -> None:
    # Wood Handbook (FPL-GTR-190, 2010) ch. 4: below 30 % a green length of 1 is 1 - S (30 - M)/3000 long at M. Eq. 13-3,
    # p. 13-17 (its form from memory), says the same. S_R of American beech from table 4-3, p. 4-6 (read).
    green_to = {moisture: 1 - BEECH_RADIAL_SHRINKAGE * (30 - moisture) / 3000 for moisture in (4.0, 9.0, 18.0)}
    found = seasons(made_of(PLAIN, dry=4.0, wet=18.0), 50.0)
    assert found.wet.thickness == pytest.approx(50 * green_to[18.0] / green_to[9.0], abs=EXACT)
    assert found.dry.thickness == pytest.approx(50 * green_to[4.0] / green_to[9.0], abs=EXACT)


def test_pad_and_slip_of_other_wood_move_by_their_own_coefficients() -> None:
    given = made_of(
        FULL, "body.pad=12", "body.slip=5", "casting.let_in=4", pad_species="maple, sugar", slip_species="maple, sugar"
    )
    # Seat to sole 49.5: 12 - 4 of the pad lie under the seat, 5 in the slip, 36.5 between them.
    change = 3 * (36.5 * BEECH_RADIAL + 13 * MAPLE_RADIAL)
    assert seasons(given, 49.5).wet.thickness == pytest.approx(49.5 + change, abs=EXACT)


def test_pad_and_slip_of_the_bodys_own_wood_change_nothing() -> None:
    plainly, laminated = made_of(FULL), made_of(FULL, "body.pad=12", "body.slip=5")
    assert seasons(laminated, 49.5).wet.thickness == pytest.approx(seasons(plainly, 49.5).wet.thickness, abs=EXACT)


def test_seasons_the_wrong_way_round_are_still_driest_and_dampest() -> None:
    found = seasons(made_of(PLAIN, dry=12.0, wet=6.0), 50.0)
    assert (found.driest.name, found.dampest.name) == ("wet", "dry")
    in_shop = seasons(made_of(PLAIN, dry=8.0, wet=11.0, worked=12.0), 50.0)
    assert in_shop.dampest.name == "worked"


@drawn(
    dry=st.floats(-0.05, 0.05),
    wet=st.floats(-0.05, 0.05),
    offset=st.floats(-0.2, 0.2),
    end=st.floats(30, 70),
)
def test_the_thickest_and_thinnest_in_the_shop_just_meet_the_limit_in_some_season(
    dry: float, wet: float, offset: float, end: float
) -> None:
    through = Year(Change(dry, offset), Change(wet, 0.0))
    thick, thin = float(through.thickest_in_shop(end)), float(through.thinnest_in_shop(end))
    at = [(each, each + float(through.dry.of(each)), each + float(through.wet.of(each))) for each in (thick, thin)]
    assert max(at[0]) == pytest.approx(end, abs=EXACT)
    assert min(at[1]) == pytest.approx(end, abs=EXACT)


def test_changes_take_arrays() -> None:
    through = year(made_of(PLAIN))
    thicknesses = np.array([40.0, 50.0])
    assert through.wet.of(thicknesses) == pytest.approx(thicknesses * BEECH_RADIAL * 3, abs=EXACT)
    assert through.wet.before(thicknesses + through.wet.of(thicknesses)) == pytest.approx(thicknesses, abs=EXACT)


# Mouth and bed, by two lines


def crossing(point: Point, direction: Point, level: float) -> float:
    """Where a line meets a level, along x."""
    return point[0] + (level - point[1]) * direction[0] / direction[1]


@pytest.mark.parametrize("angle", [45, 50, 60])
def test_mouth_and_bed_follow_the_iron_that_hangs_on_the_seat(angle: int) -> None:
    given = made_of(PLAIN, f"frog.bed_angle={angle}", cut="quarter")
    theta, thickness, iron = math.radians(angle), 50.0, 3.0
    up, out = (math.cos(theta), math.sin(theta)), (-math.sin(theta), math.cos(theta))
    # Measured from the corner D, which stays; wood points keep their x and move up and down by the strain.
    face = (iron * out[0], iron * out[1])
    foot = (-thickness / math.tan(theta), -thickness)
    front = crossing(face, up, -thickness) - given.throat.opening.value
    found = seasons(given, thickness)
    for season in found.all:
        sole = -season.thickness
        assert season.mouth == pytest.approx(crossing(face, up, sole) - front, abs=EXACT)
        moved = (foot[0], sole)
        assert season.bed_proud == pytest.approx(moved[0] * out[0] + moved[1] * out[1], abs=EXACT)
    assert found.dry.mouth > found.worked.mouth > found.wet.mouth
    assert found.dry.bed_proud > 0 > found.wet.bed_proud


# Throat, seat and frog


def test_the_throat_narrows_towards_the_iron_in_the_dry() -> None:
    # Throat 50 + 2 · 1 wide, flat-sawn: it loses 52 · 0.00431 · 3 in all, half of it on each side.
    found = seasons(made_of(PLAIN), 50.0)
    assert found.dry.side_clearance == pytest.approx(1 - 52 * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)
    assert found.wet.side_clearance == pytest.approx(1 + 52 * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)


def test_the_wider_of_iron_and_cap_iron_has_the_clearance() -> None:
    found = seasons(made_of(PLAIN, "cap_iron.width=51"), 50.0)
    assert found.worked.side_clearance == pytest.approx(1.0, abs=EXACT)


def test_a_strip_of_other_wood_moves_its_part_of_the_throat() -> None:
    found = seasons(made_of(PLAIN, "body.centre_strip=6", strip_species="maple, sugar"), 50.0)
    lost = 3 * (46 * BEECH_TANGENTIAL + 6 * MAPLE_TANGENTIAL)
    assert found.dry.side_clearance == pytest.approx(1 - lost / 2, abs=EXACT)


def test_the_tightest_layer_of_the_throat_counts() -> None:
    in_maple = made_of(PLAIN, "body.slip=5", slip_species="beech, american", species="maple, sugar")
    assert seasons(in_maple, 50.0).dry.side_clearance == pytest.approx(1 - 52 * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)


def test_the_casting_is_pinched_by_its_pocket_and_not_where_it_rests_on_top() -> None:
    # Casting 54 wide, gap 0.3 all round, flat-sawn.
    found = seasons(made_of(FULL, "body.seat_gap=0.3"), 49.5)
    assert found.worked.casting_gap == pytest.approx(0.3, abs=EXACT)
    assert found.dry.casting_gap == pytest.approx(0.3 - 54.6 * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)
    assert seasons(made_of(PLAIN), 50.0).dry.casting_gap is None


def test_a_pocket_in_the_pad_moves_as_the_pad_does() -> None:
    found = seasons(made_of(FULL, "body.seat_gap=0.3", "body.pad=12", pad_species="maple, sugar"), 49.5)
    assert found.dry.casting_gap == pytest.approx(0.3 - 54.6 * MAPLE_TANGENTIAL * 3 / 2, abs=EXACT)


def test_the_frogs_foot_is_pinched_across_or_up_the_bed() -> None:
    # Across 44 + 0.6 flat-sawn; up the bed 37 + 0.6, which moves by the upright strain times sin² 45° = 1/2.
    flat, quarter = (seasons(made_of(FULL, "body.seat_gap=0.3", cut=cut), 49.5).dry.foot_gap for cut in ("flat", "quarter"))
    assert flat == pytest.approx(0.3 - 44.6 * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)
    assert quarter == pytest.approx(0.3 - max(44.6 * BEECH_RADIAL * 3 / 2, 37.6 * BEECH_TANGENTIAL / 2 * 3 / 2), abs=EXACT)
    assert seasons(made_of(PLAIN), 50.0).dry.foot_gap is None
    assert seasons(made_of(PLAIN), 50.0).dry.least_gap is None


# Glue lines


def test_a_glue_line_between_unlike_woods_is_named_with_its_mismatch() -> None:
    given = made_of(
        FULL, "body.slip=5", "body.centre_strip=4", slip_species="maple, sugar", strip_species="maple, sugar", cut="quarter"
    )
    strip, slip = seasons(given, 49.5).glue_lines
    # The strip's line runs the height of the halves, 49.5 + 4 - 5, upright; the slip's the width, 76, level.
    assert strip.across == pytest.approx(48.5, abs=EXACT)
    assert strip.wet == pytest.approx(48.5 * 3 * (MAPLE_TANGENTIAL - BEECH_TANGENTIAL), abs=EXACT)
    assert slip.dry == pytest.approx(-76 * 3 * (MAPLE_RADIAL - BEECH_RADIAL), abs=EXACT)
    assert slip.between == "slip of maple, sugar and halves of beech, american"
    assert slip.worst == pytest.approx(abs(slip.dry), abs=EXACT)


def test_one_wood_throughout_has_no_glue_line_to_warn_of() -> None:
    laminated = made_of(FULL, "body.slip=5", "body.pad=12", "body.centre_strip=4", strip_species="American beech")
    assert seasons(laminated, 49.5).glue_lines == ()


# Checks


def test_a_thickness_that_leaves_the_window_in_one_season_fails() -> None:
    high = plain_design().settled.high.value
    made = checked(PLAIN, f"body.thickness={high - 0.1:.3f}", cut="quarter")
    found = row(made, "seasons-in-window")
    swollen = (high - 0.1) * (1 + BEECH_TANGENTIAL * 3)
    assert found.value == pytest.approx(high - swollen, abs=2e-3)
    assert found.verdict == "fail"
    assert "make body.thickness smaller" in found.change
    low = plain_design().settled.low.value
    dry = row(checked(PLAIN, f"body.thickness={low + 0.1:.3f}", cut="quarter"), "seasons-in-window")
    assert dry.verdict == "fail"
    assert "make body.thickness larger" in dry.change
    assert row(plain_design(), "seasons-in-window").verdict == "pass"


@pytest.mark.parametrize(("clearance", "verdict"), [(1.0, "pass"), (0.5, "fail")])
def test_the_irons_room_at_the_driest_is_checked(clearance: float, verdict: str) -> None:
    found = row(checked(PLAIN, f"throat.side_clearance={clearance}"), "side-clearance-driest")
    assert found.value == pytest.approx(clearance - (50 + 2 * clearance) * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)
    assert found.verdict == verdict
    assert "6.0 % moisture" in found.asked


@pytest.mark.parametrize(("gap", "verdict"), [(0.5, "pass"), (0.3, "warn"), (0.2, "fail")])
def test_a_pinched_casting_warns_and_then_fails(gap: float, verdict: str) -> None:
    found = row(checked(FULL, f"body.seat_gap={gap}"), "seat-gap-driest")
    assert found.verdict == verdict
    assert found.value == pytest.approx(gap - (54 + 2 * gap) * BEECH_TANGENTIAL * 3 / 2, abs=EXACT)


def test_a_casting_on_top_has_no_gap_to_check() -> None:
    found = row(checked(PLAIN), "seat-gap-driest")
    assert (found.value, found.verdict) == (None, "pass")


def test_a_mouth_that_shuts_in_the_damp_warns() -> None:
    # At 45° swelling closes the mouth by as much, 50 · 0.00431 · 3 = 0.6465 mm, and a cut of 0.3 by another 0.3.
    fine = checked(PLAIN, "throat.opening=0.9", "work.deepest_cut=0.3", cut="quarter")
    found = row(fine, "mouth-dampest")
    assert found.value == pytest.approx(0.9 - 50 * BEECH_TANGENTIAL * 3 - 0.3, abs=EXACT)
    assert found.verdict == "warn"
    assert found.limit == 0.3
    # A cut of 0.8 takes 0.8 of the mouth and needs 0.8 more to pass: 2 · 0.8 + 0.6465 = 2.2465 mm is just enough.
    for opening, verdict in ((2.24, "warn"), (2.25, "pass")):
        assert row(checked(PLAIN, f"throat.opening={opening}", cut="quarter"), "mouth-dampest").verdict == verdict


def test_unlike_woods_across_a_wide_glue_line_warn() -> None:
    # Level movement differs by 0.00431 - 0.00186 = 0.00245 per 1 %: over 70 mm and 3 % some 0.51 mm.
    made = checked(PLAIN, "body.slip=5", slip_species="teak")
    found = row(made, "glue-lines")
    assert found.value == pytest.approx(70 * 3 * (BEECH_TANGENTIAL - 0.00186), abs=EXACT)
    assert found.verdict == "warn"
    assert "slip of teak" in found.asked
    assert row(checked(PLAIN), "glue-lines").value is None


def test_the_year_in_words() -> None:
    text = seasons_sentence(seasons(made_of(PLAIN), 50.0), Lengths("mm"))
    assert text == (
        "Between 6.0 and 12.0 % moisture the body is 49.72 to 50.28 mm thick, and the mouth 2.29 to 1.71 mm open; "
        "1 % more or less moves the thickness by 0.10 mm."
    )


@pytest.mark.parametrize("name", shipped())
def test_the_seasons_of_a_shipped_set_are_in_order(name: str) -> None:
    found = design(load(name)).seasons
    ordered = (found.driest, found.worked, found.dampest)
    assert all(a.moisture <= b.moisture and a.thickness <= b.thickness and a.mouth >= b.mouth for a, b in pairwise(ordered))


# Mass


def test_mass_by_hand() -> None:
    # Wood Handbook chapter 4: 1000 · 0.64 · 1.12 = 716.8 kg/m³ for beech at 12 %.
    assert wood_mass(1e6, "beech, american", 12.0) == pytest.approx(716.8, abs=1e-6)


def test_the_masses_of_a_design_are_the_volumes_of_its_meshes_times_the_density() -> None:
    made = plain_design("body.slip=5", "wood.slip_species=maple, sugar", "wood.worked={ moisture = 12 }")
    densities = {"beech, american": 716.8e-6, "maple, sugar": 705.6e-6}  # g/mm³, G12 · 1.12: 0.64 and 0.63
    assert set(made.masses) == {"right half", "left half", "slip"}
    for part in made.assembly.wood:
        assert made.masses[part.name] == pytest.approx(mesh_volume(part.mesh) * densities[part.material], rel=1e-3)
    assert made.mass == pytest.approx(sum(made.masses.values()), rel=1e-12)
    assert 500 < made.mass < 800


def mesh_volume(mesh: Mesh) -> float:
    a, b, c = (mesh.vertices[mesh.faces[:, corner]] for corner in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)
