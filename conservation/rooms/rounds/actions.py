"""Writing rounds and findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.boxes.models import Box
from archive.pictures.actions import TakenIn, attach
from archive.pictures.models import View
from archive.things.models import Thing
from conservation.rooms.rounds.models import Finding, FindingPicture, FindingThing, Round, RoundRoom


def begin_round(who: Account | None, day: date, lists: Iterable[tuple[Box, Sequence[str]]]) -> Round:
    """Begin a round: the rooms and, for each, the codes of what is looked at there, kept as they are now."""
    with changing(who, "rooms.begin_round"):
        round_ = Round(began_on=day)
        round_.save()
        for room, codes in lists:
            RoundRoom(round=round_, box=room, checks=list(codes)).save()
    return round_


def answer_room(who: Account | None, row: RoundRoom, answers: Mapping[str, str], day: date) -> bool:
    """Record what was said of the checks of a room; what is not named stays. The last answer finishes the round.

    Two people may walk the same room: each answer is written beside what is there by then. Returns whether the round
    is finished now.
    """
    with changing(who, "rooms.answer"):
        now = RoundRoom.objects.select_related("round").get(pk=row.pk)
        now.answers = {**now.answers, **{code: each for code, each in answers.items() if code in now.checks}}
        now.answered_on = day
        touch(now)
        now.save()
        row.answers, row.answered_on = now.answers, day
        others = RoundRoom.objects.filter(round=now.round_id)
        finished = now.round.finished_at is None and not any(each.open_checks() for each in others)
        if finished:
            _finish(now.round)
    return finished


def end_round(who: Account | None, round_: Round) -> None:
    """End a round as it is; what has no answer was not looked at."""
    with changing(who, "rooms.end_round"):
        if round_.finished_at is None:
            _finish(round_)


def _finish(round_: Round) -> None:
    round_.finished_at = timezone.now()
    touch(round_)
    round_.save()


def add_finding(
    who: Account | None, room: Box, values: Mapping[str, Any], things: Sequence[Thing], taken: Sequence[TakenIn],
    round_: Round | None = None,
) -> Finding:  # fmt: skip
    """Record a finding with its pictures and the things it was seen on, in one change set.

    ``values``: check_code, box, gravity, words, found_on. Pictures belong to the box, or else the room.
    """
    with changing(who, "rooms.add_finding"):
        finding = Finding(room=room, round=round_, **values)
        finding.save()
        _tie(who, finding, things, taken)
    return finding


def change_finding(
    who: Account | None, finding: Finding, values: Mapping[str, Any], things: Sequence[Thing], taken: Sequence[TakenIn]
) -> None:
    """Change what a finding says, add pictures, and make its things those given."""
    with changing(who, "rooms.change_finding"):
        for name, value in values.items():
            setattr(finding, name, value)
        touch(finding)
        finding.save()
        wanted = {thing.pk for thing in things}
        for row in FindingThing.objects.filter(finding=finding):
            if row.thing_id not in wanted:
                row.delete()
        _tie(who, finding, things, taken)


def _tie(who: Account | None, finding: Finding, things: Sequence[Thing], taken: Sequence[TakenIn]) -> None:
    there = set(FindingThing.objects.filter(finding=finding).values_list("thing_id", flat=True))
    for thing in things:
        if thing.pk not in there:
            FindingThing(finding=finding, thing=thing).save()
    if taken:
        for picture in attach(who, finding.box or finding.room, taken, view=View.DAMAGE):
            FindingPicture(finding=finding, picture=picture).save()


def close_finding(who: Account | None, finding: Finding, day: date, how: str) -> None:
    """Close a finding with what was done."""
    with changing(who, "rooms.close_finding"):
        finding.closed_on, finding.closed_how = day, how
        touch(finding)
        finding.save()
