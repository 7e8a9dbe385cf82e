"""Pictures of invented things, drawn in code (Pillow): nothing here is borrowed from anybody."""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any

from archive.demo import flat_things, house_things, room_things, solid_things, worn_things
from archive.demo.strokes import TABLE

if TYPE_CHECKING:
    from PIL import Image

Drawer = Callable[[Any, random.Random, int, int], None]

PICTURES: dict[str, Drawer] = {
    "portrait": flat_things.portrait,
    "family": flat_things.family,
    "letter": flat_things.letter,
    "cyanotype": flat_things.cyanotype,
    "negative": flat_things.negative,
    "certificate": flat_things.certificate,
    "watercolour": flat_things.watercolour,
    "postcard": flat_things.postcard,
    "map": flat_things.map,
    "medal": solid_things.medal,
    "quilt": solid_things.quilt,
    "book": solid_things.book,
    "lace": solid_things.lace,
    "teapot": solid_things.teapot,
    "reel": solid_things.reel,
    "doll": solid_things.doll,
    "spoons": solid_things.spoons,
    "box": solid_things.box,
    "mould-on-a-wall": room_things.mould_on_a_wall,
    "webbing": room_things.webbing,
    "skins-on-a-sill": room_things.skins_on_a_sill,
    **{
        name: getattr(worn_things, name)
        for name in ("gown", "uniform", "hat", "shoes", "flag", "sampler", "basket", "fan")
    },
    **{
        name: getattr(house_things, name)
        for name in ("clock", "violin", "lamp", "tin", "jar", "disc", "tools", "barometer", "carving", "nest")
    },
}
_TONED = {
    "portrait": ((48, 32, 22), (238, 222, 190)),
    "family": ((40, 34, 30), (236, 230, 218)),
    "cyanotype": ((14, 46, 92), (232, 240, 246)),
    "negative": ((30, 32, 34), (205, 210, 208)),
}


def draw(name: str, seed: int, size: tuple[int, int] = (1360, 1020)) -> Image.Image:
    """Draw one picture by the name of its subject; the same seed gives the same picture.

    Raises:
        KeyError: there is no such subject.
    """
    from PIL import Image, ImageDraw, ImageFilter

    width, height = size
    image = Image.new("RGB", size, TABLE)
    canvas = ImageDraw.Draw(image)
    PICTURES[name](canvas, random.Random(seed), width, height)  # noqa: S311 - pictures, not secrets
    if name in _TONED:
        image = _toned(image, *_TONED[name])
    grained: Image.Image = _with_grain(image.filter(ImageFilter.BoxBlur(0.5)), seed)
    return grained


def _toned(image: Any, dark: tuple[int, int, int], light: tuple[int, int, int]) -> Any:
    from PIL import ImageOps

    return ImageOps.colorize(image.convert("L"), dark, light)


def _with_grain(image: Any, seed: int) -> Any:
    """Add the fine unevenness of a real photograph, darker towards the corners."""
    from PIL import ImageChops

    grain, shade = _grain_and_shade(image.size)
    width, height = image.size
    image = ImageChops.overlay(image, ImageChops.offset(grain, 397 * seed % width, 211 * seed % height))
    return ImageChops.multiply(image, shade)


@cache
def _grain_and_shade(size: tuple[int, int]) -> tuple[Any, Any]:
    """Return what is laid over every picture of a size; made once, since it takes as long as many a drawing."""
    from PIL import Image

    shade = Image.radial_gradient("L").resize(size).point(lambda value: 255 - max(0, value - 120) // 3)
    return Image.effect_noise(size, 14).convert("RGB"), Image.merge("RGB", (shade,) * 3)
