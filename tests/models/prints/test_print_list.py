"""Test pieces of whole designs: sound, on the bed, and put together again the body they were split from."""

from __future__ import annotations

import os

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings

from planestock.models.design import design
from planestock.models.prints.bed import Bed
from planestock.models.prints.gauges import SHELL, arches, mouth_gauge, seat_gauge
from planestock.models.prints.meshing import SHARED_NOISE, block, joined, mesh_of, solid, without
from planestock.models.prints.overhang import lie
from planestock.models.prints.print_groups import Piece
from planestock.models.prints.print_list import making_of, prints
from planestock.models.prints.split_body import HALF_SIZE
from planestock.models.prints.splitting import Making, ends_near, split
from planestock.models.solids.checks import MESH_ERROR
from planestock.models.solids.kernel import KernelProblem, volume
from planestock.params.files import load
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.drawn_sets import drawn_sets, starting_sets
from tests.support.full_set import Values, full_design, plain_design
from tests.support.prints_support import assert_sound, group, hold, printed

SETTINGS = settings(
    deadline=None, database=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck)
)


@pytest.mark.parametrize("name", ["fore", "smoother"])
def test_all_that_must_hold_of_prints_and_jigs_holds_for_shipped_sets(name: str) -> None:
    made, found = printed(name)
    assert found.missing == ()
    assert len(found.groups) == 8
    hold(made, found)


def check(values: Values) -> str:
    """Draw the prints of a set, and say what became of it."""
    try:
        made = design(parameter_set(values))
        _ = made.assembly
    except (InputProblem, KernelProblem):
        return "no body"
    try:
        found = prints(made)
    except InputProblem as problem:
        return f"no printer: {problem}"
    hold(made, found)
    return "printed"


def test_all_that_must_hold_holds_for_sets_drawn_at_random() -> None:
    outcomes = run(4, 21)
    assert outcomes.count("printed") >= 2, outcomes


@pytest.mark.long
def test_all_that_must_hold_holds_for_many_sets_drawn_at_random() -> None:
    outcomes = run(int(os.environ.get("PLANESTOCK_MANY_SETS", "300")), int(os.environ.get("PLANESTOCK_SEED", "20")))
    assert outcomes.count("printed") >= 0.3 * len(outcomes)


def run(examples: int, start: int) -> list[str]:
    outcomes: list[str] = []

    @settings(SETTINGS, max_examples=examples)
    @seed(start)
    @given(drawn_sets(starting_sets()))
    def held(values: Values) -> None:
        outcomes.append(check(values))
        assert outcomes[-1].startswith(("printed", "no body")) or "too small for any test piece" in outcomes[-1]

    held()
    return outcomes


@pytest.mark.parametrize(("name", "scale"), [("body, full size", 1.0), ("body, half size", HALF_SIZE)])
def test_the_body_s_pieces_have_the_volume_of_its_solids(name: str, scale: float) -> None:
    made, found = printed("fore")
    one = group(found, name)
    pieces = sum(solid(piece.mesh).volume() for piece in one.pieces if not piece.peg)
    pegs = sum(solid(piece.mesh).volume() for piece in one.pieces if piece.peg)
    whole = sum(volume(part.shape) for part in made.assembly.wood) * scale**3
    # A socket is a little larger than its peg: the clearance and the room for glue are missing from pieces and pegs.
    assert whole * (1 - MESH_ERROR) - 0.5 * pegs < pieces + pegs < whole * (1 + MESH_ERROR)


def test_the_seat_gauge_is_the_body_wherever_metal_touches_and_nowhere_else_outside_it() -> None:
    made = full_design()
    at = made.layout
    gauge = seat_gauge(at, "", "")
    thinned = without(gauge, arches(at, 0.4))
    wood = [solid(part.mesh) for part in made.assembly.wood]
    (x, z), half = at.corner, at.throat_half_width
    # Where metal touches: plates of wood just under seat, under cove and tail, and behind bed and recess, less the dowels.
    for low, high in (((x + 3, -20, z - 3), (x + 30, 20, z)), ((x + 110, -20, z - 14), (x + 150, 20, z - 9))):
        plate = block(low, high)
        for side in wood:
            own = plate ^ side
            assert (own - thinned).volume() < SHARED_NOISE
    # Ahead of the bed, between the cheeks, the gauge is as empty as the throat; and it has a shell under the seat.
    throat = block((at.breast_top[0] + 3, -half + 0.1, z - 3), (x - 4, half - 0.1, at.height))
    assert (throat ^ thinned).volume() < SHARED_NOISE
    shell = block((x + 12, -20, z - SHELL + 0.1), (x + 60, 20, z - 0.01))
    assert (shell - thinned).volume() < SHARED_NOISE
    assert thinned.volume() < 0.8 * gauge.volume()


