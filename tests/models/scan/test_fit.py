"""What a fit says of made-up truth: wrong readings come back, the window with them, and where wood and metal meet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from planestock.models.design import Design, design
from planestock.models.scan.body_checks import require_no_body, require_this_body
from planestock.models.scan.body_findings import BodyFindings, Size, judged
from planestock.models.scan.coarse import Laid
from planestock.models.scan.corrected import Corrected, corrected
from planestock.models.scan.faces import Flat
from planestock.models.scan.findings import Deviations, flatness
from planestock.models.scan.fine import Fine
from planestock.models.scan.fit import Asked, Fitted, Scan, fitted
from planestock.models.scan.metal_subject import metal
from planestock.models.scan.motion import still
from planestock.models.scan.samples import Samples
from planestock.models.scan.scale import Scale
from planestock.params.files import load, parsed, shipped
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.support.full_set import plain_design
from tests.support.invent_scan import (
    CASTING,
    METAL,
    WITHOUT_IRON,
    WOOD,
    Invented,
    Spoilt,
    Truth,
    invented_truth,
    off_by,
    scanned,
    truth,
)

Shape = Callable[[Any, Any], Any]

WRONG = ("frog.bed_angle=45.8 ± 0.2 deg", "casting.rear=154")
"""The jack's readings with a bed angle 0.8 degree and a rear end 2 mm off."""

FEW = 15_000
"""Samples of a scan in tests, a quarter of what the command takes."""

TRUE = {"frog.bed_angle": 45.0, "casting.rear": 152.0}


def in_mm(found: Invented, name: str = "scan.stl") -> Scan:
    return Scan(name, found.vertices, found.faces, len(found.faces), 0, False, Scale(1.0, "mm, as stated"))


@cache
def wrong() -> Design:
    return design(load("jack", WRONG))


@cache
def whole() -> Fitted:
    real = invented_truth("jack", METAL, 3.2)
    return fitted(wrong(), in_mm(scanned(real, 4)), Asked(of=None, adjuster="out"), count=2 * FEW)


@cache
def better() -> Corrected:
    found = corrected(whole(), shipped()["jack"], "jack", list(WRONG))
    assert found is not None
    return found


def test_the_whole_metal_is_known_as_such() -> None:
    assert whole().subject.of == "metal"
    assert not whole().told


def test_wrong_readings_come_back_within_their_uncertainty() -> None:
    found = {one.path: one for one in whole().proposed}
    assert {path for path, one in found.items() if one.verdict == "corrected"} == set(TRUE)
    for path, value in TRUE.items():
        one = found[path]
        assert one.found is not None
        assert one.u is not None
        assert abs(one.found - value) <= one.u
        assert one.u < 0.15


def test_readings_that_were_right_agree() -> None:
    given = load("jack")
    for one in whole().proposed:
        if one.path in TRUE or one.found is None or one.path.startswith("bench"):
            continue
        group, name = one.path.split(".")
        assert one.verdict == "agrees", one
        assert one.u is not None
        assert abs(one.found - getattr(getattr(given, group), name).value) <= one.u


def test_the_edge_is_a_bench_reading_where_the_adjuster_is_stated() -> None:
    one = next(one for one in whole().proposed if one.path == "bench.edge_low")
    truth = design(load("jack")).settled.window.edge_low
    assert one.found is not None
    assert one.u is not None
    assert abs(one.found - truth) <= one.u
    assert one in better().left, "a set takes both ends of the travel or none"


def test_corrected_readings_lead_back_to_the_true_window() -> None:
    made, truth = better().made, design(load("jack")).settled
    assert made is not None
    assert abs(made.settled.window.high - truth.window.high) <= made.settled.high.expanded
    assert abs(made.settled.window.low - truth.window.low) <= made.settled.low.expanded
    assert abs(wrong().settled.window.high - truth.window.high) > made.settled.high.expanded, "which the wrong ones do not"
    assert "# A jack plane, invented" in better().text, "comments are kept"


def test_the_lines_can_be_pasted() -> None:
    lines = [one.change for one in better().taken]
    again = load("jack", [*WRONG, *lines])
    assert again.digest == load_text(better().text).digest


def load_text(text: str) -> ParameterSet:
    return parameter_set(parsed(text, "corrected"))


