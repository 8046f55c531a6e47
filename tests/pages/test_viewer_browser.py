"""The viewer itself in a real browser: what is drawn, cut, moved, measured, and what it costs.

Pictures are compared with others of the same run only, so that a change of browser or driver changes nothing here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from planestock.exports.files.stamp import stamp_of
from planestock.exports.pages.preview import preview
from planestock.exports.pages.scene import as_json, scene
from planestock.models.design import Design, design
from planestock.params.files import load
from tests.support.browser_support import Watched, differing, drawn, opened, until

pytestmark = pytest.mark.browser

CORNER_MISS = 0.02
"""What two picked corners may be off together, mm: each is rounded to the scene's grid of 0.01 mm."""


@cache
def made() -> Design:
    return design(load("fore"))


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "preview.html"
    path.write_bytes(preview(made(), stamp_of(made(), made().checks)))
    return path


@pytest.fixture(scope="module")
def standing(browser: Browser, file: Path) -> Watched:
    return opened(browser, file)


@pytest.fixture
def page(standing: Watched) -> Iterator[Page]:
    """The standing page with the viewer as it is when it opens; a test that makes it complain fails."""
    standing.page.evaluate(
        """() => { const v = planestock.viewer; v.setCut(null); v.setApart(0); v.setStates('shown'); v.setMeasuring(false);
        v.clearMeasure(); v.setFlat(false); v.setEdge(v.given.travel.out); v.look('corner'); }"""
    )
    yield standing.page
    assert standing.complaints == []


def visible(picture: np.ndarray) -> np.ndarray:
    return picture[picture[..., 3] > 250][:, :3]


def do(page: Page, what: str) -> np.ndarray:
    page.evaluate(f"() => {{ const v = planestock.viewer; {what} }}")
    return drawn(page)


def test_the_plane_fills_the_view_and_nothing_of_it_is_black_or_burnt_out(page: Page) -> None:
    picture = drawn(page)
    share = (picture[..., 3] > 250).mean()
    assert 0.12 < share < 0.8
    brightness = visible(picture).max(axis=1)
    assert (brightness < 12).mean() < 0.02
    assert (visible(picture).min(axis=1) > 250).mean() < 0.02


def test_wood_and_metal_are_told_apart_by_colour(page: Page) -> None:
    wood = visible(do(page, "v.setStates(part => part.kind === 'wood' ? 'shown' : 'hidden');")).mean(axis=0)
    metal = visible(do(page, "v.setStates(part => part.name === 'iron' ? 'shown' : 'hidden');")).mean(axis=0)
    assert wood[0] - wood[2] > 35
    assert abs(metal[0] - metal[2]) < 20


def test_edges_are_drawn_as_lines(page: Page) -> None:
    with_lines = drawn(page)
    without = do(page, "for (const p of v.parts.values()) { p.sharp.visible = false; p.smooth.visible = false; }")
    page.evaluate(
        "() => { for (const p of planestock.viewer.parts.values()) { p.sharp.visible = true; p.smooth.visible = true; } }"
    )
    assert 0.002 < differing(with_lines, without) < 0.1


def test_a_soft_shadow_lies_on_the_floor(page: Page) -> None:
    picture = drawn(page)
    shade = picture[(picture[..., :3].max(axis=2) < 8) & (picture[..., 3] > 4) & (picture[..., 3] < 200)][:, 3]
    assert len(shade) > 500
    assert len(np.unique(shade)) > 10


@pytest.mark.parametrize("axis", ["y", "x"])
def test_a_cut_is_filled_and_whole_again_is_the_same_picture(page: Page, axis: str) -> None:
    whole = drawn(page)
    at = 0 if axis == "y" else made().layout.corner[0]
    cut = do(page, f"v.setCut({{ axis: '{axis}', at: {at} }});")
    hollow = do(page, "for (const p of v.parts.values()) if (p.cap) p.cap.visible = false;")
    assert differing(whole, cut) > 0.05
    assert differing(cut, hollow) > 0.003
    assert differing(whole, do(page, "v.setCut(null);")) == 0


def test_a_cut_shows_no_inside_faces_through_its_filling(page: Page) -> None:
    """Seen square on, a cut through the right half is one unbroken face of wood between its outlines."""
    picture = do(
        page, "v.setStates(p => p.name === 'right half' ? 'shown' : 'hidden'); v.setCut({axis: 'y', at: 9}); v.look('left');"
    )
    kept = picture[picture[..., 3] > 250]
    pale = (kept[:, 0] > 130).mean()
    assert pale > 0.8


def test_the_other_side_of_a_cut_is_another_picture(page: Page) -> None:
    one = do(page, "v.setCut({ axis: 'x', at: 150, keep: 1 });")
    other = do(page, "v.setCut({ axis: 'x', at: 150, keep: -1 });")
    assert differing(one, other) > 0.1


