"""What setuptools is told in pyproject.toml, compared with the tree: an editable install hides omissions."""

from __future__ import annotations

import ast
import importlib.metadata
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("params", "models", "exports")
CARRIED_BY = {
    "OCP": "cadquery", "PIL": "pillow", "pydantic_core": "pydantic", "jsonschema_rs": "schemathesis",
    "skimage": "scikit-image", "starlette": "fastapi", "vtk": "cadquery", "vtkmodules": "cadquery",
}  # fmt: skip
"""Libraries that come with a declared one and must fit it; naming them too could let the two disagree."""
RUN_BY_THE_BUILD = {"exports/package_archives.py", "exports/viewer_build.py"}
"""Modules that setuptools runs; what they import is a build requirement."""


def pyproject() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))


def files(folder: str) -> Iterator[Path]:
    """Every file of a folder that could be shipped, relative to the root."""
    for path in sorted((ROOT / folder).rglob("*")):
        if path.is_file() and "__pycache__" not in path.parts:
            yield path.relative_to(ROOT)


def picked(package: str, pattern: str) -> set[Path]:
    """Files that a package-data pattern picks, relative to the root; it starts from the package's folder."""
    return {path.relative_to(ROOT) for path in folder_of(package).glob(pattern) if path.is_file()}


def folder_of(package: str) -> Path:
    return Path(ROOT, *package.split(".")[1:])


def package_data() -> list[tuple[str, str]]:
    """(package, pattern) for each pattern of package-data."""
    listed = pyproject()["tool"]["setuptools"]["package-data"]
    return [(package, pattern) for package, patterns in listed.items() for pattern in patterns]


def names_of(requirements: list[str]) -> set[str]:
    return {re.split(r"[^\w-]", requirement, maxsplit=1)[0] for requirement in requirements}


