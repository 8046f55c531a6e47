"""Every hole's place, size, depth and lean read back from whatever tells it, and compared with the layout."""

from __future__ import annotations

import io
import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from ezdxf.filemanagement import read as read_dxf
from hypothesis import given, settings
from hypothesis import strategies as st

from planestock.exports.drawing.dxf import dxf_file
from planestock.exports.drawing.ends import bed
from planestock.exports.drawing.model import View
from planestock.exports.drawing.plan import top
from planestock.exports.drawing.side import inside_right
from planestock.exports.drawing.svg import MARGIN, svg_file
from planestock.exports.files.stamp import Stamp
from planestock.exports.machining.data import setups_data
from planestock.exports.paper.sheet_tables import angle_table, drill_table, layout_table
from planestock.exports.report.data import report
from planestock.exports.wording.design import hole_lines
from planestock.exports.wording.order_of_work import order_of_work
from planestock.models.body.dowels import dowel_depth_in_half
from planestock.models.body.holes import Hole
from planestock.models.design import Design, design
from planestock.models.machining.all_setups import plan_of_work
from planestock.models.prints.drill_guide import drill_guide
from planestock.models.prints.jigs import Jig
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from tests.models.solids.test_every_set import NO_DEADLINE
from tests.support.drawn_sets import drawn_sets, in_inches, starting_sets
from tests.support.full_set import Values, full, full_design
from tests.support.said_lengths import LENGTH, is_said

STAMP = Stamp("Drawn", "0" * 64, "0.1.0")

ANGLE_OFF = 0.05 + 1e-9
"""Angles are said to 0.1 degrees."""

FEW, MANY = 30, 1500
"""Sets in the ordinary and in the long run."""

LEAST_BUILT = 0.1
"""Share of the drawn sets that must have a layout; of many about half have one."""


@dataclass(frozen=True)
class Told:
    """A hole, or a pair, as a text tells it; lengths as texts."""

    diameter: str
    depth: str
    across: str | None
    place: str
    lean: float
    from_plumb: float


@st.composite
def designs(draw: st.DrawFn, starts: list[Values]) -> Design | None:
    """Draw a design, every third in inches; None where its set is refused."""
    values = draw(drawn_sets(starts))
    if draw(st.integers(0, 2)) == 0:
        values = in_inches(values)
    try:
        return design(parameter_set(values))
    except InputProblem:
        return None


def plumb(hole: Hole) -> float:
    return math.degrees(math.atan2(hole.direction[0], -hole.direction[2]))


def along(made: Design, hole: Hole) -> float:
    """Return how far up the bed from the corner D a hole begins, mm, by a projection of our own."""
    theta = math.radians(made.given.frog.bed_angle.value)
    x, z = hole.start[0] - made.layout.corner[0], hole.start[2] - made.layout.corner[1]
    return x * math.cos(theta) + z * math.sin(theta)


def holes_of(made: Design, *kinds: str) -> list[Hole]:
    """Return the holes of these kinds, of pairs the right one."""
    return [hole for hole in made.layout.holes if hole.kind in kinds and hole.start[1] >= 0]


def told_in_order(made: Design) -> dict[str, list[Told]]:
    """Read frog screws, casting screws and the other holes from the top out of the order of work."""
    steps = [step for stage in order_of_work(made) for step in stage.steps]
    return {
        "frog screw": [told for step in steps for told in _frog_screws(step)],
        "casting screw": [told for step in steps for told in _casting_screws(step)],
        "other": [told for step in steps for told in _others(step)],
    }


def _signed(angle: str | None, positive: bool) -> float:
    return 0.0 if angle is None else float(angle) * (1 if positive else -1)


def _frog_screws(step: str) -> Iterator[Told]:
    head = re.match(
        r"Drill with the bit (?:square to the bed|(?P<lean>[\d.]+)° from square to the bed, its point towards the "
        r"(?P<way>sole|top)), which is (?P<plumb>[\d.]+)° from plumb with the body on its sole: (?P<holes>.*)\.$", step
    )  # fmt: skip
    if head is None:
        assert "frog screw" not in step.lower()
        return
    for one in head["holes"].split("; "):
        found = re.fullmatch(
            rf"Ø (?P<diameter>{LENGTH}), (?P<depth>{LENGTH}) deep, (?:(?P<across>{LENGTH}) to either side|on the middle), "
            rf"(?P<along>{LENGTH}) (?P<side>below|above) the corner D along the bed", one
        )  # fmt: skip
        assert found, one
        place = ("−" if found["side"] == "below" else "") + found["along"]
        place = re.sub(r"^−(a full |a shy )", r"\1−", place)
        lean = _signed(head["lean"], head["way"] == "sole")
        yield Told(found["diameter"], found["depth"], found["across"], place, lean, float(head["plumb"]))


