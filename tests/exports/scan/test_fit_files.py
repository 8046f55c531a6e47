"""What `fit` writes: the same bytes each time, stamped, read back by other readers, and a page that shows what it should."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from playwright.sync_api import Browser

from planestock.exports.commands.fit import _factor
from planestock.exports.files.stamp import Stamp, stamp_of
from planestock.exports.fit_files import fit_files
from planestock.exports.python import fit
from planestock.exports.scan.colours import BANDS, bands, limits, reach_for, shades
from planestock.exports.scan.data import as_data
from planestock.models.design import Design, design
from planestock.models.scan.corrected import Corrected, corrected
from planestock.models.scan.fit import Asked, Fitted, fitted, read_scan
from planestock.models.scan.subjects import Of
from planestock.models.scan.table import LeftOut
from planestock.params.files import load, shipped
from planestock.params.problems import InputProblem
from tests.support.browser_support import drawn, opened
from tests.support.invent_scan import CASTING, WITHOUT_IRON, WOOD, Spoilt, invented_truth, scanned
from tests.support.promises import require_every_key_counts, require_promised

CHANGE = "casting.tail_drop=10.8"
"""The smoother's tail 2.8 mm lower than its metal has it."""

FEW = 15_000


@cache
def made() -> Design:
    return design(load("smoother", [CHANGE]))


@cache
def one() -> tuple[Fitted, Corrected, Stamp]:
    scan = scanned(invented_truth("smoother", WITHOUT_IRON, 3.0), 3, Spoilt(missing=0.05, holes=1))
    content = io.BytesIO(scan.mesh.export(file_type="stl"))
    path = Path(_folder()) / "smoother.stl"
    path.write_bytes(content.getvalue())
    asked = Asked(of="metal")
    found = fitted(made(), read_scan(path, 260.0, asked), asked, count=FEW)
    better = corrected(found, shipped()["smoother"], "smoother", [CHANGE])
    assert better is not None
    return found, better, stamp_of(made(), made().number_checks)


@cache
def _folder() -> str:
    import tempfile

    return tempfile.mkdtemp(prefix="scan-")


@cache
def files() -> dict[str, bytes]:
    return fit_files(*one())


def test_the_files_are_these_and_each_carries_the_stamp() -> None:
    assert set(files()) == {"fit.txt", "fit.json", "fit.glb", "fit.html", "corrected.toml"}
    found, better, stamp = one()
    for name in ("fit.txt", "fit.json", "fit.glb", "fit.html"):
        assert stamp.digest[:12].encode() in files()[name], name
    assert better.made is not None
    assert better.made.given.digest[:12].encode() in files()["corrected.toml"]
    assert found.scan.name == "smoother.stl"


def test_the_same_fit_gives_the_same_bytes() -> None:
    found, better, stamp = one()
    again = fitted(made(), found.scan, found.asked, count=FEW)
    assert again.fine.motion.turn.tobytes() == found.fine.motion.turn.tobytes()
    assert fit_files(again, better, stamp) == files()


def test_the_data_says_what_the_text_says() -> None:
    told = json.loads(files()["fit.json"])
    reading = next(entry for entry in told["readings"] if entry["path"] == "casting.tail_drop")
    assert reading["verdict"] == "corrected"
    assert reading["line"] in files()["fit.txt"].decode()
    assert abs(reading["found"] - 8.0) <= reading["u"]
    assert told["contradicted"]
    assert told["corrected"]["window_after"]["max"] == pytest.approx(design(load("smoother")).settled.window.high, abs=0.1)
    turn = np.array(told["placed"]["turn"])
    assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-4)
    assert any(entry["words"].startswith("underside") for entry in told["residuals"])


def test_the_data_is_as_promised_and_every_key_counts() -> None:
    require_promised("fit.json", json.loads(files()["fit.json"]))
    require_every_key_counts("fit.json", json.loads(files()["fit.json"]))
    found, _, stamp = one()
    require_promised("fit.json", as_data(found, None, stamp, 1.0))


SHOWN = (
    pytest.param("jack", "casting", CASTING),
    pytest.param("fore", "metal", WITHOUT_IRON, marks=pytest.mark.long),
    pytest.param("jointer", "casting", CASTING, marks=pytest.mark.long),
    pytest.param("smoother", "new-body", WOOD),
)
"""A scan of each kind, of each shipped set."""


