"""The demo's first looks, lots, groups and waiting shelf."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.boxes.models import Box
from archive.people.models import Person
from archive.places.models import Place
from archive.sorting import actions, group_actions, lot_actions
from archive.sorting.models import FirstLook, Group, Lot
from archive.things.models import Standing, Thing

Draw = Callable[[str, int, str], Any]


def add_sorting(household: dict[str, Any], keeper: Account, draw: Draw) -> None:
    """Record what was sorted; what is there already stays as it is. Boxes, people and things come before it."""
    for number, row in enumerate(household["first_look"], 300):
        _first_look(row, keeper, draw, number)
    for number, row in enumerate(household["lot"], 400):
        _lot(row, keeper, draw, number)
    for row in household["group"]:
        if not Group.objects.filter(title=row["title"]).exists():
            values = {name: row.get(name, "") for name in ("title", "note")}
            values |= {"sort": row["sort"], "access": row.get("access", "relatives")}
            group_actions.add_group(keeper, values, _things(row["things"]))
    for row in household["waiting"]:
        _waiting(row, keeper)


def _pictures(row: dict[str, Any], draw: Draw, number: int) -> list[tuple[str, list[Any]]]:
    """Draw a row's pictures before anything is written: the drawing takes longer than a transaction should."""
    return [(view, [draw(name, number + n, row.get("title", row.get("box", "")))]) for n, (view, name) in
            enumerate(row.get("pictures", []))]  # fmt: skip


def _things(titles: list[str]) -> list[Thing]:
    found = {thing.title: thing for thing in Thing.objects.filter(title__in=titles).order_by("-pk")}
    return [found[title] for title in titles if title in found]


def _first_look(row: dict[str, Any], keeper: Account, draw: Draw, number: int) -> None:
    if FirstLook.objects.filter(box__title=row["box"]).exists():
        return
    box = Box.objects.filter(title=row["box"]).order_by("pk").first()
    values = {
        "title": row["box"],
        "access": row.get("access", box.access if box is not None else "relatives"),
        "found": row.get("found", []),
        "stood_where": row.get("stood", ""),
        "packed_by": Person.objects.filter(name=row.get("packed_by", "")).order_by("pk").first(),
        "packed_by_text": row.get("packed_by_text", ""),
        "could_tell": row.get("could_tell", ""),
        "urgency": row.get("urgency", 1),
        "interest": row.get("interest", 3),
        "note": row.get("note", ""),
    }
    actions.add_first_look(keeper, values, row.get("counts", {}), _pictures(row, draw, number), box)


def _lot(row: dict[str, Any], keeper: Account, draw: Draw, number: int) -> None:
    if Lot.objects.filter(title=row["title"]).exists():
        return
    values = {
        "title": row["title"],
        "from_whom": Person.objects.filter(name=row.get("from_whom", "")).order_by("pk").first(),
        "from_whom_text": row.get("from_whom_text", ""),
        "from_where": Place.objects.filter(name=row.get("from_where", "")).order_by("pk").first(),
        "arrived_text": row.get("arrived", ""),
        "found_in": row.get("found_in", ""),
        "found_with": row.get("found_with", ""),
        "position_note": row.get("position", ""),
        "wrapper_text": row.get("wrapper", ""),
        "note": row.get("note", ""),
    }
    taken = _pictures(row, draw, number)
    # One act, so that an interrupted build leaves no lot without what is in it.
    with changing(keeper, "sorting.add_lot"):
        lot = lot_actions.add_lot(keeper, values, taken)
        for thing, where in zip(_things(row["things"]), row["where"], strict=False):
            lot_actions.add_members(keeper, lot, [thing], where)
        if row.get("accepted"):
            lot_actions.accept(keeper, lot)
        if "apart_days" in row:
            until = timezone.localdate() + timedelta(days=row["apart_days"])
            lot_actions.keep_apart(keeper, lot, until, row["apart_why"])


def _waiting(row: dict[str, Any], keeper: Account) -> None:
    thing = Thing.objects.filter(title=row["thing"], open_question="").order_by("pk").first()
    if thing is None:
        return
    if "undecided" not in row:
        actions.ask(keeper, thing, row["question"])
        return
    values = {
        "standing": Standing.UNDECIDED,
        "standing_why": row["undecided"],
        "standing_on": timezone.localdate(),
        "open_question": row["question"],
        "gone_how": "",
        "gone_agreed": "",
        "copy_kept": None,
    }
    actions.set_standing(keeper, [thing], values)
