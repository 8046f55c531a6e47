"""Photographs and scans: the outline comes back, and the command says what it found, or in one line why it found nothing."""

from __future__ import annotations

import io
import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planestock.exports.command_line import main
from planestock.exports.traced import typed
from planestock.params.files import load
from planestock.params.outlines.pieces import bounds
from planestock.params.problems import InputProblem
from planestock.params.traced import photographs as pictures
from planestock.params.traced.cleaning import How, clean_file
from planestock.params.traced.perspective import by_distance, by_rectangle
from planestock.params.traced.region import largest_region
from tests.support.drawn_photographs import Photograph
from tests.support.full_set import full
from tests.support.invent_photograph import jpeg, taken
from tests.support.promises import require_every_key_counts, require_promised
from tests.support.traced_support import JACK, apart, dxf_bytes, loose_pieces, shape_in, svg_bytes, svg_path, waisted

CORNERS = ((150.0, 120.0), (1370.0, 60.0), (1440.0, 960.0), (90.0, 905.0))
"""Where the sheet's corners lie in a picture taken askew, pixels."""

CLOSE = 0.5
"""A drawn outline comes back from a photograph within this, mm."""


@cache
def photograph() -> tuple[Photograph, bytes]:
    """A photograph of the waisted casting, as JPEG bytes."""
    found = taken()
    return found, jpeg(found)


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    capsys.readouterr()
    code = main(["trace", *arguments])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_a_drawn_outline_comes_back_from_a_photograph(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seen, data = photograph()
    (tmp_path / "casting.jpg").write_bytes(data)
    code, out, _ = run(
        capsys,
        str(tmp_path / "casting.jpg"),
        *seen.options(corners_read=0, marks_read=0),
        "-o",
        str(tmp_path / "out"),
        "--json",
    )
    assert code == 0
    found = json.loads(out)
    outline = shape_in(found["path"])
    assert apart(outline, waisted()) < CLOSE
    assert apart(outline, waisted()) < found["limit"]
    assert found["holes"] == 3
    assert found["pieces"] < 60
    assert found["pixel"] == pytest.approx(0.20, abs=0.05)
    assert found["asymmetry"] < 0.6
    assert found["files"] == ["casting-outline.svg", "casting-outline.dxf", "casting-outline.png"]
    for name in ("casting-outline.svg", "casting-outline.dxf"):
        back = clean_file(tmp_path / "out" / name, "outline", How(), name)
        assert apart(back.outline, outline) < 1e-4
    given = load_with(tmp_path / "out" / "casting-outline.svg")
    assert given == found["path"]


def load_with(drawing: Path) -> str | None:
    path = drawing.parent / "plane.toml"
    from planestock.params.files import plainly

    path.write_text(plainly(full("casting.front=-92.6", "casting.rear=152", "casting.tracing.limit=0.5")), "utf-8")
    return load(str(path), [f"casting.outline_file={drawing}"]).casting.outline


def flat_scan(light: bool = False, transparent: bool = False) -> tuple[bytes, float]:
    """A scan of the jack's casting, 6 pixels a millimetre, D at 700, 240; PNG bytes and the scale."""
    from PIL import Image, ImageDraw

    from planestock.params.outlines.pieces import flattened

    scale = 6.0
    points = [(700 + scale * x, 240 - scale * y) for x, y in flattened(JACK, 0.005)]
    paper, metal = (30, 220) if light else (245, 40)
    image = Image.new("L", (3400, 960), paper)
    ImageDraw.Draw(image).polygon([(2 * x + 0.5, 2 * y + 0.5) for x, y in points], fill=metal)
    image = image.resize((1700, 480), Image.Resampling.BOX)
    stream = io.BytesIO()
    if transparent:
        clear = Image.merge(
            "RGBA", [image, image, image, image.point(lambda shade: round(255 * (paper - shade) / (paper - metal)))]
        )
        clear.save(stream, "PNG")
    else:
        image.save(stream, "PNG")
    return stream.getvalue(), scale


@pytest.mark.parametrize("kind", ["light", "transparent"])
def test_a_flat_scan_gives_the_outline_to_a_part_of_a_pixel(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, scale = flat_scan(light=kind == "light", transparent=kind == "transparent")
    (tmp_path / "scan.png").write_bytes(data)
    bar = f"100,400 {100 + 200 * scale},400 200 mm"
    options = ["--scale", bar, "--corner", "700,240", "--middle", "1500,240", *(["--light"] if kind == "light" else [])]
    code, out, _ = run(capsys, str(tmp_path / "scan.png"), *options, "-o", str(tmp_path))
    assert code == 0
    assert "One pixel is 0.167 mm" in out
    assert "casting.tracing.limit" in out
    found = clean_file(tmp_path / "scan-outline.svg", "outline", How(), "test").outline
    assert apart(found, JACK) < 0.3
    assert len(found) <= 30


def test_without_marks_it_is_placed_by_its_own_middle_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, _ = flat_scan()
    (tmp_path / "scan.png").write_bytes(data)
    code, out, _ = run(capsys, str(tmp_path / "scan.png"), "--scale", "0,0 1200,0 200 mm", "-o", str(tmp_path))
    assert code == 0
    assert "it is not placed" in out
    box = bounds(clean_file(tmp_path / "scan-outline.dxf", "outline", How(), "test").outline)
    assert (box.left + box.right) / 2 == pytest.approx(0, abs=0.3)


def test_a_side_view_gives_the_underside(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from PIL import Image, ImageDraw

    under = [
        (-92, 0),
        (60, 0),
        (64, -1),
        (70, -5),
        (78, -10),
        (152, -10),
        (152, -6),
        (80, -6),
        (72, -1),
        (66, 3),
        (60, 4),
        (-92, 4),
    ]
    image = Image.new("L", (1700, 300), 240)
    ImageDraw.Draw(image).polygon([(700 + 6 * x, 120 - 6 * y) for x, y in under], fill=30)
    image.save(tmp_path / "side.png")
    options = ["--profile", "--scale", "0,0 1200,0 200 mm", "--corner", "700,120", "--middle", "1000,120"]
    code, out, _ = run(capsys, str(tmp_path / "side.png"), *options, "-o", str(tmp_path))
    assert code == 0
    assert "comes down 10." in out
    again = run(capsys, str(tmp_path / "side.png"), *options, "-o", str(tmp_path / "data"), "--json")
    require_promised("trace --json", json.loads(again[1]))
    found = clean_file(tmp_path / "side-profile.svg", "profile", How(), "test").outline
    assert (found[0].start[0], found[-1].end[0]) == pytest.approx((-92, 152), abs=0.4)
    assert found[-1].end[1] == pytest.approx(-10, abs=0.35)


def test_a_drawing_is_cleaned_and_its_figures_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "casting.dxf").write_bytes(dxf_bytes(loose_pieces(JACK, gap=0.05)))
    code, out, _ = run(capsys, str(tmp_path / "casting.dxf"), "-o", str(tmp_path))
    assert code == 0
    data = json.loads(run(capsys, str(tmp_path / "casting.dxf"), "-o", str(tmp_path / "data"), "--json")[1])
    require_promised("trace --json", data)
    require_every_key_counts("trace --json", data)
    assert "Outline 244.0" in out
    assert "Made of 8 pieces (4 straight, 4 arcs)" in out
    assert "closed: 0.0" in out
    assert 'casting.outline_file = "casting-outline.svg"' in out
    first = (tmp_path / "casting-outline.dxf").read_bytes()
    assert run(capsys, str(tmp_path / "casting.dxf"), "-o", str(tmp_path))[0] == 2
    assert run(capsys, str(tmp_path / "casting.dxf"), "-o", str(tmp_path), "--overwrite")[0] == 0
    assert (tmp_path / "casting-outline.dxf").read_bytes() == first


# ---- refused -------------------------------------------------------------------------------------------------------------


def png(width: int, height: int) -> bytes:
    """A PNG that says it is so large, with next to nothing in it."""
    import struct
    import zlib

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")


def blank() -> bytes:
    from PIL import Image

    stream = io.BytesIO()
    Image.new("L", (400, 300), 200).save(stream, "PNG")
    return stream.getvalue()


SCALE = ("--scale", "0,0 300,0 100 mm")


@pytest.mark.parametrize(
    ("name", "data", "options", "message"),
    [
        ("a.png", png(30_000, 30_000), SCALE, "more than 40 million"),
        ("a.png", png(9, 9), SCALE, "too small"),
        ("a.png", flat_scan()[0][:900], SCALE, "cannot be read as a picture"),
        ("a.png", b"GIF89a" + bytes(200), SCALE, "no PNG, JPEG or TIFF"),
        ("a.jpg", b"", SCALE, "no PNG, JPEG or TIFF"),
        ("a.png", blank(), SCALE, "shows no edge"),
        ("a.png", flat_scan()[0], (), "needs either --scale"),
        ("a.png", flat_scan()[0], (*SCALE, "--rectangle", "1,1 2,1 2,2 1,2"), "needs either --scale"),
        ("a.png", flat_scan()[0], ("--rectangle", "1,1 900,1 900,300 1,300"), "is needed with --rectangle"),
        ("a.png", flat_scan()[0], ("--rectangle", "1,1 900,300 900,1 1,300", "--sides", "9 x 9 cm"), "in order around"),
        ("a.png", flat_scan()[0], ("--rectangle", "1,1 900,1", "--sides", "9 x 9 cm"), "must be 4 points"),
        ("a.png", flat_scan()[0], ("--scale", "0,0 5,0 100 mm"), "too few for a scale"),
        ("a.png", flat_scan()[0], ("--scale", "ten"), "two points and their distance"),
        ("a.png", flat_scan()[0], (*SCALE, "--corner", "1,1"), "--middle"),
        ("a.png", flat_scan()[0], (*SCALE, "--light"), "light region"),
        ("a.png", flat_scan()[0], (*SCALE, "--unit", "mm"), "is for drawings"),
        ("a.dxf", dxf_bytes(loose_pieces(JACK)), SCALE, "is for pictures"),
        ("a.dxf", dxf_bytes(loose_pieces(JACK)), ("--thickness", "3 mm"), "is for pictures"),
        ("a.png", flat_scan()[0], (*SCALE, "--profile", "--thickness", "3 mm"), "seen from above"),
        ("a.png", flat_scan()[0], (*SCALE, "--thickness", "40 mm"), "between 0 and 30"),
        ("a.svg", svg_bytes(svg_path(JACK)), ("--tolerance", "9 mm"), "between 0.001 and 2"),
        ("a.svg", b"<svg", (), "is no SVG"),
        ("missing.png", None, SCALE, "there is no such file"),
    ],
)  # fmt: skip
def test_what_cannot_be_traced_is_refused_in_one_line_and_nothing_is_written(
    name: str, data: bytes | None, options: tuple[str, ...], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if data is not None:
        (tmp_path / name).write_bytes(data)
    code, out, err = run(capsys, str(tmp_path / name), *options, "-o", str(tmp_path / "out"))
    assert (code, out) == (2, "")
    assert message in err
    assert len(err.strip().splitlines()) == 1
    assert not (tmp_path / "out").exists()


@settings(max_examples=30)
@given(st.binary(max_size=400))
def test_random_bytes_are_no_picture(data: bytes) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.png"
        for head in (b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\0"):
            path.write_bytes(head + data)
            with pytest.raises(InputProblem):
                pictures.opened(path, "FILE")


# ---- parts --------------------------------------------------------------------------------------------------------


def test_a_homography_takes_its_corners_to_the_rectangle_and_lines_to_lines() -> None:
    scale = by_rectangle(CORNERS, (297.0, 210.0))
    placed = scale.millimetres(np.array(CORNERS))
    assert placed == pytest.approx(np.array([(0, 0), (297, 0), (297, 210), (0, 210)]), abs=1e-9)
    middle = np.array([[(CORNERS[0][0] + CORNERS[1][0]) / 2, (CORNERS[0][1] + CORNERS[1][1]) / 2]])
    assert scale.millimetres(middle)[0, 1] == pytest.approx(0, abs=1e-9)
    # The diagonals cross in the middle of the rectangle, wherever they cross in the picture.
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = CORNERS
    share = ((bx - ax) * (by - dy) - (by - ay) * (bx - dx)) / ((cx - ax) * (by - dy) - (cy - ay) * (bx - dx))
    crossing = np.array([[ax + share * (cx - ax), ay + share * (cy - ay)]])
    assert scale.millimetres(crossing)[0] == pytest.approx((148.5, 105), abs=1e-9)
    other = by_rectangle((CORNERS[0], CORNERS[3], CORNERS[2], CORNERS[1]), (210.0, 297.0))
    assert other.millimetres(np.array(CORNERS))[2] == pytest.approx((210, -297), abs=1e-9)


def test_two_points_give_one_scale() -> None:
    scale = by_distance((10.0, 20.0), (310.0, 420.0), 250.0)
    assert scale.millimetres(np.array([(2.0, 4.0)]))[0] == pytest.approx((1, 2))
    assert scale.share() == pytest.approx(math.sqrt(2) / 500)


def test_a_disc_is_found_to_a_twentieth_of_a_pixel() -> None:
    rows, columns = np.mgrid[:300, :400]
    away = np.hypot(columns - 190.3, rows - 140.8)
    shades = np.clip((away - 80.0) + 0.5, 0, 1).astype(np.float32)
    found = largest_region(shades, level=0.5)
    radii = np.hypot(found.outline[:, 0] - 190.3, found.outline[:, 1] - 140.8)
    assert radii == pytest.approx(np.full(len(radii), 80.0), abs=0.1)
    assert radii.mean() == pytest.approx(80.0, abs=0.05)
    assert found.holes == 0


def test_points_and_lengths_are_read_as_people_type_them() -> None:
    assert typed.distance("--scale", "120,340 2010,352 200 mm") == ((120, 340), (2010, 352), 200)
    assert typed.distance("--scale", " 1.5, 2  30,4 2 in ")[2] == pytest.approx(50.8)
    assert typed.sides("--sides", "210 x 297 mm") == (210, 297)
    assert typed.sides("--sides", "8.5 × 11 in") == pytest.approx((215.9, 279.4))
    assert typed.length("--gap", "0.1") == 0.1
    for text in ("1,2,3", "x,y", "1;2", "", "1e400,2"):
        with pytest.raises(InputProblem):
            typed.point("--corner", text)


def test_places_that_cannot_be_meant_are_refused_or_doubted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seen, data = photograph()
    (tmp_path / "casting.jpg").write_bytes(data)
    good = [
        str(tmp_path / "casting.jpg"),
        *seen.options(corners_read=0, marks_read=0),
        "-o",
        str(tmp_path / "out"),
        "--overwrite",
    ]

    def changed(option: str, value: str) -> list[str]:
        place = good.index(option) + 1
        return [*good[:place], value, *good[place + 1 :]]

    code, _, err = run(capsys, *changed("--corner", "9591,501"))
    assert code == 2
    assert "--corner = 9591,501: lies outside the picture, which is 2000 pixels wide and 1400 high" in err
    assert not (tmp_path / "out").exists()
    code, out, _ = run(capsys, *changed("--sides", "210 x 297 mm"))
    assert code == 1
    assert "DO NOT USE IT YET: " in out
    assert "the order of --sides" in out
    assert "casting.tracing.limit" not in out
    code, out, _ = run(capsys, *changed("--corner", "1900,700"), "--json")
    assert code == 1
    assert json.loads(out)["doubt"].startswith("D lies outside the outline")
    code, out, _ = run(capsys, *good, "--json")
    assert code == 0
    assert json.loads(out)["doubt"] is None
