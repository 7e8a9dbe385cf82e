"""Reading the waiting shelf: what is undecided or not known yet, with the question that is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet

from archive.access.models import Account
from archive.people.models import Person
from archive.pictures.models import PersonMark, Picture
from archive.search.queries import kept
from archive.sorting.models import GONE
from archive.sorting.queries import PER_PAGE, first_pictures
from archive.things.models import PiecePerson, Share, Standing, Thing, ThingPerson


@dataclass
class Waiting:
    """A thing on the waiting shelf and why it is there."""

    thing: Thing
    first_picture: Picture | None
    unknown: list[Person] = field(default_factory=list)

    @property
    def why(self) -> list[str]:
        """Return in words why the thing waits, apart from its open question."""
        told = []
        if self.thing.standing == Standing.UNDECIDED:
            told.append("Undecided.")
        if self.thing.kind_code == "unknown":
            told.append("Nobody knows yet what it is.")
        if self.unknown:
            names = ", ".join(person.name for person in self.unknown)
            told.append(f"Somebody in it is not known yet: {names}.")
        return told


def _unknown_people(reader: Account | None) -> Any:
    return Person.objects.visible_to(reader).present().filter(unidentified=True)


def waiting(reader: Account | None) -> QuerySet[Thing]:
    """Return the things that wait: undecided, of a kind not known, with an open question, or with somebody unknown.

    What has left does not wait.
    """
    people = _unknown_people(reader)
    every: Any = Thing.objects.order_by().values("pk")
    # A union of small sets, each found by an index of its own; one long condition would read every thing.
    marks = PersonMark.objects.filter(person__in=people, picture__thing__isnull=False)
    why = every.filter(standing=Standing.UNDECIDED).union(
        every.filter(kind_code="unknown"),
        every.exclude(open_question=""),
        ThingPerson.objects.filter(person__in=people).order_by().values("thing"),
        PiecePerson.objects.filter(person__in=people).order_by().values("piece__thing"),
        marks.order_by().values("picture__thing"),
    )
    things: QuerySet[Thing] = Thing.objects.visible_to(reader).present().exclude(standing__in=GONE)
    return things.filter(pk__in=why)


def shelf_page(reader: Account | None, number: str) -> tuple[Page[Any], list[Waiting]]:
    """Return one page of the shelf, the longest waiting first, in a constant number of queries."""
    things = waiting(reader).order_by("created_at", "pk").prefetch_related(first_pictures())
    page = Paginator(things, PER_PAGE).get_page(number)
    rows = {thing.pk: Waiting(thing, next(iter(thing.pictures.all()), None)) for thing in page.object_list}
    people = _unknown_people(reader).in_bulk()
    links = (
        ThingPerson.objects.filter(thing__in=rows, person__in=people).values_list("thing_id", "person_id"),
        PiecePerson.objects.filter(piece__thing__in=rows, person__in=people).values_list(
            "piece__thing_id", "person_id"
        ),
        PersonMark.objects.filter(picture__thing__in=rows, person__in=people).values_list(
            "picture__thing_id", "person_id"
        ),
    )
    for link in links:
        for thing, person in link:
            if people[person] not in rows[thing].unknown:
                rows[thing].unknown.append(people[person])
    return page, list(rows.values())


def how_many_wait(reader: Account | None, at_most: int | None = None) -> int:
    """Return how many things wait on the shelf; counting stops at a number, and is done once after each change."""
    return kept(f"waiting, up to {at_most}", reader, waiting(reader)[:at_most].count)


def chosen(public_ids: Sequence[str], reader: Account | None) -> list[Thing]:
    """Return the things of some addresses that the reader sees, in the order of their numbers."""
    things = Thing.objects.visible_to(reader).present().filter(public_id__in=list(public_ids)[:2_000])
    return list(things.select_related("borrowed_from").order_by("serial_id"))


def owners_of(things: Sequence[Thing], reader: Account | None) -> list[str]:
    """Return the names of those to whom the things belong, for the line that asks who agreed."""
    rows = Share.objects.filter(thing__in=things, person__in=Person.objects.visible_to(reader)).select_related("person")
    return sorted({row.person.name for row in rows})
