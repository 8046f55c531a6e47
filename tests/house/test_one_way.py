"""Dependencies run params -> models -> exports, and the numbers come without CAD.

lint-imports (see test_house.py) reads imports in the source, late ones too. Here a fresh interpreter shows
what really gets loaded, and planted offences show that each contract in pyproject.toml can fail.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SLOW = ("OCP", "cadquery", "manifold3d", "scipy", "trimesh", "vtkmodules")
"""Libraries that take a tenth of a second or more; `--help` and `check --numbers` must not wait for them."""
FUTURE = "from __future__ import annotations\n"
SIDES = ("one-way", "cad-part", "numbers-without-cad")
"""Contracts that hold on any tree; those of the floors name every room."""
REPORT = """
import importlib, json, sys
loaded, slow = {}, json.loads(sys.argv[2])
for name in json.loads(sys.argv[1]):
    importlib.import_module(name)
    loaded[name] = [library for library in slow if library in sys.modules]
print(json.dumps(loaded))
"""


def contracts() -> dict[str, dict[str, list[str]]]:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    return {contract["id"]: contract for contract in settings["contracts"]}


def cad_part() -> list[str]:
    return contracts()["cad-part"]["protected_modules"]


def importer(line: str) -> str:
    """The importing side of an exempted import; a package is written with all that is in it."""
    return line.split(" -> ", maxsplit=1)[0].removesuffix(".**")


def modules(folder: str) -> list[str]:
    """Full names of a folder's modules and packages, from the tree."""
    paths = sorted((ROOT / folder).rglob("*.py"))
    dotted = [path.relative_to(ROOT).with_suffix("").parts for path in paths]
    return [".".join(["planestock", *(part for part in parts if part != "__init__")]) for parts in dotted]


def somewhere_in(name: str) -> str:
    """A module's own name, or that of a module in it where it is a package."""
    return f"{name}.inside" if (ROOT / Path(*name.split(".")[1:])).is_dir() else name


def numeric_modules() -> list[str]:
    """Every module of params, and of models all but its CAD part."""
    cad = cad_part()
    numeric = [name for name in modules("models") if not any(f"{name}.".startswith(f"{part}.") for part in cad)]
    return modules("params") + numeric