def test_apart_no_two_wooden_parts_share_space_and_together_all_is_as_before(page: Page) -> None:
    whole = drawn(page)
    page.get_by_role("button", name="All apart").click()
    gaps = page.evaluate(
        """() => ['left half', 'right half'].map(name => planestock.viewer.parts.get(name).group.position.y)"""
    )
    assert gaps[0] == -gaps[1]
    assert gaps[1] > 20
    assert differing(whole, drawn(page)) > 0.05
    page.get_by_role("button", name="Together").click()
    assert differing(whole, do(page, "v.look('corner');")) == 0


def test_each_standard_view_has_an_initial_of_its_own(page: Page) -> None:
    names = page.locator("[aria-label='Standard views'] button").all_inner_texts()
    initials = [name[0] for name in names]
    assert len(set(initials)) == len(names) == 8
    assert {"+", "-", "0"}.isdisjoint(initials)


def test_see_through_and_hidden_are_chosen_for_each_part_and_said(page: Page) -> None:
    whole = drawn(page)
    row = page.get_by_role("group", name="casting cast iron")
    row.get_by_label("see-through").check()
    see_through = drawn(page)
    assert "See-through: casting." in page.locator("figcaption").inner_text()
    row.get_by_label("hidden").check()
    hidden = drawn(page)
    assert "Hidden: casting." in str(page.locator("canvas[role=img]").get_attribute("aria-label"))
    row.get_by_label("shown").check()
    assert differing(whole, see_through) > 0.005
    assert differing(see_through, hidden) > 0.001
    assert differing(whole, drawn(page)) == 0


def test_the_iron_rides_through_its_travel_by_keys_and_says_where_its_edge_is(page: Page) -> None:
    window, thickness = made().settled.window, made().settled.thickness
    slider = page.get_by_label("Edge against the sole")
    slider.press("Home")
    back = page.evaluate("planestock.viewer.proud")
    assert back == pytest.approx(-window.back(thickness), abs=1e-8)
    assert made().given.lengths(window.back(thickness)) in str(slider.get_attribute("aria-valuetext"))
    assert "above the sole" in page.locator("output.told").first.inner_text()
    slider.press("End")
    assert page.evaluate("planestock.viewer.proud") == pytest.approx(window.out(thickness), abs=1e-8)
    assert made().given.lengths(window.out(thickness)) in page.locator("output.told").first.inner_text()
    page.get_by_role("button", name="Level", exact=True).click()
    assert "level with the sole" in page.locator("figcaption").inner_text()
    lowest = page.evaluate(
        "(() => { const p = planestock.viewer.parts.get('iron'); return p.low.z + p.group.position.z; })()"
    )
    assert lowest == pytest.approx(0, abs=0.01)


def test_the_mouth_ahead_of_the_edge_is_the_layouts(page: Page) -> None:
    """On the sole the mouth is as wide as asked; for each mm the edge comes out it closes by cot of the bed angle."""
    page.evaluate("() => planestock.viewer.setEdge(0)")
    opening, bed = made().given.throat.opening.value, np.radians(made().given.frog.bed_angle.value)
    assert f"Mouth: {made().given.lengths(opening)}" in page.locator(".controls").inner_text()
    page.evaluate("() => planestock.viewer.setEdge(0.5)")
    assert f"Mouth: {made().given.lengths(opening - 0.5 / np.tan(bed))}" in page.locator(".controls").inner_text()


SPOT = """([name, x, y, z]) => { const v = planestock.viewer; v.draw(); const q = v.eye.target.clone().set(x, y, z);
q.add(v.parts.get(name).group.position).project(v.eye.camera);
return [(q.x + 1) / 2 * v.stage.width, (1 - q.y) / 2 * v.stage.height]; }"""


INNER_TOE_CORNER = """name => { const p = planestock.viewer.parts.get(name), at = [];
for (let i = 0; i < p.corners.length; i += 3) at.push([...p.corners.slice(i, i + 3)]);
const on_the_sole_at_the_toe = at.filter(([x, , z]) => z < 0.02 && x < p.low.x + 0.02);
return on_the_sole_at_the_toe.sort((a, b) => Math.abs(a[1]) - Math.abs(b[1]))[0]; }"""


def click_at(page: Page, name: str, x: float, y: float, z: float) -> None:
    spot = page.evaluate(SPOT, [name, x, y, z])
    page.locator(".hand").click(position={"x": spot[0], "y": spot[1]})


