"""One command draws the README's pictures, all of them and no other."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from PIL import Image

from tests.support import take_pictures

ROOT = Path(__file__).resolve().parents[2]


def test_the_readme_shows_the_pictures_that_are_made_and_no_other() -> None:
    shown = re.findall(r"!\[[^\]]+\]\(\.readme/([^)]+)\)", (ROOT / "README.md").read_text("utf-8"))
    kept = [path.name for path in (ROOT / ".readme").iterdir()]
    assert sorted(shown) == sorted(kept) == sorted(take_pictures.NAMES)


@pytest.mark.long
@pytest.mark.browser
def test_one_command_draws_every_picture_of_the_readme(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["take_pictures", str(tmp_path)])
    take_pictures.main()
    for name in take_pictures.NAMES:
        with Image.open(tmp_path / name) as drawn, Image.open(ROOT / ".readme" / name) as kept:
            assert drawn.width == kept.width
            assert len(drawn.convert("L").getcolors(256) or ()) > 10, f"{name} is all of one colour"
