"""The page that can be mailed, in a real browser and offline: for every reader, on paper, and against hostile texts."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pdfplumber
import pypdfium2
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Playwright

from planestock.exports.files.stamp import stamp_of
from planestock.exports.pages.preview import preview
from planestock.models.design import Design, design
from planestock.params.files import load
from planestock.params.parsing import parameter_set
from tests.support.browser_support import differing, launched, opened, seen, until, watched
from tests.support.full_set import FULL

pytestmark = pytest.mark.browser

HOSTILE = (
    '</script><script>alert(1)</script><img src=x onerror=alert(2)><svg/onload=alert(3)>"\'><a href="javascript:alert(4)">'
)
WIDE: dict[str, Any] = {"viewport": {"width": 1200, "height": 700}}
NARROW: dict[str, Any] = {"viewport": {"width": 390, "height": 780}}
DOUBLED: dict[str, Any] = {"viewport": {"width": 640, "height": 360}, "device_scale_factor": 2}
"""What a window of 1280 by 720 becomes at 200 % zoom."""


def written(path: Path, one: Design) -> Path:
    path.write_bytes(preview(one, stamp_of(one, one.checks)))
    return path


@pytest.fixture(scope="module")
def jack() -> Design:
    return design(load("jack"))


@pytest.fixture(scope="module")
def file(jack: Design, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("page") / "preview.html", jack)


def test_it_opens_offline_asks_for_nothing_and_complains_of_nothing(browser: Browser, file: Path) -> None:
    found = opened(browser, file)
    for button in found.page.get_by_role("group", name="Standard views").get_by_role("button").all():
        button.click()
    assert found.requests == [file.as_uri()]
    assert found.complaints == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("frame", [WIDE, NARROW], ids=["wide", "narrow"])
def test_axe_finds_nothing_serious(browser: Browser, file: Path, scheme: str, frame: dict[str, Any]) -> None:
    page = opened(browser, file, color_scheme=scheme, **frame).page
    page.evaluate("() => document.querySelectorAll('details').forEach(one => { one.open = true; })")
    page.get_by_label("along the body").check()
    found = Axe().run(page).response
    assert found["passes"], "axe checked nothing"
    serious = [
        (one["id"], [node["html"][:120] for node in one["nodes"]])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert serious == []
    page.context.close()


def test_every_control_is_reached_by_the_tab_key_and_has_a_name(browser: Browser, file: Path) -> None:
    page = opened(browser, file, **WIDE).page
    page.get_by_label("along the body").check()
    wanted = page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, summary, .hand')]
        .filter(e => !e.disabled && e.checkVisibility() && (e.type !== 'radio' || e.checked)).length"""
    )
    page.evaluate("() => { document.activeElement.blur(); window.getSelection().removeAllRanges(); window.scrollTo(0, 0); }")
    reached: list[str] = []
    page.locator("h1").click()
    for _ in range(wanted + 5):
        page.keyboard.press("Tab")
        name = page.evaluate(
            """() => { const e = document.activeElement; if (e === document.body) return null;
            return e.getAttribute('aria-label') || [...(e.labels || [])].map(l => l.innerText).join(' ') || e.innerText; }"""
        )
        if name is None:
            break
        reached.append(name)
    assert len(reached) == wanted
    assert all(name.strip() for name in reached)
    page.context.close()


@pytest.mark.parametrize("frame", [NARROW, DOUBLED], ids=["390 px", "200 %"])
def test_nothing_is_cut_off_and_nothing_scrolls_sideways(browser: Browser, file: Path, frame: dict[str, Any]) -> None:
    page = opened(browser, file, **frame).page
    page.evaluate("() => document.querySelectorAll('details').forEach(one => { one.open = true; })")
    width = frame["viewport"]["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    outside = page.evaluate(
        """width => [...document.querySelectorAll('button, select, input, dd, td, p, h1, h2, figcaption, svg.gauge')]
        .filter(e => e.checkVisibility()).map(e => [e, e.getBoundingClientRect()])
        .filter(([, box]) => box.right > width + 0.5 || box.left < -0.5)
        .map(([e]) => e.outerHTML.slice(0, 80))""",
        width,
    )
    assert outside == []
    assert page.locator(".hand").bounding_box()["height"] > 150  # type: ignore[index]
    page.context.close()


