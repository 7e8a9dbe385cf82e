"""Recording, changing and moving boxes, and putting things into them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Max

from archive.access.changes import changing
from archive.access.models import Account, ChangeSet
from archive.access.records import touch
from archive.boxes.models import Box
from archive.boxes.queries import why_not
from archive.things.actions import issue_number
from archive.things.models import Thing


class CannotStand(ValueError):
    """A box cannot stand where it is to go; the message is a sentence for the keeper."""


class NothingToMove(ValueError):
    """Everything is where it is to go already."""


def add_box(who: Account | None, values: dict[str, Any]) -> Box:
    """Record a box, shelf, room …; `values` are columns of `Box`.

    Raises:
        CannotStand: it cannot stand in what it is to stand in.
    """
    return add_boxes(who, values, [values["title"]])[0]


def add_boxes(who: Account | None, values: dict[str, Any], titles: Sequence[str]) -> list[Box]:
    """Record several of a sort, in the order of their names, as one act.

    Raises:
        CannotStand: they cannot stand in what they are to stand in.
    """
    made = []
    with changing(who, "boxes.add"):
        position = _next_position(values.get("inside"))
        for step, title in enumerate(titles):
            box = Box(**{**values, "title": title, "position": position + step})
            _check(box, box.inside, who)
            box.serial = issue_number("boxes")
            box.save()
            made.append(box)
    return made


def edit_box(who: Account, box: Box, values: dict[str, Any]) -> None:
    """Change a box's own fields, its place among them.

    Raises:
        CannotStand: it cannot stand there, or what stands in it would no longer fit.
    """
    with changing(who, "boxes.edit"):
        for name, value in values.items():
            setattr(box, name, value)
        _check(box, box.inside, who)
        for held in box.holds.all():
            if not held.fits(box):
                level = f"{box.get_level_display()}"
                raise CannotStand(f"{held} stands in it, and a {held.get_level_display()} cannot stand in a {level}.")
        touch(box)
        box.save()


def move(who: Account, things: Sequence[Thing], boxes: Sequence[Box], goal: Box | None) -> ChangeSet:
    """Put things and whole boxes into a box, or take them out of where they are (``goal`` None), as one act.

    Raises:
        CannotStand: a box cannot stand there; nothing is moved.
        NothingToMove: all of them are there already.
    """
    with changing(who, "boxes.move") as change_set:
        where = goal.pk if goal else None
        to_move = [each for each in Thing.objects.filter(pk__in=[t.pk for t in things]) if each.box_id != where]
        whole = [each for each in Box.objects.filter(pk__in=[b.pk for b in boxes]) if each.inside_id != where]
        if not to_move and not whole:
            raise NothingToMove
        for box in whole:
            _check(box, goal, who)
        for thing in to_move:
            thing.box = goal
            touch(thing)
            thing.save()
        position = _next_position(goal)
        for step, box in enumerate(whole):
            box.inside, box.position = goal, position + step
            touch(box)
            box.save()
    return change_set


def _check(box: Box, goal: Box | None, who: Account | None) -> None:
    if goal is not None and (why := why_not(box, goal, who)):
        raise CannotStand(why)


def _next_position(inside: Box | None) -> int:
    last = Box.objects.filter(inside=inside).aggregate(last=Max("position"))["last"]
    return int(last or 0) + 1