def test_the_short_rear_end_shows_where_the_cove_stands_in_the_wood() -> None:
    deepest = whole().contacts[0]
    at = wrong().layout
    assert at.tail is not None
    assert deepest.where == "cove and tail"
    assert at.tail.cove_high[0] - 3 < deepest.at[0] < at.tail.cove_low[0] + 3
    # The cove comes 2 mm too far to the toe; square to its slope of up to acos(8/18) = 64 degrees that is up to 1.8 mm.
    assert 1.2 < deepest.amount < 1.9


def test_the_steeper_bed_leaves_a_gap_behind_the_foot() -> None:
    assert any("frog's foot" in one.where for one in whole().gaps)


def test_residuals_shrink_to_the_noise_with_the_scans_own_readings() -> None:
    before = {one.name: one for one in whole().before}
    after = {one.name: one for one in whole().after}
    assert before["rear end"].bias == pytest.approx(-2.0, abs=0.06)
    assert before["cove"].rms > 1.0
    assert all(one.median < 0.06 for one in after.values())
    assert after["seat"].rms < 0.06


def test_a_right_set_is_left_alone_and_its_metal_found_within_a_tenth() -> None:
    truth, real = design(load("smoother")), invented_truth("smoother", WITHOUT_IRON, 3.0)
    scan = scanned(real, 9)
    found = fitted(truth, in_mm(scan), Asked(of="metal"), count=FEW)
    assert found.corrected == ()
    assert found.contacts == ()
    assert found.gaps == ()
    assert found.edge is None, "no iron was scanned"
    assert {one.path for one in found.proposed if one.verdict == "not seen"} >= {"iron.width", "iron.thickness"}
    away, angle = off_by(found.fine.motion, scan, found.subject.origin, real)
    assert away < 0.1
    assert angle < 0.1


def test_a_twisted_seat_is_told_by_its_twist() -> None:
    """Twisting the truth by a known angle over the seat's length is the closed form that the fit must give back."""
    real = invented_truth("jack", CASTING, 3.0)
    at = design(load("jack")).layout
    high = at.tail.cove_high[0] if at.tail else 0.0
    low = at.casting_front
    share = (real.vertices[:, 0] - (low + high) / 2) / (high - low)
    angle = np.radians(0.6) * share
    x, y, z = real.vertices.T
    up = z - at.corner[1]
    bent = np.column_stack(
        (x, y * np.cos(angle) - up * np.sin(angle), at.corner[1] + y * np.sin(angle) + up * np.cos(angle))
    )
    found = fitted(design(load("jack")), in_mm(scanned(replace(real, vertices=bent), 2)), Asked(of="casting"), count=FEW)
    assert found.flat is not None
    assert found.flat.twist == pytest.approx(0.6, abs=0.05), "positive where the heel end's right side stands higher"
    # Two corners stand up and two hang down by half the angle times half the width of some 60 mm; one per cent is left out.
    assert found.flat.peak == pytest.approx(4 * np.radians(0.3) * 30.0 / 2, rel=0.25)
    assert found.datum is not None
    assert not found.datum.corner
    assert {one.path for one in found.proposed if one.verdict == "not seen"} == {"casting.front", "casting.rear"}
    assert found.length is not None
    assert abs(found.length[0] - 244.0) < 0.1


def bowed(u: Any, _: Any) -> Any:
    return 0.2 * (1 - u**2)


def crowned(_: Any, y: Any) -> Any:
    return -0.1 * (1 - (y / 25) ** 2)


def wound(u: Any, y: Any) -> Any:
    return y * np.tan(np.radians(0.25)) * u


@pytest.mark.parametrize(
    ("shape", "name", "value"), [(bowed, "along", 0.2), (crowned, "across", -0.1), (wound, "twist", 0.5)]
)
def test_the_shape_of_a_seat_is_told_in_the_trades_words(shape: Shape, name: str, value: float) -> None:
    """Heights by formula: hollow is a seat whose middle lies above its ends, as seen from the wood."""
    subject = metal(plain_design(), "casting")
    face = subject.faces(subject.values)["seat"]
    assert isinstance(face, Flat)
    points = face.grid(2.0)
    low, high = face.length
    points[:, 2] += shape(2 * (points[:, 0] - low) / (high - low) - 1, points[:, 1])
    number = [patch.name for patch in subject.patches].index("seat")
    samples = Samples(points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), 4.0, 1.0)
    fine = Fine(
        still(),
        dict(subject.values),
        np.full(len(points), number),
        -points[:, 2],
        0.01,
        np.eye(6),
        (),
        {"seat": len(points)},
    )
    found = flatness(subject, samples, fine, Deviations(fine.owner, fine.apart, fine.apart), 0.05)
    assert found is not None
    told = {"along": found.along, "across": found.across, "twist": found.twist}
    assert told.pop(name) == pytest.approx(value, abs=0.01)
    assert all(abs(one) < 0.01 for one in told.values())


