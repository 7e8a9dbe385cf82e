"""Drawings of what stood about the house: clock, lamp, violin, tins, glass, tools, discs."""

from __future__ import annotations

import math
import random
from typing import Any

from archive.demo.strokes import INK, script_line


def _shelf(c: Any, w: int, h: int, wall: tuple[int, int, int] = (208, 200, 184)) -> float:
    """Draw a wall and a table; return the height at which things stand."""
    c.rectangle((0, 0, w, h), fill=wall)
    for i in range(24):
        c.line((w * i / 24, 0, w * i / 24, h * 0.8), fill=tuple(each - 5 for each in wall), width=8)
    c.rectangle((0, h * 0.8, w, h), fill=(134, 104, 76))
    c.rectangle((0, h * 0.8, w, h * 0.815), fill=(160, 128, 96))
    return h * 0.84


def clock(c: Any, r: random.Random, w: int, h: int) -> None:
    foot, x = _shelf(c, w, h), w * 0.5
    wood, dark = (104, 62, 40), (76, 44, 30)
    c.polygon(
        [(x - w * 0.2, foot), (x - w * 0.16, h * 0.34), (x, h * 0.1), (x + w * 0.16, h * 0.34), (x + w * 0.2, foot)],
        fill=wood,
    )
    c.rectangle((x - w * 0.23, foot - 40, x + w * 0.23, foot), fill=dark)
    c.ellipse((x - h * 0.2, h * 0.27, x + h * 0.2, h * 0.67), fill=(206, 164, 74))
    c.ellipse((x - h * 0.18, h * 0.29, x + h * 0.18, h * 0.65), fill=(244, 238, 222))
    cy = h * 0.47
    for n in range(60):
        a, long = n * math.pi / 30, 0.165 if n % 5 else 0.15
        c.line(
            (
                x + h * long * math.sin(a),
                cy - h * long * math.cos(a),
                x + h * 0.172 * math.sin(a),
                cy - h * 0.172 * math.cos(a),
            ),
            fill=INK,
            width=8 if n % 5 == 0 else 3,
        )
    for a, long, wide in ((r.uniform(0, 6), 0.1, 12), (r.uniform(0, 6), 0.145, 7)):
        c.line((x, cy, x + h * long * math.sin(a), cy - h * long * math.cos(a)), fill=INK, width=wide)
    c.ellipse((x - 14, cy - 14, x + 14, cy + 14), fill=(150, 110, 50))


def violin(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(58, 70, 60))
    wood, edge, y = (176, 98, 44), (106, 56, 26), h * 0.5
    for x0, x1, half in ((0.1, 0.36, 0.23), (0.3, 0.54, 0.19)):
        c.ellipse((w * x0, y - h * half, w * x1, y + h * half), fill=wood, outline=edge, width=8)
    c.rectangle((w * 0.22, y - h * 0.13, w * 0.44, y + h * 0.13), fill=wood)
    for side in (-1, 1):
        c.ellipse(
            (w * 0.27, y + side * h * 0.2 - h * 0.075, w * 0.39, y + side * h * 0.2 + h * 0.075), fill=(58, 70, 60)
        )
        c.arc((w * 0.27, y + side * h * 0.09 - 26, w * 0.37, y + side * h * 0.09 + 26), 150, 350, fill=INK, width=9)
    c.polygon([(w * 0.4, y - 40), (w * 0.86, y - 20), (w * 0.86, y + 20), (w * 0.4, y + 40)], fill=(34, 28, 26))
    c.rectangle((w * 0.315, y - 74, w * 0.327, y + 74), fill=(216, 180, 120))
    c.polygon([(w * 0.13, y - 12), (w * 0.25, y - 40), (w * 0.25, y + 40), (w * 0.13, y + 12)], fill=(34, 28, 26))
    for i in range(4):
        c.line((w * 0.24, y - 24 + i * 16, w * 0.9, y - 12 + i * 8), fill=(230, 224, 206), width=3)
    c.ellipse((w * 0.89, y - 46, w * 0.95, y + 46), outline=wood, width=20)
    for i in range(4):
        side = -1 if i % 2 else 1
        c.line((w * (0.86 + i * 0.012), y, w * (0.86 + i * 0.012), y + side * 84), fill=(70, 40, 26), width=14)
    c.line((w * 0.12, h * 0.9, w * 0.94, h * 0.82), fill=(140, 78, 40), width=14)
    c.line((w * 0.14, h * 0.925, w * 0.92, h * 0.85), fill=(232, 228, 214), width=6)


