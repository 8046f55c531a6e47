"""A set that carries a traced casting: from file to path data to wood, and back to the same bytes."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import pytest
import shapely

from planestock.exports.app.documents import written as typed_in
from planestock.exports.app.evaluation import evaluate
from planestock.exports.app.form import form
from planestock.exports.command_line import main
from planestock.exports.worksheet.shape import moved
from planestock.models.bench.marks import widths
from planestock.models.body.casting_tail import traced_tail
from planestock.models.body.layout import lay_out
from planestock.models.checks.wood import screws_inside_metal
from planestock.models.design import Design, design
from planestock.params.files import changed, load, loaded, plainly, text_as_used
from planestock.params.outlines.path_text import written
from planestock.params.outlines.pieces import Arc, area, bounds, flattened, mirrored_across, shifted, walked_back
from planestock.params.parameter_set import ParameterSet
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.traced.evening import plan_of
from tests.support.full_set import FULL, full, row
from tests.support.traced_support import JACK, apart, dxf_bytes, loose_pieces, polygon_of, svg_bytes, svg_path, waisted

READ = (
    "casting.front_width=58.3",
    "casting.rear_width=50",
    "casting.front=-92.6",
    "casting.rear=152",
    "casting.corner_radius=14",
)
"""Readings of the waisted casting, as a caliper would have them."""

S_PROFILE = "M -92.6 0 L 58 0 A 20 20 0 0 0 69 -3.3 L 78 -9.3 A 16 16 0 0 1 86.8 -12 L 152 -10"
"""An underside that rounds over, falls straight, rounds out, and rises a little to the rear end."""


def profile_text() -> str:
    return S_PROFILE


def raw(*changes: str) -> dict[str, object]:
    values = changed(FULL, [*READ, *changes])
    values["casting"]["outline"] = written(waisted(), closed=True)
    values["casting"]["profile"] = S_PROFILE
    return values


@cache
def traced(*changes: str) -> Design:
    return design(parameter_set(raw(*changes)))


def folder_with(tmp_path: Path, *lines: str) -> Path:
    """A folder with a set that names a DXF outline and an SVG profile, and the set's path."""
    (tmp_path / "casting.dxf").write_bytes(dxf_bytes(loose_pieces(waisted())))
    side = f'<g transform="scale(1 -1)"><path d="{S_PROFILE}"/></g>'
    (tmp_path / "side.svg").write_bytes(svg_bytes(side))
    text = plainly(full(*READ)).replace("\n[casting.tracing]", "")
    given = ['outline_file = "casting.dxf"', 'profile_file = "side.svg"', *lines]
    kept = [
        line
        for line in text.splitlines()
        if not line.startswith(("unit = ", "largest_gap", "tolerance", "limit", "placing"))
    ]
    place = kept.index("[casting]")
    path = tmp_path / "plane.toml"
    path.write_text("\n".join(["# A plane.", *kept[: place + 1], *given, *kept[place + 1 :]]) + "\n", "utf-8")
    return path


# ---- from files --------------------------------------------------------------------------------------------------------


def test_a_set_on_disk_carries_its_drawings_and_reads_back_to_the_same_digest(tmp_path: Path) -> None:
    path = folder_with(tmp_path)
    given = load(str(path))
    assert given.casting.outline_file is None
    assert given.casting.profile == S_PROFILE
    assert given.casting.outline is not None
    assert apart(plan_of(given.casting.outline).metal, waisted()) < 1e-4
    text = text_as_used(path.read_text("utf-8"), [], given)
    assert text.startswith("# A plane.")
    assert "outline_file" not in text
    again = loaded(text, str(tmp_path / "elsewhere" / "set.toml"))
    assert again.digest == given.digest
    other = path.read_text("utf-8").replace("casting.dxf", "other.dxf")
    (tmp_path / "other.dxf").write_bytes(dxf_bytes(loose_pieces(JACK)))
    assert loaded(other, str(path)).digest != given.digest


