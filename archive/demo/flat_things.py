"""Drawings of flat things: photographs, letters, cards, maps."""

from __future__ import annotations

import math
import random
from typing import Any

from archive.demo.strokes import INK, PAPER, SEPIA, TABLE, board, person, script_line


def portrait(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (226, 216, 196), 0.06)
    inner = (box[0] + w * 0.16, box[1] + h * 0.05, box[2] - w * 0.16, box[3] - h * 0.12)
    c.rectangle(inner, fill=(150, 146, 140))
    for step in range(40):
        c.ellipse(
            (inner[0] + step * 6, inner[1] + step * 5, inner[2] - step * 6, inner[3] - step * 5),
            fill=(150 + step, 147 + step, 142 + step),
        )
    person(c, r, w * 0.5, h * 1.05, h * 0.88, r.choice([46, 60, 80]))
    c.rectangle((0, inner[3], w, h), fill=TABLE)
    c.rectangle((box[0], inner[3], box[2], box[3]), fill=(226, 216, 196))
    c.line((w * 0.4, box[3] - h * 0.05, w * 0.6, box[3] - h * 0.05), fill=(120, 100, 70), width=4)


def family(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (246, 244, 238), 0.05)
    inner = (box[0] + 50, box[1] + 50, box[2] - 50, box[3] - 50)
    c.rectangle(inner, fill=(176, 182, 180))
    c.rectangle((inner[0], h * 0.68, inner[2], inner[3]), fill=(120, 124, 116))
    c.rectangle((w * 0.18, h * 0.2, w * 0.82, h * 0.68), fill=(196, 190, 178))
    c.polygon([(w * 0.14, h * 0.22), (w * 0.5, h * 0.08), (w * 0.86, h * 0.22)], fill=(96, 90, 86))
    for i in range(3):
        x = w * (0.27 + 0.2 * i)
        c.rectangle((x, h * 0.28, x + w * 0.08, h * 0.44), fill=(90, 100, 104))
    for i, tall in enumerate([0.5, 0.54, 0.36, 0.28, 0.48]):
        person(c, r, w * (0.22 + 0.14 * i), h * 0.9, h * tall, r.choice([40, 70, 100, 140]))


def letter(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, PAPER, 0.07)
    c.line((w * 0.5, box[1], w * 0.5, box[3]), fill=(222, 210, 184), width=5)
    c.line((box[0], h * 0.5, box[2], h * 0.5), fill=(222, 210, 184), width=5)
    ink = r.choice([(52, 44, 70), (64, 46, 34), (34, 50, 84)])
    script_line(c, r, w * 0.58, w * 0.9, h * 0.16, ink, 20)
    y = h * 0.26
    while y < h * 0.84:
        script_line(c, r, w * 0.12 + (40 if r.random() < 0.15 else 0), w * r.uniform(0.82, 0.9), y, ink, 20)
        y += h * 0.056
    for _ in range(3):
        x, y = r.uniform(box[0], box[2]), r.uniform(box[1], box[3])
        c.ellipse((x, y, x + 30, y + 24), fill=(224, 206, 170))


def cyanotype(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (40, 40, 40), 0.07)
    for _ in range(5):
        x, y, lean = r.uniform(w * 0.2, w * 0.8), box[3] - 40, r.uniform(-0.35, 0.35)
        for i in range(46):
            t = i / 45
            px, py = x + lean * t * h * 0.7, y - t * h * r.uniform(0.7, 0.72)
            leaf = (1 - t) * 120 + 12
            for side in (-1, 1):
                c.polygon(
                    [(px, py), (px + side * leaf, py - leaf * 0.45), (px + side * leaf * 0.55, py - leaf * 0.05)],
                    fill=(232, 232, 232),
                )
            c.ellipse((px - 4, py - 4, px + 4, py + 4), fill=(240, 240, 240))


def negative(c: Any, r: random.Random, w: int, h: int) -> None:
    c.rectangle((0, 0, w, h), fill=(235, 235, 235))
    c.rectangle((w * 0.07, h * 0.07, w * 0.93, h * 0.93), fill=(40, 40, 40))
    c.rectangle((w * 0.09, h * 0.09, w * 0.91, h * 0.62), fill=(60, 60, 60))
    c.polygon([(w * 0.09, h * 0.62), (w * 0.35, h * 0.36), (w * 0.55, h * 0.62)], fill=(150, 150, 150))
    c.polygon([(w * 0.4, h * 0.62), (w * 0.68, h * 0.28), (w * 0.91, h * 0.62)], fill=(170, 170, 170))
    c.rectangle((w * 0.09, h * 0.62, w * 0.91, h * 0.91), fill=(200, 200, 200))
    for i in range(14):
        y = h * (0.64 + i * 0.019)
        c.line((w * r.uniform(0.1, 0.4), y, w * r.uniform(0.5, 0.9), y), fill=(170, 170, 170), width=4)


