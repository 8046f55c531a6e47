"""The picture: drawn in a process of its own, so that a machine that cannot draw is told so and nothing worse."""

from __future__ import annotations

import signal
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from planestock.exports.command_line import main
from planestock.exports.files import picture, picture_drawing
from planestock.exports.kernel_process import Unavailable
from planestock.params.files import plainly
from tests.support.full_set import full_design, plain


@pytest.fixture
def block(tmp_path: Path) -> Path:
    """A file with the plain block."""
    path = tmp_path / "block.toml"
    path.write_text(plainly(plain()), "utf-8")
    return path


def test_a_picture_shows_wood_and_metal_on_white(block: Path, tmp_path: Path) -> None:
    """Read back by Pillow: the size, white corners, and enough pixels as brown as wood and as grey as metal."""
    assert main(["picture", str(block), "-o", str(tmp_path / "block.png"), "--exploded"]) == 0
    with Image.open(tmp_path / "block.png") as image:
        assert (image.format, image.size) == ("PNG", (picture_drawing.WIDTH, picture_drawing.HEIGHT))
        pixels = np.asarray(image.convert("RGB")).astype(int)
    assert all((pixels[row, column] == 255).all() for row in (0, -1) for column in (0, -1))
    spread = pixels.max(axis=2) - pixels.min(axis=2)
    ink = pixels.min(axis=2) < 250
    assert 0.15 < ink.mean() < 0.7
    assert ((spread > 40) & (pixels[:, :, 0] > pixels[:, :, 2]) & ink).mean() > 0.05
    assert ((spread < 30) & ink).mean() > 0.02


def test_exploded_parts_share_no_box_with_the_halves() -> None:
    made = full_design("body.slip=5")
    at = made.layout
    boxes = {
        part.name: (part.mesh.vertices.min(axis=0) + moved, part.mesh.vertices.max(axis=0) + moved)
        for part in made.assembly.parts
        for moved in [picture.offset(part, at)]
    }
    for name, (low, high) in boxes.items():
        for half in {"right half", "left half"} - {name}:
            other_low, other_high = boxes[half]
            assert ((low >= other_high) | (high <= other_low)).any(), (name, half)


def test_a_drawing_process_that_dies_is_told_with_what_to_install(
    block: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def died(*_: object, **__: object) -> subprocess.CompletedProcess[bytes]:
        return subprocess.CompletedProcess([], -signal.SIGSEGV, b"", b"")

    monkeypatch.setattr("planestock.exports.files.picture.subprocess.run", died)
    assert main(["picture", str(block), "-o", str(tmp_path / "block.png")]) == 3
    assert capsys.readouterr().err == f"planestock: {picture.WHAT_TO_INSTALL}\n"
    assert not (tmp_path / "block.png").exists()


def test_a_drawing_process_that_fails_in_python_tells_its_reason() -> None:
    with pytest.raises(RuntimeError, match="drawing the picture failed: "):
        picture.drawn(b"no archive")


def test_a_drawing_that_takes_for_ever_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    def slow(*_: object, **__: object) -> None:
        raise subprocess.TimeoutExpired([], 1)

    monkeypatch.setattr("planestock.exports.files.picture.subprocess.run", slow)
    with pytest.raises(Unavailable, match="was not drawn within"):
        picture.drawn(b"")