def test_another_thing_is_refused() -> None:
    ball = trimesh.creation.icosphere(subdivisions=4, radius=140.0)
    thing = Invented(ball.vertices, ball.faces, scanned(Truth(ball.vertices, ball.faces), 0).motion)
    with pytest.raises(InputProblem, match="design's faces"):
        fitted(design(load("jack")), in_mm(thing), Asked(of="casting"), count=FEW)


BODY_LOW = "body.thickness=46.4"


@cache
def body_scan() -> Fitted:
    """The jack's body as it should be, against a design that is 1 mm thinner."""
    real = invented_truth("jack", WOOD, 4.5)
    return fitted(
        design(load("jack", [BODY_LOW])), in_mm(scanned(real, 6, Spoilt(missing=0.1))), Asked(of="new-body"), count=FEW
    )


def test_a_body_is_measured() -> None:
    truth, found = design(load("jack")), body_scan().body
    assert found is not None
    for place in ("mouth", "toe", "heel"):
        size = found.size(f"thickness_{place}")
        assert size.found is not None
        assert size.u is not None
        assert abs(size.found - truth.layout.thickness) <= size.u
        assert size.design == pytest.approx(46.4)
    for name, value in (
        ("bed_angle", 45.0),
        ("mouth_opening", 2.2),
        ("toe_to_mouth", 118.0),
        ("length", 380.0),
        ("width", 72.0),
    ):
        size = found.size(name)
        assert size.found is not None
        assert size.u is not None
        assert abs(size.found - value) <= size.u, name
    assert found.standing == "works"


def test_a_body_outside_the_window_is_handed_over() -> None:
    from planestock.exports.wording.fit import body_sentences
    from planestock.models.scan.body_findings import body_findings

    one = body_scan()
    thick = design(load("jack", ["adjuster.pin_low=24.5", "adjuster.pin_high=31.5", "body.thickness=46.4"]))
    found = body_findings(thick, one.subject, one.samples, one.fine, 0.05)
    assert found.standing == "too thick"
    said = list(body_sentences(replace(one, body=found, made=thick)))
    assert "too thick" in said[0]
    assert said[1].startswith("Ways back: planestock salvage SET --thickness")


def with_size(of: BodyFindings, name: str, **other: float | None) -> tuple[Size, ...]:
    """Return the sizes of a body, one of them otherwise."""
    return tuple(replace(one, **other) if one.name == name else one for one in of.sizes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "found", "said"),
    [
        ("bed_angle", 40.0, "bed angle off by −5.00° (40.00"),
        ("bed_angle", None, "bed angle not seen"),
        ("mouth_opening", None, "mouth opening, with the set's iron not seen"),
        ("mouth_opening", 4.2, "mouth opening, with the set's iron off by +2.00 mm"),
    ],
)
def test_a_right_thickness_alone_does_not_make_a_body_work(name: str, found: float | None, said: str) -> None:
    from planestock.exports.wording.fit import contradicted, outcome

    whole_body = body_scan().body
    assert whole_body is not None
    assert not contradicted(body_scan())
    u = None if found is None else 0.1
    told = judged(body_scan().made, with_size(whole_body, name, found=found, u=u))
    assert (told.standing, told.doubts) == ("thickness only", (name,))
    doubtful = replace(body_scan(), body=told)
    assert contradicted(doubtful)
    assert said in outcome(doubtful)
    assert "The thickness is in the window" in outcome(doubtful)


def test_a_bed_within_half_a_degree_and_an_edge_that_nobody_saw_still_work() -> None:
    found = body_scan().body
    assert found is not None
    for name, value in (("bed_angle", 45.4), ("toe_to_mouth", None)):
        told = judged(body_scan().made, with_size(found, name, found=value, u=value and 0.1))
        assert told.standing == "works"


