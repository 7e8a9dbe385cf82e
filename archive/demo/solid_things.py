"""Drawings of solid things and cloth."""

from __future__ import annotations

import math
import random
from typing import Any

from archive.demo.strokes import script_line


def medal(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(66, 70, 78))
    x, stripes = w * 0.5, [(30, 60, 110), (236, 230, 214), (150, 40, 36), (236, 230, 214), (30, 60, 110)]
    for i, colour in enumerate(stripes):
        c.polygon(
            [
                (x - 170 + i * 68, h * 0.08),
                (x - 102 + i * 68, h * 0.08),
                (x - 74 + i * 46, h * 0.46),
                (x - 120 + i * 48, h * 0.46),
            ],
            fill=colour,
        )
    cy, radius = h * 0.66, h * 0.22
    for i in range(60):
        shade = int(150 + 60 * math.cos(i / 9))
        c.ellipse(
            (x - radius + i * 2, cy - radius + i * 2, x + radius - i * 2, cy + radius - i * 2),
            fill=(shade + 30, shade, int(shade * 0.62)),
        )
    star = [
        (
            x + radius * (0.62 if i % 2 else 0.26) * math.sin(i * math.pi / 5),
            cy + radius * (0.62 if i % 2 else 0.26) * math.cos(i * math.pi / 5),
        )
        for i in range(10)
    ]
    c.polygon(star, fill=(226, 196, 130), outline=(120, 90, 40))
    c.ellipse((x - 26, h * 0.44, x + 26, h * 0.49), outline=(210, 180, 110), width=8)