def test_building_the_set_that_a_build_wrote_gives_the_same_bytes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = folder_with(tmp_path)
    assert main(["build", str(path), "--numbers", "-o", str(tmp_path / "one")]) == 0
    assert main(["build", str(tmp_path / "one" / "set.toml"), "--numbers", "-o", str(tmp_path / "two")]) == 0
    capsys.readouterr()
    for name in ("report.json", "report.txt", "set.toml"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_a_file_named_beside_the_set_may_lie_anywhere_one_in_it_only_near_it(tmp_path: Path) -> None:
    inner = tmp_path / "sets"
    inner.mkdir()
    path = folder_with(inner)
    (tmp_path / "far.dxf").write_bytes(dxf_bytes(loose_pieces(JACK)))
    given = load(str(path), [f"casting.outline_file={tmp_path / 'far.dxf'}", "casting.front=-92"])
    assert given.casting.outline is not None
    assert apart(plan_of(given.casting.outline).metal, JACK) < 1e-4
    for name in ("../far.dxf", str(tmp_path / "far.dxf"), "..\\\\far.dxf", "C:\\\\far.dxf"):
        with pytest.raises(InputProblem, match="lies outside the set's folder"):
            loaded(path.read_text("utf-8").replace("casting.dxf", name), str(path))
    (inner / "link.dxf").symlink_to(tmp_path / "far.dxf")
    with pytest.raises(InputProblem, match="lies outside the set's folder"):
        loaded(path.read_text("utf-8").replace("casting.dxf", "link.dxf"), str(path))


def test_no_file_is_read_for_a_pipe_or_a_page(tmp_path: Path) -> None:
    text = folder_with(tmp_path).read_text("utf-8")
    with pytest.raises(InputProblem, match="not read from a file in a folder"):
        loaded(text, "/dev/stdin")
    shown = evaluate(text)
    assert shown.numbers is None
    assert {one["path"] for one in shown.problems} >= {"casting.outline_file", "casting.profile_file"}
    assert "none is read on behalf of a page" in shown.problems[0]["rule"]


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        (('outline = "M 0 0 L 1 1"',), "beside casting.outline"),
        (('tracing = { unit = "in" }',), "no size of a casting"),
        (('tracing = { tolerance = "9 mm" }',), "between 0.001 and 0.5"),
        (('tracing = { placing = "marks" }',), "no mark named corner or middle"),
        (('tracing = { placing = "marks", outline_marks = "1 2 3", profile_marks = "0 0 50 0" }',), "four numbers"),
    ],
)
def test_how_drawings_are_read_is_judged_with_the_set(lines: tuple[str, ...], message: str, tmp_path: Path) -> None:
    with pytest.raises(InputProblem, match=message):
        load(str(folder_with(tmp_path, *lines)))


def test_every_command_that_takes_a_set_takes_one_with_drawings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(folder_with(tmp_path))
    assert main(["check", path, "--numbers", "--json"]) == 0
    ids = [one["id"] for one in json.loads(capsys.readouterr().out)["checks"]]
    assert {"tracing-agrees", "tracing-even"} <= set(ids)
    assert main(["compare", path, "--variant", "throat.opening=2.1", "--json", "--numbers"]) == 0
    assert main(["new", "Another", "--from", path, "-o", str(tmp_path / "new.toml")]) == 0
    assert load(str(tmp_path / "new.toml")).casting.outline == load(path).casting.outline
    assert main(["new", "Another", "--empty", "--from", path, "-o", str(tmp_path / "empty.toml")]) == 0
    assert "\n# outline =" in (tmp_path / "empty.toml").read_text("utf-8")
    (tmp_path / "casting.dxf").unlink()
    capsys.readouterr()
    assert main(["check", path, "--numbers"]) == 2
    said = capsys.readouterr().err
    assert "there is no such file" in said
    assert len(said.strip().splitlines()) == 1


# ---- against the readings ------------------------------------------------------------------------------------------------


def scaled(factor: float) -> str:
    return written(moved(waisted(), lambda point: (point[0] * factor, point[1] * factor)), closed=True)


@pytest.mark.parametrize(
    ("outline", "message"),
    [
        (scaled(1 / 25.4), "in inches and was taken for millimetres"),
        (scaled(25.4), "in millimetres and was taken for inches"),
        (scaled(0.001), "1000 times too small|holds no line"),
        (scaled(0.1), "in centimetres"),
        (written(shifted(waisted(), (60.0, 0.0)), closed=True), "not where the readings are"),
        (written(shifted(waisted(), (0.0, 20.0)), closed=True), "both sides of the middle line"),
        (scaled(-1.0), "other way round"),
        ("M -92 -30 L 152 30 L 152 -30 L -92 40 Z", "crosses or touches itself"),
        ("M -92 -30 L 152 -30 L 152 30 L -92 30", "does not close"),
    ],
)  # fmt: skip
def test_an_outline_that_cannot_be_this_castings_is_refused_with_the_reason(outline: str, message: str) -> None:
    values = raw()
    values["casting"]["outline"] = outline  # type: ignore[index]
    with pytest.raises(InputProblem, match=message):
        parameter_set(values)


@pytest.mark.parametrize(
    ("profile", "message"),
    [
        ("M -92.6 0 L 152 -40", "does not lie on the seat plane"),
        ("M -92.6 0 L 60 0 L 80 12 L 152 12", "rises above the seat plane"),
        ("M -92.6 0 L 80 0 L 60 -10 L 152 -10", "runs back under itself"),
        ("M -3.6 0 L 5.9 0", "in inches"),
    ],
)
def test_a_profile_that_cannot_be_this_castings_is_refused_with_the_reason(profile: str, message: str) -> None:
    values = raw()
    values["casting"]["profile"] = profile  # type: ignore[index]
    with pytest.raises(InputProblem, match=message):
        parameter_set(values)


