"""Drawings of what is found on a walk through the rooms: mould on a wall, webbing in a fold, skins on a sill."""

from __future__ import annotations

import math
import random
from typing import Any


def mould_on_a_wall(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(206, 200, 184))
    for row in range(9):
        y = row * h / 8
        c.line((0, y, w, y), fill=(186, 178, 162), width=4)
        for n in range(7):
            x = (n + row % 2 / 2) * w / 6
            c.line((x, y, x, y + h / 8), fill=(186, 178, 162), width=4)
    c.rectangle((0, h * 0.86, w, h), fill=(110, 104, 98))
    for _ in range(900):
        angle, far = r.uniform(0, 2 * math.pi), abs(r.gauss(0, 0.5))
        x, y = w * 0.6 + math.cos(angle) * far * w * 0.28, h * 0.56 + math.sin(angle) * far * h * 0.3
        size, shade = r.uniform(3, 20) * (1.2 - min(far, 1)), r.randint(84, 150)
        c.ellipse((x - size, y - size, x + size, y + size), fill=(shade, shade + 6, shade - 6))
    c.rectangle((w * 0.08, h * 0.18, w * 0.12, h * 0.86), fill=(70, 74, 80))
    c.rectangle((w * 0.08, h * 0.5, w * 0.42, h * 0.53), fill=(84, 88, 94))


def webbing(c: Any, r: random.Random, w: int, h: int) -> None:
    for n in range(14):
        x = n * w / 13
        red = 150 + int(26 * math.sin(n))
        c.polygon([(x, 0), (x + w / 12, 0), (x + w / 9 - 20, h), (x - 30, h)], fill=(red, 44, 40))
    c.polygon([(0, h * 0.62), (w, h * 0.46), (w, h * 0.66), (0, h * 0.84)], fill=(232, 224, 204))
    for tube in range(2):
        x0, y0 = w * (0.3 + 0.28 * tube), h * (0.5 + 0.06 * tube)
        for k in range(34):
            x, y = x0 + k * w * 0.006, y0 + math.sin(k / 5) * h * 0.02
            size = h * 0.018 + r.uniform(0, 6)
            c.ellipse((x - size, y - size, x + size, y + size), fill=(226, 214 - k % 7, 190))
    for _ in range(260):
        x, y = r.gauss(w * 0.52, w * 0.13), r.gauss(h * 0.66, h * 0.08)
        c.ellipse((x - 4, y - 4, x + 4, y + 4), fill=(140 + r.randint(0, 40), 54, 46))
    for _ in range(5):
        x, y, size = r.uniform(w * 0.2, w * 0.8), r.uniform(h * 0.2, h * 0.42), r.uniform(14, 34)
        c.ellipse((x - size, y - size * 0.6, x + size, y + size * 0.6), fill=(52, 30, 28))


def skins_on_a_sill(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(224, 216, 198))
    c.rectangle((0, 0, w, h * 0.22), fill=(176, 196, 204))
    c.rectangle((0, h * 0.2, w, h * 0.25), fill=(244, 240, 230))
    for _ in range(600):
        x, y = r.uniform(0, w), r.uniform(h * 0.28, h)
        c.ellipse((x - 2, y - 2, x + 2, y + 2), fill=(196, 186, 168))
    for _ in range(3):
        x, y, turn = r.uniform(w * 0.2, w * 0.8), r.uniform(h * 0.4, h * 0.85), r.uniform(0, math.pi)
        for ring in range(9):
            along = (ring - 4) * h * 0.026
            px, py = x + math.cos(turn) * along, y + math.sin(turn) * along
            size = h * 0.03 * math.sin((ring + 1) / 10 * math.pi)
            c.ellipse((px - size, py - size, px + size, py + size), fill=(150, 104, 60) if ring % 2 else (112, 74, 42))
            for hair in range(5):
                a = turn + math.pi / 2 + (hair - 2) * 0.35
                for side in (-1, 1):
                    c.line((px, py, px + side * math.cos(a) * size * 2, py + side * math.sin(a) * size * 2),
                           fill=(96, 66, 40), width=2)  # fmt: skip
    c.rectangle((w * 0.06, h * 0.9, w * 0.94, h * 0.96), fill=(232, 206, 120))
    for n in range(30):
        x = w * (0.06 + n * 0.03)
        c.line((x, h * 0.9, x, h * (0.93 if n % 5 else 0.945)), fill=(70, 60, 40), width=3)
