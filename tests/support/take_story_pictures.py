"""The pictures of the README's second story, for tests/support/take_pictures.py.

Its own commands run in a folder that is thrown away, and what they draw is kept: traced.jpg (what was found in the
photograph), prints.png (seat gauge and drill guide), fit.png (the fit's page), setup-sheet.png.
"""

from __future__ import annotations

import contextlib
import io
import shlex
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageChops, ImageOps

from planestock.exports import command_line
from tests.house.test_story import STORIES, story
from tests.support.browser_support import driver, launched, opened

WIDTH = 1100
"""Of every picture, pixels: as wide as a README is shown."""

PIECES = ("seat-gauge", "drill-guide")


def take(folder: Path) -> None:
    """Run the story and take its pictures into a folder that is there."""
    with tempfile.TemporaryDirectory() as place, contextlib.chdir(place):
        for command, (_, _, maker) in zip(story("metal").commands, STORIES["metal"], strict=True):
            if maker is not None:
                maker()
            run(shlex.split(command)[1:])
        kept(Image.open("casting-outline.png"), folder / "traced.jpg")
        _prints(folder / "prints.png")
        _page(Path("waisted/fit/fit.html").resolve(), folder / "fit.png")
        _sheet(Path("waisted/made/cnc/setup-sheet.pdf"), folder / "setup-sheet.png")


def run(arguments: list[str]) -> None:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        command_line.main(arguments)


def kept(picture: Image.Image, path: Path) -> None:
    """Save a picture as wide as all are; a photograph as JPEG, as its noise makes a PNG of it large."""
    height = round(picture.height * WIDTH / picture.width)
    small = picture.convert("RGB").resize((WIDTH, height), Image.Resampling.LANCZOS)
    if path.suffix == ".png":
        small = small.quantize(256, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    small.save(path, optimize=True, quality=82)


def _prints(path: Path) -> None:
    for name in PIECES:
        run(["picture", "waisted/set.toml", "--of", name, "-o", f"{name}.png"])
    pictures = [trimmed(Image.open(f"{name}.png").convert("RGB")) for name in PIECES]
    height = min(picture.height for picture in pictures)
    scaled = [one.resize((round(one.width * height / one.height), height), Image.Resampling.LANCZOS) for one in pictures]
    side = Image.new("RGB", (sum(one.width for one in scaled) + 40, height), "white")
    left = 0
    for one in scaled:
        side.paste(one, (left, 0))
        left += one.width + 40
    kept(side, path)


def trimmed(picture: Image.Image) -> Image.Image:
    box = ImageChops.difference(picture, Image.new("RGB", picture.size, "white")).getbbox()
    return picture.crop(box)


def _page(page: Path, path: Path) -> None:
    with driver() as playing, launched(playing) as browser:
        found = opened(browser, page, viewport={"width": 1280, "height": 820})
        found.page.wait_for_timeout(500)
        shot = found.page.screenshot()
    kept(Image.open(io.BytesIO(shot)), path)


def _sheet(sheet: Path, path: Path) -> None:
    page = trimmed(pypdfium2.PdfDocument(sheet)[0].render(scale=2.2).to_pil().convert("RGB"))
    kept(ImageOps.expand(page, 20, "white"), path)
