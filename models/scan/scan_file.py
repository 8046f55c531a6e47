"""Reading a scan: STL, PLY, OBJ or 3MF. The file is untrusted: sizes are bounded, nothing beside it is opened, every fault
becomes one message."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from planestock.models.scan.from_file import FromFile, joined
from planestock.models.scan.text_files import read_obj, read_ply, read_stl, require_ply_header
from planestock.models.scan.threemf_file import read_threemf
from planestock.params.problems import InputProblem, refuse

ENDINGS = (".stl", ".ply", ".obj", ".3mf")

LARGEST_FILE = 300_000_000
"""Bytes of a scan: six million triangles of binary STL, far more than any plane needs, and still held in memory."""

LARGEST_TEXT = 160_000_000
"""Bytes of a scan written as text, which takes several times its size in memory while it is read: some two million
triangles."""

AS_MESH = "export the scan as a mesh: binary STL, PLY, OBJ or 3MF"


def read(path: Path) -> FromFile:
    """Read a scan. Raises InputProblem for what is no mesh, too large, broken, or not there."""
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise refuse(str(path), ending or "no ending", f"a scan is one of {', '.join(ENDINGS)}", AS_MESH)
    is_text = _require_size(path, ending)
    try:
        if ending == ".3mf":
            return read_threemf(path)
        if ending == ".stl" and not is_text:
            return _binary_stl(path)
        if ending == ".stl":
            _require_text_stl(path)
        return _text(path, ending) if is_text else _binary_ply(path)
    except InputProblem:
        raise
    except MemoryError:
        raise refuse(str(path), "a file that asks for more memory than there is", "cannot be read", AS_MESH) from None
    except Exception as error:  # noqa: BLE001 - a reader of strange files may raise anything; all of it means one thing
        reason = (str(error).strip() or type(error).__name__).splitlines()[0][:LONGEST_REASON]
        raise refuse(str(path), reason, f"cannot be read as {ending[1:].upper()}", AS_MESH) from None


def _require_size(path: Path, ending: str) -> bool:
    """Return whether a file is read line by line. Raises InputProblem where it is not there, empty or too large."""
    try:
        if not path.is_file():
            what = "a folder" if path.is_dir() else "no such file"
            raise refuse(str(path), what, "a scan is one file", "check the name after --scan")
        size = path.stat().st_size
        with path.open("rb") as stream:
            head = stream.read(512)
    except OSError as error:
        raise refuse(
            str(path), error.strerror or str(error), "cannot be read", "check the name and its permissions"
        ) from None
    if size == 0:
        raise refuse(str(path), "an empty file", "holds no mesh", AS_MESH)
    is_text = _is_text(head, ending, size)
    limit = LARGEST_TEXT if is_text else LARGEST_FILE
    if size > limit:
        rule = f"a scan may have {limit // 1_000_000} MB"
        raise refuse(str(path), f"{size // 1_000_000} MB", rule, "thin it out in the scanner's program, or write binary STL")
    return is_text


def _is_text(head: bytes, ending: str, size: int) -> bool:
    """Tell whether a file is read line by line; a binary STL's length follows from the number of triangles it states."""
    if ending == ".obj":
        return True
    if ending == ".ply":
        return b"format ascii" in head
    return ending == ".stl" and (len(head) < 84 or size != 84 + 50 * int.from_bytes(head[80:84], "little"))


LONGEST_REASON = 120
"""Characters of a reader's own words that are repeated."""

STL_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
"""One triangle of binary STL: 50 bytes, little-endian; 84 bytes stand before the first."""


def _binary_stl(path: Path) -> FromFile:
    """Read binary STL straight into an array: a third of the memory that trimesh takes for it, which counts at millions."""
    corners = np.fromfile(path, STL_TRIANGLE, offset=84)["corners"].reshape(-1, 3)
    return FromFile(corners, np.arange(len(corners), dtype=np.int64).reshape(-1, 3), None)


def _require_text_stl(path: Path) -> None:
    """Refuse binary STL whose length is not what its header promises; text has no byte of zero, its head always has."""
    with path.open("rb") as stream:
        head = stream.read(512)
    if b"\0" not in head:
        return
    promised = int.from_bytes(head[80:84], "little")
    held = (path.stat().st_size - 84) // 50
    if len(head) < 84 or promised > LARGEST_FILE // 50:
        raise refuse(str(path), "a binary file", "is no STL", AS_MESH)
    numbers = f"its header promises {promised} triangles, the file holds about {held}"
    rule = f"is cut off: {numbers}" if promised > held else f"does not end where it should: {numbers}"
    raise refuse(str(path), "binary STL", rule, "copy it once more, or export it again")


def _text(path: Path, ending: str) -> FromFile:
    with path.open("rb") as stream:
        if ending == ".stl":
            found = read_stl(stream, str(path))
        else:
            found = read_obj(stream) if ending == ".obj" else read_ply(stream)
    if len(found.faces):
        return found
    if ending == ".stl":
        raise refuse(str(path), "a file without triangles", "is no STL", AS_MESH)
    raise _without_triangles(path, len(found.vertices))


def _without_triangles(path: Path, points: int) -> InputProblem:
    shown = f"{points} points without triangles" if points else "nothing"
    return refuse(str(path), shown, "a scan is a mesh, not points alone", AS_MESH)


def _binary_ply(path: Path) -> FromFile:
    import trimesh

    with path.open("rb") as stream:
        require_ply_header(stream)
        stream.seek(0)
        # A stream and no resolver: neither material files nor textures beside the file, let alone the net, can be reached.
        found = trimesh.load_scene(stream, file_type="ply", process=False, allow_remote=False)
    meshes, others = [], 0
    for one in found.geometry.values():
        if isinstance(one, trimesh.Trimesh) and len(one.faces):
            meshes.append((np.asarray(one.vertices, dtype=float), np.asarray(one.faces, dtype=np.int64)))
        else:
            others += len(getattr(one, "vertices", ()))
    if not meshes:
        raise _without_triangles(path, others)
    return FromFile(*joined(meshes), None)