def test_agreement_is_the_worst_difference_against_its_combined_limit() -> None:
    assert row(traced(), "tracing-agrees").verdict == "pass"
    off = row(traced("casting.rear=153"), "tracing-agrees")
    assert off.verdict == "warn"
    assert off.value == pytest.approx(1.0, abs=1e-4)
    assert off.limit == pytest.approx(math.hypot(0.05, 0.2))
    assert "casting.rear" in off.change
    assert "rear end" in off.asked
    assert row(traced("casting.rear=153", "casting.tracing.limit=1.2 mm"), "tracing-agrees").verdict == "pass"


def test_an_uneven_casting_warns_and_goes_in_all_the_same() -> None:
    values = raw()
    values["casting"]["outline"] = written(shifted(waisted(), (0.0, 0.4)), closed=True)  # type: ignore[index]
    made = design(parameter_set(values))
    found = row(made, "tracing-even")
    assert found.verdict == "warn"
    assert found.value == pytest.approx(0.8, abs=0.02)
    seat, metal = polygon_of(made.layout.seat), polygon_of(made.layout.casting)
    assert seat.contains(metal)
    assert seat.exterior.distance(metal.exterior) == pytest.approx(0.6, abs=2e-3)
    mirrored = polygon_of(mirrored_across(made.layout.seat))
    assert seat.symmetric_difference(mirrored).area < 1e-6


# ---- layout --------------------------------------------------------------------------------------------------------------


def test_a_traced_outline_of_the_readings_own_shape_gives_the_readings_own_layout() -> None:
    plain = full("body.seat_gap=0.5")
    at = lay_out(plain, 50.5)
    text = written(shifted(at.casting, (-at.corner[0], 0.0)), closed=True)
    cove = shifted(at.tail.fall, (-at.corner[0], -50.5)) if at.tail else ()
    arc = cove[0]
    assert isinstance(arc, Arc)
    profile = f"M -95 0 L {arc.start[0]:.6f} 0 A {arc.radius:.6f} {arc.radius:.6f} 0 0 1 {arc.end[0]:.6f} -10 L 160 -10"
    casting = plain.casting.model_copy(update={"outline": text, "profile": profile})
    drawn = lay_out(plain.model_copy(update={"casting": casting}), 50.5)
    # The readings' seat is wider by the gap straight across, the drawn one square to its tapered sides.
    assert apart(drawn.seat, at.seat) < 0.01
    assert area(drawn.seat) == pytest.approx(area(at.seat), rel=1e-4)
    assert drawn.seat_front == pytest.approx(at.seat_front, abs=1e-4)
    assert drawn.seat_rear == pytest.approx(at.seat_rear, abs=1e-4)
    assert drawn.tail is not None
    assert at.tail is not None
    assert drawn.tail.cove_high == pytest.approx(at.tail.cove_high, abs=1e-4)
    assert drawn.tail.cove_low == pytest.approx(at.tail.cove_low, abs=1e-4)
    for step in range(0, 400, 3):
        assert drawn.top_at(step) == pytest.approx(at.top_at(step), abs=2e-3)


def test_the_top_follows_a_traced_underside_and_is_level_behind_it() -> None:
    at = traced().layout
    assert at.tail is not None
    d, seat = at.corner[0], at.thickness
    assert at.tail.cove_high == pytest.approx((d + 58, seat), abs=1e-6)
    assert at.tail.cove_low[0] == pytest.approx(d + 86.8, abs=1e-3)
    assert at.tail.lowest == pytest.approx(seat - 12, abs=1e-3)
    assert at.tail.level == pytest.approx(seat - 10, abs=1e-3)
    assert at.top_at(d + 73.5) == pytest.approx(seat - 6.3, abs=1e-3)
    assert at.top_at(d + 160) == pytest.approx(seat - 10, abs=1e-3)
    assert at.top_at(d + 20) == seat
    assert at.tail.centre is None


def test_a_level_last_piece_is_the_tail_and_a_short_drawing_is_carried_on() -> None:
    casting = full().casting.model_copy(update={"profile": "M -95 0 L 60 0 L 80 -10 L 159.7 -10"})
    found = traced_tail(casting, 160.0)
    assert found is not None
    assert found.fall[-1].end == pytest.approx((80, -10))
    assert found.rear == pytest.approx((160, -10))
    flat = full().casting.model_copy(update={"profile": "M -95 0 L 160 -0.01"})
    assert traced_tail(flat, 160.0) is None


