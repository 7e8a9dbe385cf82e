"""Reading what captions say: people and stories of things, as far as those who will read them may see them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from archive.access.models import Account
from archive.people.models import Person
from archive.stories.models import Story, StoryThing
from archive.things.models import Thing, ThingPerson


@dataclass
class Told:
    """What may be said of a thing on its caption, and whether something was left out."""

    people: list[str] = field(default_factory=list)
    story: Story | None = None
    people_left_out: int = 0
    stories_left_out: int = 0


def told_of(thing_ids: Iterable[int], keeper: Account, audience: Account | None) -> dict[int, Told]:
    """Return people and the latest story of things for an audience (None: any guest); four queries."""
    wanted = list(thing_ids)
    found = {each: Told() for each in wanted}
    seen = set(
        Person.objects.visible_to(audience).present().filter(thing_rows__thing__in=wanted).values_list("pk", flat=True)
    )
    shown = ThingPerson.objects.filter(thing__in=wanted, role=ThingPerson.Role.SHOWN, sure=True).select_related(
        "person"
    )
    for row in shown.order_by("pk"):
        if row.person.withdrawn_at is not None or row.person.unidentified:
            continue
        if row.person_id in seen:
            found[row.thing_id].people.append(row.person.name)
        else:
            found[row.thing_id].people_left_out += 1
    open_ = set(
        Story.objects.visible_to(audience).present().filter(thing_rows__thing__in=wanted).values_list("pk", flat=True)
    )
    rows = StoryThing.objects.filter(thing__in=wanted, story__withdrawn_at=None).select_related("story")
    for link in rows.order_by("-story__created_at", "-story__pk"):
        told = found[link.thing_id]
        if link.story_id not in open_:
            told.stories_left_out += 1
        elif told.story is None:
            told.story = link.story
    return found


def visible_things(thing_ids: Iterable[int], audience: Account | None) -> set[int]:
    """Return which of some things an audience may see; one query."""
    return set(Thing.objects.visible_to(audience).present().filter(pk__in=list(thing_ids)).values_list("pk", flat=True))
