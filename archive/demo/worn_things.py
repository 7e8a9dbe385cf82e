"""Drawings of what was worn or spread: clothes, hats, shoes, flags, samplers, baskets of wool."""

from __future__ import annotations

import math
import random
from typing import Any

from archive.demo.strokes import INK

Colour = tuple[int, int, int]


def _ground(c: Any, w: int, h: int, colour: Colour) -> None:
    c.rectangle((0, 0, w, h), fill=colour)
    for i in range(14):
        tone = tuple(max(0, each - i) for each in colour)
        c.rectangle((0, h * (0.62 + i * 0.027), w, h), fill=tone)


def gown(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (92, 104, 112))
    cloth, shade, x = (246, 242, 230), (220, 214, 196), w * 0.5
    c.polygon(
        [(x - w * 0.07, h * 0.14), (x + w * 0.07, h * 0.14), (x + w * 0.1, h * 0.36), (x - w * 0.1, h * 0.36)],
        fill=cloth,
    )
    for side in (-1, 1):
        c.polygon(
            [
                (x + side * w * 0.06, h * 0.15),
                (x + side * w * 0.2, h * 0.24),
                (x + side * w * 0.17, h * 0.32),
                (x + side * w * 0.08, h * 0.27),
            ],
            fill=cloth,
        )
    c.polygon(
        [(x - w * 0.1, h * 0.36), (x + w * 0.1, h * 0.36), (x + w * 0.22, h * 0.93), (x - w * 0.22, h * 0.93)],
        fill=cloth,
    )
    for i in range(15):
        t = i / 14
        c.line((x - w * 0.1 + w * 0.2 * t, h * 0.37, x - w * 0.22 + w * 0.44 * t, h * 0.92), fill=shade, width=3)
    for row in (0.7, 0.78, 0.86, 0.92):
        half = w * (0.1 + 0.12 * (row - 0.36) / 0.57)
        steps = 26
        for i in range(steps):
            at = x - half + 2 * half * i / (steps - 1)
            c.ellipse((at - 12, h * row - 10, at + 12, h * row + 14), fill=(255, 252, 244), outline=shade)
    c.rectangle((x - w * 0.1, h * 0.35, x + w * 0.1, h * 0.38), fill=(170, 196, 214))
    for i in range(5):
        c.ellipse(
            (x - 7, h * (0.17 + i * 0.035), x + 7, h * (0.17 + i * 0.035) + 14), fill=(236, 226, 196), outline=shade
        )


def uniform(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (196, 190, 176))
    coat, dark, brass, x = (42, 58, 84), (30, 42, 62), (206, 164, 74), w * 0.5
    c.polygon(
        [(x - w * 0.15, h * 0.12), (x + w * 0.15, h * 0.12), (x + w * 0.19, h * 0.95), (x - w * 0.19, h * 0.95)],
        fill=coat,
    )
    for side in (-1, 1):
        c.polygon(
            [
                (x + side * w * 0.13, h * 0.13),
                (x + side * w * 0.22, h * 0.2),
                (x + side * w * 0.27, h * 0.76),
                (x + side * w * 0.19, h * 0.78),
                (x + side * w * 0.14, h * 0.4),
            ],
            fill=dark,
        )
        c.rectangle((x + side * w * 0.23 - w * 0.04, h * 0.7, x + side * w * 0.23 + w * 0.04, h * 0.73), fill=brass)
        c.polygon(
            [
                (x, h * 0.34),
                (x + side * w * 0.07, h * 0.12),
                (x + side * w * 0.12, h * 0.12),
                (x + side * w * 0.09, h * 0.22),
            ],
            fill=dark,
        )
    c.line((x, h * 0.34, x, h * 0.95), fill=dark, width=6)
    for i in range(6):
        for aside in (-0.035, 0.035):
            c.ellipse(
                (x + w * aside - 17, h * (0.4 + i * 0.08), x + w * aside + 17, h * (0.4 + i * 0.08) + 34),
                fill=brass,
                outline=(120, 92, 40),
                width=3,
            )
    c.rectangle((x - w * 0.12, h * 0.3, x - w * 0.05, h * 0.33), fill=(160, 44, 40))
    c.rectangle((x - w * 0.05, h * 0.105, x + w * 0.05, h * 0.15), fill=(160, 44, 40))