def certificate(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (244, 236, 216), 0.06)
    for inset in (30, 42, 60):
        c.rectangle(
            (box[0] + inset, box[1] + inset, box[2] - inset, box[3] - inset),
            outline=(96, 82, 52),
            width=3 if inset != 42 else 8,
        )
    script_line(c, r, w * 0.3, w * 0.74, h * 0.26, INK, 42)
    for i in range(5):
        script_line(c, r, w * 0.2, w * 0.82, h * (0.4 + i * 0.07), SEPIA, 20)
    for ring in range(10):
        c.ellipse(
            (w * 0.7 + ring * 6, h * 0.68 + ring * 6, w * 0.7 + 180 - ring * 6, h * 0.68 + 180 - ring * 6),
            fill=(150 + ring * 5, 30 + ring * 4, 30 + ring * 4),
        )
    c.line((w * 0.2, h * 0.84, w * 0.46, h * 0.84), fill=INK, width=3)
    script_line(c, r, w * 0.22, w * 0.46, h * 0.83, (34, 50, 84), 26)


def watercolour(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (248, 246, 238), 0.06)
    x0, y0, x1, y1 = box[0] + 60, box[1] + 60, box[2] - 60, box[3] - 60
    for i in range(120):
        t = i / 120
        c.rectangle(
            (x0, y0 + (y1 - y0) * 0.6 * t, x1, y0 + (y1 - y0) * 0.6 * (t + 0.02)),
            fill=(int(150 + 90 * t), int(190 + 40 * t), int(214 + 10 * t)),
        )
    for layer in range(4):
        base = y0 + (y1 - y0) * (0.46 + layer * 0.09)
        points = (
            [(x0, y1)]
            + [
                (x0 + (x1 - x0) * i / 24, base + math.sin(i * 0.7 + layer * 2) * 46 + r.uniform(-16, 16))
                for i in range(25)
            ]
            + [(x1, y1)]
        )
        c.polygon(points, fill=(120 - layer * 18, 150 - layer * 16, 150 - layer * 30))
    c.rectangle((x0, y1 - 130, x1, y1), fill=(126, 158, 170))
    for _ in range(26):
        y = r.uniform(y1 - 124, y1 - 8)
        x = r.uniform(x0, x1 - 160)
        c.line((x, y, x + r.uniform(40, 160), y), fill=(176, 200, 206), width=4)
    c.polygon([(w * 0.56, y1 - 150), (w * 0.62, y1 - 330), (w * 0.62, y1 - 150)], fill=(246, 240, 226))
    c.polygon(
        [(w * 0.54, y1 - 140), (w * 0.67, y1 - 140), (w * 0.65, y1 - 108), (w * 0.56, y1 - 108)], fill=(110, 66, 44)
    )


def postcard(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (238, 226, 200), 0.08)
    c.line((w * 0.52, box[1] + 60, w * 0.52, box[3] - 60), fill=(150, 130, 100), width=4)
    for i in range(7):
        script_line(c, r, box[0] + 50, w * 0.49, h * (0.24 + i * 0.08), (40, 46, 86), 18)
    for i in range(4):
        c.line((w * 0.56, h * (0.5 + i * 0.09), box[2] - 60, h * (0.5 + i * 0.09)), fill=(150, 130, 100), width=3)
        script_line(c, r, w * 0.57, box[2] - 80, h * (0.49 + i * 0.09), (40, 46, 86), 22)
    c.rectangle(
        (box[2] - 230, box[1] + 50, box[2] - 60, box[1] + 250), fill=(120, 40, 44), outline=(240, 232, 214), width=10
    )
    c.ellipse((box[2] - 190, box[1] + 90, box[2] - 100, box[1] + 210), fill=(226, 200, 170))
    for ring in (110, 92):
        c.ellipse((w * 0.64 - ring, h * 0.24 - ring, w * 0.64 + ring, h * 0.24 + ring), outline=(60, 60, 70), width=5)


def map(c: Any, r: random.Random, w: int, h: int) -> None:
    box = board(c, w, h, (236, 226, 196), 0.05)
    points = (
        [(box[0], h * 0.3)]
        + [
            (box[0] + (box[2] - box[0]) * i / 20, h * (0.36 + 0.1 * math.sin(i * 0.8)) + r.uniform(-20, 20))
            for i in range(21)
        ]
        + [(box[2], box[1]), (box[0], box[1])]
    )
    c.polygon(points, fill=(176, 204, 208))
    for _ in range(70):
        x, y = r.uniform(box[0] + 30, box[2] - 30), r.uniform(h * 0.52, box[3] - 40)
        c.ellipse((x, y, x + 18, y + 14), fill=(150, 168, 120))
    road = [(box[0] + (box[2] - box[0]) * i / 12, h * (0.7 + 0.08 * math.sin(i))) for i in range(13)]
    c.line(road, fill=(150, 60, 44), width=9, joint="curve")
    c.line([(w * 0.4, h * 0.48), (w * 0.46, h * 0.6), (w * 0.44, box[3])], fill=(96, 140, 170), width=12, joint="curve")
    for fold in (0.35, 0.65):
        c.line((w * fold, box[1], w * fold, box[3]), fill=(214, 202, 170), width=6)
    for _ in range(9):
        x, y = r.uniform(box[0] + 80, box[2] - 160), r.uniform(h * 0.5, box[3] - 60)
        c.rectangle((x, y, x + 16, y + 16), fill=(60, 40, 36))
        script_line(c, r, x + 26, x + 180, y + 14, INK, 12)
