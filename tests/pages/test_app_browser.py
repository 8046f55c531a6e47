"""The app in a real browser: the whole story of a person who never opens a terminal, by mouse, by keys, wide and narrow.

Pictures are compared with others of the same run only. What is drawn here is drawn by software.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.server import leading_page
from planestock.exports.app.shared import Shared
from tests.params.traced.test_sets_with_drawings import folder_with
from tests.support.app_support import ROOT, Address, crashing_kernel, jack, served, serving
from tests.support.browser_support import Watched, differing, seen, until, watched

pytestmark = pytest.mark.browser

HOSTILE = "<img src=x onerror=document.title='taken'><script>document.title='taken'</script>"
DRAWN = "planestock.viewers.length >= {0} && planestock.viewers.every((viewer) => viewer.frames > 0)"
SERIOUS = ("serious", "critical")
AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
UNFOLD = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"

CHANGE = """async (lengths) => {
  const variant = planestock.page.active;
  for (const length of lengths) {
    await new Promise((done) => {
      const shown = () => {
        const { state, scene } = variant;
        if (state.values['body.length'] !== length || !state.solid_rows || scene.digest !== state.numbers.digest) return;
        for (const name of ['state', 'body']) variant.removeEventListener(name, shown);
        requestAnimationFrame(() => requestAnimationFrame(done));
      };
      for (const name of ['state', 'body']) variant.addEventListener(name, shown);
      variant.change({ do: 'write', path: 'body.length', typed: length, stroke: '' });
    });
  }
}"""
"""Changes the body's length again and again; each time waits until the new body has been drawn."""

MOST_GROWTH = 1.05
"""What the page's memory may grow by over all changes, as a share of what it was after the first few."""

OWN = (
    "object",
    "array",
    "string",
    "concatenated string",
    "sliced string",
    "closure",
    "number",
    "symbol",
    "bigint",
    "object shape",
)
"""Kinds of things in a heap snapshot that a page makes. The others are compiled code and the browser's own notes for whoever
watches it, which go on growing for a while by themselves."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sets")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[Address]:
    with served(folder) as found:
        yield found


@pytest.fixture
def tab(browser: Browser, address: Address) -> Iterator[Watched]:
    """A fresh tab with the app's first page; one that complains or asks for anything elsewhere fails its test."""
    found = watched(browser, offline=False, accept_downloads=True)
    address.visited(found.page)
    yield found
    found.page.context.close()
    assert found.complaints == []
    assert [url for url in found.requests if not url.startswith((address, "data:", "blob:"))] == []


def begun(page: Page, example: str = "jack") -> None:
    """Begin with a shipped example and wait for its body."""
    page.get_by_role("button", name=f"Example: {example}").click()
    until(page, DRAWN.format(1))


def field(page: Page, path: str) -> str:
    """The selector of a field, its group unfolded."""
    page.evaluate(f"planestock.page.form.go({path!r})")
    return f'[id="field-{path}"]'


def state(page: Page, what: str) -> object:
    found: object = page.evaluate(f"planestock.page.active.state.{what}")
    return found


def settled(page: Page) -> None:
    """Wait until body and checks of what was typed are on the page."""
    until(page, "planestock.page.active.settled && planestock.page.form.fields.values().every((one) => !one.isPending)")
    until(page, "(({ body, solid_rows }) => body.status === 'ready' && solid_rows)(planestock.page.active.state)")
    until(page, "planestock.page.active.scene.digest === planestock.page.active.state.numbers.digest")