def _casting_screws(step: str) -> Iterator[Told]:
    if not step.startswith("Casting screws"):
        return
    found = re.fullmatch(
        rf"Casting screws, No\. \d+: .*they should lie (?P<places>.*?)\. Pilot Ø (?P<diameter>{LENGTH}) \([^)]* bit\), "
        rf"(?P<depth>{LENGTH}) deep, plumb.*\.", step
    )  # fmt: skip
    assert found, step
    for place in found["places"].split("; "):
        each = re.fullmatch(
            rf"(?P<place>{LENGTH}) from the toe, (?:(?P<across>{LENGTH}) to either side|on the middle)", place
        )
        assert each, place
        yield Told(found["diameter"], found["depth"], each["across"], each["place"], 0.0, 0.0)


def _others(step: str) -> Iterator[Told]:
    if not step.startswith(("Knob bolt: ", "Tote bolt: ", "Tote toe screw: ")):
        return
    found = re.fullmatch(
        rf"[^:]*: Ø (?P<diameter>{LENGTH}), (?P<depth>{LENGTH}) deep, on the middle, (?P<place>{LENGTH}) from the toe, "
        r"(?:plumb|(?P<lean>[\d.]+)° from plumb, point towards the (?P<way>heel|toe))\.", step
    )  # fmt: skip
    assert found, step
    lean = _signed(found["lean"], found["way"] == "heel")
    yield Told(found["diameter"], found["depth"], None, found["place"], lean, lean)


def agrees(told: Told, made: Design, hole: Hole) -> bool:
    """Tell whether a text tells this hole."""
    frog = hole.kind == "frog screw"
    place = along(made, hole) if frog else hole.start[0]
    across = hole.start[1] == 0 if told.across is None else is_said(told.across, hole.start[1])
    lean = made.layout.bed_angle - plumb(hole) if frog else plumb(hole)
    return (
        is_said(told.diameter, hole.diameter)
        and is_said(told.depth, hole.depth)
        and is_said(told.place, place)
        and across
        and abs(told.lean - lean) <= ANGLE_OFF
        and abs(told.from_plumb - plumb(hole)) <= ANGLE_OFF
    )


def assert_told_once(told: list[Told], made: Design, holes: list[Hole]) -> None:
    assert len(told) == len(holes), (told, holes)
    left = list(holes)
    for one in told:
        match = next((hole for hole in left if agrees(one, made, hole)), None)
        assert match is not None, (one, left)
        left.remove(match)


def assert_order_of_work(made: Design) -> None:
    told = told_in_order(made)
    assert_told_once(told["frog screw"], made, holes_of(made, "frog screw"))
    assert_told_once(told["casting screw"], made, holes_of(made, "casting screw"))
    assert_told_once(told["other"], made, holes_of(made, "knob bolt", "tote bolt", "tote toe screw"))
    dowels = [hole for hole in made.layout.holes if hole.kind == "dowel"]
    text = " ".join(step for stage in order_of_work(made) for step in stage.steps)
    found = re.search(rf"bore (\d+) holes? in each, Ø ({LENGTH}), ({LENGTH}) deep", text)
    assert (found is not None) == bool(dowels)
    if found is not None:
        assert int(found[1]) == len(dowels)
        assert is_said(found[2], dowels[0].diameter)
        assert is_said(found[3], dowel_depth_in_half(dowels[0], made.layout.strip))


def bare(text: str, made: Design) -> str:
    return f"{text} {made.given.units}"


def assert_tables(made: Design) -> None:
    """The hole table has every hole, the angle table every lean, the layout table every dowel."""
    told: list[Told] = []
    for name, where, diameter, depth, lean, *_ in drill_table(made):
        if name.startswith("dowel"):
            continue
        found = re.fullmatch(
            r"(?:top, (?P<place>−?[\d.]+) from the toe|bed, (?P<along>[\d.]+) (?P<side>below|above) the corner D)"
            r"(?:, on the middle|, (?P<across>[\d.]+) to either side)", where
        )  # fmt: skip
        assert found, where
        place = found["place"] or ("−" if found["side"] == "below" else "") + found["along"]
        leaning = re.fullmatch(r"(?:square|([\d.]+)°, point to the (sole|top|heel|toe))", lean)
        assert leaning, lean
        out = _signed(leaning[1], leaning[2] in ("sole", "heel"))
        theta = made.layout.bed_angle if found["along"] else 0.0
        across = found["across"] and bare(found["across"], made)
        told.append(
            Told(bare(diameter, made), bare(depth, made), across, bare(place, made), out, theta - out if theta else out)
        )
    others = holes_of(made, "frog screw", "casting screw", "knob bolt", "tote bolt", "tote toe screw")
    # Said to 0.1°, the lean from the bed's square may round the other way than the lean from plumb.
    assert len(told) == len(others)
    for hole in others:
        assert any(agrees(Told(**{**vars(one), "from_plumb": plumb(hole)}), made, hole) for one in told), (hole, told)
    from_plumb = [float(row[3].removesuffix("°")) for row in angle_table(made) if row[1] == "drill"]
    for hole in others:
        assert plumb(hole) == 0 or any(abs(abs(plumb(hole)) - one) <= ANGLE_OFF for one in from_plumb), hole
    dowels = [hole for hole in made.layout.holes if hole.kind == "dowel"]
    marked = [row for part in layout_table(made) for row in part["rows"] if row[0].startswith("dowel")]
    assert len(marked) == len(dowels)
    for hole in dowels:
        assert any(
            is_said(bare(row[1], made), hole.start[0]) and is_said(bare(row[4], made), hole.start[2]) for row in marked
        )


