"""The demo's rooms, furniture, shelves and boxes, and the things put into them."""

from __future__ import annotations

from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.actions import add_boxes, move
from archive.boxes.models import Box
from archive.things.models import Thing

_SIDES = ("inner_width_mm", "inner_height_mm", "inner_depth_mm")


def add_storage(keeper: Account, rows: list[dict[str, Any]]) -> None:
    """Record the storage tree and put things into it by their titles; what is there already stays as it is."""
    there = {box.title: box for box in Box.objects.all()}
    for row in rows:
        titles = [f"{row['title']} {figure}" for figure in range(1, row.get("count", 0) + 1)] or [row["title"]]
        if any(title in there for title in titles):
            continue
        # One act for a row: an interrupted build never leaves a box without its things.
        with changing(keeper, "boxes.add"):
            made = add_boxes(keeper, _values(row, there), titles)
            _put_in(keeper, row.get("holds", []), made[0])
        there |= {box.title: box for box in made}


def _values(row: dict[str, Any], there: dict[str, Box]) -> dict[str, Any]:
    inner = [float(side) for side in row.get("inner", [])]
    return {
        "title": row["title"],
        "level": row.get("level", "box"),
        "inside": there[row["inside"]] if "inside" in row else None,
        "made_of": row.get("made_of", ""),
        "note": row.get("note", ""),
        "access": row.get("access", "relatives"),
        **dict(zip(_SIDES, inner, strict=False)),
    }


def _put_in(keeper: Account, titles: list[str], box: Box) -> None:
    things = list(Thing.objects.filter(title__in=titles, box=None))
    if things:
        move(keeper, things, [], box)
