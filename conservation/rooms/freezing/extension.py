"""What treating by cold adds to the catalogue's pages; its mark in lists comes with that of findings, in one query."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.utils import timezone

from archive.access.models import Account
from archive.extend import Extension, Job, Panel
from archive.things.models import Thing
from conservation.recorded import recorded_of
from conservation.rooms.freezing.routes import ROUTES


def _is_keeper(user: Account | None) -> bool:
    return user is not None and user.is_keeper


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return the treatments of a thing."""
    if not _is_keeper(user) or "freezing" not in recorded_of(thing):
        return
    from conservation.rooms.freezing import assess, queries

    bags = [assess.look_at(each) for each in queries.of_thing(thing.pk)]
    if bags:
        yield Panel("Treated by cold", "rooms/freezing/thing_panel.html", {"bags": bags}, order=45)


def _day(at: datetime | None) -> date | None:
    """Return the day of a moment by the home's clock."""
    return timezone.localdate(at) if at is not None else None


def jobs(user: Account | None) -> Iterable[Job]:
    """Return what comes next for each bag: read it, take it out, open it, look at the place again; four queries."""
    if not _is_keeper(user):
        return
    from conservation.rooms.freezing import assess, queries

    for freezing in queries.under_way():
        bag = assess.look_at(freezing)
        title, url = freezing.title, freezing.get_absolute_url()
        things = max(1, len(freezing.things.all()))
        at_stake: dict[str, Any] = {"matters": 3.0, "vulnerable": 2.0, "exposed": 2.0, "things": things, "url": url}
        if bag.phase == "packed":
            yield Job(words=f"Put into the freezer: {title}", minutes=10, tier=2, why=bag.headline,
                      key=f"freezing.in/{freezing.public_id}", sort="freezing.in", **at_stake)  # fmt: skip
        elif bag.may_come_out:
            yield Job(words=f"The bag may come out: {title}", minutes=5, tier=2, why=bag.headline,
                      due=_day(bag.answer.done_at), key=f"freezing.out/{freezing.public_id}",
                      sort="freezing.out", **at_stake)  # fmt: skip
        elif bag.phase == "in":
            yield Job(words=f"Read the thermometer in the bag: {title}", minutes=2, tier=2, why=bag.headline,
                      due=_day(bag.read_due), key=f"freezing.read/{freezing.public_id}",
                      sort="freezing.read", **at_stake)  # fmt: skip
        elif bag.phase == "out":
            words = "The thaw is over: open" if bag.treated else "Back into the freezer, or stop"
            yield Job(words=f"{words}: {title}", minutes=15, tier=2, why=bag.headline,
                      due=_day(bag.open_safely),
                      key=f"freezing.open/{freezing.public_id}", sort="freezing.open", **at_stake)  # fmt: skip
        elif bag.phase == "opened":
            place = freezing.box.title if freezing.box else "the place it came from"
            yield Job(words=f"Look again where it came from: {place}", minutes=15, due=bag.recheck_due,
                      why=f"Insects in {title} were treated by cold; some may have stayed behind.",
                      key=f"freezing.recheck/{freezing.public_id}", sort="freezing.recheck", **at_stake)  # fmt: skip


def demo(household: Mapping[str, Any], keeper: Account, draw: Any) -> None:
    """Record the demo's treatments by cold."""
    from conservation.rooms.freezing.demo import add_freezings

    add_freezings(household, keeper)


FREEZING = Extension(subject="freezing", panels=panels, jobs=jobs, routes=ROUTES, demo=demo)