@pytest.mark.parametrize(("name", "of", "parts"), SHOWN)
def test_the_data_of_every_kind_of_scan_is_as_promised(name: str, of: Of, parts: tuple[str, ...], tmp_path: Path) -> None:
    scan = scanned(invented_truth(name, parts, 5.0), 3)
    (tmp_path / "scan.stl").write_bytes(scan.mesh.export(file_type="stl"))
    found = fit(design(load(name)), tmp_path / "scan.stl", of=of, unit="mm")
    require_promised("fit.json", as_data(found, None, stamp_of(found.made, found.made.number_checks), 1.0))


def test_the_colour_map_is_read_back_with_colours_names_and_size() -> None:
    scene = trimesh.load_scene(io.BytesIO(files()["fit.glb"]), file_type="glb")
    assert set(scene.geometry) == {"scan", "table, left out", "right half", "left half"}, (
        "a piece of a bench was scanned along"
    )
    scan = scene.geometry["scan"]
    length = scan.vertices.max(axis=0) - scan.vertices.min(axis=0)
    assert 0.17 < length[0] < 0.32, "metres, along x"
    head = json.loads(files()["fit.glb"][20 : 20 + int.from_bytes(files()["fit.glb"][12:16], "little")])
    extras = head["asset"]["extras"]
    assert [entry["mm"] for entry in extras["legend"][-2:]] == ["not compared", "left out: the table"]
    assert len(extras["legend"]) == len(BANDS) + 2
    assert "wood" in extras["positive"]
    colours = _accessor(files()["fit.glb"], head, "scan", "COLOR_0")
    assert 3 <= len(np.unique(colours, axis=0)) <= len(BANDS) + 1
    used = {mesh["name"]: head["materials"][mesh["primitives"][0]["material"]] for mesh in head["meshes"]}
    assert used["scan"]["doubleSided"], "a scan is turned any way"
    assert "KHR_materials_unlit" in used["scan"]["extensions"], "its colours are numbers, and light would change them"
    assert "KHR_materials_unlit" in head["extensionsUsed"]
    assert used["right half"]["alphaMode"] == "BLEND"


def _accessor(content: bytes, head: Any, mesh: str, name: str) -> Any:
    """Values of one attribute, read by hand from the file (glTF 2.0, 3.6 and 4.4, from memory)."""
    number = next(one for one in head["meshes"] if one["name"] == mesh)["primitives"][0]["attributes"][name]
    accessor = head["accessors"][number]
    view = head["bufferViews"][accessor["bufferView"]]
    start = 20 + int.from_bytes(content[12:16], "little") + 8 + view["byteOffset"] + accessor.get("byteOffset", 0)
    kind = {5121: np.uint8, 5126: np.float32}[accessor["componentType"]]
    width = {"VEC3": 3, "VEC4": 4}[accessor["type"]]
    return np.frombuffer(content, kind, accessor["count"] * width, start).reshape(-1, width)


def test_lengths_for_people_are_in_the_sets_unit_and_data_stay_in_mm() -> None:
    found, better, stamp = one()
    inches = replace(found, made=design(load("smoother", [CHANGE]).model_copy(update={"units": "in"})))
    said = fit_files(inches, better, stamp)
    text, shown = said["fit.txt"].decode(), said["fit.html"].decode()
    assert "Residuals from the design, in, over" in text
    assert "From the design, in, over" in shown
    assert "Deviation from the design in in." not in shown
    assert "Deviation from the design in inches." in shown
    worst = max(one.most for one in found.before)
    assert f"{worst / 25.4:.4f}" in text
    assert f"{worst / 25.4:.4f}" in shown
    scale = text[text.index("Colours of") :]
    assert " mm" not in scale
    assert f"beyond +{limits(2.0)[-1] / 25.4:.3f} in" in scale
    told, before = json.loads(said["fit.json"]), json.loads(files()["fit.json"])
    assert told["residuals"] == before["residuals"]
    assert told["colours"] == before["colours"]


def test_a_table_that_was_left_out_is_said_and_shown_as_such() -> None:
    found, better, stamp = one()
    level = trimesh.creation.box((300.0, 200.0, 0.1))
    middle = found.scan.vertices.mean(axis=0)
    table = LeftOut("table", level.vertices + middle, level.faces, middle, np.array([0.0, 0.0, 1.0]), 0.05)
    piece = replace(table, what="piece")
    said = fit_files(replace(found, scan=replace(found.scan, left_out=(table, piece))), better, stamp)
    text = " ".join(said["fit.txt"].decode().split())
    assert "It stands on a table, which was left out: 12 triangles, 1201.0 cm²" in text
    assert "A flat piece apart from it was left out" in text
    assert "light grey: left out: the table" in text
    told = json.loads(said["fit.json"])["left_out"]
    assert [(entry["what"], entry["triangles"]) for entry in told] == [("table", 12), ("piece", 12)]
    assert told[0]["area"] == pytest.approx(2 * 300 * 200 + 2 * 500 * 0.1)
    bare = fit_files(replace(found, scan=replace(found.scan, left_out=())), better, stamp)
    assert json.loads(bare["fit.json"])["left_out"] == []
    assert b"left out: the table" not in bare["fit.txt"]
    assert b"left out: the table" not in bare["fit.html"]
    assert b"left out: the table" in said["fit.html"]
    scene = trimesh.load_scene(io.BytesIO(said["fit.glb"]), file_type="glb")
    assert set(scene.geometry) >= {"scan", "right half", "left half"}


