"""Pictures to trace: PNG, JPEG and TIFF read as shades of grey, within bounds of size, turned as their camera meant them."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from planestock.params.problems import refuse

if TYPE_CHECKING:
    from PIL.Image import Image

Greys = npt.NDArray[np.float32]

FORMATS = ("PNG", "JPEG", "TIFF")
ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff")

LARGEST_PICTURE = 100_000_000
"""Bytes of a picture."""

MOST_PIXELS = 40_000_000
"""Pixels of a picture: A4 scanned at 600 dots per inch has 35 million. A small file can unfold to many more."""

LEAST_SIDE = 64
"""Pixels of the shorter side; less shows no outline."""


def looks_like_picture(path: Path) -> bool:
    """Tell by its ending whether a file is a picture."""
    return path.suffix.casefold() in ENDINGS


def opened(path: Path, called: str) -> Image:
    """Return the picture in a file, its orientation applied. Raises InputProblem where it is none or is too large."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    data = _bytes_of(path, called)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = Image.open(io.BytesIO(data), formats=FORMATS)
            wide, tall = found.size
            if wide * tall > MOST_PIXELS:
                raise refuse(
                    called,
                    f"{wide} x {tall} pixels",
                    f"is more than {MOST_PIXELS // 1_000_000} million pixels",
                    "make the picture smaller, or crop it to the casting",
                )
            if min(wide, tall) < LEAST_SIDE:
                raise refuse(called, f"{wide} x {tall} pixels", "is too small to trace", "take a larger picture")
            found.load()
            return ImageOps.exif_transpose(found)
    except Image.DecompressionBombError:
        raise refuse(
            called,
            path.name,
            f"unfolds to more than {MOST_PIXELS // 1_000_000} million pixels",
            "make the picture smaller, or crop it to the casting",
        ) from None
    except UnidentifiedImageError:
        raise refuse(called, path.name, "is no PNG, JPEG or TIFF picture", "save it as one of these") from None
    except (OSError, SyntaxError, ValueError, ArithmeticError, EOFError) as error:
        if error.__class__.__name__ == "InputProblem":
            raise
        raise refuse(called, path.name, f"cannot be read as a picture ({str(error)[:60]})", "save it again") from None


EXPOSED, EXPOSURE, FOCAL = 0x8769, 0x829A, 0x920A
"""Tags of Exif (JEITA CP-3451, 4.6): where those of the exposure are, its time, and the lens's focal length."""


def taken_by_camera(picture: Image) -> bool:
    """Tell by what a camera writes into its pictures whether one took this."""
    inside = picture.getexif().get_ifd(EXPOSED)
    return EXPOSURE in inside or FOCAL in inside


def _bytes_of(path: Path, called: str) -> bytes:
    if not path.is_file():
        raise refuse(called, str(path), "is no file" if path.exists() else "there is no such file", "check the name")
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_PICTURE + 1)
    except OSError as error:
        raise refuse(called, str(path), f"cannot be read: {error.strerror}", "check its permissions") from None
    if len(data) > LARGEST_PICTURE:
        raise refuse(called, str(path), f"is larger than {LARGEST_PICTURE // 1_000_000} MB", "save it smaller")
    return data


def greys(picture: Image) -> Greys:
    """Return a picture's shades, 0 black to 1 white, shape (rows, columns); what is transparent counts as white.

    Shades are as the picture has them (gamma-encoded), as the eye judges an edge.
    """
    from PIL import Image

    if picture.mode.startswith(("I", "F")):
        values = np.asarray(picture, dtype=np.float32)
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        spread: Greys = np.nan_to_num((values - low) / max(high - low, 1e-9)).astype(np.float32)
        return spread
    if "A" in picture.getbands() or "transparency" in picture.info:
        full = picture.convert("RGBA")
        picture = Image.alpha_composite(Image.new("RGBA", full.size, "white"), full)
    shades = np.array(picture.convert("L"), dtype=np.float32)
    shades /= np.float32(255)
    return shades
