"""Small scans that ask for much: each is read or refused in a few seconds and within a gigabyte."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

pytest.importorskip("resource", reason="what a process took is only told where there is resource")

from tests.support.hostile_files import LARGE_SCANS, SCANS, spent, written_into

BEFOREHAND = ("planestock.exports.fit_files", "planestock.models.scan.fit")


def require_refused(files: Mapping[str, bytes], folder: Path) -> None:
    names = written_into(folder, files)
    took = dict(zip(names, spent([["fit", "jack", "--scan", name] for name in names], folder, BEFOREHAND), strict=True))
    assert not {name: one for name, one in took.items() if not (one.is_cheap and one.is_clear and one.code == 2)}


def test_every_scan_is_refused_within_the_limits(tmp_path: Path) -> None:
    require_refused(SCANS, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("name", LARGE_SCANS)
def test_every_large_scan_is_refused_within_the_limits(name: str, tmp_path: Path) -> None:
    require_refused({name: LARGE_SCANS[name]()}, tmp_path)
