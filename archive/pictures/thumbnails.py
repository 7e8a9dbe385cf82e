"""Sizes of a picture for looking at, without the original's notes, and a fingerprint (pure; Pillow)."""

from __future__ import annotations

import contextlib
import io
import os
import secrets
from pathlib import Path
from typing import TYPE_CHECKING

from archive.pictures.decoding import decode_all, open_image, orientation_of

if TYPE_CHECKING:
    from PIL import Image

SIZES = (320, 640, 1280)  # pixels on the long side
LARGE = 2560  # for looking closely; made when somebody first does
RECIPE = 1  # raise it when the pictures made would differ; addresses hold it, so that caches let go
_QUALITY = 82


def size_path(folder: Path, size: int) -> Path:
    """Return where a size is kept in a picture's folder of derived files."""
    return folder / f"{size}.jpg"


def make_sizes(source: Path, folder: Path) -> dict[int, Path]:
    """Make the three sizes of a picture and return their paths; a small picture is never blown up.

    One decode serves all three, the large reduced to the smaller. Each file appears whole, by rename.

    Raises:
        PictureRefused: the source cannot be decoded.
    """
    return write_sizes(_decoded(source, SIZES[-1]), folder)


def make_large(source: Path, folder: Path) -> Path:
    """Make the size for looking closely and return its path.

    Raises:
        PictureRefused: the source cannot be decoded.
    """
    return write_size(_decoded(source, LARGE), folder, LARGE)


def write_sizes(image: Image.Image, folder: Path) -> dict[int, Path]:
    """Write the three sizes of a decoded picture and return their paths."""
    from PIL import Image

    made: dict[int, Path] = {}
    for size in reversed(SIZES):
        image = _shrunk(image, size, Image.Resampling.LANCZOS)
        made[size] = write_size(image, folder, size)
    return dict(sorted(made.items()))


def write_size(image: Image.Image, folder: Path, size: int) -> Path:
    """Write one decoded picture as a size, whole or not at all."""
    folder.mkdir(parents=True, exist_ok=True)
    return _write(image, size_path(folder, size))


def _decoded(source: Path, longest: int) -> Image.Image:
    """Return a picture upright, in plain colours, its long side at most `longest`."""
    from PIL import Image

    with open_image(source) as opened:
        orientation = orientation_of(opened, source)
        profile = opened.info.get("icc_profile")
        decode_all(opened, (longest, longest))
        image = _plain(_shrunk(opened, longest, Image.Resampling.LANCZOS), profile)
    return _upright(image, orientation)


def _shrunk(image: Image.Image, longest: int, filter_: Image.Resampling) -> Image.Image:
    if max(image.size) <= longest:
        return image
    scale = longest / max(image.size)
    goal = (max(1, round(image.width * scale)), max(1, round(image.height * scale)))
    if image.mode in ("P", "1") or image.mode.startswith(("I;16", "PA")):
        image = _mode_for_shrinking(image)
    # Reducing by whole numbers first is as good to the eye at a third of the time (Pillow's `reducing_gap`).
    return image.resize(goal, filter_, reducing_gap=2.0)


def _mode_for_shrinking(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I;16"):
        return _from_16_bits(image)
    return image.convert("RGBA" if "transparency" in image.info or image.mode == "PA" else "RGB")


def _from_16_bits(image: Image.Image) -> Image.Image:
    """Scale 16-bit grey to 8 bits; Pillow's own conversion would cut off all but the darkest."""
    from PIL import Image

    return Image.eval(image.convert("I"), lambda value: value / 257).convert("L")


def _plain(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Return a picture as 8-bit sRGB or grey on white."""
    from PIL import Image

    if image.mode in ("I", "F") or image.mode.startswith("I;16"):
        image = _from_16_bits(image)
    if profile and image.mode in ("RGB", "CMYK", "L", "LAB"):
        image = _to_srgb(image, profile)
    if image.mode in ("RGBA", "LA", "PA") or (image.mode == "P" and "transparency" in image.info):
        ground = Image.new("RGB", image.size, "white")
        ground.paste(image.convert("RGB"), mask=image.convert("RGBA").getchannel("A"))
        return ground
    return image if image.mode in ("RGB", "L") else image.convert("RGB")


def _to_srgb(image: Image.Image, profile: bytes) -> Image.Image:
    from PIL import ImageCms

    with contextlib.suppress(ImageCms.PyCMSError, OSError, ValueError):
        turned = ImageCms.profileToProfile(
            image, ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB"), outputMode="RGB"
        )
        if turned is not None:
            return turned
    return image


def _upright(image: Image.Image, orientation: int) -> Image.Image:
    from PIL import Image

    turn = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }.get(orientation)
    return image if turn is None else image.transpose(turn)


def _write(image: Image.Image, goal: Path) -> Path:
    half = goal.with_name(f".{secrets.token_hex(6)}")
    image.info.clear()
    try:
        image.save(half, format="JPEG", quality=_QUALITY, optimize=False)
        os.replace(half, goal)  # noqa: PTH105 - as atomic as it gets, on every system
    finally:
        half.unlink(missing_ok=True)
    return goal


def fingerprint(path: Path) -> int:
    """Return the 64-bit difference hash of a picture: whether each of 8 × 8 places is brighter than its neighbour.

    Pictures that look alike differ in few bits, see `differing_bits`.
    """
    from PIL import Image

    with Image.open(path) as image:
        grey = image.convert("L").resize((9, 8), Image.Resampling.LANCZOS)
    pixels = list(grey.tobytes())
    bits = 0
    for row in range(8):
        for column in range(8):
            bits = bits << 1 | (pixels[row * 9 + column] > pixels[row * 9 + column + 1])
    return bits


def differing_bits(first: int, second: int) -> int:
    """Return in how many of 64 places two fingerprints differ; what counts as alike stands in ``limits.toml``."""
    return (first ^ second).bit_count()
