"""The old body as evidence: where it stands with and without the wood added to it, what it has lost, and who wins."""

from __future__ import annotations

import math

import pytest

from planestock.models.design import design
from planestock.models.window.old_body import OldBodyEvidence, old_body, old_body_notes
from planestock.models.window.thickness import settle
from planestock.params.files import changed, load
from planestock.params.lengths import Lengths
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.full_set import plain, row

EXACT = 1e-9
ROOT2, ROOT3 = math.sqrt(2), math.sqrt(3)
LOW, HIGH = 66 / ROOT2 + 0.3, 74 / ROOT2 - 0.8
"""The plain block's window by hand: 46.97 to 51.53 mm."""


def evidence(*changes: str) -> OldBodyEvidence:
    given = plain(*(f"old_body.{change}" for change in changes))
    found = old_body(given, settle(given))
    assert found is not None
    return found


def notes(*changes: str) -> str:
    return "\n".join(old_body_notes(evidence(*changes), 50.0, Lengths("mm")))


def test_a_set_without_an_old_body_or_without_its_thickness_has_no_evidence() -> None:
    assert design(plain()).old_body is None
    patch_only = plain("old_body.sole_patch=3")
    assert old_body(patch_only, settle(patch_only)) is None
    found = row(design(plain()), "old-body-copy")
    assert (found.value, found.verdict) == (None, "pass")


def test_an_old_body_inside_the_window_would_work_as_it_is() -> None:
    found = evidence("thickness_mouth=49")
    assert [standing.what for standing in found.standings] == ["as measured"]
    assert found.as_measured.below_high.value == pytest.approx(HIGH - 49, abs=EXACT)
    assert found.as_measured.above_low.value == pytest.approx(49 - LOW, abs=EXACT)
    assert found.as_measured.margin == pytest.approx(49 - LOW, abs=EXACT)
    assert found.as_measured.verdict == "would work"
    assert not found.is_trap


def test_each_addition_off_and_both_off_are_stood_beside_the_body_as_measured() -> None:
    found = evidence("thickness_mouth=50", "sole_patch=3.2", "top_patch=1.1")
    states = {standing.what: standing.thickness.value for standing in found.standings}
    assert states == pytest.approx({
        "as measured": 50, "without what was added below": 46.8, "without what was added on top": 48.9,
        "without all that was added": 45.7,
    }, abs=EXACT)  # fmt: skip
    assert found.bare is found.worst


def test_a_body_that_works_only_by_what_was_added_is_told_plainly() -> None:
    found = evidence("thickness_mouth=48.5", "sole_patch=4")
    assert found.is_trap
    assert (found.as_measured.verdict, found.bare.verdict, found.bare.side) == ("would work", "cannot work", "thin")
    text = notes("thickness_mouth=48.5", "sole_patch=4")
    assert f"without what was added below is 44.50 ± 0.08 mm thick: {LOW - 44.5:.2f} mm too thin, a copy cannot work" in text
    assert "in a copy without that wood the edge could not be drawn back" in text


def test_a_trap_warns_in_its_check_and_never_fails() -> None:
    made = design(plain("old_body.thickness_mouth=48.5", "old_body.sole_patch=4"))
    found = row(made, "old-body-copy")
    assert found.verdict == "warn"
    assert found.value == pytest.approx(44.5 - LOW, abs=EXACT)
    assert "without what was added below" in found.asked
    assert row(design(plain("old_body.thickness_mouth=49")), "old-body-copy").verdict == "pass"


def test_where_old_body_and_metal_disagree_the_metal_wins_by_so_much() -> None:
    thin = notes("thickness_mouth=44")
    assert f"Old body and metal disagree by {LOW - 44:.2f} mm. The metal wins: the new body is 50.00 mm thick." in thin
    assert "either wood of it is missing" in thin
    thick = notes("thickness_mouth=53")
    assert f"disagree by {53 - HIGH:.2f} mm" in thick
    assert "does not reach out" in thick
    assert "either wood of it is missing" not in thick
    assert "thinner than the thickest" not in thick


