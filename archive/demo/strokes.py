"""Strokes that several drawings share: a board, a person, a line of handwriting."""

from __future__ import annotations

import math
import random
from typing import Any

INK, SEPIA, PAPER, TABLE = (38, 32, 30), (92, 66, 44), (240, 230, 208), (206, 198, 184)


def board(c: Any, w: int, h: int, colour: tuple[int, int, int], margin: float = 0.08) -> tuple[int, int, int, int]:
    box = (int(w * margin), int(h * margin), int(w * (1 - margin)), int(h * (1 - margin)))
    c.rectangle((box[0] + 14, box[1] + 16, box[2] + 14, box[3] + 16), fill=(168, 160, 148))
    c.rectangle(box, fill=colour)
    return box


def person(c: Any, r: random.Random, x: float, foot: float, tall: float, shade: int) -> None:
    head, skin = tall * 0.085, (206, 194, 180)
    top = foot - tall
    coat = (shade, shade, shade)
    c.polygon(
        [
            (x - tall * 0.15, foot),
            (x - tall * 0.11, top + head * 2.4),
            (x + tall * 0.11, top + head * 2.4),
            (x + tall * 0.15, foot),
        ],
        fill=coat,
    )
    c.ellipse((x - tall * 0.15, top + head * 2, x + tall * 0.15, top + head * 4.2), fill=coat)
    c.polygon(
        [(x - head * 0.5, top + head * 2.1), (x + head * 0.5, top + head * 2.1), (x, top + head * 4)],
        fill=(228, 222, 212),
    )
    c.ellipse((x - head * 0.8, top, x + head * 0.8, top + head * 2.1), fill=skin)
    hair = r.choice([50, 70, 40, 150])
    c.pieslice((x - head * 0.9, top - head * 0.2, x + head * 0.9, top + head * 1.6), 180, 360, fill=(hair, hair, hair))
    for side in (-1, 1):
        c.ellipse(
            (x + side * head * 0.32 - 3, top + head * 0.95, x + side * head * 0.32 + 3, top + head * 1.12), fill=INK
        )
    c.arc((x - head * 0.3, top + head * 1.2, x + head * 0.3, top + head * 1.7), 20, 160, fill=(110, 90, 80), width=3)


def script_line(
    c: Any, r: random.Random, x0: float, x1: float, y: float, ink: tuple[int, int, int], size: float
) -> None:
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
