"""What the demo household shows: places with their light, what hung and hangs, and light of other kinds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.on_show.light import actions as light
from conservation.on_show.light.assess import preset_lxh
from conservation.on_show.models import Spot
from conservation.on_show.spots import actions as spots

_AS_WRITTEN = (
    "title", "form", "capacity", "window_direction", "window_distance", "curtain", "sun_reaches", "lamp",
    "lamp_hours", "glazing", "near", "materials", "access",
)  # fmt: skip


def build(household: Mapping[str, Any], keeper: Account, draw: Callable[[str, int, str], Any]) -> None:
    """Record what the demo household shows; what is there already stays as it is."""
    if Spot.objects.exists():
        return
    today = timezone.localdate()
    rooms = {box.title: box for box in Box.objects.filter(level="room")}
    things = {thing.title: thing for thing in Thing.objects.select_related("box")}
    places = {row["title"]: _spot(keeper, row, rooms) for row in household["spot"]}
    for row in household["said_of_light"]:
        values = {name: value for name, value in row.items() if name != "thing"}
        light.say_of_thing(keeper, things[row["thing"]], values)
    for row in household["barred"]:
        light.bar(keeper, things[row["thing"]], places[row["spot"]], row["why"])
    for row in household["hung"]:
        _hung(keeper, row, things[row["thing"]], places[row["spot"]], today)
    for row in household["light_had"]:
        times = row.get("times", 1)
        lxh = preset_lxh(row["preset"]) * times if "preset" in row else row["lux"] * row["minutes"] / 60 * times
        day = today - timedelta(days=row["ago"])
        values = {"what": row["what"], "day": day, "lxh": lxh, "words": row.get("words", "")}
        light.add_use(keeper, things[row["thing"]], values)


def _spot(keeper: Account, row: Mapping[str, Any], rooms: Mapping[str, Box]) -> Spot:
    values: dict[str, Any] = {name: row[name] for name in _AS_WRITTEN if name in row}
    values |= dict(zip(("width_mm", "height_mm", "depth_mm"), row["size"], strict=False))
    spot = spots.save_spot(keeper, None, {**values, "room": rooms[row["room"]]})
    for lux, sky, by_what, ago in row.get("reading", []):
        taken = timezone.now() - timedelta(days=ago)
        spots.add_reading(keeper, spot, {"lux": lux, "sky": sky, "by_what": by_what, "taken_at": taken})
    return spot


def _hung(keeper: Account, row: Mapping[str, Any], thing: Thing, spot: Spot, today: date) -> None:
    showing = spots.hang(
        keeper, thing, spot, day=today - timedelta(days=row["up"]), is_copy=row.get("copy", False),
        note=row.get("note", ""), as_it_happened=True,
    )  # fmt: skip
    if row.get("down"):
        spots.take_down(keeper, showing, day=today - timedelta(days=row["down"]))
