"""Reading people for pages, and finding them by what somebody typed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.http import Http404

from archive.access.models import Account
from archive.folding import fold
from archive.people.models import Person, PersonName


@dataclass(frozen=True)
class NewName:
    """A typed name that nobody in the archive has yet."""

    name: str


def find_person(public_id: str, reader: Account | None) -> Person:
    """Return a person that this reader may see.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    person: Person | None = Person.objects.visible_to(reader).filter(public_id=public_id).first()
    if person is None:
        raise Http404
    return person


def named(typed: str, reader: Account | None) -> list[Person]:
    """Return the people whom a typed name or label (``Anna Aldermoor (1902–1971)``) means: none, one, or several.

    Case and accents make no difference; any form of the name counts. Withdrawn people are left out.
    """
    typed = " ".join(typed.split())
    bare = typed.rpartition(" (")[0] if typed.endswith(")") else ""
    wanted = {fold(each) for each in (typed, bare) if each}
    if not wanted:
        return []
    by_name = Q(name_folded__in=wanted) | Q(pk__in=PersonName.objects.filter(name_folded__in=wanted).values("person"))
    found = list(Person.objects.visible_to(reader).present().filter(by_name).order_by("pk")[:20])
    exact = [person for person in found if person.label == typed]
    return exact or found


def suggestions(typed: str, reader: Account | None, how_many: int = 12) -> list[Person]:
    """Return people whose name, or another form of it, begins with or holds what is typed."""
    wanted = fold(typed.strip())
    if len(wanted) < 2:
        return []
    others = PersonName.objects.filter(name_folded__contains=wanted).values("person")
    people: Any = Person.objects.visible_to(reader).present()
    people = people.filter(Q(name_folded__contains=wanted) | Q(pk__in=others))
    found = list(people.order_by("name_folded", "pk")[: how_many * 5])
    return sorted(found, key=lambda person: not person.name_folded.startswith(wanted))[:how_many]