def lamp(c: Any, r: random.Random, w: int, h: int) -> None:
    foot, x, brass = _shelf(c, w, h, (96, 104, 108)), w * 0.5, (200, 156, 72)
    for i in range(30):
        c.ellipse(
            (x - h * 0.4 + i * 10, h * 0.02 + i * 10, x + h * 0.4 - i * 10, h * 0.72 - i * 9),
            fill=(96 + i * 4, 104 + i * 3, 108 + i),
        )
    c.polygon(
        [
            (x - w * 0.06, h * 0.5),
            (x - w * 0.08, h * 0.34),
            (x - w * 0.035, h * 0.08),
            (x + w * 0.035, h * 0.08),
            (x + w * 0.08, h * 0.34),
            (x + w * 0.06, h * 0.5),
        ],
        fill=(236, 234, 216),
        outline=(180, 180, 160),
        width=4,
    )
    c.ellipse((x - 30, h * 0.3, x + 30, h * 0.46), fill=(250, 214, 120))
    c.polygon(
        [(x - w * 0.16, h * 0.7), (x - w * 0.06, h * 0.5), (x + w * 0.06, h * 0.5), (x + w * 0.16, h * 0.7)], fill=brass
    )
    c.rectangle((x - w * 0.07, h * 0.69, x + w * 0.07, foot - 40), fill=(170, 128, 56))
    c.polygon(
        [(x - w * 0.15, foot), (x - w * 0.07, foot - 60), (x + w * 0.07, foot - 60), (x + w * 0.15, foot)], fill=brass
    )
    c.ellipse((x + w * 0.08, h * 0.53, x + w * 0.12, h * 0.58), outline=brass, width=10)


def tin(c: Any, r: random.Random, w: int, h: int) -> None:
    foot, x = _shelf(c, w, h), w * 0.5
    body, ornament = r.choice(
        [((134, 46, 42), (226, 190, 110)), ((46, 84, 82), (232, 214, 170)), ((58, 66, 106), (222, 196, 130))]
    )
    c.rectangle((x - w * 0.3, h * 0.42, x + w * 0.3, foot), fill=body)
    c.ellipse((x - w * 0.3, foot - h * 0.07, x + w * 0.3, foot + h * 0.07), fill=body)
    c.ellipse((x - w * 0.31, h * 0.3, x + w * 0.31, h * 0.46), fill=tuple(each + 18 for each in body))
    c.rectangle((x - w * 0.31, h * 0.38, x + w * 0.31, h * 0.46), fill=tuple(max(0, each - 12) for each in body))
    c.ellipse(
        (x - w * 0.31, h * 0.27, x + w * 0.31, h * 0.43),
        fill=tuple(each + 26 for each in body),
        outline=ornament,
        width=6,
    )
    for n in range(9):
        px = x - w * 0.26 + n * w * 0.065
        c.ellipse((px - 34, h * 0.58 - 34, px + 34, h * 0.58 + 34), outline=ornament, width=7)
        c.polygon([(px, h * 0.66), (px - 24, h * 0.74), (px, h * 0.82), (px + 24, h * 0.74)], fill=ornament)
    for n in range(12):
        a = n * math.pi / 6
        c.ellipse(
            (
                x + w * 0.16 * math.cos(a) - 16,
                h * 0.35 + h * 0.045 * math.sin(a) - 10,
                x + w * 0.16 * math.cos(a) + 16,
                h * 0.35 + h * 0.045 * math.sin(a) + 10,
            ),
            fill=ornament,
        )
    for _ in range(14):
        sx, sy = r.uniform(x - w * 0.28, x + w * 0.28), r.uniform(h * 0.48, foot)
        c.ellipse((sx, sy, sx + 16, sy + 10), fill=(120, 84, 56))


def jar(c: Any, r: random.Random, w: int, h: int) -> None:
    foot = _shelf(c, w, h, (222, 220, 210))
    for n, x in enumerate((0.26, 0.5, 0.74)):
        cx, tall = w * x, h * (0.34 + 0.1 * ((n * 2) % 3))
        glass = [(120, 160, 150), (150, 120, 80), (130, 150, 180)][n]
        c.rounded_rectangle(
            (cx - w * 0.085, foot - tall, cx + w * 0.085, foot),
            46,
            fill=glass,
            outline=tuple(each - 50 for each in glass),
            width=6,
        )
        c.rectangle(
            (cx - w * 0.04, foot - tall - 70, cx + w * 0.04, foot - tall + 16), fill=tuple(each + 20 for each in glass)
        )
        c.rectangle((cx - w * 0.03, foot - tall - 110, cx + w * 0.03, foot - tall - 50), fill=(160, 118, 76))
        c.rectangle(
            (cx - w * 0.06, foot - tall * 0.6, cx + w * 0.06, foot - tall * 0.25),
            fill=(240, 232, 212),
            outline=(140, 110, 80),
            width=3,
        )
        for i in range(3):
            script_line(c, r, cx - w * 0.052, cx + w * 0.07, foot - tall * (0.5 - i * 0.1), INK, 12)
        c.line((cx - w * 0.06, foot - tall + 60, cx - w * 0.06, foot - 60), fill=(236, 244, 240), width=10)