def test_the_whole_story_from_an_empty_folder_to_a_saved_set_and_its_files(  # noqa: PLR0915 - one story, told in order
    tab: Watched, folder: Path, tmp_path: Path
) -> None:
    page = tab.page
    begun(page)
    settled(page)
    expect(page.locator(".verdict")).to_contain_text("checks pass")

    width = field(page, "iron.width")
    page.fill(width, "510")
    wrong = page.locator('[id="field-iron.width-wrong"]')
    expect(wrong).to_contain_text("Must lie between 20 and 110 mm")
    expect(page.locator(width)).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("button", name="Make the files")).to_be_disabled()
    page.fill(width, "2 in")
    expect(wrong).to_be_hidden()
    expect(page.locator('[id="field-iron.width-note"]')).to_contain_text("= 50.800 mm")
    settled(page)

    caption = page.locator("figcaption")
    page.get_by_label("Edge against the sole").fill("-1")
    expect(caption).to_contain_text("1.00 mm above the sole")

    whole = seen(page.locator(".hand"))
    page.get_by_label("along the body").check()
    expect(caption).to_contain_text("Cut open along the body")
    cut = seen(page.locator(".hand"))
    assert differing(whole, cut) > 0.02
    page.get_by_role("button", name="All apart").click()
    expect(caption).to_contain_text("Taken apart")
    assert differing(cut, seen(page.locator(".hand"))) > 0.02

    page.get_by_role("button", name="Another variant").click()
    until(page, DRAWN.format(2))
    page.fill(field(page, "iron.thickness"), "3.2 ± 0.02 mm")
    differences = page.locator(".differences")
    expect(differences).to_contain_text("Iron: Iron thickness")
    expect(differences.locator("tr", has_text="Iron: Iron thickness").locator("td")).to_have_text(
        ["2.10 ± 0.02 mm", "3.2 ± 0.02 mm"]
    )
    expect(differences).to_contain_text("Window")
    settled(page)
    cuts, eyes = (
        page.evaluate(f"planestock.viewers.map((viewer) => JSON.stringify(viewer.{what}))") for what in ("cut", "eyeState")
    )
    assert cuts[0] == cuts[1] != "null"
    assert eyes[0] == eyes[1]

    page.get_by_role("button", name="None", exact=True).click()
    page.get_by_label("solids of the whole (STEP)").check()
    page.get_by_label("report", exact=True).check()
    expect(page.get_by_text("Wood dust")).to_be_visible()
    page.get_by_role("button", name="Make the files").click()
    link = page.get_by_role("link", name="Invented-jack.step")
    with page.expect_download() as taken:
        link.click()
    step = tmp_path / "taken.step"
    taken.value.save_as(step)
    assert step.read_bytes().startswith(b"ISO-10303-21;")
    with page.expect_download() as taken:
        page.get_by_role("link", name="Take all of them").click()
    assert taken.value.suggested_filename == "Invented-jack.zip"

    before = page.evaluate("planestock.page.variants.map((one) => one.state.text)")
    page.reload()
    until(page, DRAWN.format(2))
    assert page.evaluate("planestock.page.variants.map((one) => one.state.text)") == before
    assert page.input_value('[id="field-iron.thickness"]') == "3.2 ± 0.02 mm"

    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_label("Name of the file").fill("From the app")
    page.locator("dialog[open]").get_by_role("button", name="Save").click()
    expect(page.locator(".kept")).to_have_text("saved as From-the-app.toml")
    saved = folder / "From-the-app.toml"
    assert saved.read_text("utf-8").startswith("# A jack plane, invented for planestock")
    run = [sys.executable, "-c", "import sys; from planestock.exports.command_line import main; sys.exit(main())"]
    ran = subprocess.run([*run, "check", str(saved), "--numbers"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def test_undo_and_redo_work_by_keys_and_say_what_they_do(tab: Watched) -> None:
    page = tab.page
    begun(page)
    page.fill(field(page, "body.length"), "400")
    expect(page.get_by_role("button", name="Undo: Body: Body length")).to_be_enabled()
    page.locator("h1").click()
    page.keyboard.press("Control+z")
    expect(page.locator('[id="field-body.length"]')).to_have_value("380")
    page.keyboard.press("Control+Shift+z")
    expect(page.locator('[id="field-body.length"]')).to_have_value("400")
    page.locator('[id="field-body.length"]').press("ArrowUp")
    expect(page.locator('[id="field-body.length"]')).to_have_value("401")
    expect(page.locator(".commands")).to_contain_text("planestock check jack --set body.length=401")


def test_groups_and_screws_come_and_go_in_the_form(tab: Watched) -> None:
    page = tab.page
    begun(page)
    field(page, "tote.bolt_x")
    page.get_by_label("there is one: tote").uncheck()
    expect(page.locator('[id="field-tote.bolt_x"]')).to_have_count(0)
    until(page, "!planestock.page.active.state.groups.includes('tote')")
    settled(page)
    assert "tote" not in page.evaluate("planestock.page.active.scene.parts.map((part) => part.name)")
    field(page, "frog.screws.0.along")
    page.get_by_role("button", name="Add to the frog screws").click()
    expect(page.locator('[id="field-frog.screws.2.along-wrong"]')).to_have_text("Needed, and not given yet.")
    page.get_by_role("button", name="Take out: Frog screws, 3").click()
    expect(page.locator('[id="field-frog.screws.2.along"]')).to_have_count(0)
    expect(page.locator(".mending")).to_be_hidden()


def test_a_hostile_name_is_shown_as_it_is_and_does_nothing(tab: Watched) -> None:
    page = tab.page
    begun(page)
    page.fill(field(page, "name"), HOSTILE)
    page.fill(field(page, "note"), HOSTILE)
    page.get_by_role("button", name="Another variant").click()
    until(page, DRAWN.format(2))
    settled(page)
    assert page.title() == f"{HOSTILE}: planestock"
    expect(page.locator(".view-name").first).to_contain_text("<img src=x")
    assert page.locator("img, #app script").count() == 0
    page.reload()
    until(page, DRAWN.format(2))
    assert page.title().startswith("<img")


def test_two_tabs_do_not_disturb_one_another_not_even_a_duplicated_one(tab: Watched, address: Address) -> None:
    page = tab.page
    begun(page)
    page.fill(field(page, "iron.width"), "50.5")
    settled(page)
    other = page.context.new_page()
    other.add_init_script(
        f"sessionStorage.length || sessionStorage.setItem('planestock', {page.evaluate('sessionStorage.planestock')!r})"
    )
    address.visited(other)
    until(other, DRAWN.format(1))
    assert other.input_value('[id="field-iron.width"]') == "50.5"
    assert state(other, "id") != state(page, "id")
    other.fill('[id="field-iron.width"]', "49")
    settled(other)
    other.reload()
    until(other, DRAWN.format(1))
    assert other.input_value('[id="field-iron.width"]') == "49"
    assert page.input_value('[id="field-iron.width"]') == "50.5"
    assert state(page, "values['iron.width']") == "50.5"


def test_a_set_from_elsewhere_is_taken_or_refused_in_words(tab: Watched, tmp_path: Path) -> None:
    page = tab.page
    upload = page.get_by_label("A parameter set (TOML file)")
    files = {
        "long.toml": b"#" * 200_000,
        "picture.toml": b"\x89PNG\xff\xfe",
        "odd.toml": b"name = = 1",
        "mine.toml": jack("Mine").encode(),
    }
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    told = page.locator("dialog[open] .wrong")
    for name, words in (("long.toml", "too large"), ("picture.toml", "is no text"), ("odd.toml", "is not TOML")):
        upload.set_input_files(tmp_path / name)
        expect(told).to_contain_text(words)
    tab.complaints.clear()  # the browser itself notes each answer that refuses
    upload.set_input_files(tmp_path / "mine.toml")
    until(page, DRAWN.format(1))
    expect(page.locator(".view-name")).to_contain_text("Mine")


def test_the_page_has_no_serious_finding_of_accessibility(browser: Browser, address: Address) -> None:
    found = watched(browser, offline=False, viewport={"width": 1440, "height": 900}, bypass_csp=True)
    page = found.page
    address.visited(page)
    until(page, "document.querySelector('dialog[open]')")
    looked = {"beginning": serious(page)}
    begun(page, "fore")
    page.get_by_role("button", name="Another variant").click()
    until(page, DRAWN.format(2))
    page.evaluate(UNFOLD)
    page.fill(field(page, "iron.width"), "x")
    expect(page.locator(".mending")).to_be_visible()
    until(page, "document.querySelector('.differences')")
    for width, scheme in ((1440, "light"), (1440, "dark"), (390, "dark"), (390, "light")):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        page.set_viewport_size({"width": width, "height": 850})
        looked[f"{width} {scheme}"] = serious(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing sticks out sideways"
    page.context.close()
    assert [width for width, findings in looked.items() if findings] == [], looked


def serious(page: Page) -> list[str]:
    results = Axe().run(page, options=AXE).response["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in results if one["impact"] in SERIOUS]


def test_everything_is_reached_by_keys_alone(tab: Watched) -> None:
    page = tab.page
    until(page, "document.querySelector('dialog[open]')")  # keys pressed before it is there go to the page beneath
    focused = "document.activeElement.textContent"
    for _ in range(8):
        page.keyboard.press("Tab")
        if page.evaluate(focused).startswith("Example: jack"):
            break
    assert page.evaluate(focused).startswith("Example: jack")
    page.keyboard.press("Enter")
    until(page, DRAWN.format(1))
    page.evaluate(UNFOLD)
    page.evaluate("document.querySelector('#open').focus()")
    wanted = page.evaluate(
        "[...document.querySelectorAll('#app button, #app input, #app select, #app textarea, #app summary, #app .hand')]"
        ".filter((one) => !one.disabled && one.type !== 'radio' && one.offsetParent && !one.closest('dialog')).length"
    )
    reached = page.evaluate("(document.activeElement.dataset.reached = 1)")
    for _ in range(2 * wanted + 60):
        page.keyboard.press("Tab")
        reached = page.evaluate(
            "(() => { document.activeElement.dataset.reached = 1;"
            " return document.querySelectorAll('[data-reached]').length; })()"
        )
        if page.evaluate("document.activeElement === document.body"):
            break
    missed = page.evaluate(
        "[...document.querySelectorAll('#app button, #app input, #app select, #app textarea, #app summary, #app .hand')]"
        ".filter((one) => !one.disabled && one.type !== 'radio' && one.offsetParent && !one.closest('dialog'))"
        ".filter((one) => !one.dataset.reached)"
        ".map((one) => one.outerHTML.slice(0, 90))"
    )
    assert (missed, reached > 100) == ([], True)


def test_at_twice_the_size_nothing_is_lost(browser: Browser, address: Address) -> None:
    """200 % zoom of a 1280 pixel page is a 640 pixel page."""
    found = watched(browser, offline=False, viewport={"width": 640, "height": 360}, device_scale_factor=2)
    page = found.page
    address.visited(page)
    begun(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("link", name="Checks").click()
    expect(page.locator(".verdict")).to_be_in_viewport()
    page.fill(field(page, "frog.bed_angle"), "44 ± 0.1 deg")
    expect(page.locator('[id="field-frog.bed_angle"]')).to_be_in_viewport()
    settled(page)
    page.context.close()
    assert found.complaints == []


def test_changes_leave_the_graphics_memory_as_it_was(tab: Watched) -> None:
    page = tab.page
    begun(page)
    settled(page)
    before = page.evaluate("planestock.viewers[0].load")
    page.evaluate(CHANGE, [str(390 + number) for number in range(8)])
    after = page.evaluate("planestock.viewers[0].load")
    assert after["frames"] >= before["frames"] + 8
    assert [after[name] for name in ("geometries", "textures", "programs")] == [
        before[name] for name in ("geometries", "textures", "programs")
    ]


@pytest.mark.long
def test_a_hundred_changes_leave_the_memory_as_it_was(tab: Watched) -> None:
    page = tab.page
    begun(page)
    settled(page)
    page.set_default_timeout(0)
    lengths = [str(381 + number % 10) for number in range(100)]
    page.evaluate(CHANGE, lengths[:10])
    before = page.evaluate("planestock.viewers[0].load.geometries"), own_bytes(page)
    page.evaluate(CHANGE, lengths)
    after = page.evaluate("planestock.viewers[0].load.geometries"), own_bytes(page)
    assert after[0] == before[0]
    assert after[1] < before[1] * MOST_GROWTH


def own_bytes(page: Page) -> int:
    """Bytes of what the page itself holds on to."""
    pieces: list[str] = []
    client = page.context.new_cdp_session(page)
    client.on("HeapProfiler.addHeapSnapshotChunk", lambda event: pieces.append(event["chunk"]))
    client.send("HeapProfiler.collectGarbage")
    client.send("HeapProfiler.takeHeapSnapshot", {"reportProgress": False})
    client.detach()
    found = json.loads("".join(pieces))
    fields, kinds = found["snapshot"]["meta"]["node_fields"], found["snapshot"]["meta"]["node_types"][0]
    nodes, width, size = found["nodes"], len(fields), fields.index("self_size")
    total: int = sum(nodes[at + size] for at in range(0, len(nodes), width) if kinds[nodes[at]] in OWN)
    return total


def test_a_kernel_that_crashes_is_told_and_the_page_goes_on(browser: Browser, tmp_path: Path) -> None:
    with serving(tmp_path, crashing_kernel()) as address:
        found = watched(browser, offline=False)
        page = found.page
        address.visited(page)
        begun(page)
        settled(page)
        page.fill(field(page, "name"), "crashes now")
        failed = page.locator(".view-failed")
        expect(failed).to_contain_text("The solid kernel crashed (SIGSEGV)")
        expect(failed).to_contain_text("The last good body is still shown.")
        expect(page.locator(".value").first).to_contain_text("mm")
        page.get_by_role("button", name="Undo").click()
        expect(failed).to_be_hidden()
        settled(page)
        page.context.close()
        assert found.complaints == []


def test_a_page_whose_app_was_stopped_says_so_and_carries_on_with_the_next(browser: Browser, tmp_path: Path) -> None:
    asleep = (sys.executable, "-c", "import time; time.sleep(600)")
    with serving(tmp_path, asleep) as address:
        found = watched(browser, offline=False)
        page = found.page
        address.visited(page)
        page.get_by_role("button", name="Example: jack").click()
        until(page, "planestock.page.active")
        page.fill(field(page, "body.length"), "391")
        until(page, "planestock.page.active.state.values['body.length'] === '391'")
    expect(page.locator(".trouble")).to_contain_text("The app does not answer")
    page.fill(field(page, "body.width"), "73")
    with serving(tmp_path, asleep, port=address.port) as again:
        again.known_to(page)
        until(page, "planestock.page.active.state.values['body.width'] === '73'")
        assert state(page, "values['body.length']") == "391"
        expect(page.locator(".trouble")).to_be_hidden()
        page.context.close()


ASLEEP = (sys.executable, "-c", "import time; time.sleep(600)")
"""A kernel's process that never answers: what is tested needs no body."""


def example(page: Page) -> None:
    """Begin with the jack and do not wait for a body."""
    page.get_by_role("button", name="Example: jack").click()
    until(page, "planestock.page.active")


def test_a_field_in_hand_keeps_what_is_typed_through_a_restart(browser: Browser, tmp_path: Path) -> None:
    with serving(tmp_path, ASLEEP) as address:
        found = watched(browser, offline=False)
        page = found.page
        address.visited(page)
        example(page)
        width = field(page, "body.width")
        page.locator(width).click()
        page.keyboard.press("Control+a")
        page.keyboard.type("7")
        until(page, "planestock.page.active.state.values['body.width'] === '7'")
    expect(page.locator(".trouble")).to_contain_text("The app does not answer")
    page.keyboard.type("3")
    with serving(tmp_path, ASLEEP, port=address.port) as again:
        again.known_to(page)
        until(page, "planestock.page.active.state.values['body.width'] === '73'")
        assert page.input_value(width) == "73"
        page.keyboard.type(".5")
        until(page, "planestock.page.active.state.values['body.width'] === '73.5'")
        page.locator("h1").click()
        page.fill(field(page, "body.length"), "390")
        until(page, "planestock.page.active.state.values['body.length'] === '390'")
        assert (page.input_value(width), state(page, "values['body.width']")) == ("73.5", "73.5")
        page.context.close()


def test_nothing_is_sent_from_a_field_that_was_never_filled(tab: Watched) -> None:
    page = tab.page
    begun(page)
    width = field(page, "body.width")
    page.locator(width).click()
    before = state(page, "text")
    page.evaluate(
        "(() => { const { form, active } = planestock.page; form.shape = null; form.build(active.state, true); })()"
    )
    page.evaluate("planestock.page.form.fields.values().forEach((one) => one.flush())")
    page.evaluate("planestock.page.active.sent()")
    assert state(page, "text") == before


def test_a_text_on_its_way_survives_a_reload(browser: Browser, tmp_path: Path) -> None:
    with serving(tmp_path, ASLEEP) as address:
        found = watched(browser, offline=False)
        page = found.page
        address.visited(page)
        example(page)
        page.route("**/changes", lambda route: route.abort())
        page.fill(field(page, "body.width"), "73")
        until(page, "planestock.page.active.waiting.length")
        page.unroute("**/changes")
        page.reload()
        until(page, "planestock.page && planestock.page.active")
        until(page, "planestock.page.active.state.values['body.width'] === '73'")
        assert found.warned == 1
        page.context.close()


def test_an_outline_that_was_read_from_a_file_says_so(browser: Browser, tmp_path: Path) -> None:
    folder_with(tmp_path)
    with serving(tmp_path, ASLEEP) as address:
        page = watched(browser, offline=False).page
        address.visited(page)
        page.get_by_role("button", name="plane.toml").click()
        until(page, "planestock.page.active")
        field(page, "casting.outline")
        expect(page.locator('[id="field-casting.outline-note"]')).to_contain_text("Read from casting.dxf")
        page.context.close()


@pytest.mark.parametrize("is_reloaded", [False, True])
def test_a_variant_that_is_closed_while_the_app_is_away_loses_nothing(
    browser: Browser, tmp_path: Path, is_reloaded: bool
) -> None:
    with serving(tmp_path, ASLEEP, drafts=tmp_path / "drafts") as address:
        page = watched(browser, offline=False).page
        address.visited(page)
        example(page)
        page.route("**/changes", lambda route: route.abort())
        page.fill(field(page, "body.width"), "73")
        until(page, "planestock.page.active.waiting.length")
        page.evaluate("planestock.page.close(planestock.page.active)")
        until(page, "document.querySelector('dialog[open]')")
        if is_reloaded:
            page.reload()
            until(page, "planestock.page && planestock.page.active")
        page.unroute("**/changes")
        if is_reloaded:
            until(page, "planestock.page.active.state.values['body.width'] === '73'")
        else:
            until(page, "planestock.page.leaving.size === 0")
        (kept,) = (tmp_path / "drafts").iterdir()
        assert "width = 73\\n" in kept.read_text("utf-8")
        page.context.close()


def test_a_large_set_opens_and_what_is_too_large_is_said_and_holds_nothing_up(browser: Browser, tmp_path: Path) -> None:
    large = tmp_path / "large.toml"
    large.write_text(jack("Large") + "# a remark of some length\n" * 3100, "utf-8")
    assert large.stat().st_size > 80_000
    with serving(tmp_path, ASLEEP) as address:
        found = watched(browser, offline=False)
        page = found.page
        address.visited(page)
        page.get_by_label("A parameter set (TOML file)").set_input_files(large)
        until(page, "planestock.page.active")
        page.fill(field(page, "note"), "x" * 70_000)
        told = page.locator(".refusal")
        expect(told).to_contain_text("a field takes at most 6000")
        page.fill(field(page, "body.width"), "73")
        until(page, "planestock.page.active.state.values['body.width'] === '73'")
        expect(page.locator(".trouble")).to_be_hidden()
        expect(told).to_be_visible()
        told.get_by_role("button").click()
        expect(told).to_be_hidden()
        page.context.close()


def test_the_first_dialogue_cannot_be_left_by_escape(tab: Watched) -> None:
    page = tab.page
    until(page, "document.querySelector('dialog[open]')")
    for _ in range(4):
        page.keyboard.press("Escape")
        page.wait_for_timeout(100)
    until(page, "document.querySelector('dialog[open]')")
    begun(page)
    assert page.locator("dialog[open]").count() == 0
    page.get_by_role("button", name="Open", exact=True).click()
    page.keyboard.press("Escape")
    until(page, "!document.querySelector('dialog[open]')")


def test_the_browser_warns_before_unsaved_work_is_left_and_only_then(tab: Watched) -> None:
    page = tab.page
    begun(page)
    page.reload()
    until(page, DRAWN.format(1))
    assert tab.warned == 0
    page.locator(field(page, "body.width")).click()
    page.keyboard.press("Control+a")
    page.keyboard.type("73")
    page.reload()
    until(page, DRAWN.format(1))
    assert tab.warned == 1
    assert state(page, "values['body.width']") == "73"


def test_saving_by_keys_saves_the_last_letter_too(tab: Watched, folder: Path) -> None:
    page = tab.page
    begun(page)
    page.keyboard.press("Control+s")
    page.get_by_label("Name of the file").fill("By keys")
    page.locator("dialog[open]").get_by_role("button", name="Save").click()
    expect(page.locator(".kept")).to_have_text("saved as By-keys.toml")
    page.locator(field(page, "body.width")).click()
    page.keyboard.press("Control+a")
    page.keyboard.type("74.5")
    page.keyboard.press("Control+s")
    until(page, "planestock.page.active.state.saved && planestock.page.active.state.values['body.width'] === '74.5'")
    assert "width = 74.5" in (folder / "By-keys.toml").read_text("utf-8")


def test_what_is_typed_goes_into_the_variant_that_it_was_typed_in(tab: Watched) -> None:
    page = tab.page
    begun(page)
    width = field(page, "body.width")
    was = page.input_value(width)
    page.evaluate(
        "(() => { const { page } = planestock; page.form.fields.get('body.width').input.value = '75';"
        " page.form.fields.get('body.width').input.dispatchEvent(new Event('input'));"
        " return page.open({ kind: 'shipped', name: 'jack' }); })()"
    )
    until(page, "planestock.page.variants.length === 2")
    page.evaluate("Promise.all(planestock.page.variants.map((one) => one.sent()))")
    assert page.evaluate("planestock.page.variants.map((one) => one.state.values['body.width'])") == ["75", was]


def test_a_browser_comes_in_by_the_page_that_leads_there_and_another_does_not(browser: Browser, tmp_path: Path) -> None:
    shared = Shared(SetsFolder(tmp_path), (), ASLEEP)
    with serving(tmp_path, ASLEEP, shared=shared) as address:
        leading = leading_page(tmp_path / "leading", address.port, shared.door)
        found = watched(browser, offline=False)
        page = found.page
        page.goto(leading.as_uri())
        example(page)
        assert page.url == address, "the key does not stay in the address"
        page.reload()
        until(page, "planestock.page && planestock.page.active")
        assert page.evaluate("document.cookie") == ""
        assert not leading.exists()
        other = watched(browser, offline=False).page
        other.goto(address)
        expect(other.locator("#app")).to_contain_text("The app does not know this browser")
        assert other.evaluate("typeof planestock") == "undefined"
        other.context.close()
        page.context.close()
        assert found.complaints == []
