"""Writing first looks, standings and open questions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.access.undo import Clash
from archive.boxes.models import Box, Level, RoughCount
from archive.people.actions import person_for
from archive.pictures.actions import TakenIn, attach
from archive.sorting.models import GONE, NEEDS_A_REASON, FirstLook
from archive.sorting.rules import LeavesUnsaid
from archive.things.actions import issue_number
from archive.things.models import Standing, Thing

# What a first look says of the box itself; the rest of a form is the look's.
BOX_FIELDS = ("title", "access")
Taken = Sequence[tuple[str, Sequence[TakenIn]]]


def add_first_look(
    who: Account | None, values: Mapping[str, Any], counts: Mapping[str, int], taken: Taken, box: Box | None = None
) -> FirstLook:
    """Record a box as found: box (or one that is there), look, rough counts and pictures, in one change set.

    ``values`` holds the fields of `FirstLook` and those of `BOX_FIELDS`; ``taken`` pairs views with picture files.

    Raises:
        ValueError: the box has its first look already.
    """
    with changing(who, "sorting.first_look"):
        if box is None:
            box = Box(serial=issue_number("boxes"), level=Level.BOX, title=values["title"], access=values["access"])
            box.save()
        elif FirstLook.objects.filter(box=box).exists():
            raise ValueError("This box has its first look already.")
        else:
            _save_box(box, values)
        look = FirstLook(box=box)
        _save_look(who, look, values)
        _save_counts(box, counts)
        _attach(who, box, taken)
    return look


def edit_first_look(
    who: Account | None, look: FirstLook, values: Mapping[str, Any], counts: Mapping[str, int], taken: Taken
) -> None:
    """Change what a first look says, its counts, and add pictures to it, in one change set."""
    with changing(who, "sorting.edit_first_look"):
        _save_box(look.box, values)
        touch(look)
        _save_look(who, look, values)
        _save_counts(look.box, counts)
        _attach(who, look.box, taken)


def set_done(who: Account | None, look: FirstLook, done: bool) -> None:
    """Say that the things of a box are recorded, or that they are not."""
    with changing(who, "sorting.things_done"):
        look.things_done = done
        touch(look)
        look.save()


def _save_box(box: Box, values: Mapping[str, Any]) -> None:
    if any(getattr(box, name) != values[name] for name in BOX_FIELDS):
        for name in BOX_FIELDS:
            setattr(box, name, values[name])
        touch(box)
        box.save()


def _save_look(who: Account | None, look: FirstLook, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        if name not in BOX_FIELDS:
            setattr(look, name, person_for(who, value) if name == "packed_by" else value)
    look.save()


def _save_counts(box: Box, counts: Mapping[str, int]) -> None:
    """Make the rough counts of a box those given, changing only the rows that differ."""
    rows = {row.kind_code: row for row in RoughCount.objects.filter(box=box)}
    for code, row in rows.items():
        if code not in counts:
            row.delete()
    for code, count in counts.items():
        found = rows.get(code)
        if found is None:
            RoughCount(box=box, kind_code=code, count=count).save()
        elif found.count != count:
            found.count = count
            touch(found)
            found.save()


def _attach(who: Account | None, box: Box, taken: Taken) -> None:
    for view, pictures in taken:
        if pictures:
            attach(who, box, pictures, view=view)


def set_standing(who: Account | None, things: Sequence[Thing], values: Mapping[str, Any]) -> None:
    """Give things a standing, in one change set. What has left is taken out of its box.

    ``values``: standing, standing_why, standing_on, gone_how, gone_agreed, copy_kept, open_question.

    Raises:
        LeavesUnsaid: a reason is missing, or for what leaves how, who agreed, or whether a copy is kept; or a thing
            is on loan to us and would be given away.
    """
    standing = values["standing"]
    gone = standing in GONE
    _refuse_unsaid(standing, values, things)
    with changing(who, "sorting.standing"):
        for thing in things:
            if standing in (Standing.PASSED_ON, Standing.LET_GO) and thing.borrowed_from_id is not None:
                raise LeavesUnsaid(
                    f"{thing} is on loan to us. It can be returned, but not passed on or let go.",
                    [Clash(str(thing), "standing", None, standing)],
                )
            thing.standing = standing
            thing.standing_why = values["standing_why"]
            thing.standing_on = values["standing_on"]
            thing.gone_how = values["gone_how"] if gone else ""
            thing.gone_agreed = values["gone_agreed"] if gone else ""
            thing.copy_kept = values["copy_kept"] if gone else None
            if standing == Standing.UNDECIDED:
                thing.open_question = values["open_question"]
            if gone:
                thing.box = None
            touch(thing)
            thing.save()


def _refuse_unsaid(standing: str, values: Mapping[str, Any], things: Sequence[Thing]) -> None:
    missing = []
    if not values["standing_why"].strip():
        missing.append("a reason")
    if values["standing_on"] is None:
        missing.append("the day")
    if standing == Standing.UNDECIDED and not values["open_question"].strip():
        missing.append("the question that is open")
    if standing in GONE:
        missing += [
            words
            for name, words in (("gone_how", "how it went and to whom"), ("gone_agreed", "who agreed"))
            if not values[name].strip()
        ]
        if values["copy_kept"] is None:
            missing.append("whether a copy is kept")
    if missing:
        nothing = "Nothing leaves without it." if standing in NEEDS_A_REASON else ""
        named = str(things[0]) if len(things) == 1 else f"{len(things)} things"
        raise LeavesUnsaid(
            f"“{Standing(standing).label}” for {named} still wants {', '.join(missing)}. {nothing}".strip(),
            [Clash(str(thing), "standing", None, standing) for thing in things],
        )


def ask(who: Account | None, thing: Thing, question: str) -> None:
    """Set or change the question that is open about a thing; an empty one is taken away."""
    with changing(who, "sorting.ask"):
        thing.open_question = question.strip()
        touch(thing)
        thing.save()


def answer(who: Account | None, thing: Thing, words: str, question: str | None = None) -> None:
    """Answer the open question: question and answer go into what is known about the thing, and it is open no more.

    ``question`` is how it was put in the end, where that is not as it stands.

    Raises:
        ValueError: the note would be longer than it may be; nothing is changed.
    """
    today = timezone.localdate()
    asked = thing.open_question if question is None else question.strip()
    told = f"Asked: {asked} Answer ({today.day} {today:%B %Y}, {who}): {words.strip()}"
    note = f"{thing.note.rstrip()}\n\n{told}" if thing.note.strip() else told
    if len(note) > (Thing._meta.get_field("note").max_length or 0):
        raise ValueError("What is known about this thing is as long as it may be. Shorten it there, then answer.")
    with changing(who, "sorting.answer"):
        thing.note = note
        thing.open_question = ""
        touch(thing)
        thing.save()
