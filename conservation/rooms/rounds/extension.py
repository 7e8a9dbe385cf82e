"""What rounds and findings add to the catalogue's pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Flag, Job, Panel
from archive.things.models import Thing
from conservation.recorded import IN_A_BAG, ON_SHOW, marks_of, recorded_of
from conservation.rooms.rounds.routes import ROUTES

_MOST_FINDINGS = 20
_GRAVE = {"little": 1.0, "clear": 2.0, "urgent": 3.0}
_WITHIN_DAYS = {1: 0, 2: 2, 4: 14}  # from the day it was found, by tier; our default
_MINUTES = {"little": 15, "clear": 30, "urgent": 45}  # our default


def _is_keeper(user: Account | None) -> bool:
    return user is not None and user.is_keeper


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the open findings on a thing, or in the box it lies in."""
    if not _is_keeper(user):
        return
    from conservation.rooms.rounds import assess, queries

    if not recorded_of(thing) & {"finding", "finding in its box"}:
        return
    if found := assess.named_findings(queries.findings_about(thing)):
        yield Panel("Found on it or near it", "rooms/rounds/thing_panel.html", {"findings": found}, order=5)


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return the ways to rounds and findings of a room."""
    if box.level != Level.ROOM or not _is_keeper(user):
        return
    from conservation.rooms.rounds import assess, queries

    found = assess.named_findings(queries.open_in(box))
    yield Panel("Rounds and findings", "rooms/rounds/box_panel.html", {"findings": found, "room": box}, order=30)


def flags(things: Sequence[Thing], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Mark things on which, or in whose box, something was found, and those treated by cold now."""
    if not _is_keeper(user):
        return {}
    from conservation.rooms.rounds import assess

    def mark(code: str) -> Flag:
        if code == IN_A_BAG:
            return Flag("note", "In treatment by cold")
        return Flag("care", f"Open finding: {assess.check_name(code)}")

    about = marks_of(things).items()
    return {pk: [mark(code) for code in codes if code != ON_SHOW] for pk, codes in about if codes}


def jobs(user: Account | None) -> Iterable[Job]:
    """Return rounds that are due, one under way, and findings that are open."""
    if not _is_keeper(user):
        return
    from conservation.rooms.rounds import assess, queries

    today = timezone.localdate()
    under_way = queries.rounds_under_way()
    walked = {row.box_id for each in under_way for row in each.rooms.all() if row.open_checks()}
    for each in under_way:
        left = sum(len(row.open_checks()) for row in each.rooms.all())
        if left:
            yield Job(
                words=f"Go on with the round: {left} check{'s' if left > 1 else ''} left",
                url=each.get_absolute_url(), minutes=assess.minutes(left), due=each.began_on, benefit=3.0,
                why=f"Begun on {each.began_on.day} {each.began_on:%B}.",
                key=f"rounds.going-on/{each.public_id}", sort="rounds.round",
            )  # fmt: skip
    plans = assess.plan_house(queries.rows_of_rooms(user, today), today)
    for plan in plans:
        if plan.due and plan.room.pk not in walked:
            yield _round_job(plan)
    yield from _finding_jobs({plan.room.pk: plan.rows.kinds for plan in plans})


def _round_job(plan: Any) -> Job:
    names = ", ".join(line.check.name.lower() for line in plan.due[:3])
    more = f" and {len(plan.due) - 3} more" if len(plan.due) > 3 else ""
    why = "Nobody has walked it yet." if plan.never_looked else f"Due: {names}{more}."
    return Job(
        words=f"Walk round: {plan.room.title}", url=f"{reverse('rooms:rounds')}?room={plan.room.public_id}",
        minutes=plan.minutes, due=plan.overdue_since, why=why, matters=3.0, vulnerable=2.0,
        exposed=2.0 if any(line.every.days < line.every.rest_days for line in plan.due) else 1.0,
        key=f"rounds.round/{plan.room.public_id}", sort="rounds.round",
    )  # fmt: skip


def _finding_jobs(kinds: Mapping[int, Mapping[str, int]]) -> Iterable[Job]:
    from conservation.rooms.rounds import assess, queries

    here = queries.findings_of(closed=False).filter(room__withdrawn_at__isnull=True)
    for finding in here.prefetch_related("things")[:_MOST_FINDINGS]:
        tier = assess.tier_of(finding.check_code, finding.gravity)
        told = assess.meaning(finding.check_code)
        threatened = assess.how_many_threatened(finding.check_code, kinds.get(finding.room_id, {}))
        first = (f"Read the caution. {told.check.do[0]}" if told.caution else told.check.do[0]) if told else ""
        place = (finding.box or finding.room).title
        near = f"; {threatened} thing{'s' if threatened != 1 else ''} at risk in the room" if threatened else ""
        yield Job(
            words=f"See to it: {assess.check_name(finding.check_code).lower()} in {place}",
            url=finding.get_absolute_url(), minutes=_MINUTES[finding.gravity], tier=tier,
            due=finding.found_on + timedelta(days=_WITHIN_DAYS[tier]),
            why=f"Found on {finding.found_on.day} {finding.found_on:%B %Y}, {finding.get_gravity_display()}{near}.",
            first=first, matters=3.0, vulnerable=_GRAVE[finding.gravity], exposed=2.0,
            things=max(1, len(finding.things.all()), min(threatened, 50)),
            key=f"rounds.finding/{finding.public_id}", sort=f"rounds.finding.{finding.gravity}",
        )  # fmt: skip


def demo(household: Mapping[str, Any], keeper: Account, draw: Any) -> None:
    """Record the demo's rounds and findings."""
    from conservation.rooms.rounds.demo import add_rounds

    add_rounds(household, keeper, draw)


ROUNDS = Extension(
    subject="rounds",
    panels=panels,
    box_panels=box_panels,
    flags=flags,
    jobs=jobs,
    routes=ROUTES,
    demo=demo,
)