def libraries_imported() -> set[tuple[str, str]]:
    """(library, file) for each import in the three folders that is neither ours nor Python's."""
    found = set()
    for path in (path for folder in FOLDERS for path in files(folder) if path.suffix == ".py"):
        for node in ast.walk(ast.parse((ROOT / path).read_text("utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module] if isinstance(node, ast.ImportFrom) and node.module else []
            found |= {(name.split(".")[0], str(path)) for name in names}
    return {(library, path) for library, path in found if library not in {"planestock", *sys.stdlib_module_names}}


def test_packages_lists_every_folder_that_holds_modules() -> None:
    in_tree = {
        "planestock." + ".".join(path.parent.parts) for folder in FOLDERS for path in files(folder) if path.suffix == ".py"
    }
    assert sorted(pyproject()["tool"]["setuptools"]["packages"]) == sorted(in_tree)


def test_every_package_starts_with_an_init_file() -> None:
    for package in pyproject()["tool"]["setuptools"]["packages"]:
        assert (folder_of(package) / "__init__.py").is_file(), package


def test_package_data_covers_every_file_that_is_not_a_module() -> None:
    shipped = set().union(*(picked(package, pattern) for package, pattern in package_data()))
    others = {path for folder in FOLDERS for path in files(folder) if path.suffix != ".py"}
    assert others - shipped == set()


def test_every_package_data_pattern_picks_something() -> None:
    for package, pattern in package_data():
        assert picked(package, pattern), f"{package}: {pattern}"


def test_every_library_imported_is_a_declared_dependency() -> None:
    described = pyproject()
    declared = names_of(described["project"]["dependencies"])
    for_the_build = names_of(described["build-system"]["requires"])
    imported = libraries_imported()
    assert imported, "no library found: the search is broken"
    assert {
        (name, path)
        for name, path in imported
        if CARRIED_BY.get(name, name) not in (for_the_build if path in RUN_BY_THE_BUILD else declared)
    } == set()


@pytest.mark.parametrize("folder", FOLDERS)
def test_the_type_checkers_link_leads_to_the_folder(folder: str) -> None:
    link = ROOT / ".dev" / "planestock" / folder
    assert link.is_symlink()
    assert link.readlink() == Path("..", "..", folder)
    assert link.resolve() == ROOT / folder


@pytest.mark.parametrize("folder", FOLDERS)
def test_the_short_name_is_refused_even_in_the_checkout(folder: str) -> None:
    ran = subprocess.run([sys.executable, "-c", f"import {folder}"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 1
    assert f"ImportError: import this package as planestock.{folder}" in ran.stderr


def test_the_installed_version_is_the_declared_one() -> None:
    assert importlib.metadata.version("planestock") == pyproject()["project"]["version"]


def test_a_built_wheel_carries_the_licence_of_the_library_in_its_viewer(tmp_path: Path) -> None:
    copy = tmp_path / "clone"
    copy.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy)
    for folder in FOLDERS:
        shutil.copytree(ROOT / folder, copy / folder, ignore=shutil.ignore_patterns("__pycache__"))
    source = "import setuptools.build_meta as build; print(build.build_wheel('..'))"
    ran = subprocess.run([sys.executable, "-c", source], cwd=copy, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        licences = {
            name.partition("/licenses/")[2]: wheel.read(name).decode() for name in wheel.namelist() if "/licenses/" in name
        }
        (told,) = (wheel.read(name).decode() for name in wheel.namelist() if name.endswith(".dist-info/METADATA"))
    assert set(licences) == {"LICENSE", "exports/viewer_bundle/LICENSE-three.txt"}
    assert all("Permission is hereby granted, free of charge" in text for text in licences.values())
    assert "three.js authors" in licences["exports/viewer_bundle/LICENSE-three.txt"]
    assert sorted(re.findall(r"^License-File: (.*)$", told, re.MULTILINE)) == sorted(licences)


def clone(place: Path, *, mode: int) -> Path:
    """Copy all that is in the repository, as somebody with another umask has it."""
    place.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE", "DEVELOPERS.md", ".gitignore"):
        shutil.copy(ROOT / name, place)
    for folder in (*FOLDERS, "tests", ".ci", ".readme", ".dev"):
        shutil.copytree(ROOT / folder, place / folder, symlinks=True, ignore=shutil.ignore_patterns("__pycache__"))
    for path in place.rglob("*"):
        if path.is_file() and not path.is_symlink():
            path.chmod(mode | (0o100 if path.parent.name == ".ci" and path.name == "run" else 0))
    return place


def archives(copy: Path, epoch: str) -> dict[str, bytes]:
    source = "import setuptools.build_meta as build; build.build_wheel('made'); build.build_sdist('made')"
    environment = {**os.environ, "SOURCE_DATE_EPOCH": epoch}
    ran = subprocess.run(
        [sys.executable, "-c", source], cwd=copy, capture_output=True, text=True, check=False, env=environment
    )
    assert ran.returncode == 0, ran.stderr
    return {path.name: path.read_bytes() for path in (copy / "made").iterdir()}


def test_wheel_and_source_archive_are_the_same_bytes_for_whoever_builds_them(tmp_path: Path) -> None:
    first = archives(clone(tmp_path / "one", mode=0o644), "1700000000")
    (tmp_path / "elsewhere").mkdir()
    second = archives(clone(tmp_path / "elsewhere" / "two", mode=0o600), "1700000000")
    assert sorted(name.rpartition(".")[2] for name in first) == ["gz", "whl"]
    assert first == second
    for name, content in first.items():
        (tmp_path / name).write_bytes(content)
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        assert wheel.testzip() is None
        assert {entry.date_time for entry in wheel.infolist()} == {(2023, 11, 14, 22, 13, 20)}
    with tarfile.open(next(tmp_path.glob("*.tar.gz"))) as archive:
        assert {(each.mtime, each.uid, each.gid, each.uname) for each in archive.getmembers()} == {(1_700_000_000, 0, 0, "")}
        archive.extractall(tmp_path / "unpacked", filter="tar")
    (unpacked,) = (tmp_path / "unpacked").iterdir()
    lacking = [name for name in listed_files() if not (unpacked / name).exists()]
    assert lacking == []
    assert (unpacked / ".dev" / "planestock" / "params").readlink() == Path("..", "..", "params")
    assert os.access(unpacked / ".ci" / "run", os.X_OK)
    again = archives(unpacked, "1700000000")
    assert [again[name] == content for name, content in first.items() if name.endswith(".whl")] == [True]


def listed_files() -> list[str]:
    """All that belongs to the tree: what a test may need."""
    folders = (*FOLDERS, "tests", ".ci", ".readme", ".dev")
    inside = [path for folder in folders for path in (ROOT / folder).rglob("*") if path.is_file()]
    return [path.relative_to(ROOT).as_posix() for path in inside if "__pycache__" not in path.parts]


def test_every_dependency_has_a_lower_bound() -> None:
    described = pyproject()["project"]
    extras = [requirement for extra in described["optional-dependencies"].values() for requirement in extra]
    assert [each for each in (*described["dependencies"], *extras) if ">=" not in each] == []


def test_the_constraints_hold_every_dependency_to_one_version_that_its_bounds_allow() -> None:
    from packaging.requirements import Requirement

    lines = (ROOT / ".ci" / "constraints.txt").read_text("utf-8").splitlines()
    held = [Requirement(line) for line in lines if not line.startswith("#")]
    versions = {each.name: next(iter(each.specifier)).version for each in held}
    described = pyproject()["project"]
    for requirement in map(Requirement, (*described["dependencies"], *described["optional-dependencies"]["test"])):
        assert requirement.specifier.contains(versions[requirement.name]), requirement


def test_the_namespace_itself_holds_nothing() -> None:
    import planestock

    assert planestock.__file__ is None
    assert not hasattr(planestock, "__version__")