@pytest.mark.parametrize("share", [0, 0.5])
def test_between_two_corners_the_distance_is_that_of_the_assembled_body(page: Page, share: float) -> None:
    """Along the iron's left side, from its edge to the other end: its length, whatever is drawn apart."""
    page.evaluate(
        f"""() => {{ const v = planestock.viewer; v.setApart({share});
        v.setStates(p => p.name === 'iron' ? 'shown' : 'hidden'); v.setFlat(true); v.look('left'); }}"""
    )
    page.get_by_role("button", name="Pick two points").click()
    length, half = made().given.iron.length.value, made().given.iron.width.value / 2
    tip = np.array(page.evaluate("(() => { const p = planestock.viewer.parts.get('iron'); return [p.low.x, p.low.z]; })()"))
    for x, z in (tip, tip + np.array(made().layout.up_the_bed) * length):
        click_at(page, "iron", x, -half, z)
    measured = page.evaluate("planestock.viewer.measured")
    assert [spot["kind"] for spot in measured["spots"]] == ["corner", "corner"]
    assert measured["distance"] == pytest.approx(length, abs=CORNER_MISS)
    assert measured["across"] == pytest.approx(0, abs=CORNER_MISS)
    assert made().given.lengths(measured["distance"]) in page.locator(".measured").inner_text()
    assert page.locator(".overlay .mark").count() == 2


def test_measuring_reaches_across_parts_that_are_drawn_apart(page: Page) -> None:
    """Between the halves' mating faces, drawn far apart, lies just the centre strip."""
    page.evaluate(
        """() => { const v = planestock.viewer; v.setApart(1);
        v.setStates(p => p.name.endsWith('half') ? 'shown' : 'hidden'); v.setFlat(true); v.look('toe'); }"""
    )
    page.get_by_role("button", name="Pick two points").click()
    for name in ("left half", "right half"):
        click_at(page, name, *page.evaluate(INNER_TOE_CORNER, name))
    measured = page.evaluate("planestock.viewer.measured")
    assert measured["across"] == pytest.approx(made().layout.strip, abs=CORNER_MISS)
    assert measured["up"] == pytest.approx(0, abs=CORNER_MISS)


def test_keys_turn_move_and_bring_nearer_and_the_number_keys_choose_views(page: Page) -> None:
    hand = page.locator(".hand")
    hand.focus()
    eye: Callable[[], dict[str, float]] = lambda: page.evaluate("planestock.viewer.eyeState")  # noqa: E731
    before = eye()
    page.keyboard.press("ArrowRight")
    assert eye()["azimuth"] != before["azimuth"]
    page.keyboard.press("ArrowUp")
    assert eye()["elevation"] > before["elevation"]
    page.keyboard.press("+")
    assert eye()["reach"] < before["reach"]
    page.keyboard.press("Shift+ArrowLeft")
    assert eye()["target"] != before["target"]
    page.keyboard.press("p")
    assert eye()["elevation"] == pytest.approx(np.pi / 2)
    page.keyboard.press("Shift+S")
    assert eye()["elevation"] == pytest.approx(-np.pi / 2)
    until(page, "document.querySelector('figcaption').innerText.includes('from below')")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") != "hand"


def test_a_point_is_picked_by_keys_alone(page: Page) -> None:
    page.evaluate("() => { planestock.viewer.setMeasuring(true); planestock.viewer.look('left'); }")
    page.locator(".hand").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    assert len(page.evaluate("planestock.viewer.measured.spots")) == 2
    page.keyboard.press("Escape")
    assert page.evaluate("planestock.viewer.measured.spots") == []


def test_the_mouse_turns_slides_and_zooms_about_the_pointer(page: Page) -> None:
    box = page.locator(".hand").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 3, box["y"] + box["height"] / 3
    before = page.evaluate("planestock.viewer.eyeState")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y + 20, steps=3)
    page.mouse.up()
    turned = page.evaluate("planestock.viewer.eyeState")
    assert turned["azimuth"] < before["azimuth"]
    assert turned["elevation"] > before["elevation"]
    page.mouse.down(button="right")
    page.mouse.move(x, y, steps=3)
    page.mouse.up(button="right")
    slid = page.evaluate("planestock.viewer.eyeState")
    assert slid["azimuth"] == turned["azimuth"]
    assert slid["target"] != turned["target"]
    page.mouse.wheel(0, -300)
    until(page, f"planestock.viewer.eyeState.reach < {slid['reach']}")