def test_a_margin_within_the_readings_limits_is_doubtful() -> None:
    inside, outside = (evidence(f"thickness_mouth={LOW + off:.4f}").as_measured for off in (0.05, -0.05))
    assert (inside.verdict, outside.verdict) == ("doubtful", "doubtful")
    assert "a copy may work" in notes(f"thickness_mouth={LOW + 0.05:.4f}")
    assert "as far as the readings' ± let us say" in notes(f"thickness_mouth={LOW - 0.05:.4f}")


def test_old_readings_bring_their_own_uncertainty_to_every_difference() -> None:
    found = evidence("thickness_mouth=48.5 ± 0.3 mm", "sole_patch=4 ± 0.1 mm")
    settled = settle(plain())
    assert found.bare.thickness.u == pytest.approx(math.hypot(0.3, 0.1) / ROOT3, abs=EXACT)
    assert found.bare.above_low.u == pytest.approx(math.hypot(found.bare.thickness.u, settled.low.u), abs=EXACT)


def test_lost_sole_is_counted_from_the_thickest_body_that_works() -> None:
    found = evidence("thickness_mouth=48.5", "sole_patch=4")
    assert found.lost.value == pytest.approx(HIGH - 44.5, abs=EXACT)
    assert found.thinner_than_new == pytest.approx(50 - 44.5, abs=EXACT)
    assert f"Its wood is {HIGH - 44.5:.2f} ±" in notes("thickness_mouth=48.5", "sole_patch=4")


def test_the_mouth_decides_then_the_line_from_toe_to_heel_then_either_end() -> None:
    ends = ("thickness_toe=49", "thickness_heel=46")
    assert evidence(*ends, "thickness_mouth=47.5").place == "at the mouth"
    between = evidence(*ends)
    # The mouth is a third of the way back: 49 - 1.
    assert between.place == "at the mouth, between toe and heel"
    assert between.as_measured.thickness.value == pytest.approx(48.0, abs=EXACT)
    assert between.as_measured.thickness.u == pytest.approx(math.hypot(2 / 3, 1 / 3) * 0.05 / ROOT3, abs=EXACT)
    assert (evidence("thickness_toe=49").place, evidence("thickness_heel=46").place) == ("at the toe", "at the heel")


def test_taper_and_hollow_are_told_when_they_are_more_than_the_readings_limits() -> None:
    found = evidence("thickness_toe=49", "thickness_mouth=47.5", "thickness_heel=46")
    assert found.taper is not None
    assert found.hollow is not None
    assert found.taper.value == pytest.approx(3.0, abs=EXACT)
    assert found.hollow.value == pytest.approx(0.5, abs=EXACT)
    text = notes("thickness_toe=49", "thickness_mouth=47.5", "thickness_heel=46")
    assert "It tapers: the heel is 3.00 mm thinner than the other end." in text
    assert "Its sole is 0.50 mm hollow at the mouth" in text
    flat = notes("thickness_toe=49", "thickness_mouth=49.02", "thickness_heel=49.05")
    assert "tapers" not in flat
    assert "hollow" not in flat
    assert "toe is 1.00 mm thinner" in notes("thickness_toe=48", "thickness_heel=49")
    assert "proud at the mouth" in notes("thickness_toe=48", "thickness_mouth=49", "thickness_heel=48")


def test_without_all_three_places_there_is_no_hollow_and_without_both_ends_no_taper() -> None:
    found = evidence("thickness_toe=49", "thickness_mouth=48")
    assert (found.taper, found.hollow) == (None, None)


@pytest.mark.parametrize("patch", ["0", "0 ± 0.1 mm"])
def test_an_addition_of_nothing_is_none(patch: str) -> None:
    assert len(evidence("thickness_mouth=49", f"sole_patch={patch}").standings) == 1