def quilt(c: Any, r: random.Random, w: int, h: int) -> None:
    palette = [(156, 74, 62), (206, 160, 94), (84, 106, 122), (222, 210, 184), (112, 122, 82), (176, 120, 128)]
    cell = 150
    for row in range(h // cell + 1):
        for column in range(w // cell + 1):
            x, y = column * cell, row * cell
            first, second = r.sample(palette, 2)
            c.rectangle((x, y, x + cell, y + cell), fill=first)
            c.polygon(
                [
                    (x + cell / 2, y + 8),
                    (x + cell - 8, y + cell / 2),
                    (x + cell / 2, y + cell - 8),
                    (x + 8, y + cell / 2),
                ],
                fill=second,
            )
            for step in range(12, cell, 16):
                c.line((x + step, y, x + step + 7, y), fill=(240, 234, 222), width=2)
                c.line((x, y + step, x, y + step + 7), fill=(240, 234, 222), width=2)


def book(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((w * 0.28, h * 0.1, w * 0.74, h * 0.92), fill=(120, 112, 104))
    c.rectangle((w * 0.26, h * 0.07, w * 0.72, h * 0.89), fill=(110, 34, 34))
    c.rectangle((w * 0.26, h * 0.07, w * 0.31, h * 0.89), fill=(84, 24, 26))
    c.rectangle((w * 0.35, h * 0.13, w * 0.68, h * 0.83), outline=(206, 168, 92), width=6)
    c.rectangle((w * 0.37, h * 0.16, w * 0.66, h * 0.8), outline=(206, 168, 92), width=3)
    script_line(c, r, w * 0.41, w * 0.64, h * 0.34, (216, 178, 100), 30)
    c.ellipse((w * 0.46, h * 0.48, w * 0.57, h * 0.63), outline=(206, 168, 92), width=6)
    for i in range(8):
        angle = i * math.pi / 4
        x, y = w * 0.515 + math.cos(angle) * w * 0.035, h * 0.555 + math.sin(angle) * w * 0.035
        c.ellipse((x - 14, y - 14, x + 14, y + 14), fill=(206, 168, 92))


def lace(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(44, 58, 66))
    thread = (240, 236, 224)
    for ring in range(9, 1, -1):
        radius, count = ring * 62, ring * 9
        for i in range(count):
            angle = 2 * math.pi * i / count + ring * 0.2
            x, y = w / 2 + math.cos(angle) * radius, h / 2 + math.sin(angle) * radius
            size = 30 if ring % 2 else 20
            c.ellipse((x - size, y - size, x + size, y + size), outline=thread, width=5)
            c.line(
                (w / 2 + math.cos(angle) * (radius - 44), h / 2 + math.sin(angle) * (radius - 44), x, y),
                fill=thread,
                width=3,
            )
    c.ellipse((w / 2 - 70, h / 2 - 70, w / 2 + 70, h / 2 + 70), outline=thread, width=8)


def teapot(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, h * 0.72, w, h), fill=(170, 152, 128))
    c.ellipse((w * 0.28, h * 0.76, w * 0.74, h * 0.86), fill=(140, 124, 104))
    c.arc((w * 0.6, h * 0.36, w * 0.84, h * 0.68), 250, 110, fill=(236, 236, 232), width=38)
    c.polygon(
        [(w * 0.33, h * 0.6), (w * 0.16, h * 0.36), (w * 0.21, h * 0.34), (w * 0.38, h * 0.48)], fill=(236, 236, 232)
    )
    for i in range(50):
        shade = 210 + i // 2
        c.ellipse((w * 0.3 + i * 3, h * 0.32 + i * 2, w * 0.7 - i * 3, h * 0.8 - i * 4), fill=(shade, shade, shade - 4))
    c.ellipse((w * 0.42, h * 0.28, w * 0.58, h * 0.38), fill=(226, 226, 222))
    c.ellipse((w * 0.48, h * 0.23, w * 0.52, h * 0.29), fill=(50, 80, 140))
    for i in range(9):
        x, y = w * (0.38 + 0.03 * i), h * (0.56 + 0.03 * math.sin(i * 1.3))
        for petal in range(6):
            angle = petal * math.pi / 3
            c.ellipse(
                (
                    x + math.cos(angle) * 14 - 9,
                    y + math.sin(angle) * 14 - 9,
                    x + math.cos(angle) * 14 + 9,
                    y + math.sin(angle) * 14 + 9,
                ),
                fill=(58, 88, 150),
            )


def reel(c: Any, r: random.Random, w: int, h: int) -> None:
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


def doll(c: Any, r: random.Random, w: int, h: int) -> None:
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


def spoons(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(92, 36, 46))
    for i in range(6):
        x = w * (0.14 + i * 0.145)
        tarnish = r.randint(0, 60)
        for step in range(24):
            shade = 236 - tarnish - step * 4
            c.ellipse(
                (x - 74 + step * 2, h * 0.1 + step * 3, x + 74 - step * 2, h * 0.36 - step * 2),
                fill=(shade, shade, shade - tarnish // 4),
            )
        c.polygon(
            [(x - 16, h * 0.34), (x + 16, h * 0.34), (x + 30, h * 0.86), (x - 30, h * 0.86)],
            fill=(206 - tarnish, 206 - tarnish, 202 - tarnish),
        )
        c.ellipse((x - 34, h * 0.82, x + 34, h * 0.92), fill=(216 - tarnish, 216 - tarnish, 212 - tarnish))


def box(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, h * 0.78, w, h), fill=(150, 140, 126))
    c.polygon(
        [(w * 0.14, h * 0.4), (w * 0.62, h * 0.46), (w * 0.62, h * 0.9), (w * 0.14, h * 0.8)], fill=(170, 128, 84)
    )
    c.polygon(
        [(w * 0.62, h * 0.46), (w * 0.88, h * 0.38), (w * 0.88, h * 0.76), (w * 0.62, h * 0.9)], fill=(142, 104, 66)
    )
    c.polygon([(w * 0.14, h * 0.4), (w * 0.4, h * 0.33), (w * 0.88, h * 0.38), (w * 0.62, h * 0.46)], fill=(92, 66, 44))
    for i in range(9):
        x = w * (0.24 + i * 0.055)
        c.polygon(
            [(x, h * 0.2 + r.uniform(0, 80)), (x + 60, h * 0.19), (x + 70, h * 0.42), (x + 4, h * 0.41)],
            fill=r.choice([(236, 228, 206), (206, 196, 176), (120, 130, 140), (186, 150, 120)]),
        )
    script_line(c, r, w * 0.2, w * 0.56, h * 0.64, (60, 40, 26), 40)