def hat(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (150, 132, 116))
    x, straw = w * 0.5, (222, 190, 120)
    c.ellipse((x - w * 0.36 + 20, h * 0.52 + 30, x + w * 0.36 + 20, h * 0.84 + 30), fill=(116, 100, 86))
    c.ellipse((x - w * 0.36, h * 0.5, x + w * 0.36, h * 0.82), fill=straw)
    for i in range(17):
        inset = i * 15
        c.ellipse(
            (x - w * 0.36 + inset, h * 0.5 + inset * 0.5, x + w * 0.36 - inset, h * 0.82 - inset * 0.5),
            outline=(196, 160, 92),
            width=3,
        )
    c.polygon(
        [(x - w * 0.17, h * 0.63), (x - w * 0.14, h * 0.26), (x + w * 0.14, h * 0.26), (x + w * 0.17, h * 0.63)],
        fill=straw,
    )
    c.ellipse((x - w * 0.14, h * 0.2, x + w * 0.14, h * 0.32), fill=(232, 204, 138))
    for i in range(10):
        c.arc(
            (x - w * 0.15 - i, h * (0.28 + i * 0.033), x + w * 0.15 + i, h * (0.38 + i * 0.033)),
            5,
            175,
            fill=(198, 164, 96),
            width=3,
        )
    band = r.choice([(40, 74, 92), (132, 44, 48), (74, 92, 60)])
    c.polygon(
        [(x - w * 0.165, h * 0.54), (x + w * 0.165, h * 0.54), (x + w * 0.172, h * 0.64), (x - w * 0.172, h * 0.64)],
        fill=band,
    )
    for side in (-1, 1):
        c.polygon(
            [(x + w * 0.1, h * 0.59), (x + w * 0.1 + side * 110, h * 0.52), (x + w * 0.1 + side * 90, h * 0.68)],
            fill=tuple(min(255, each + 24) for each in band),
        )


def shoes(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (214, 206, 190))
    leather = r.choice([(84, 52, 38), (52, 40, 40)])
    light = tuple(min(255, each + 34) for each in leather)
    for dx, dy in ((0.0, 0.0), (0.34, 0.09)):
        x, y = w * (0.14 + dx), h * (0.34 + dy)
        c.polygon(
            [
                (x, y),
                (x + w * 0.1, y - 10),
                (x + w * 0.13, y + h * 0.2),
                (x + w * 0.33, y + h * 0.27),
                (x + w * 0.36, y + h * 0.36),
                (x - w * 0.01, y + h * 0.36),
            ],
            fill=leather,
        )
        c.rectangle((x - w * 0.012, y + h * 0.35, x + w * 0.37, y + h * 0.385), fill=(58, 44, 34))
        c.rectangle((x - w * 0.012, y + h * 0.35, x + w * 0.09, y + h * 0.43), fill=(58, 44, 34))
        c.ellipse((x - 6, y - 26, x + w * 0.105, y + 24), fill=(36, 28, 26))
        for i in range(5):
            lx, ly = x + w * (0.105 + i * 0.022), y + h * (0.06 + i * 0.04)
            c.line((lx - 30, ly, lx + 36, ly + 16), fill=(230, 220, 196), width=7)
            c.ellipse((lx + 30, ly + 10, lx + 42, ly + 22), fill=(190, 170, 120))
        c.arc((x + w * 0.2, y + h * 0.24, x + w * 0.35, y + h * 0.42), 200, 330, fill=light, width=6)


def flag(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (180, 176, 166))
    stripes = [(36, 74, 96), (240, 234, 218), (36, 74, 96)]
    columns = 90
    for n in range(columns):
        x = w * (0.14 + 0.74 * n / columns)
        wave = math.sin(n / 9) * 26
        tone = int(14 * math.cos(n / 9))
        for i, colour in enumerate(stripes):
            shade = tuple(max(0, min(255, each + tone)) for each in colour)
            top = h * (0.2 + i * 0.18) + wave
            c.rectangle((x, top, x + w * 0.74 / columns + 1, top + h * 0.18), fill=shade)
    cx, cy = w * 0.48, h * 0.47
    c.polygon([(cx - 130, cy + 30), (cx + 130, cy + 30), (cx + 90, cy + 90), (cx - 90, cy + 90)], fill=(150, 52, 44))
    c.polygon([(cx - 6, cy + 20), (cx - 6, cy - 120), (cx + 90, cy + 14)], fill=(226, 178, 3))
    c.line((cx - 10, cy + 30, cx - 10, cy - 130), fill=INK, width=8)
    c.rectangle((w * 0.115, h * 0.1, w * 0.14, h * 0.95), fill=(110, 80, 54))
    c.ellipse((w * 0.105, h * 0.07, w * 0.15, h * 0.13), fill=(206, 164, 74))


