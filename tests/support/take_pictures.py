"""Takes all of the README's pictures: python -m tests.support.take_pictures [FOLDER], without FOLDER into .readme

They are drawn by software, pages in headless Chromium: the jack taken apart, its shop sheet (cover, order of work, a
template), the app in the light and, with two variants side by side, in the dark, and those of the second story.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageOps
from playwright.sync_api import Browser, Page

from tests.support.app_support import Address, served
from tests.support.browser_support import driver, launched, until, watched
from tests.support.take_story_pictures import run, take

DRAWN = "planestock.viewers.length >= {0} && planestock.viewers.every((viewer) => viewer.frames > 0)"
CHECKED = "planestock.page.variants.every(({ state }) => state.solid_rows)"
WIDE = {"width": 1440, "height": 900}
SHEET = 400
"""Width of one page of the shop sheet, pixels."""

README = Path(__file__).resolve().parents[2] / ".readme"
NAMES = ("jack.png", "shop-sheet.png", "app.png", "app-dark.png", "traced.jpg", "prints.png", "fit.png", "setup-sheet.png")


def main() -> None:
    """Take all pictures into the folder that is named, or into the README's."""
    folder = Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else README
    folder.mkdir(parents=True, exist_ok=True)
    run(["picture", "jack", "--exploded", "-o", str(folder / "jack.png")])
    with tempfile.TemporaryDirectory() as place:
        run(["build", "jack", "-o", f"{place}/jack"])
        _sheet(Path(place) / "jack" / "shop-sheet.pdf", folder / "shop-sheet.png")
        sets = Path(place) / "sets"
        sets.mkdir()
        with served(sets, "jack") as address, driver() as playing, launched(playing) as browser:
            _light(_page(browser, address, "light", WIDE), folder / "app.png")
            _side_by_side(_page(browser, address, "dark", WIDE), folder / "app-dark.png")
    take(folder)


def _sheet(sheet: Path, path: Path) -> None:
    """Save cover, order of work and first template side by side."""
    document = pypdfium2.PdfDocument(sheet)
    template = next(at for at, page in enumerate(document) if "Sheet 1 of" in page.get_textpage().get_text_bounded())
    pages = [document[at].render(scale=2).to_pil().convert("RGB") for at in (0, 1, template)]
    small = [page.resize((SHEET, round(SHEET * page.height / page.width)), Image.Resampling.LANCZOS) for page in pages]
    framed = [ImageOps.expand(page, 1, "#999999") for page in small]
    side = Image.new("RGB", (sum(page.width + 12 for page in framed) - 12, framed[0].height), "white")
    left = 0
    for page in framed:
        side.paste(page, (left, 0))
        left += page.width + 12
    side.convert("L").save(path, optimize=True)


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