def test_bands_are_symmetric_and_cover_everything() -> None:
    for reach in (0.2, 1.0):
        borders = limits(reach)
        assert borders[-1] == pytest.approx(reach)
        assert np.array(borders) == pytest.approx(-np.array(borders[::-1]))
        found = bands(reach)
        assert len({band.colour for band in found}) == len(found)
        for band in found[:-1]:
            low = band.low if band.low is not None else -9.0
            high = band.high if band.high is not None else 9.0
            shade = shades(np.array([(low + high) / 2]), np.array([True]), reach)
            assert BANDS[int(shade[0])] == band.colour
    assert reach_for(np.array([0.01, -0.7])) == 1.0


def test_lightness_falls_to_both_ends_of_the_scale() -> None:
    """So that the scale reads without colours, too: luminance by IEC 61966-2-1's weights, from memory."""
    light = [0.2126 * red**2.2 + 0.7152 * green**2.2 + 0.0722 * blue**2.2 for red, green, blue in BANDS]
    middle = len(BANDS) // 2
    assert light[: middle + 1] == sorted(light[: middle + 1])
    assert light[middle:] == sorted(light[middle:], reverse=True)


@pytest.mark.parametrize(("text", "factor"), [("1", 1.0), ("25.4", 25.4), ("1/25.4", 1 / 25.4), (" 1 / 1000 ", 0.001)])
def test_a_scale_is_a_number_or_a_fraction(text: str, factor: float) -> None:
    assert _factor(text) == pytest.approx(factor)


@pytest.mark.parametrize("text", ["", "x", "0", "1/0", "-1", "nan", "inf", "1e9", "1/1/1", "9" * 99])
def test_a_scale_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(InputProblem, match="--scale"):
        _factor(text)


def test_the_command_ends_with_one_where_the_scan_contradicts_and_two_on_bad_input(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from planestock.exports.command_line import main
    from planestock.models.scan import fit as fitting

    found = one()[0]
    monkeypatch.setattr(fitting, "fitted", lambda _made, _scan, _asked, _begin: found)
    scan = Path(_folder()) / "smoother.stl"
    code = main(["fit", "smoother", "--scan", str(scan), "--set", CHANGE, "-o", str(tmp_path / "out"), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert code == 1
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == sorted(told["files"])
    assert main(["fit", "smoother", "--scan", str(scan), "--unit", "in"]) == 2
    assert "25.4 times too large" in capsys.readouterr().err
    assert main(["fit", "smoother", "--scan", str(scan), "--of", "casting", "--adjuster", "out"]) == 2
    assert main(["fit", "smoother", "--scan", str(scan), "--scanner-limit", "3 deg"]) == 2


@pytest.mark.browser
def test_the_page_shows_the_scan_in_its_colours_over_see_through_wood(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "fit.html"
    path.write_bytes(files()["fit.html"])
    watched = opened(browser, path)
    page = watched.page
    states = page.evaluate("Object.fromEntries([...planestock.viewer.parts].map(([name, view]) => [name, view.state]))")
    assert states["scan"] == "shown"
    assert {states["right half"], states["left half"]} == {"see-through"}
    assert {states["casting"], states["frog"]} == {"hidden"}
    assert page.locator(".bands li").count() == len(BANDS) + 2
    assert "not compared" in page.locator(".bands").inner_text()
    assert "casting.tail_drop" in page.locator("main").inner_text()
    page.evaluate("planestock.viewer.setStates((part) => (part.kind === 'scan' ? 'shown' : 'hidden'))")
    page.wait_for_timeout(300)
    colour = drawn(page)
    solid = colour[colour[..., 3] > 250][:, :3]
    # The tail is compared 2.8 mm off and blue or brown; nothing else in the drawing has such a colour.
    strong = np.abs(solid[:, 0] - solid[:, 2]) > 60
    assert strong.mean() > 0.02
    page.evaluate("planestock.viewer.setCut({ axis: 'y', at: 0 })")
    page.wait_for_timeout(200)
    assert watched.complaints == []
    assert len(watched.requests) == 1
