"""Small sets that ask for much: each is refused in a few seconds and within a gigabyte."""

from __future__ import annotations

from pathlib import Path

import pytest

pytest.importorskip("resource", reason="what a process took is only told where there is resource")

from planestock.params.files import shipped
from planestock.params.toml_bounds import too_much
from tests.support.hostile_files import CHANGES, SETS, spent, written_into


def test_every_set_is_refused_within_the_limits(tmp_path: Path) -> None:
    names = written_into(tmp_path, SETS)
    took = dict(zip(names, spent([["check", "--numbers", name] for name in names], tmp_path), strict=True))
    assert not {name: one for name, one in took.items() if not (one.is_cheap and one.is_clear and one.code == 2)}


def test_every_change_is_refused_within_the_limits(tmp_path: Path) -> None:
    commands = [["check", "jack", "--numbers", "--set", change] for change in CHANGES.values()]
    took = dict(zip(CHANGES, spent(commands, tmp_path), strict=True))
    assert not {name: one for name, one in took.items() if not (one.is_cheap and one.is_clear and one.code == 2)}


def test_texts_and_comments_may_hold_dots_brackets_and_commas() -> None:
    held = "a.b, [{" * 9_000
    assert (
        too_much(f'# {held}\na = \'{held}\'\nb = "{held}\\"{held}"\nc = """\n{held}"\n"""\nd = \'\'\'{held}\'\'\'\n') is None
    )
    assert all(too_much(text) is None for text in shipped().values())