def test_one_finger_turns_and_two_fingers_bring_nearer(browser: Browser, file: Path) -> None:
    page = opened(browser, file, has_touch=True, viewport={"width": 390, "height": 800}).page
    box = page.locator(".hand").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *fingers: tuple[float, float]) -> None:
        spots = [{"x": fx, "y": fy, "id": number} for number, (fx, fy) in enumerate(fingers)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": spots})

    before = page.evaluate("planestock.viewer.eyeState")
    touch("touchStart", (x, y))
    touch("touchMove", (x + 40, y))
    touch("touchEnd")
    turned = page.evaluate("planestock.viewer.eyeState")
    assert turned["azimuth"] < before["azimuth"]
    touch("touchStart", (x - 20, y), (x + 20, y))
    touch("touchMove", (x - 60, y), (x + 60, y))
    touch("touchEnd")
    nearer = page.evaluate("planestock.viewer.eyeState")
    assert nearer["reach"] == pytest.approx(turned["reach"] / 3, rel=0.05)
    assert nearer["azimuth"] == turned["azimuth"]
    page.context.close()


def test_nothing_is_drawn_while_nothing_changes(page: Page) -> None:
    page.wait_for_timeout(500)
    before = page.evaluate("planestock.viewer.frames")
    page.wait_for_timeout(700)
    assert page.evaluate("planestock.viewer.frames") == before


def test_the_drawing_follows_the_page_s_size_and_the_screen_s_fineness(browser: Browser, file: Path) -> None:
    page = opened(browser, file, device_scale_factor=2, viewport={"width": 900, "height": 500}).page
    sizes = "(() => { const c = planestock.viewer.canvas; return [c.width, c.clientWidth, c.height, c.clientHeight]; })()"
    width, shown, height, tall = page.evaluate(sizes)
    assert (width, height) == (2 * shown, 2 * tall)
    page.set_viewport_size({"width": 700, "height": 600})
    until(page, f"planestock.viewer.canvas.width !== {width}")
    width, shown, height, tall = page.evaluate(sizes)
    assert (width, height) == (2 * shown, 2 * tall)
    page.context.close()


def test_with_motion_a_view_is_reached_by_gliding_and_without_at_once(browser: Browser, file: Path, page: Page) -> None:
    page.evaluate("() => planestock.viewer.look('top')")
    assert page.evaluate("planestock.viewer.eyeState.elevation") == pytest.approx(np.pi / 2)
    moving = opened(browser, file, reduced_motion="no-preference").page
    moving.evaluate("() => planestock.viewer.look('top')")
    assert moving.evaluate("planestock.viewer.eyeState.elevation") < np.pi / 2
    until(moving, "planestock.viewer.gliding === null")
    assert moving.evaluate("planestock.viewer.eyeState.elevation") == pytest.approx(np.pi / 2)
    moving.context.close()


def test_a_lost_drawing_is_said_and_comes_back(page: Page) -> None:
    before = drawn(page)
    page.evaluate(
        """() => { const context = planestock.viewer.canvas.getContext('webgl2');
        window.lose = context.getExtension('WEBGL_lose_context'); lose.loseContext(); }"""
    )
    page.get_by_text("The drawing was lost").wait_for()
    page.evaluate("() => lose.restoreContext()")
    page.get_by_text("The drawing was lost").wait_for(state="hidden")
    assert differing(before, drawn(page)) < 0.001


def test_a_hundred_new_scenes_leave_no_geometry_behind(page: Page) -> None:
    other = design(load("fore", ["throat.opening=0.09", "iron.length=7.5"]))
    texts = [as_json(scene(one, stamp_of(one, one.number_checks))) for one in (other, made())]
    page.evaluate(
        """texts => { window.scenes = texts.map(JSON.parse);
        for (const one of scenes) { planestock.viewer.show(one); planestock.viewer.draw(); } }""",
        texts,
    )
    before = page.evaluate("planestock.viewer.load")
    kept = page.evaluate(
        """() => { const v = planestock.viewer, knob = v.parts.get('knob');
        for (let i = 0; i < 100; i += 1) { v.show(scenes[i % 2]); if (i % 10 === 9) v.draw(); } v.draw();
        return v.parts.get('knob') === knob; }"""
    )
    after = page.evaluate("planestock.viewer.load")
    assert {key: after[key] for key in ("geometries", "textures", "programs")} == {
        key: before[key] for key in ("geometries", "textures", "programs")
    }
    assert kept, "a part that did not change was made again"


def test_a_new_scene_keeps_the_view_the_cut_and_the_edge_s_place(page: Page) -> None:
    other = design(load("fore", ["body.length=19"]))
    page.evaluate(
        """() => { const v = planestock.viewer; v.look('left'); v.setCut({axis: 'y', at: 4}); v.setEdge(0.25);
        v.setState('tote', 'see-through'); }"""
    )
    before = page.evaluate("[planestock.viewer.eyeState, planestock.viewer.cut, planestock.viewer.proud]")
    text = as_json(scene(other, stamp_of(other, other.number_checks)))
    page.evaluate("text => planestock.viewer.show(JSON.parse(text))", text)
    assert page.evaluate("[planestock.viewer.eyeState, planestock.viewer.cut, planestock.viewer.proud]") == before
    assert page.evaluate("planestock.viewer.parts.get('tote').state") == "see-through"
    page.evaluate(
        "text => planestock.viewer.show(JSON.parse(text))", as_json(scene(made(), stamp_of(made(), made().checks)))
    )