def slow_libraries_after_importing(names: list[str]) -> dict[str, list[str]]:
    """Import the modules in turn in one fresh interpreter; for each, the slow libraries loaded by then."""
    command = [sys.executable, "-c", REPORT, json.dumps(names), json.dumps(SLOW)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    loaded: dict[str, list[str]] = json.loads(ran.stdout)
    return loaded


def lint_imports(tree: Path, held: Sequence[str]) -> subprocess.CompletedProcess[str]:
    """Run some contracts of pyproject.toml on a tree of our packages that stands somewhere else."""
    (tree / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text("utf-8"), "utf-8")
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-logo", "--no-cache"]
    command += [part for name in held for part in ("--contract", name)]
    environment = {**os.environ, "PYTHONPATH": str(tree)}
    return subprocess.run(command, cwd=tree, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture
def clean_tree(tmp_path: Path) -> Path:
    """The three packages in miniature: the CAD part imports CAD, and design imports that part late."""
    written = {f"planestock.{folder}.__init__": "" for folder in ("params", "models", "exports")}
    written |= dict.fromkeys(map(somewhere_in, cad_part()), "import cadquery\nimport planestock.models.sample\n")
    written["planestock.models.design"] = "def build():\n    import planestock.models.solids.wood\n"
    written["planestock.models.sample"] = "import planestock.params.sample\n"
    written |= {"planestock.params.sample": "", "planestock.exports.sample": ""}
    written |= {f"{name.removesuffix('.inside')}.__init__": "" for name in list(written) if name.endswith(".inside")}
    for name, text in written.items():
        path = tmp_path.joinpath(*name.split(".")).with_suffix(".py")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return tmp_path


def test_importing_the_numbers_loads_no_slow_library() -> None:
    names = numeric_modules()
    assert "planestock.params.problems" in names
    assert any(name.startswith("planestock.models.") for name in names)
    loaded = slow_libraries_after_importing(names)
    assert list(loaded) == names
    assert {name: libraries for name, libraries in loaded.items() if libraries} == {}


@pytest.mark.parametrize("name", ["planestock.models.design", "planestock.exports.command_line"])
def test_the_front_modules_alone_load_no_slow_library(name: str) -> None:
    if name not in modules(name.split(".")[1]):
        pytest.skip(f"{name} does not exist yet")
    assert slow_libraries_after_importing([name]) == {name: []}


def test_the_fresh_interpreter_does_notice_a_slow_library() -> None:
    assert slow_libraries_after_importing(["json", "trimesh"])["trimesh"] != []


def test_the_cad_part_is_the_same_list_in_both_contracts() -> None:
    exempt = [importer(line) for line in contracts()["numbers-without-cad"]["ignore_imports"]]
    allowed = contracts()["cad-part"]["allowed_importers"]
    assert sorted(exempt) == sorted(["planestock.models.design", *cad_part()])
    assert sorted(allowed) == sorted(["planestock.exports", "planestock.models.design", *cad_part()])


def test_the_contracts_hold_on_a_clean_tree(clean_tree: Path) -> None:
    ran = lint_imports(clean_tree, SIDES)
    assert ran.returncode == 0, ran.stdout + ran.stderr


@pytest.mark.parametrize(
    ("module", "offence"),
    [
        ("params/sample.py", "import planestock.models.sample"),
        ("params/sample.py", "import planestock.exports.sample"),
        ("models/sample.py", "import planestock.exports.sample"),
        ("params/sample.py", "def late():\n    import cadquery"),
        ("models/sample.py", "def late():\n    import trimesh.util"),
        ("models/sample.py", "from OCP.gp import gp_Trsf"),
        ("models/sample.py", "from planestock.models.solids import kernel"),
        ("models/design.py", "def late():\n    import cadquery"),
    ],
)
def test_a_planted_offence_is_found(clean_tree: Path, module: str, offence: str) -> None:
    path = clean_tree / "planestock" / module
    path.write_text(path.read_text("utf-8") + offence + "\n", "utf-8")
    ran = lint_imports(clean_tree, SIDES)
    assert ran.returncode == 1, ran.stdout + ran.stderr
    offender = "planestock." + module.removesuffix(".py").replace("/", ".")
    assert f"{offender} -> " in ran.stdout


@pytest.fixture(scope="module")
def copy_of_the_tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    tree = tmp_path_factory.mktemp("tree")
    for folder in ("params", "models", "exports"):
        shutil.copytree(ROOT / folder, tree / "planestock" / folder, ignore=shutil.ignore_patterns("viewer*", "__pycache__"))
    (tree / "planestock" / "exports" / "viewer_build.py").write_text("", "utf-8")
    return tree


@pytest.mark.parametrize(
    ("floors", "module", "offence"),
    [
        ("floors-of-params", "params/reading.py", "def late():\n    import planestock.params.catalogue"),
        ("floors-of-models", "models/window/reach.py", "import planestock.models.body.layout"),
        ("floors-of-models", "models/salvage/repairs.py", "import planestock.models.variants.compare"),
        ("floors-of-exports", "exports/wording/inch.py", "if TYPE_CHECKING:\n    import planestock.exports.files.stamp"),
        ("floors-of-exports", "exports/new_room.py", ""),
    ],
)
def test_an_import_that_runs_up_or_beside_is_found(copy_of_the_tree: Path, floors: str, module: str, offence: str) -> None:
    path = copy_of_the_tree / "planestock" / module
    before = path.read_text("utf-8") if path.exists() else None
    try:
        path.write_text(f"from typing import TYPE_CHECKING\n{before or ''}\n{offence}\n".replace(FUTURE, ""), "utf-8")
        ran = lint_imports(copy_of_the_tree, [floors])
    finally:
        path.unlink() if before is None else path.write_text(before, "utf-8")
    assert ran.returncode == 1, ran.stdout + ran.stderr
    assert "BROKEN" in ran.stdout
    assert "planestock." + module.removesuffix(".py").replace("/", ".") in ran.stdout