def jack_wood() -> Scan:
    return in_mm(scanned(invented_truth("jack", WOOD, 4.5), 6))


def test_a_body_that_nobody_calls_one_is_no_casting() -> None:
    with pytest.raises(InputProblem, match="looks like a body and not like metal; say which: --of old-body"):
        fitted(design(load("jack")), jack_wood(), Asked(), count=FEW)


def test_what_fits_the_body_better_or_is_longer_than_the_metal_is_no_metal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.models.scan.body_checks.laid", lambda _, __: Laid(still(), 1.0, 0.2))
    made = design(load("jack"))
    points = np.column_stack((np.linspace(-90.0, 150.0, 5000), np.zeros(5000), np.zeros(5000)))
    require_no_body(made, metal(made, "casting"), "scan.stl", *laid_straight(points, 0.1))  # nothing of a sole in it
    points[::10, 2] = -made.layout.thickness
    require_no_body(made, metal(made, "casting"), "scan.stl", *laid_straight(points, 0.6))
    with pytest.raises(InputProblem, match="20 % of the body's faces, 10 % of the metal's"):
        require_no_body(made, metal(made, "casting"), "scan.stl", *laid_straight(points, 0.1))
    points[:, 0] *= 380 / 240
    with pytest.raises(InputProblem, match="looks like a body"):
        require_no_body(made, metal(made, "casting"), "scan.stl", *laid_straight(points, 0.6))


def test_one_half_is_told_as_such() -> None:
    real = truth(design(load("jack")), ("right half",), 4.5, unknown=False)
    with pytest.raises(InputProblem, match="one half of the body; scan the halves closed"):
        fitted(design(load("jack")), in_mm(scanned(real, 3, Spoilt(bench=False))), Asked(of="new-body"), count=FEW)


def laid_straight(points: Any, seen: float) -> tuple[Samples, Laid]:
    return Samples(points, np.tile([0.0, 0.0, 1.0], (len(points), 1)), 1.0, 1.0), Laid(still(), 0.1, seen)


def test_another_planes_body_and_too_little_of_one_are_refused() -> None:
    made = design(load("smoother"))
    points = np.column_stack((np.linspace(0.0, 379.6, 5000), np.zeros(5000), np.zeros(5000)))
    with pytest.raises(InputProblem, match=r"= 379 mm long: the set's body is 235 mm long"):
        require_this_body(made, "scan.stl", *laid_straight(points, 0.9))
    points[:, 0] *= 235 / 379.6
    require_this_body(made, "scan.stl", *laid_straight(points, 0.9))
    with pytest.raises(InputProblem, match=r"= 48 %: shows too little"):
        require_this_body(made, "scan.stl", *laid_straight(points, 0.48))


def test_the_share_found_of_a_body_does_not_hang_on_the_number_of_samples() -> None:
    assert body_scan().seen > 0.85


def test_a_scan_none_of_whose_points_lie_on_the_design_says_so() -> None:
    from planestock.models.scan.fit import _require_sane

    nothing = replace(whole().fine, owner=np.full_like(whole().fine.owner, -1))
    with pytest.raises(InputProblem, match="no face of the design was found"):
        _require_sane(whole().scan, whole().subject, nothing)


def test_a_length_that_is_not_known_is_not_said() -> None:
    from planestock.models.scan.fit import _length

    fine = whole().fine
    assert _length(fine) is not None
    assert _length(replace(fine, covariance=fine.covariance * 1e6)) is None


def test_a_mesh_keeps_what_it_was(tmp_path: Path) -> None:
    from planestock.models.scan.fit import read_scan

    path = tmp_path / "casting.ply"
    real = invented_truth("jack", CASTING, 3.0)
    scanned(real, 1).mesh.export(path)
    found = read_scan(path, 283.0, Asked())
    assert isinstance(found, Scan)
    assert found.scale.words.startswith("mm, told by its size")
    assert len(found.faces) <= found.triangles


def test_an_edge_far_from_where_the_set_has_it_puts_the_adjuster_in_doubt() -> None:
    from planestock.exports.wording.fit import datum_sentences

    assert whole().edge_meant == pytest.approx(wrong().settled.window.edge_low)
    assert not any("really" in said for said in datum_sentences(whole()))
    other = replace(whole(), edge_meant=wrong().settled.window.edge_high)
    assert any("was the adjuster really out?" in said for said in datum_sentences(other))