def disc(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(160, 144, 120))
    c.rectangle((w * 0.1, h * 0.06, w * 0.62, h * 0.94), fill=(196, 178, 142), outline=(140, 120, 90), width=5)
    for i in range(3):
        script_line(c, r, w * 0.14, w * 0.36, h * (0.2 + i * 0.1), (84, 60, 44), 22)
    x, y, radius = w * 0.6, h * 0.52, h * 0.4
    c.ellipse((x - radius, y - radius, x + radius, y + radius), fill=(28, 28, 30))
    for i in range(26):
        rr = radius * (0.97 - i * 0.023)
        c.ellipse((x - rr, y - rr, x + rr, y + rr), outline=(50 + (i % 3) * 8,) * 3, width=2)
    for a in (-40, 140):
        c.pieslice(
            (x - radius * 0.96, y - radius * 0.96, x + radius * 0.96, y + radius * 0.96), a, a + 14, fill=(64, 64, 68)
        )
    label = r.choice([(148, 44, 44), (40, 70, 110)])
    c.ellipse((x - radius * 0.36, y - radius * 0.36, x + radius * 0.36, y + radius * 0.36), fill=label)
    for i in range(3):
        script_line(c, r, x - radius * 0.22, x + radius * 0.26, y - radius * (0.16 - i * 0.2), (240, 222, 180), 14)
    c.ellipse((x - 12, y - 12, x + 12, y + 12), fill=(160, 144, 120))


def tools(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(74, 86, 84))
    for n in range(5):
        x = w * (0.16 + n * 0.17)
        c.rounded_rectangle((x - 26, h * 0.48, x + 26, h * 0.9), 20, fill=(150 + n * 6, 104 + n * 4, 62))
        c.rectangle((x - 30, h * 0.45, x + 30, h * 0.5), fill=(196, 160, 84))
        steel = (176, 180, 184)
        if n == 0:
            c.polygon(
                [(x - 20, h * 0.46), (x + 20, h * 0.46), (x + 34, h * 0.12), (x, h * 0.08), (x - 34, h * 0.12)],
                fill=steel,
            )
        elif n == 1:
            c.rectangle((x - 9, h * 0.14, x + 9, h * 0.46), fill=steel)
            c.rectangle((x - 110, h * 0.1, x + 70, h * 0.19), fill=(120, 122, 126))
        elif n == 2:
            c.polygon([(x - 14, h * 0.46), (x + 14, h * 0.46), (x + 5, h * 0.1), (x - 5, h * 0.1)], fill=steel)
        elif n == 3:
            c.ellipse((x - 62, h * 0.1, x + 62, h * 0.3), outline=steel, width=22)
            c.rectangle((x - 10, h * 0.29, x + 10, h * 0.46), fill=steel)
        else:
            c.polygon([(x - 26, h * 0.46), (x + 26, h * 0.46), (x + 26, h * 0.16), (x - 26, h * 0.08)], fill=steel)
        for _ in range(7):
            sx, sy = x + r.uniform(-20, 20), h * r.uniform(0.14, 0.44)
            c.ellipse((sx, sy, sx + 9, sy + 9), fill=(150, 92, 58))


def barometer(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(214, 204, 184))
    x, wood = w * 0.5, (112, 66, 40)
    c.rounded_rectangle((x - w * 0.05, h * 0.05, x + w * 0.05, h * 0.95), 50, fill=wood)
    c.ellipse((x - h * 0.22, h * 0.34, x + h * 0.22, h * 0.78), fill=wood)
    c.ellipse((x - h * 0.18, h * 0.38, x + h * 0.18, h * 0.74), fill=(206, 164, 74))
    c.ellipse((x - h * 0.165, h * 0.395, x + h * 0.165, h * 0.725), fill=(246, 242, 230))
    cy = h * 0.56
    for n in range(41):
        a = math.pi * (0.75 + 1.5 * n / 40)
        inner = 0.13 if n % 5 else 0.115
        c.line(
            (
                x + h * inner * math.cos(a),
                cy + h * inner * math.sin(a),
                x + h * 0.15 * math.cos(a),
                cy + h * 0.15 * math.sin(a),
            ),
            fill=INK,
            width=6 if n % 5 == 0 else 3,
        )
    a = math.pi * r.uniform(1.2, 1.9)
    c.line((x, cy, x + h * 0.13 * math.cos(a), cy + h * 0.13 * math.sin(a)), fill=(150, 40, 36), width=9)
    c.ellipse((x - 16, cy - 16, x + 16, cy + 16), fill=(150, 110, 50))
    c.rounded_rectangle((x - 34, h * 0.09, x + 34, h * 0.32), 14, fill=(246, 242, 230))
    c.rectangle((x - 8, h * 0.11, x + 8, h * 0.3), fill=(200, 206, 210))
    c.rectangle((x - 8, h * r.uniform(0.18, 0.25), x + 8, h * 0.3), fill=(140, 146, 154))


