"""Small drawings that ask for much: each is read or refused in a few seconds and within a gigabyte."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

pytest.importorskip("resource", reason="what a process took is only told where there is resource")

from tests.support.hostile_files import DXF, SVG, THAT_ARE_READ, spent, written_into

LIBRARIES = ("svgelements", "ezdxf.recover", "shapely", "planestock.params.traced.cleaning")
PICTURES = ("skimage.filters", "skimage.measure", "shapely", "planestock.params.traced.from_photograph")


@pytest.mark.parametrize("files", [SVG, DXF], ids=["SVG", "DXF"])
def test_every_drawing_is_read_or_refused_within_the_limits(files: dict[str, bytes], tmp_path: Path) -> None:
    commands = [["trace", name] for name in written_into(tmp_path, files)]
    took = dict(zip(files, spent(commands, tmp_path, LIBRARIES), strict=True))
    wrong = {name: one for name, one in took.items() if not (one.is_cheap and one.is_clear)}
    assert not wrong
    assert {name for name, one in took.items() if one.code == 0} == THAT_ARE_READ & set(files)


def test_a_picture_of_noise_or_of_a_comb_is_refused_within_the_limits(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).integers(0, 2, (3000, 4000), dtype=np.uint8) * 255
    comb = np.full((3000, 4000), 240, np.uint8)
    comb[100:2900:4, 100:3900] = comb[100:2900, 100:104] = 20
    for name, shades in (("noise.png", noise), ("comb.png", comb)):
        Image.fromarray(shades).save(tmp_path / name)
    commands = [["trace", name, "--scale", "0,0 1000,0 100 mm"] for name in ("noise.png", "comb.png")]
    took = spent(commands, tmp_path, PICTURES)
    assert not [one for one in took if not (one.is_cheap and one.is_clear and one.code == 2)]


@pytest.mark.long
@pytest.mark.parametrize(("width", "height"), [(4000, 3000), (7900, 5000)])
def test_a_large_picture_of_a_casting_is_traced_within_the_limits(width: int, height: int, tmp_path: Path) -> None:
    shades = np.full((height, width), 240, np.uint8)
    shades[height // 4 : height * 3 // 4, width // 8 : width * 7 // 8] = 30
    Image.fromarray(shades).save(tmp_path / "casting.png")
    (took,) = spent([["trace", "casting.png", "--scale", "0,0 1000,0 100 mm"]], tmp_path, PICTURES)
    assert (took.code, took.is_cheap, took.is_clear) == (0, True, True), took
