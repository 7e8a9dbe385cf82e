"""Pictures of invented things, drawn in code (Pillow): nothing here is borrowed from anybody."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL import Image

Drawer = Callable[[Any, random.Random, int, int], None]
_INK, _SEPIA, _PAPER, _TABLE = (38, 32, 30), (92, 66, 44), (240, 230, 208), (206, 198, 184)


def draw(name: str, seed: int, size: tuple[int, int] = (1600, 1200)) -> Image.Image:
    """Draw one picture by the name of its subject; the same seed gives the same picture.

    Raises:
        KeyError: there is no such subject.
    """
    from PIL import Image, ImageDraw, ImageFilter

    width, height = size
    image = Image.new("RGB", size, _TABLE)
    canvas = ImageDraw.Draw(image)
    PICTURES[name](canvas, random.Random(seed), width, height)  # noqa: S311 - pictures, not secrets
    if name in _TONED:
        image = _toned(image, *_TONED[name])
    return _with_grain(image.filter(ImageFilter.GaussianBlur(0.6)), seed)


_TONED = {
    "portrait": ((48, 32, 22), (238, 222, 190)),
    "family": ((40, 34, 30), (236, 230, 218)),
    "cyanotype": ((14, 46, 92), (232, 240, 246)),
    "negative": ((30, 32, 34), (205, 210, 208)),
}


def _toned(image: Any, dark: tuple[int, int, int], light: tuple[int, int, int]) -> Any:
    from PIL import ImageOps

    return ImageOps.colorize(image.convert("L"), dark, light)


def _with_grain(image: Any, seed: int) -> Any:
    """Add the fine unevenness of a real photograph, darker towards the corners."""
    from PIL import Image, ImageChops

    grain = Image.effect_noise(image.size, 14).convert("RGB")
    image = ImageChops.overlay(image, grain)
    shade = Image.radial_gradient("L").resize(image.size).point(lambda value: 255 - max(0, value - 120) // 3)
    return ImageChops.multiply(image, Image.merge("RGB", (shade,) * 3))


def _board(c: Any, w: int, h: int, colour: tuple[int, int, int], margin: float = 0.08) -> tuple[int, int, int, int]:
    box = (int(w * margin), int(h * margin), int(w * (1 - margin)), int(h * (1 - margin)))
    c.rectangle((box[0] + 14, box[1] + 16, box[2] + 14, box[3] + 16), fill=(168, 160, 148))
    c.rectangle(box, fill=colour)
    return box


def _person(c: Any, r: random.Random, x: float, foot: float, tall: float, shade: int) -> None:
    head, skin = tall * 0.085, (206, 194, 180)
    top = foot - tall
    coat = (shade, shade, shade)
    c.polygon(
        [(x - tall * 0.15, foot), (x - tall * 0.11, top + head * 2.4), (x + tall * 0.11, top + head * 2.4), (x + tall * 0.15, foot)],
        fill=coat,
    )
    c.ellipse((x - tall * 0.15, top + head * 2, x + tall * 0.15, top + head * 4.2), fill=coat)
    c.polygon([(x - head * 0.5, top + head * 2.1), (x + head * 0.5, top + head * 2.1), (x, top + head * 4)], fill=(228, 222, 212))
    c.ellipse((x - head * 0.8, top, x + head * 0.8, top + head * 2.1), fill=skin)
    hair = r.choice([50, 70, 40, 150])
    c.pieslice((x - head * 0.9, top - head * 0.2, x + head * 0.9, top + head * 1.6), 180, 360, fill=(hair, hair, hair))
    for side in (-1, 1):
        c.ellipse((x + side * head * 0.32 - 3, top + head * 0.95, x + side * head * 0.32 + 3, top + head * 1.12), fill=_INK)
    c.arc((x - head * 0.3, top + head * 1.2, x + head * 0.3, top + head * 1.7), 20, 160, fill=(110, 90, 80), width=3)


def _portrait(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (226, 216, 196), 0.06)
    inner = (box[0] + w * 0.16, box[1] + h * 0.05, box[2] - w * 0.16, box[3] - h * 0.12)
    c.rectangle(inner, fill=(150, 146, 140))
    for step in range(40):
        c.ellipse((inner[0] + step * 6, inner[1] + step * 5, inner[2] - step * 6, inner[3] - step * 5), fill=(150 + step, 147 + step, 142 + step))
    _person(c, r, w * 0.5, h * 1.05, h * 0.88, r.choice([46, 60, 80]))
    c.rectangle((0, inner[3], w, h), fill=_TABLE)
    c.rectangle((box[0], inner[3], box[2], box[3]), fill=(226, 216, 196))
    c.line((w * 0.4, box[3] - h * 0.05, w * 0.6, box[3] - h * 0.05), fill=(120, 100, 70), width=4)


def _family(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (246, 244, 238), 0.05)
    inner = (box[0] + 50, box[1] + 50, box[2] - 50, box[3] - 50)
    c.rectangle(inner, fill=(176, 182, 180))
    c.rectangle((inner[0], h * 0.68, inner[2], inner[3]), fill=(120, 124, 116))
    c.rectangle((w * 0.18, h * 0.2, w * 0.82, h * 0.68), fill=(196, 190, 178))
    c.polygon([(w * 0.14, h * 0.22), (w * 0.5, h * 0.08), (w * 0.86, h * 0.22)], fill=(96, 90, 86))
    for i in range(3):
        x = w * (0.27 + 0.2 * i)
        c.rectangle((x, h * 0.28, x + w * 0.08, h * 0.44), fill=(90, 100, 104))
    for i, tall in enumerate([0.5, 0.54, 0.36, 0.28, 0.48]):
        _person(c, r, w * (0.22 + 0.14 * i), h * 0.9, h * tall, r.choice([40, 70, 100, 140]))


def _script_line(c: Any, r: random.Random, x0: float, x1: float, y: float, ink: tuple[int, int, int], size: float) -> None:
    x = x0
    while x < x1 - size * 6:
        word = r.uniform(2.5, 7) * size
        points = []
        for i in range(int(word / 3)):
            t = i * 0.62
            tall = size * (1.5 if r.random() < 0.08 else 0.62)
            points.append((x + i * 3 + math.sin(t) * size * 0.22, y - abs(math.sin(t)) * tall + r.uniform(-1, 1)))
        if len(points) > 1:
            c.line(points, fill=ink, width=max(2, int(size / 7)), joint="curve")
        x += word + size * 0.7


def _letter(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, _PAPER, 0.07)
    c.line((w * 0.5, box[1], w * 0.5, box[3]), fill=(222, 210, 184), width=5)
    c.line((box[0], h * 0.5, box[2], h * 0.5), fill=(222, 210, 184), width=5)
    ink = r.choice([(52, 44, 70), (64, 46, 34), (34, 50, 84)])
    _script_line(c, r, w * 0.58, w * 0.9, h * 0.16, ink, 20)
    y = h * 0.26
    while y < h * 0.84:
        _script_line(c, r, w * 0.12 + (40 if r.random() < 0.15 else 0), w * r.uniform(0.82, 0.9), y, ink, 20)
        y += h * 0.056
    for _ in range(3):
        x, y = r.uniform(box[0], box[2]), r.uniform(box[1], box[3])
        c.ellipse((x, y, x + 30, y + 24), fill=(224, 206, 170))


def _medal(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(66, 70, 78))
    x, stripes = w * 0.5, [(30, 60, 110), (236, 230, 214), (150, 40, 36), (236, 230, 214), (30, 60, 110)]
    for i, colour in enumerate(stripes):
        c.polygon(
            [(x - 170 + i * 68, h * 0.08), (x - 102 + i * 68, h * 0.08), (x - 74 + i * 46, h * 0.46), (x - 120 + i * 48, h * 0.46)],
            fill=colour,
        )
    cy, radius = h * 0.66, h * 0.22
    for i in range(60):
        shade = int(150 + 60 * math.cos(i / 9))
        c.ellipse((x - radius + i * 2, cy - radius + i * 2, x + radius - i * 2, cy + radius - i * 2), fill=(shade + 30, shade, int(shade * 0.62)))
    star = [(x + radius * (0.62 if i % 2 else 0.26) * math.sin(i * math.pi / 5), cy + radius * (0.62 if i % 2 else 0.26) * math.cos(i * math.pi / 5)) for i in range(10)]
    c.polygon(star, fill=(226, 196, 130), outline=(120, 90, 40))
    c.ellipse((x - 26, h * 0.44, x + 26, h * 0.49), outline=(210, 180, 110), width=8)


def _quilt(c: Any, r: random.Random, w: int, h: int) -> None:
    palette = [(156, 74, 62), (206, 160, 94), (84, 106, 122), (222, 210, 184), (112, 122, 82), (176, 120, 128)]
    cell = 150
    for row in range(h // cell + 1):
        for column in range(w // cell + 1):
            x, y = column * cell, row * cell
            first, second = r.sample(palette, 2)
            c.rectangle((x, y, x + cell, y + cell), fill=first)
            c.polygon([(x + cell / 2, y + 8), (x + cell - 8, y + cell / 2), (x + cell / 2, y + cell - 8), (x + 8, y + cell / 2)], fill=second)
            for step in range(12, cell, 16):
                c.line((x + step, y, x + step + 7, y), fill=(240, 234, 222), width=2)
                c.line((x, y + step, x, y + step + 7), fill=(240, 234, 222), width=2)


def _cyanotype(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (40, 40, 40), 0.07)
    for _ in range(5):
        x, y, lean = r.uniform(w * 0.2, w * 0.8), box[3] - 40, r.uniform(-0.35, 0.35)
        for i in range(46):
            t = i / 45
            px, py = x + lean * t * h * 0.7, y - t * h * r.uniform(0.7, 0.72)
            leaf = (1 - t) * 120 + 12
            for side in (-1, 1):
                c.polygon([(px, py), (px + side * leaf, py - leaf * 0.45), (px + side * leaf * 0.55, py - leaf * 0.05)], fill=(232, 232, 232))
            c.ellipse((px - 4, py - 4, px + 4, py + 4), fill=(240, 240, 240))


def _negative(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(235, 235, 235))
    c.rectangle((w * 0.07, h * 0.07, w * 0.93, h * 0.93), fill=(40, 40, 40))
    c.rectangle((w * 0.09, h * 0.09, w * 0.91, h * 0.62), fill=(60, 60, 60))
    c.polygon([(w * 0.09, h * 0.62), (w * 0.35, h * 0.36), (w * 0.55, h * 0.62)], fill=(150, 150, 150))
    c.polygon([(w * 0.4, h * 0.62), (w * 0.68, h * 0.28), (w * 0.91, h * 0.62)], fill=(170, 170, 170))
    c.rectangle((w * 0.09, h * 0.62, w * 0.91, h * 0.91), fill=(200, 200, 200))
    for i in range(14):
        y = h * (0.64 + i * 0.019)
        c.line((w * r.uniform(0.1, 0.4), y, w * r.uniform(0.5, 0.9), y), fill=(170, 170, 170), width=4)


def _book(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((w * 0.28, h * 0.1, w * 0.74, h * 0.92), fill=(120, 112, 104))
    c.rectangle((w * 0.26, h * 0.07, w * 0.72, h * 0.89), fill=(110, 34, 34))
    c.rectangle((w * 0.26, h * 0.07, w * 0.31, h * 0.89), fill=(84, 24, 26))
    c.rectangle((w * 0.35, h * 0.13, w * 0.68, h * 0.83), outline=(206, 168, 92), width=6)
    c.rectangle((w * 0.37, h * 0.16, w * 0.66, h * 0.8), outline=(206, 168, 92), width=3)
    _script_line(c, r, w * 0.41, w * 0.64, h * 0.34, (216, 178, 100), 30)
    c.ellipse((w * 0.46, h * 0.48, w * 0.57, h * 0.63), outline=(206, 168, 92), width=6)
    for i in range(8):
        angle = i * math.pi / 4
        x, y = w * 0.515 + math.cos(angle) * w * 0.035, h * 0.555 + math.sin(angle) * w * 0.035
        c.ellipse((x - 14, y - 14, x + 14, y + 14), fill=(206, 168, 92))


def _certificate(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (244, 236, 216), 0.06)
    for inset in (30, 42, 60):
        c.rectangle((box[0] + inset, box[1] + inset, box[2] - inset, box[3] - inset), outline=(96, 82, 52), width=3 if inset != 42 else 8)
    _script_line(c, r, w * 0.3, w * 0.74, h * 0.26, _INK, 42)
    for i in range(5):
        _script_line(c, r, w * 0.2, w * 0.82, h * (0.4 + i * 0.07), _SEPIA, 20)
    for ring in range(10):
        c.ellipse((w * 0.7 + ring * 6, h * 0.68 + ring * 6, w * 0.7 + 180 - ring * 6, h * 0.68 + 180 - ring * 6), fill=(150 + ring * 5, 30 + ring * 4, 30 + ring * 4))
    c.line((w * 0.2, h * 0.84, w * 0.46, h * 0.84), fill=_INK, width=3)
    _script_line(c, r, w * 0.22, w * 0.46, h * 0.83, (34, 50, 84), 26)


def _lace(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(44, 58, 66))
    thread = (240, 236, 224)
    for ring in range(9, 1, -1):
        radius, count = ring * 62, ring * 9
        for i in range(count):
            angle = 2 * math.pi * i / count + ring * 0.2
            x, y = w / 2 + math.cos(angle) * radius, h / 2 + math.sin(angle) * radius
            size = 30 if ring % 2 else 20
            c.ellipse((x - size, y - size, x + size, y + size), outline=thread, width=5)
            c.line((w / 2 + math.cos(angle) * (radius - 44), h / 2 + math.sin(angle) * (radius - 44), x, y), fill=thread, width=3)
    c.ellipse((w / 2 - 70, h / 2 - 70, w / 2 + 70, h / 2 + 70), outline=thread, width=8)


def _watercolour(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (248, 246, 238), 0.06)
    x0, y0, x1, y1 = box[0] + 60, box[1] + 60, box[2] - 60, box[3] - 60
    for i in range(120):
        t = i / 120
        c.rectangle((x0, y0 + (y1 - y0) * 0.6 * t, x1, y0 + (y1 - y0) * 0.6 * (t + 0.02)), fill=(int(150 + 90 * t), int(190 + 40 * t), int(214 + 10 * t)))
    for layer in range(4):
        base = y0 + (y1 - y0) * (0.46 + layer * 0.09)
        points = [(x0, y1)] + [(x0 + (x1 - x0) * i / 24, base + math.sin(i * 0.7 + layer * 2) * 46 + r.uniform(-16, 16)) for i in range(25)] + [(x1, y1)]
        c.polygon(points, fill=(120 - layer * 18, 150 - layer * 16, 150 - layer * 30))
    c.rectangle((x0, y1 - 130, x1, y1), fill=(126, 158, 170))
    for _ in range(26):
        y = r.uniform(y1 - 124, y1 - 8)
        x = r.uniform(x0, x1 - 160)
        c.line((x, y, x + r.uniform(40, 160), y), fill=(176, 200, 206), width=4)
    c.polygon([(w * 0.56, y1 - 150), (w * 0.62, y1 - 330), (w * 0.62, y1 - 150)], fill=(246, 240, 226))
    c.polygon([(w * 0.54, y1 - 140), (w * 0.67, y1 - 140), (w * 0.65, y1 - 108), (w * 0.56, y1 - 108)], fill=(110, 66, 44))


def _teapot(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, h * 0.72, w, h), fill=(170, 152, 128))
    c.ellipse((w * 0.28, h * 0.76, w * 0.74, h * 0.86), fill=(140, 124, 104))
    c.arc((w * 0.6, h * 0.36, w * 0.84, h * 0.68), 250, 110, fill=(236, 236, 232), width=38)
    c.polygon([(w * 0.33, h * 0.6), (w * 0.16, h * 0.36), (w * 0.21, h * 0.34), (w * 0.38, h * 0.48)], fill=(236, 236, 232))
    for i in range(50):
        shade = 210 + i // 2
        c.ellipse((w * 0.3 + i * 3, h * 0.32 + i * 2, w * 0.7 - i * 3, h * 0.8 - i * 4), fill=(shade, shade, shade - 4))
    c.ellipse((w * 0.42, h * 0.28, w * 0.58, h * 0.38), fill=(226, 226, 222))
    c.ellipse((w * 0.48, h * 0.23, w * 0.52, h * 0.29), fill=(50, 80, 140))
    for i in range(9):
        x, y = w * (0.38 + 0.03 * i), h * (0.56 + 0.03 * math.sin(i * 1.3))
        for petal in range(6):
            angle = petal * math.pi / 3
            c.ellipse((x + math.cos(angle) * 14 - 9, y + math.sin(angle) * 14 - 9, x + math.cos(angle) * 14 + 9, y + math.sin(angle) * 14 + 9), fill=(58, 88, 150))


def _reel(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(196, 186, 168))
    x, y, radius = w * 0.5, h * 0.5, h * 0.42
    c.ellipse((x - radius + 12, y - radius + 16, x + radius + 12, y + radius + 16), fill=(150, 142, 128))
    c.ellipse((x - radius, y - radius, x + radius, y + radius), fill=(120, 124, 128))
    for ring in range(int(radius * 0.8), 90, -5):
        c.ellipse((x - ring, y - ring, x + ring, y + ring), outline=(46 + ring % 20, 38, 34), width=4)
    for i in range(3):
        angle = i * 2 * math.pi / 3
        px, py = x + math.cos(angle) * radius * 0.55, y + math.sin(angle) * radius * 0.55
        c.ellipse((px - 100, py - 100, px + 100, py + 100), fill=(70, 56, 48), outline=(150, 152, 156), width=10)
    c.ellipse((x - 50, y - 50, x + 50, y + 50), fill=(170, 172, 176))


def _postcard(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (238, 226, 200), 0.08)
    c.line((w * 0.52, box[1] + 60, w * 0.52, box[3] - 60), fill=(150, 130, 100), width=4)
    for i in range(7):
        _script_line(c, r, box[0] + 50, w * 0.49, h * (0.24 + i * 0.08), (40, 46, 86), 18)
    for i in range(4):
        c.line((w * 0.56, h * (0.5 + i * 0.09), box[2] - 60, h * (0.5 + i * 0.09)), fill=(150, 130, 100), width=3)
        _script_line(c, r, w * 0.57, box[2] - 80, h * (0.49 + i * 0.09), (40, 46, 86), 22)
    c.rectangle((box[2] - 230, box[1] + 50, box[2] - 60, box[1] + 250), fill=(120, 40, 44), outline=(240, 232, 214), width=10)
    c.ellipse((box[2] - 190, box[1] + 90, box[2] - 100, box[1] + 210), fill=(226, 200, 170))
    for ring in (110, 92):
        c.ellipse((w * 0.64 - ring, h * 0.24 - ring, w * 0.64 + ring, h * 0.24 + ring), outline=(60, 60, 70), width=5)


def _doll(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(206, 196, 190))
    x = w * 0.5
    c.polygon([(x - 110, h * 0.42), (x + 110, h * 0.42), (x + 330, h * 0.94), (x - 330, h * 0.94)], fill=(130, 60, 84))
    for i in range(12):
        c.ellipse((x - 330 + i * 56, h * 0.9, x - 270 + i * 56, h * 0.97), fill=(240, 232, 224))
    for side in (-1, 1):
        c.line((x + side * 100, h * 0.46, x + side * 230, h * 0.66), fill=(238, 208, 186), width=54)
    c.ellipse((x - 150, h * 0.1, x + 150, h * 0.44), fill=(242, 214, 192))
    c.pieslice((x - 172, h * 0.06, x + 172, h * 0.4), 180, 360, fill=(120, 76, 40))
    for side in (-1, 1):
        c.ellipse((x + side * 62 - 20, h * 0.26, x + side * 62 + 20, h * 0.3), fill=(50, 80, 120))
        c.ellipse((x + side * 96 - 28, h * 0.31, x + side * 96 + 28, h * 0.345), fill=(232, 160, 150))
        c.ellipse((x + side * 150 - 36, h * 0.22, x + side * 150 + 36, h * 0.4), fill=(120, 76, 40))
    c.arc((x - 36, h * 0.32, x + 36, h * 0.37), 20, 160, fill=(170, 60, 60), width=8)


def _map(c: Any, r: random.Random, w: int, h: int) -> None:
    box = _board(c, w, h, (236, 226, 196), 0.05)
    points = [(box[0], h * 0.3)] + [(box[0] + (box[2] - box[0]) * i / 20, h * (0.36 + 0.1 * math.sin(i * 0.8)) + r.uniform(-20, 20)) for i in range(21)] + [(box[2], box[1]), (box[0], box[1])]
    c.polygon(points, fill=(176, 204, 208))
    for _ in range(70):
        x, y = r.uniform(box[0] + 30, box[2] - 30), r.uniform(h * 0.52, box[3] - 40)
        c.ellipse((x, y, x + 18, y + 14), fill=(150, 168, 120))
    road = [(box[0] + (box[2] - box[0]) * i / 12, h * (0.7 + 0.08 * math.sin(i))) for i in range(13)]
    c.line(road, fill=(150, 60, 44), width=9, joint="curve")
    c.line([(w * 0.4, h * 0.48), (w * 0.46, h * 0.6), (w * 0.44, box[3])], fill=(96, 140, 170), width=12, joint="curve")
    for fold in (0.35, 0.65):
        c.line((w * fold, box[1], w * fold, box[3]), fill=(214, 202, 170), width=6)
    for i in range(9):
        x, y = r.uniform(box[0] + 80, box[2] - 160), r.uniform(h * 0.5, box[3] - 60)
        c.rectangle((x, y, x + 16, y + 16), fill=(60, 40, 36))
        _script_line(c, r, x + 26, x + 180, y + 14, _INK, 12)


def _spoons(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(92, 36, 46))
    for i in range(6):
        x = w * (0.14 + i * 0.145)
        tarnish = r.randint(0, 60)
        for step in range(24):
            shade = 236 - tarnish - step * 4
            c.ellipse((x - 74 + step * 2, h * 0.1 + step * 3, x + 74 - step * 2, h * 0.36 - step * 2), fill=(shade, shade, shade - tarnish // 4))
        c.polygon([(x - 16, h * 0.34), (x + 16, h * 0.34), (x + 30, h * 0.86), (x - 30, h * 0.86)], fill=(206 - tarnish, 206 - tarnish, 202 - tarnish))
        c.ellipse((x - 34, h * 0.82, x + 34, h * 0.92), fill=(216 - tarnish, 216 - tarnish, 212 - tarnish))


def _box(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, h * 0.78, w, h), fill=(150, 140, 126))
    c.polygon([(w * 0.14, h * 0.4), (w * 0.62, h * 0.46), (w * 0.62, h * 0.9), (w * 0.14, h * 0.8)], fill=(170, 128, 84))
    c.polygon([(w * 0.62, h * 0.46), (w * 0.88, h * 0.38), (w * 0.88, h * 0.76), (w * 0.62, h * 0.9)], fill=(142, 104, 66))
    c.polygon([(w * 0.14, h * 0.4), (w * 0.4, h * 0.33), (w * 0.88, h * 0.38), (w * 0.62, h * 0.46)], fill=(92, 66, 44))
    for i in range(9):
        x = w * (0.24 + i * 0.055)
        c.polygon([(x, h * 0.2 + r.uniform(0, 80)), (x + 60, h * 0.19), (x + 70, h * 0.42), (x + 4, h * 0.41)], fill=r.choice([(236, 228, 206), (206, 196, 176), (120, 130, 140), (186, 150, 120)]))
    _script_line(c, r, w * 0.2, w * 0.56, h * 0.64, (60, 40, 26), 40)


PICTURES: dict[str, Drawer] = {
    "portrait": _portrait, "family": _family, "letter": _letter, "medal": _medal, "quilt": _quilt,
    "cyanotype": _cyanotype, "negative": _negative, "book": _book, "certificate": _certificate, "lace": _lace,
    "watercolour": _watercolour, "teapot": _teapot, "reel": _reel, "postcard": _postcard, "doll": _doll,
    "map": _map, "spoons": _spoons, "box": _box,
}  # fmt: skip