def test_arches_need_no_support_and_stay_below_the_shell() -> None:
    made = full_design()
    at = made.layout
    bare = without(seat_gauge(at, "", ""), arches(at, 0.4))
    lying = lie(Piece("gauge", mesh_of(bare), ((0.0, 0.0, -1.0),)), Bed(400, 400, 400), 45.0)
    assert lying is not None
    assert lying.support == 0


def test_datum_lines_are_where_the_layout_has_corner_edge_and_middle() -> None:
    at = full_design().layout
    gauge = seat_gauge(at, "", "")
    _, right, _, _, left, _ = gauge.bounding_box()
    for x in (at.corner[0], at.edge[0]):
        for y in (left, right + 0.8):  # letters stand out on the left side
            line = block((x - 0.1, min(y, y * 0.99), at.height - 8), (x + 0.1, max(y, y * 0.99), at.height - 1))
            beside = line.translate((3, 0, 0))
            assert (line ^ gauge).volume() < 0.8 * (beside ^ gauge).volume(), (x, y)


def test_the_mouth_gauge_has_sole_wear_and_bed_and_is_open_on_its_right() -> None:
    at = full_design().layout
    gauge = mouth_gauge(at, "Name", "0123abcd")
    low, high = at.throat_half_width - 0.2, at.throat_half_width - 0.1
    section = block((-9e3, low, -9e3), (9e3, high, 9e3)) ^ gauge
    edges = mesh_of(section).vertices
    for point in (at.mouth_front, at.wear_top, at.bed_foot):
        assert np.min(np.hypot(edges[:, 0] - point[0], edges[:, 2] - point[1])) < 1e-6
    _, _, bottom, _, right, _ = gauge.bounding_box()
    assert bottom == pytest.approx(0, abs=1e-9)
    assert right == pytest.approx(at.throat_half_width)


@pytest.mark.parametrize("name", ["", "木 🪵", "x" * 400, "<&>\x00\n\u202e", "Ærø's no. 7½"])
def test_any_name_gives_sound_gauges(name: str) -> None:
    made = plain_design()
    for one in (seat_gauge(made.layout, name, "0123abcd"), mouth_gauge(made.layout, name, "0123abcd")):
        assert_sound(mesh_of(one), name)


def test_the_seat_gauge_is_split_with_pegs_where_the_bed_is_short_and_stays_solid_there() -> None:
    made = design(load("smoother", ["shop.printer.x=120", "shop.printer.y=120"]))
    found = prints(made)
    one = group(found, "seat gauge")
    assert len([piece for piece in one.pieces if not piece.peg]) >= 2
    assert len([piece for piece in one.pieces if piece.peg]) >= 2
    hold(made, found)


def test_a_printer_too_small_for_any_test_piece_is_refused_with_its_field_and_a_remedy() -> None:
    made = full_design("shop.printer.x=50", "shop.printer.y=50", "shop.printer.z=50")
    with pytest.raises(InputProblem) as caught:
        prints(made)
    (problem,) = caught.value.problems
    assert problem.path == "shop.printer.x"
    assert "50 × 50 mm, 50 mm high" in problem.value
    assert "too small for any test piece" in problem.rule
    assert "larger printer" in problem.remedy


def test_a_printer_for_some_pieces_prints_these_and_says_what_it_cannot() -> None:
    found = prints(full_design("shop.printer.x=90", "shop.printer.y=90", "shop.printer.z=50"))
    assert "mouth gauge" in {one.name for one in found.groups}
    assert any("the printer's bed" in one.why for one in found.missing)


def test_a_left_half_s_pieces_are_the_right_half_s_mirrored() -> None:
    _, found = printed("fore")
    pieces = {piece.name: piece for piece in group(found, "body, full size").pieces}
    for name, piece in pieces.items():
        if "right half" in name:
            twin = pieces[name.replace("right", "left")]
            np.testing.assert_array_equal(twin.mesh.vertices, piece.mesh.vertices * [1, -1, 1])


def test_no_joint_runs_where_something_ends_close_by() -> None:
    step = joined([block((0, 0, 0), (200, 30, 40)), block((0, 30, 0), (100.5, 60, 40))])
    assert ends_near(step, 100.0)
    assert not ends_near(step, 101.0)  # the step itself is no thin wall
    assert not ends_near(step, 97.0)
    parted = split("step", mesh_of(step), Making(Bed(120, 120, 120), 0.25, 0.4))
    assert all(not ends_near(step, joint.x) for joint in parted.joints)


def test_split_pieces_are_no_longer_than_the_bed_and_as_few_as_it_takes() -> None:
    made, _ = printed("fore")
    making = making_of(made)
    right = next(part for part in made.assembly.wood if part.name == "right half")
    parted = split("right half", right.mesh, making)
    assert len(parted.pieces) == 2
    assert sum(np.ptp(piece.mesh.vertices[:, 0]) for piece in parted.pieces) == pytest.approx(made.layout.length)
