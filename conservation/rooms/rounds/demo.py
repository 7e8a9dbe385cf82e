"""The demo's rounds and findings."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box
from archive.things.models import Thing
from conservation.rooms.rounds import actions, assess, queries
from conservation.rooms.rounds.models import Answer, Finding, Round


def add_rounds(household: Mapping[str, Any], keeper: Account, draw: Any) -> None:
    """Record the rounds of the table ``round`` and the findings of ``finding``; what is there stays as it is."""
    rows = household.get("round", [])
    if not rows or Round.objects.exists():
        return
    today = timezone.localdate()
    pictures = {
        row["words"]: [draw(row["picture"], 700 + n, row["room"])]
        for n, row in enumerate(household["finding"])
        if "picture" in row
    }
    found = {(row["round"], row["room"], row["check"]) for row in household["finding"] if "round" in row}
    rooms = {each.rows.room.title: each for each in assess.plan_house(queries.rows_of_rooms(keeper, today), today)}
    with changing(keeper, "rooms.begin_round"):
        walks = {row["ago"]: _walk(row, rooms, found, keeper, today) for row in rows}
        for row in household["finding"]:
            _finding(row, walks, pictures, keeper, today)


def _walk(row: Mapping[str, Any], rooms: Mapping[str, Any], found: set[Any], keeper: Account, today: date) -> Round:
    day = today - timedelta(days=row["ago"])
    chosen = [rooms[title] for title in row["rooms"] if title in rooms]
    lists = []
    for plan in chosen:
        codes = [line.check.code for line in plan.lines]
        noticed = [code for ago, title, code in found if ago == row["ago"] and title == plan.room.title]
        lists.append((plan.room, codes + [code for code in noticed if code not in codes]))
    round_ = actions.begin_round(keeper, day, lists)
    for each in round_.rooms.select_related("box"):
        if each.box.title in row.get("walked", row["rooms"]):
            said = {
                code: Answer.FOUND if (row["ago"], each.box.title, code) in found else Answer.FINE
                for code in each.checks
            }
            actions.answer_room(keeper, each, said, day)
    return round_


def _finding(
    row: Mapping[str, Any], walks: Mapping[int, Round], pictures: Mapping[str, Any], keeper: Account, today: date
) -> None:
    room = Box.objects.filter(title=row["room"], level="room").order_by("pk").first()
    if room is None:
        return
    values = {
        "check_code": row["check"],
        "box": Box.objects.filter(title=row["box"]).order_by("pk").first() if "box" in row else None,
        "gravity": row["gravity"],
        "words": row["words"],
        "found_on": today - timedelta(days=row["ago"]),
    }
    things = list(Thing.objects.filter(title__in=row.get("things", [])))
    made: Finding = actions.add_finding(
        keeper, room, values, things, pictures.get(row["words"], []), walks.get(row.get("round", -1))
    )
    if "closed_ago" in row:
        actions.close_finding(keeper, made, today - timedelta(days=row["closed_ago"]), row["closed_how"])
