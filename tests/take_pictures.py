"""Takes the README's pictures of the app: python -m tests.take_pictures FOLDER

Writes app-light.png, app-dark.png (two variants side by side, cut open) and app-narrow.png, drawn by software in headless
Chromium from the shipped jack.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.app_support import Address, served
from tests.browser_support import driver, launched, until, watched

DRAWN = "planestock.viewers.length >= {0} && planestock.viewers.every((viewer) => viewer.frames > 0)"
CHECKED = "planestock.page.variants.every(({ state }) => state.solid_rows)"
WIDE, NARROW = {"width": 1440, "height": 900}, {"width": 390, "height": 844}


def main() -> None:
    """Take all pictures into the folder that is named."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        sets = Path(place) / "sets"
        sets.mkdir()
        with served(sets, "jack") as address, driver() as playing, launched(playing) as browser:
            _light(_page(browser, address, "light", WIDE), folder / "app-light.png")
            _side_by_side(_page(browser, address, "dark", WIDE), folder / "app-dark.png")
            _page(browser, address, "light", NARROW).screenshot(path=folder / "app-narrow.png")


def _page(browser: Browser, address: Address, scheme: str, size: dict[str, int]) -> Page:
    page = watched(browser, offline=False, color_scheme=scheme, viewport=size).page
    address.visited(page)
    until(page, DRAWN.format(1))
    until(page, CHECKED)
    return page


def _light(page: Page, path: Path) -> None:
    page.evaluate("planestock.page.form.go('frog.bed_angle')")
    page.wait_for_timeout(500)
    page.screenshot(path=path)


def _side_by_side(page: Page, path: Path) -> None:
    page.click("#another")
    until(page, DRAWN.format(2))
    page.evaluate("planestock.page.form.go('iron.thickness')")
    page.fill('[id="field-iron.thickness"]', "3.2 ± 0.02 mm")
    page.get_by_label("along the body").check()
    until(page, CHECKED)
    page.wait_for_timeout(500)
    page.screenshot(path=path)


if __name__ == "__main__":
    main()
