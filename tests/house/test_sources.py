"""Where figures come from: limits and defaults name a source or say whose choice they are; no site is one."""

from __future__ import annotations

import ast
import math
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from planestock.params import wanted
from planestock.params.catalogue import declared
from planestock.params.fields import Group
from planestock.params.files import load, shipped
from planestock.params.reading import Reading

ROOT = Path(__file__).resolve().parents[2]

MARK = re.compile(
    r"our own choice|common practice|no published source|from memory|as quoted|Wood Handbook|kernel"
    r"|\b(ISO|IEC|JCGM|ASME|NDS|IARC)\b"
)
"""A source, or whose figure it is; a limit that the kernel sets is one of the kernel."""

NUMERICAL = re.compile(r"SAGITTA|SAMPLES|STEP|NOISE|CHORDS|TOUCHING|ROUNDED|COLUMNS|WIDTH$|TIDY|HAIR|FLAT|NEAR")
"""Names of constants that only say how finely something is worked out."""

MODULES = (
    "models/checks/wood.py", "models/checks/reach.py", "models/checks/refusals.py", "models/bench/glue_up.py",
    "models/salvage/judging.py", "exports/wording/salvage.py", "models/prints/dowel_guide.py",
    "models/prints/drill_guide.py", "models/prints/gauges.py", "models/prints/jigs.py", "models/prints/overhang.py",
    "models/prints/paring_blocks.py", "models/prints/pegs.py", "models/prints/splitting.py",
    "models/prints/thin_walls.py", "exports/drawing/model.py", "exports/paper/boards.py", "exports/paper/tiles.py",
    "exports/prints/listing.py",
)  # fmt: skip
"""Modules with limits and sizes that a maker relies on."""

SITE = re.compile(r"\b[\w-]+\.(com|de|org|net|uk|fr|eu|gov)\b")

NAMES_OF_LANGUAGES = re.compile(
    r"https?://(www\.w3\.org|schemas\.(microsoft|openxmlformats)\.(com|org)|json-schema\.org|example\.(org|com))"
)
"""Addresses that a file format is told by, and those kept for examples (RFC 2606); nobody goes there."""


def constants(path: Path) -> Iterator[tuple[str, str]]:
    """Each module-level constant with a number in it, by name, with the text that explains it."""
    body = ast.parse(path.read_text("utf-8")).body
    for at, node in enumerate(body):
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        name = ast.unparse(node.targets[0] if isinstance(node, ast.Assign) else node.target)
        numbers = [
            one for one in ast.walk(node.value) if isinstance(one, ast.Constant) and isinstance(one.value, int | float)
        ]
        following = body[at + 1] if at + 1 < len(body) else None
        told = following.value if isinstance(following, ast.Expr) else None
        if numbers and name.strip("()").split(",")[0].isupper():
            yield name, str(told.value) if isinstance(told, ast.Constant) else ""


@pytest.mark.parametrize("module", MODULES)
def test_every_limit_that_a_maker_relies_on_says_where_it_comes_from(module: str) -> None:
    path = ROOT / module
    whole = MARK.search(ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "")
    found = list(constants(path))
    assert found, "no constant found: the search is broken"
    assert [name for name, told in found if not (whole or MARK.search(told) or NUMERICAL.search(name))] == []


def has_defaults(group: type[Group]) -> bool:
    return any(isinstance(field.default, int | float | Reading) for field in group.model_fields.values())


def groups() -> list[type[Group]]:
    every = [one for one in vars(wanted).values() if isinstance(one, type) and issubclass(one, Group) and one is not Group]
    return [one for one in every if has_defaults(one)]


@pytest.mark.parametrize("group", groups(), ids=lambda group: group.__name__)
def test_every_group_with_defaults_says_whose_they_are(group: type[Group]) -> None:
    assert re.search(r"[Dd]efaults are (our own choice|common practice)", group.__doc__ or "")


def text_files() -> list[str]:
    if (ROOT / ".git").exists():
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
        names = listed.split("\0")
    else:  # Unpacked from the source archive.
        folders = [ROOT / name for name in ("params", "models", "exports", "tests")]
        inside = [path for folder in folders for path in folder.rglob("*") if path.is_file()]
        names = [path.relative_to(ROOT).as_posix() for path in (*ROOT.glob("*.*"), *inside)]
    return [name for name in names if name and Path(name).suffix in {".py", ".md", ".toml", ".js", ".css"}]


def test_no_site_is_named_as_a_source() -> None:
    found = [
        f"{name}:{number}: {site[0]}"
        for name in text_files()
        for number, line in enumerate((ROOT / name).read_text("utf-8").splitlines(), start=1)
        for site in SITE.finditer(NAMES_OF_LANGUAGES.sub("", line))
    ]
    assert found == []


# ISO 273:1979, clearance holes for bolts, mm: fine (H12), medium (H13), coarse (H14); read in several agreeing tables
CLEARANCE_HOLES = {"M4": (4.3, 4.5, 4.8), "M5": (5.3, 5.5, 5.8), "M6": (6.4, 6.6, 7.0), "M8": (8.4, 9.0, 10.0)}

# ISO 286-1:2010, IT12 in mm by the step of nominal sizes, as quoted: 160 i, i = 0.45 D^(1/3) + 0.001 D µm, D the geometric
# mean of the step, then rounded
IT12 = {(6, 10): 0.150, (10, 18): 0.180, (18, 30): 0.210, (30, 50): 0.250}


@pytest.mark.parametrize("path", ["tote.bolt_diameter", "knob.bolt_diameter"])
def test_the_bolts_fields_name_the_clearance_holes_of_iso_273(path: str) -> None:
    field = declared(path)
    assert field is not None
    fine, medium, coarse = re.findall(r"\d\.\d|\b7\b", (field.description or "").partition("has")[2])
    assert (float(fine), float(medium), float(coarse)) == CLEARANCE_HOLES["M6"]


@pytest.mark.parametrize("name", sorted(shipped()))
def test_every_shipped_bolt_hole_clears_a_bolt_that_is_sold(name: str) -> None:
    given = load(name)
    # ASME B18.6.1 by number (0.060 + 0.013 N in) and 1/4 in beside the metric sizes
    sold = [5.0, 6.0, 8.0, *(25.4 * (0.060 + 0.013 * number) for number in (8, 10, 12)), 6.35]
    for holder in (given.tote, given.knob):
        if holder is not None:
            hole = holder.bolt_diameter.value
            room = min(hole - size for size in sold if size <= hole + 1e-9)
            assert -1e-9 <= room <= CLEARANCE_HOLES["M6"][2] - 6.0


def test_the_dowels_field_names_the_tolerance_of_iso_286() -> None:
    for (low, high), printed in IT12.items():
        middle = math.sqrt(low * high)
        assert 160 * (0.45 * middle ** (1 / 3) + 0.001 * middle) / 1000 == pytest.approx(printed, abs=0.007)
    field = declared("body.dowels.diameter")
    assert field is not None
    (told,) = re.findall(r"up to (\d\.\d+) mm wider at 8 mm", field.description or "")
    assert float(told) == IT12[6, 10]