def test_rules_of_widths_and_places_come_from_the_outline() -> None:
    made = traced()
    at, given = made.layout, made.given
    assert at.casting_rear - at.corner[0] == pytest.approx(152, abs=1e-4)
    assert at.casting_width == pytest.approx(bounds(waisted()).height, abs=1e-3)
    named = [one for one in widths(given, at) if one.name == "casting's seat, traced"]
    assert named[0].from_middle == pytest.approx(bounds(waisted()).height / 2 + 0.6, abs=0.01)
    assert named[1].from_middle == pytest.approx(48.0 / 2 + 0.6, abs=0.1)
    outside = parameter_set(raw("casting.screws.1.x=100", "casting.screws.1.y=24.5"))
    assert (screws_inside_metal(outside) or 0) < 0
    worn = min(season.casting_gap or 9 for season in made.seasons.all)
    assert worn < 0.6


def test_parametric_sets_know_nothing_of_tracing() -> None:
    made = design(full())
    assert not made.layout.is_traced
    assert not [one.id for one in made.number_checks if one.id.startswith("tracing")]


# ---- solids --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changes", [(), ("body.heel_top=full", "body.seat_gap=0.5", "body.centre_strip=6 mm", "body.pad=24")]
)
def test_a_traced_casting_gets_sound_wood_with_room_all_round(changes: tuple[str, ...]) -> None:
    made = traced(*changes)
    wanted = ("solids-sound", "meshes-closed", "halves-mirror", "mesh-volume", "casting-clear", "iron-lifts-out")
    assert [(name, row(made, name).verdict) for name in wanted] == [(name, "pass") for name in wanted]


def test_wood_and_metal_are_cut_to_the_outline() -> None:
    """Sections by trimesh: at the seat the pocket is the grown outline, and the metal stand-in is the outline itself."""
    import numpy as np
    import trimesh

    made = traced()
    at = made.layout
    level = at.thickness + at.let_in / 2
    halves = [part for part in made.assembly.wood if part.name.endswith("half")]
    rings = []
    for part in halves:
        cut = trimesh.Trimesh(part.mesh.vertices, part.mesh.faces).section(
            plane_origin=(0, 0, level), plane_normal=(0, 0, 1)
        )
        assert cut is not None
        rings += [shapely.Polygon(ring[:, :2]) for ring in cut.discrete]
    wood = shapely.union_all(rings)
    seat = polygon_of(at.seat)
    assert wood.intersection(seat.buffer(-0.05)).area < 0.01
    front = shapely.box(at.seat_front[0] - 1, -60, at.breast_top[0] - 3, 60)
    assert wood.union(seat).intersection(front).area == pytest.approx(
        polygon_of(at.plan.whole_outline()).intersection(front).area, abs=3.0 + made.given.body.edge_size.value * 60
    )
    casting = made.assembly.part("casting").mesh
    shadow = np.abs(casting.vertices[:, 1]).max()
    assert shadow == pytest.approx(bounds(waisted()).height / 2, abs=0.02)
    outside = [p for p in casting.vertices if not polygon_of(at.casting).buffer(0.02).contains(shapely.Point(p[0], p[1]))]
    assert outside == []


# ---- the app ------------------------------------------------------------------------------------------------------


def test_the_page_shows_a_shape_in_words_and_keeps_it_when_other_values_change() -> None:
    text = plainly(parameter_set(raw()))
    shown = evaluate(text)
    assert shown.values["casting.outline"].startswith(f"{len(waisted())} pieces, 244.6 × 61.9 mm")
    assert len(shown.values["casting.outline"]) < 60
    assert shown.numbers is not None
    changed_text = typed_in(text, "casting.let_in", "5")
    assert loaded(changed_text, "the page").casting.outline == parameter_set(raw()).casting.outline
    taken = typed_in(text, "casting.outline", "")
    assert "casting.outline" not in evaluate(taken).values
    fields = {field["path"]: field for group in form() for field in group["fields"]}
    kinds = {
        path: field["kind"] for path, field in fields.items() if path.startswith(("casting.outline", "casting.profile"))
    }
    assert set(kinds.values()) == {"drawing"}


def test_two_shapes_of_one_size_are_told_apart_in_words() -> None:
    from planestock.params.lengths import Lengths
    from planestock.params.outlines.path_text import in_words

    one, other = written(JACK, closed=True), written(tuple(walked_back(JACK)), closed=True)
    assert in_words(one, Lengths("mm")) != in_words(other, Lengths("mm"))
    assert flattened(JACK, 1)
    assert "no path" in in_words("nonsense", Lengths("mm"))


def test_a_set_with_a_shape_is_a_set() -> None:
    given = parameter_set(raw())
    assert isinstance(given, ParameterSet)
    assert parameter_set(given.model_dump(mode="json")).digest == given.digest
    assert svg_path(JACK)