def test_the_canvas_says_what_is_seen_with_the_key_numbers(browser: Browser, file: Path, jack: Design) -> None:
    page = opened(browser, file).page
    told = page.get_by_role("img", name="A transitional plane").get_attribute("aria-label") or ""
    window = jack.settled.window
    assert f"thickness {jack.settled.thickness:.2f} mm in a window from {window.low:.2f} to {window.high:.2f} mm" in told
    assert "Seen from the left of the toe and above." in told
    page.get_by_role("button", name="Sole").click()
    until(page, "document.querySelector('canvas[role=img]').getAttribute('aria-label').includes('Seen from below.')")
    page.context.close()


def test_light_and_dark_follow_the_system_until_one_is_chosen(browser: Browser, file: Path) -> None:
    page = opened(browser, file, color_scheme="light").page
    light = seen(page)
    page.emulate_media(color_scheme="dark")
    until(page, "planestock.viewer.theme === 'dark'")
    dark = seen(page)
    assert light.mean() > 150
    assert dark.mean() < 90
    page.get_by_label("Light").select_option("light")
    assert page.evaluate("planestock.viewer.theme") == "light"
    assert differing(seen(page)[150:], light[150:]) < 0.01
    page.context.close()


def test_on_paper_stand_the_drawing_the_numbers_and_no_controls(browser: Browser, file: Path, jack: Design) -> None:
    page = opened(browser, file, color_scheme="dark").page
    page.evaluate("() => planestock.viewer.setCut({ axis: 'y', at: 0 })")
    screen = page.evaluate("planestock.viewer.canvas.width")
    paper = page.pdf(format="A4", print_background=False)
    with pdfplumber.open(io.BytesIO(paper)) as document:
        text = " ".join(page.extract_text() for page in document.pages)
        first = document.pages[0].extract_text()
        assert 2 <= len(document.pages) <= 6
    assert f"{jack.settled.thickness:.2f} mm" in first
    assert "Cut open along the body at the mid-plane" in first.replace("\n", " ")
    assert all(row.asked.split(" (")[0][:30] in text for row in jack.checks)
    assert "Take apart" not in text
    sheet = np.asarray(pypdfium2.PdfDocument(paper)[0].render(scale=1).to_pil().convert("RGB")).astype(int)
    drawing = sheet[80:400]
    inked = (drawing.min(axis=2) < 235).mean()
    coloured = (drawing.max(axis=2) - drawing.min(axis=2) > 30).mean()
    assert 0.05 < inked < 0.6, "the drawing is missing, or a block of ink"
    assert coloured > 0.02
    assert sheet[0, 0].tolist() == [255, 255, 255]
    assert page.evaluate("planestock.viewer.canvas.width") == screen
    page.context.close()


def test_the_picture_is_saved_as_a_png(browser: Browser, file: Path) -> None:
    page = opened(browser, file, accept_downloads=True).page
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save this picture").click()
    assert waiting.value.suggested_filename == "preview.png"
    assert Path(waiting.value.path()).read_bytes().startswith(b"\x89PNG")
    page.context.close()


def test_no_html_from_a_sets_texts_runs(browser: Browser, tmp_path: Path) -> None:
    one = design(parameter_set({**FULL, "name": HOSTILE, "note": HOSTILE}))
    found = opened(browser, written(tmp_path / "preview.html", one))
    found.page.get_by_label("along the body").check()
    found.page.wait_for_timeout(300)
    assert found.complaints == []
    assert found.page.locator("h1").inner_text() == HOSTILE
    assert found.page.locator("img, a").count() == 0
    assert found.requests == [found.page.url]
    found.page.context.close()


def without_drawing(page: Page, jack: Design) -> None:
    assert f"{jack.settled.thickness:.2f} mm" in page.locator(".numbers").inner_text()
    assert page.locator("table.checks tbody tr").count() == len(jack.checks)
    assert page.locator(".values").is_visible()


def test_without_webgl_a_message_stands_there_and_the_numbers_are_readable(
    playing: Playwright, file: Path, jack: Design
) -> None:
    with launched(playing, webgl=False) as plain:
        found = watched(plain)
        found.page.goto(file.as_uri())
        message = found.page.get_by_role("alert")
        message.wait_for()
        assert "could not draw the plane" in message.inner_text()
        assert found.page.locator("canvas").count() == 0
        assert found.complaints == []
        without_drawing(found.page, jack)


def test_without_scripts_the_page_says_so_and_the_numbers_are_readable(browser: Browser, file: Path, jack: Design) -> None:
    found = watched(browser, java_script_enabled=False)
    found.page.goto(file.as_uri())
    assert found.page.get_by_text("The drawing needs JavaScript").is_visible()
    without_drawing(found.page, jack)
    found.page.context.close()
