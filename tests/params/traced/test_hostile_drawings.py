"""Small drawings that ask for much: each is read or refused in a few seconds and within a gigabyte."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("resource", reason="what a process took is only told where there is resource")

from tests.support.hostile_files import DXF, SVG, THAT_ARE_READ, spent, written_into

LIBRARIES = ("svgelements", "ezdxf.recover", "shapely", "planestock.params.traced.cleaning")


@pytest.mark.parametrize("files", [SVG, DXF], ids=["SVG", "DXF"])
def test_every_drawing_is_read_or_refused_within_the_limits(files: dict[str, bytes], tmp_path: Path) -> None:
    commands = [["trace", name] for name in written_into(tmp_path, files)]
    took = dict(zip(files, spent(commands, tmp_path, LIBRARIES), strict=True))
    wrong = {name: one for name, one in took.items() if not (one.is_cheap and one.is_clear)}
    assert not wrong
    assert {name for name, one in took.items() if one.code == 0} == THAT_ARE_READ & set(files)