def sampler(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(112, 84, 60))
    c.rectangle((w * 0.08, h * 0.06, w * 0.92, h * 0.94), fill=(232, 222, 196))
    colours = [(138, 46, 44), (44, 84, 110), (70, 104, 66), (178, 132, 52)]
    step = 15

    def cross(x: float, y: float, colour: Colour) -> None:
        c.line((x, y, x + step - 4, y + step - 4), fill=colour, width=4)
        c.line((x + step - 4, y, x, y + step - 4), fill=colour, width=4)

    left, right, top, bottom = w * 0.12, w * 0.88, h * 0.11, h * 0.89
    for i in range(int((right - left) / step)):
        up = 2 if (i // 4) % 2 else 0
        for y in (top + up * step, bottom - up * step):
            cross(left + i * step, y, colours[(i // 8) % 2])
    for row in range(3):
        for n in range(12):
            x0, y0, colour = left + 60 + n * (right - left - 120) / 12, h * (0.24 + row * 0.11), r.choice(colours)
            for gx in range(3):
                for gy in range(4):
                    if (gx + gy * 3 + n * 5 + row * 7) % 3 or gx == 0:
                        cross(x0 + gx * step, y0 + gy * step, colour)
    hx, hy = w * 0.42, h * 0.6
    for gy in range(9):
        for gx in range(16):
            cross(
                hx + gx * step,
                hy + gy * step,
                colours[0] if gy < 4 and abs(gx - 7.5) < gy * 2 + 1 else colours[1] if gy >= 4 else (232, 222, 196),
            )
    for tree in (0.2, 0.74):
        for gy in range(9):
            for gx in range(-gy // 2, gy // 2 + 1):
                cross(w * (tree + 0.03) + gx * step, hy + gy * step, colours[2])


def basket(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (222, 214, 198))
    x, y = w * 0.5, h * 0.56
    c.arc((x - w * 0.24, h * 0.12, x + w * 0.24, h * 0.9), 180, 360, fill=(140, 102, 62), width=26)
    for n in range(7):
        bx, colour = (
            x - w * 0.2 + n * w * 0.066,
            r.choice([(150, 60, 62), (66, 92, 120), (214, 176, 92), (104, 120, 84), (232, 224, 208)]),
        )
        by = y - r.uniform(40, 120)
        c.ellipse((bx - 80, by - 70, bx + 80, by + 90), fill=colour)
        for i in range(6):
            c.arc(
                (bx - 76 + i * 10, by - 66 + i * 6, bx + 76 - i * 4, by + 84 - i * 8),
                200 + i * 12,
                330,
                fill=tuple(max(0, each - 26) for each in colour),
                width=4,
            )
    for row in range(11):
        ry, half = y + row * 32, w * (0.27 - row * 0.006)
        for i in range(26):
            ix = x - half + 2 * half * i / 26
            colour = (182, 140, 88) if (i + row) % 2 else (156, 114, 68)
            c.rounded_rectangle((ix, ry, ix + 2 * half / 26 + 4, ry + 30), 10, fill=colour, outline=(120, 84, 48))
    c.rounded_rectangle((x - w * 0.28, y - 22, x + w * 0.28, y + 14), 16, fill=(140, 102, 62))


def fan(c: Any, r: random.Random, w: int, h: int) -> None:
    _ground(c, w, h, (84, 78, 86))
    x, y, ribs = w * 0.5, h * 0.86, 17
    for n in range(ribs - 1):
        a0, a1 = math.pi * (1.1 + 0.8 * n / (ribs - 1)), math.pi * (1.1 + 0.8 * (n + 1) / (ribs - 1))
        long, short = h * 0.7, h * 0.34
        points = [
            (x + far * math.cos(angle), y + far * math.sin(angle))
            for far, angle in ((long, a0), (long, a1), (short, a1), (short, a0))
        ]
        c.polygon(points, fill=(236, 226, 206) if n % 2 else (224, 212, 190))
        middle = (a0 + a1) / 2
        fx, fy = x + h * 0.54 * math.cos(middle), y + h * 0.54 * math.sin(middle)
        if n % 2:
            for petal in range(5):
                at = petal * 2 * math.pi / 5 + n
                c.ellipse(
                    (
                        fx + 22 * math.cos(at) - 15,
                        fy + 22 * math.sin(at) - 15,
                        fx + 22 * math.cos(at) + 15,
                        fy + 22 * math.sin(at) + 15,
                    ),
                    fill=(176, 72, 84),
                )
            c.ellipse((fx - 10, fy - 10, fx + 10, fy + 10), fill=(222, 182, 70))
        else:
            c.arc((fx - 40, fy - 26, fx + 40, fy + 26), 190, 350, fill=(90, 116, 84), width=6)
    for n in range(ribs):
        a = math.pi * (1.1 + 0.8 * n / (ribs - 1))
        c.line((x, y, x + h * 0.36 * math.cos(a), y + h * 0.36 * math.sin(a)), fill=(206, 182, 140), width=14)
    c.ellipse((x - 22, y - 22, x + 22, y + 22), fill=(206, 164, 74))
