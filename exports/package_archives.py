"""Makes the source archive and the wheel the same bytes wherever and whenever they are built; setuptools runs it.

Every file's time is `SOURCE_DATE_EPOCH`, else the earliest that a zip can hold; its mode is that
of a plain file or of a program, whatever the builder's umask; its owner is nobody in particular. The source archive also
holds what the tests need: tests, pages, the CI's files and the type checkers' links.
"""

from __future__ import annotations

import gzip
import io
import os
import tarfile
import time
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from setuptools.command.bdist_wheel import bdist_wheel
from setuptools.command.sdist import sdist

ROOT = Path(__file__).resolve().parent.parent

EARLIEST = 315_532_800
"""1 January 1980 in UTC, in seconds of the Unix clock: the earliest that a zip can hold."""

FOLDERS_FOR_TESTS = ("tests", ".ci", ".readme")
FILES_FOR_TESTS = ("DEVELOPERS.md", ".gitignore")
LINKS = Path(".dev", "planestock")
"""Folder of the links that show type checkers the namespace."""


class SameSourceArchive(sdist):
    """`sdist` with what the tests need, the same bytes each time."""

    def make_release_tree(self, base_dir: str, files: Sequence[str]) -> None:
        """Lay out what goes into the archive."""
        super().make_release_tree(base_dir, sorted({*files, *for_tests()}))
        links = Path(base_dir, LINKS)
        links.mkdir(parents=True, exist_ok=True)
        for link in sorted((ROOT / LINKS).iterdir()):
            if not (links / link.name).is_symlink():
                (links / link.name).symlink_to(link.readlink())

    def make_archive(self, *given: object, **named: object) -> str:
        """Pack it."""
        path = Path(super().make_archive(*given, **named))
        if path.name.endswith(".tar.gz"):
            path.write_bytes(same_tar(path.read_bytes()))
        return str(path)


class SameWheel(bdist_wheel):
    """`bdist_wheel`, the same bytes each time."""

    def run(self) -> None:
        """Make the wheel, then pack it again."""
        super().run()
        for _, _, made in self.distribution.dist_files:
            if made.endswith(".whl"):
                Path(made).write_bytes(same_zip(Path(made).read_bytes()))


def for_tests() -> Iterator[str]:
    """Yield the files that only tests and their runner need, relative to the root."""
    yield from FILES_FOR_TESTS
    for folder in FOLDERS_FOR_TESTS:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                yield path.relative_to(ROOT).as_posix()


def same_tar(content: bytes) -> bytes:
    """Return a packed tar with its files in order, and times, modes and owners that say nothing of the builder."""
    packed = io.BytesIO()
    with (
        tarfile.open(fileobj=io.BytesIO(content)) as before,
        gzip.GzipFile("", "wb", 9, packed, mtime=moment()) as zipped,
        tarfile.open(fileobj=zipped, mode="w", format=tarfile.PAX_FORMAT) as after,
    ):
        for member in sorted(before.getmembers(), key=lambda each: each.name):
            plain = tarfile.TarInfo(member.name)
            plain.type, plain.linkname, plain.mtime = member.type, member.linkname, moment()
            # Files that are one on the builder's disk would come as links to each other.
            file = before.extractfile(member) if member.isfile() or member.islnk() else None
            if file is None:
                plain.mode = 0o777 if member.issym() else 0o755
                after.addfile(plain)
                continue
            inside = file.read()
            plain.type, plain.linkname, plain.size, plain.mode = tarfile.REGTYPE, "", len(inside), mode_of(member.mode)
            after.addfile(plain, io.BytesIO(inside))
    return packed.getvalue()


def same_zip(content: bytes) -> bytes:
    """Return a zip with its files in the order they have, and times and modes that say nothing of the builder."""
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as before, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as after:
        for entry in before.infolist():
            plain = zipfile.ZipInfo(entry.filename, time.gmtime(moment())[:6])
            plain.create_system, plain.compress_type = 3, zipfile.ZIP_DEFLATED
            plain.external_attr = (0o100000 | mode_of(entry.external_attr >> 16)) << 16
            after.writestr(plain, before.read(entry))
    return packed.getvalue()


def mode_of(mode: int) -> int:
    """Return a file's mode without what a umask made of it."""
    return 0o755 if mode & 0o100 else 0o644


def moment() -> int:
    """Return the time that every file gets, in seconds of the Unix clock."""
    return max(EARLIEST, int(os.environ.get("SOURCE_DATE_EPOCH") or EARLIEST))