Circle = tuple[float, float, float]


def circles_in_dxf(view: View) -> list[Circle]:
    read = read_dxf(io.StringIO(dxf_file(view, STAMP).decode()))
    return [(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in read.modelspace().query('CIRCLE[layer=="holes"]')]


def circles_in_svg(view: View) -> list[Circle]:
    box = view.box.grown(MARGIN)
    root = ET.fromstring(svg_file(view, STAMP))
    found = [
        tuple(float(one.attrib[name]) for name in ("cx", "cy", "r")) for one in root.iter() if one.tag.endswith("circle")
    ]
    return [(x + box.left, box.high - y, r) for x, y, r in found]


def assert_drawings(made: Design) -> None:
    """Top, bed and inside face show every hole that opens there as a circle of its size, in DXF and in SVG."""
    both = made.layout.holes
    wanted = {
        top: [(h.start[0], h.start[1], h.radius) for h in both if h.kind not in ("dowel", "frog screw")],
        bed: [(h.start[1], along(made, h), h.radius) for h in both if h.kind == "frog screw"],
        inside_right: [(h.start[0], h.start[2], h.radius) for h in both if h.kind == "dowel"],
    }
    for draw, circles in wanted.items():
        view = draw(made)
        for read in (circles_in_dxf, circles_in_svg):
            found = read(view)
            assert len(found) == len(circles), (view.name, found, circles)
            for circle in circles:
                off = min(max(abs(a - b) for a, b in zip(circle, one, strict=True)) for one in found)
                assert off < 1e-4, (view.name, read.__name__, circle, found)


def assert_report(made: Design) -> None:
    """Report and its data tell every hole."""
    data = report(made, solids=False)["holes"]
    for entry, hole in zip(data, made.layout.holes, strict=True):
        assert entry["diameter"] == pytest.approx(hole.diameter, abs=1e-8)
        assert entry["depth"] == pytest.approx(hole.depth, abs=1e-8)
        assert entry["start"] == pytest.approx(list(hole.start), abs=1e-8)
        assert entry["direction"] == pytest.approx(list(hole.direction), abs=1e-8)
    lines = hole_lines(made.layout.holes, made.given.lengths)
    for hole in (hole for hole in made.layout.holes if hole.start[1] >= 0):
        found = [
            line for line in lines
            if line[0] == hole.kind
            and all(is_said(bare(line[column].removeprefix("± "), made), hole.start[column - 1]) for column in (1, 2, 3))
            and is_said(bare(line[5], made), hole.diameter) and is_said(bare(line[6], made), hole.depth)
        ]  # fmt: skip
        ways = [way for *_, way, _, _ in found]
        lean = plumb(hole)
        wanted = "plumb" if abs(lean) < ANGLE_OFF else f"° to the {'heel' if lean > 0 else 'toe'}"
        assert any(way.endswith(wanted) for way in ways), (hole, lines)
        degrees = [float(way.partition("°")[0]) for way in ways if "°" in way]
        assert wanted == "plumb" or any(abs(one - abs(lean)) <= ANGLE_OFF for one in degrees), (hole, lines)


def assert_asked(made: Design) -> None:
    """Every hole is as wide as the set asks for, to the last bit."""
    given = made.given
    asked = {f"frog.screws.{index}": one.diameter.value for index, one in enumerate(given.frog.screws)}
    if given.tote is not None:
        asked |= {"tote.bolt_x": given.tote.bolt_diameter.value, "tote.toe_screw_x": given.tote.toe_screw_diameter.value}
    if given.knob is not None:
        asked["knob.from_toe"] = given.knob.bolt_diameter.value
    for hole in made.layout.holes:
        assert hole.diameter == asked.get(hole.path, hole.diameter)


def assert_setups(made: Design) -> None:
    """The hand-over tells every hole, bored by the router or by hand, in its place, width, depth and lean."""
    try:
        work = plan_of_work(made.given, made.settled, made.layout)
    except InputProblem:
        return
    data = setups_data(work, STAMP)
    for part in data["parts"]:
        if part["name"] == "left half":
            continue
        for setup in part["setups"]:
            rows, origin = setup["from_body"]["rows"], setup["from_body"]["origin"]
            for cut in (cut for cut in setup["cuts"] if cut["diameter"] is not None):
                same = [hole for hole in made.layout.holes if cut["feature"].startswith(f"{hole.path} at ")]
                assert any(abs(hole.diameter - cut["diameter"]) < 1e-5 for hole in same), cut
                for place in cut["places"]:
                    spots = [
                        [sum(r * (p - o) for r, p, o in zip(row, hole.start, origin, strict=True)) for row in rows[:2]]
                        for hole in same
                    ]
                    assert min(math.dist(spot, place[:2]) for spot in spots) < 1e-4, (cut, spots)
        for work_by_hand in (one for one in part["hand_work"] if one["diameter"] is not None):
            same = [hole for hole in made.layout.holes if work_by_hand["feature"].startswith(f"{hole.path} at ")]
            assert any(
                abs(hole.diameter - work_by_hand["diameter"]) < 1e-5 and abs(plumb(hole) - work_by_hand["lean"]) < 1e-5
                for hole in same
            ), work_by_hand
    told = {one["feature"].partition(" at ")[0] for part in data["parts"] for one in part["hand_work"]}
    told |= {cut["feature"].partition(" at ")[0] for part in data["parts"] for s in part["setups"] for cut in s["cuts"]}
    assert {hole.path for hole in made.layout.holes} <= told


def run(examples: int) -> int:
    seen = [0]

    @settings(NO_DEADLINE, max_examples=examples)
    @given(designs(starting_sets()))
    def agrees_everywhere(made: Design | None) -> None:
        if made is None:
            return
        seen[0] += 1
        assert_asked(made)
        assert_order_of_work(made)
        assert_tables(made)
        assert_report(made)
        assert_drawings(made)
        assert_setups(made)

    agrees_everywhere()
    return seen[0]


def test_every_hole_is_told_alike_by_all_that_tells_it() -> None:
    assert run(FEW) >= LEAST_BUILT * FEW


@pytest.mark.long
def test_every_hole_of_many_sets_is_told_alike_by_all_that_tells_it() -> None:
    assert run(MANY) >= LEAST_BUILT * MANY


def test_a_tilted_pair_among_square_ones_is_told_its_own_lean() -> None:
    made = full_design("frog.screws.0.tilt=8", "frog.screws.1.tilt=0")
    steps = next(stage.steps for stage in order_of_work(made) if stage.title == "Frog")
    assert sum("37° from plumb" in step for step in steps) == 1
    assert sum("45° from plumb" in step for step in steps) == 1
    assert_order_of_work(made)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_drill_guide_tells_each_screw_as_the_layout_has_it(units: str) -> None:
    given_set = full("frog.screws.0.diameter=3.175", "frog.screws.1.tilt=6")
    made = design(given_set if units == "mm" else parameter_set(in_inches(values_of(given_set))))
    found = drill_guide(made.layout, made.given.shop, ("Drawn", "0000"), made.given.lengths)
    assert isinstance(found, Jig)
    sentences = [one for one in found.use if one.startswith("Frog screw")]
    screws = made.given.frog.screws
    told = [
        re.fullmatch(
            rf"Frog screw (\d+), (?:a pair ({LENGTH}) to either side|on the middle): bit Ø ({LENGTH}) \([^)]*\), "
            rf"stop collar ({LENGTH}) above the bit's point, .* when the hole is ({LENGTH}) deep\.", one
        )
        for one in sentences
    ]  # fmt: skip
    assert all(told), sentences
    assert not re.search(r"\d+\.\d{3,} mm|\d+\.\d{4,} in", " ".join(found.use)), "no tool is set to that"
    bushings = {bushing.hole.path: bushing for bushing in found.bushings}
    assert len(told) == len(bushings)
    for match in told:
        assert match is not None
        index = int(match[1]) - 1
        screw, bushing = screws[index], bushings[f"frog.screws.{index}"]
        assert is_said(match[3], screw.diameter.value)
        assert is_said(match[4], bushing.stop)
        assert is_said(match[5], screw.depth.value)
        assert screw.across.value == 0 if match[2] is None else is_said(match[2], screw.across.value)
        assert plumb(bushing.hole) == pytest.approx(made.layout.bed_angle - screw.tilt.value)


def values_of(given_set: object) -> Values:
    from tests.support.full_set import plain_values

    return plain_values(given_set)  # type: ignore[arg-type]