def carving(c: Any, r: random.Random, w: int, h: int) -> None:
    foot, x = _shelf(c, w, h, (188, 196, 192)), w * 0.5
    wood, dark = (166, 120, 74), (124, 86, 50)
    c.polygon(
        [(x - w * 0.32, h * 0.56), (x + w * 0.32, h * 0.52), (x + w * 0.24, foot - 30), (x - w * 0.24, foot - 30)],
        fill=wood,
    )
    for i in range(5):
        c.line(
            (x - w * 0.3 + i * 14, h * (0.6 + i * 0.045), x + w * 0.3 - i * 14, h * (0.565 + i * 0.05)),
            fill=dark,
            width=5,
        )
    c.rectangle((x - 14, h * 0.12, x + 14, h * 0.56), fill=dark)
    c.polygon([(x + 20, h * 0.15), (x + w * 0.22, h * 0.48), (x + 20, h * 0.5)], fill=(236, 226, 204))
    c.polygon([(x - 20, h * 0.2), (x - w * 0.16, h * 0.47), (x - 20, h * 0.49)], fill=(224, 212, 188))
    c.rectangle((x - w * 0.3, foot - 34, x + w * 0.3, foot), fill=dark)
    for n in range(4):
        c.ellipse((x - w * 0.2 + n * w * 0.12, h * 0.62, x - w * 0.2 + n * w * 0.12 + 40, h * 0.62 + 40), fill=dark)


def nest(c: Any, r: random.Random, w: int, h: int) -> None:
    """A round nest of moss and stalks, and two feathers before it."""
    c.rectangle((0, 0, w, h), fill=(214, 206, 190))
    x, y, wide, tall = w * 0.42, h * 0.44, w * 0.25, h * 0.3
    c.ellipse((x - wide, y + tall * 0.6, x + wide + 40, y + tall * 1.15), fill=(180, 170, 152))
    c.ellipse((x - wide, y - tall, x + wide, y + tall), fill=(104, 84, 56))
    for n in range(900):
        far, turn = math.sqrt(n / 900), r.uniform(0, 2 * math.pi)
        sx, sy = x + wide * far * math.cos(turn), y + tall * far * math.sin(turn)
        half, colour = r.uniform(24, 70), r.choice([(142, 118, 78), (120, 110, 62), (166, 140, 96), (92, 74, 50)])
        at = int(math.degrees(turn)) + 60
        c.arc(
            (sx - half, sy - half * 0.8, sx + half, sy + half * 0.8), at, at + r.randint(40, 90), fill=colour, width=4
        )
    c.ellipse((x - wide * 0.3, y - tall * 0.5, x + wide * 0.34, y + tall * 0.1), fill=(52, 40, 28))
    for root, tip, vane in (
        ((w * 0.58, h * 0.9), (w * 0.86, h * 0.42), (120, 132, 146)),
        ((w * 0.44, h * 0.92), (w * 0.8, h * 0.72), (156, 128, 94)),
    ):
        _feather(c, root, tip, vane)


def _feather(c: Any, root: tuple[float, float], tip: tuple[float, float], vane: tuple[int, int, int]) -> None:
    long, over = math.dist(root, tip), math.atan2(tip[1] - root[1], tip[0] - root[0])
    shade = tuple(max(0, each - 24) for each in vane)
    for step in range(18, 101):
        part = step / 100
        at = (root[0] + (tip[0] - root[0]) * part, root[1] + (tip[1] - root[1]) * part)
        barb = long * 0.17 * math.sin(math.pi * min(1.0, (part - 0.1) * 1.1)) ** 0.6
        for side in (-0.7, 0.7):
            end = (at[0] + barb * math.cos(over + side), at[1] + barb * math.sin(over + side))
            c.line((*at, *end), fill=shade if step % 9 == 0 else vane, width=6)
    c.line((*root, *tip), fill=(236, 230, 216), width=7)