def test_an_old_body_does_not_move_the_thickness_of_the_new_one() -> None:
    plainly, with_evidence = load("jack"), load("jack", ["old_body.thickness_mouth=43", "old_body.sole_patch=3"])
    assert settle(plainly).thickness == settle(with_evidence).thickness


# The state it was in.

READ = ("old_body.thickness_toe=49", "old_body.thickness_heel=46", "old_body.sole_patch=2")
CHANGES = ("iron.thickness=5 ± 0.2 mm", "cap_iron.setback=0.4 ± 0.3 mm", "body.length=360", "body.toe_to_mouth=170")


def evidence_of(given: ParameterSet) -> OldBodyEvidence:
    found = old_body(given, settle(given))
    assert found is not None
    return found


def told_of_then(found: OldBodyEvidence) -> tuple[object, ...]:
    """What the old body tells of itself, whatever a copy of it would do."""
    return (
        found.place, [(one.what, one.thickness) for one in found.standings], found.ever_worked, found.taper, found.hollow,
        [round(number, 9) for number in (found.lost.value, found.lost.u, found.lost.expanded)],
    )  # fmt: skip


@pytest.mark.parametrize("roads", [(), ("bench.edge_low=52.3 ± 0.05 mm", "bench.edge_high=46.7 ± 0.05 mm")])
def test_another_iron_and_another_body_move_nothing_that_the_old_one_tells(roads: tuple[str, ...]) -> None:
    """Neither its mouth's place nor the thickest body that worked: both are of the plane as it was."""
    before = plain(*READ, *roads)
    after = parameter_set(changed(before.model_dump(mode="json"), CHANGES))
    assert after.old_body is not None
    assert [after.old_body.length, after.old_body.toe_to_mouth] == [before.body.length, before.body.toe_to_mouth]
    assert told_of_then(evidence_of(after)) == told_of_then(evidence_of(before))


def test_a_copy_is_judged_with_the_iron_in_use() -> None:
    """An iron 2 mm thicker lifts the edge by 2 cos 45°: a copy then is so much thicker against the window."""
    before = plain("old_body.thickness_mouth=49")
    after = parameter_set(changed(before.model_dump(mode="json"), ["iron.thickness=5"]))
    moved = evidence_of(before).as_measured.below_high.value - evidence_of(after).as_measured.below_high.value
    assert moved == pytest.approx(2 / ROOT2, abs=EXACT)


def test_what_is_lost_is_told_with_the_iron_that_it_had() -> None:
    given = plain("old_body.thickness_mouth=45", "old_body.iron_thickness=2 ± 0.1 mm")
    found = evidence_of(given)
    assert found.lost.value == pytest.approx(HIGH + 1 / ROOT2 - 45, abs=EXACT)
    assert "old_body.iron_thickness" in {term.path for term in found.lost.terms}
    told = "\n".join(old_body_notes(found, 50.0, Lengths("mm")))
    assert "thinner than the thickest body that works with the iron that it had, and can" in told
    assert "with the iron that it had" not in notes("thickness_mouth=45")


def test_a_body_that_worked_with_its_own_iron_is_not_said_never_to_have_worked() -> None:
    """44 mm is too thin with the iron of 3 mm; with one of 8 mm the edge stood 3.54 mm higher."""
    assert "it never worked" in notes("thickness_mouth=44")
    assert "it never worked" not in notes("thickness_mouth=44", "iron_thickness=8")


def test_the_old_mouth_lies_within_the_old_body() -> None:
    with pytest.raises(InputProblem, match=r"old_body\.toe_to_mouth = 350.*must be less than body\.length"):
        plain("old_body.thickness_toe=49", "old_body.toe_to_mouth=350")


def test_a_set_that_says_nothing_of_the_old_state_has_the_digest_that_it_had() -> None:
    given = plain("old_body.thickness_mouth=49")
    assert given.digest == parameter_set(given.model_dump(mode="json")).digest
    assert given.digest != plain("old_body.thickness_mouth=49", "old_body.setback=0.4").digest
