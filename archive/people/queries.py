"""Reading people for pages, and finding them by what somebody typed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, Exists, OuterRef, Q
from django.db.models.functions import Substr
from django.http import Http404
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.folding import fold
from archive.people.models import Parentage, Partnership, Person, PersonName, presumed_living
from archive.preferences.models import Preferences
from archive.preferences.queries import preferences
from archive.stories.models import Story
from archive.things.models import Thing

PER_PAGE = 48


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
    found = list(people.order_by("sort_folded", "pk")[: how_many * 5])
    return sorted(found, key=lambda person: not person.name_folded.startswith(wanted))[:how_many]


def not_known_yet(reader: Account | None, how_many: int) -> list[tuple[Person, int]]:
    """Return people who are not known yet, each with the number of things they are in; those first whom many show."""
    people = Person.objects.visible_to(reader).present().filter(unidentified=True).annotate(shown=Count("thing_rows"))
    found = list(people.order_by("-shown", "pk")[:how_many])
    counts = linked_counts([person.pk for person in found], reader)
    return [(person, counts.get(person.pk, 0)) for person in found]


def to_be_asked(reader: Account | None, today: date, age: int, told_days: int, how_many: int) -> list[Person]:
    """Return the oldest people taken to be living who told no story lately, the oldest first.

    ``age`` is the least age in years; ``told_days`` for how many days a story of theirs counts.
    """
    years = preferences().privacy_years
    lately = Story.objects.filter(
        teller=OuterRef("pk"), withdrawn_at__isnull=True, created_at__gte=timezone.now() - timedelta(days=told_days)
    )
    people: Any = Person.objects.visible_to(reader).present().filter(presumed_living(today, years), unidentified=False)
    old = people.filter(born_latest__gt="", born_latest__lte=f"{today.year - age:04d}-{today:%m-%d}")
    return list(old.filter(~Exists(lately)).order_by("born_latest", "pk")[:how_many])


# -- the list ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PersonRow:
    """A person in the list, with how many things that the reader may see have to do with them."""

    person: Person
    things: int
    other_names: list[str]


def list_page(
    reader: Account | None, number: str, typed: str = "", unidentified: bool = False
) -> tuple[Page[Any], list[PersonRow]]:
    """Return one page of the list of people in the order of their names, in a constant number of queries.

    ``typed`` are the first letters of a name or of one of its words; other forms of a name count as well.
    """
    people = Person.objects.visible_to(reader).present()
    wanted = fold(" ".join(typed.split()))
    if wanted:
        others = PersonName.objects.filter(_begins(wanted, "name_folded")).values("person")
        people = people.filter(_begins(wanted, "name_folded", "sort_folded") | Q(pk__in=others))
    if unidentified:
        people = people.filter(unidentified=True)
    page = Paginator(people.order_by("sort_folded", "pk"), PER_PAGE).get_page(number)
    found = list(page.object_list)
    counts = linked_counts([person.pk for person in found], reader)
    names: dict[int, list[str]] = {}
    for owner, name in PersonName.objects.filter(person__in=found).values_list("person_id", "name"):
        names.setdefault(owner, []).append(name)
    return page, [PersonRow(each, counts.get(each.pk, 0), names.get(each.pk, [])) for each in found]


def _begins(wanted: str, *columns: str) -> Q:
    """Return the condition that a name, or a word of it, begins with these letters."""
    found = Q()
    for column in columns:
        found |= Q(**{f"{column}__startswith": wanted}) | Q(**{f"{column}__contains": f" {wanted}"})
    return found


def first_letters(reader: Account | None) -> list[str]:
    """Return the letters with which the names of the list begin."""
    people = Person.objects.visible_to(reader).present().order_by()
    letters = people.annotate(letter=Substr("sort_folded", 1, 1)).values_list("letter", flat=True).distinct()
    return sorted(letter for letter in letters if letter)


def anybody_unidentified(reader: Account | None) -> int:
    """Return how many people of the list have no name yet."""
    found: int = Person.objects.visible_to(reader).present().filter(unidentified=True).count()
    return found


def linked_counts(ids: Iterable[int], reader: Account | None) -> dict[int, int]:
    """Return, for people by pk, how many things that the reader may see have to do with them (one query)."""
    things = Thing.objects.visible_to(reader).present().filter(person_rows__person__in=list(ids)).order_by()
    rows = things.values_list("person_rows__person").annotate(how_many=Count("pk", distinct=True))
    return dict(rows)


# -- one person --------------------------------------------------------------------------------------------------------


def presumption(person: Person, kept: Preferences) -> str:
    """Return a sentence on whether somebody is taken to be living, and who may therefore see the page."""
    living = person.is_presumed_living(timezone.localdate(), kept.privacy_years)
    if person.access == ReadAccess.KEEPER:
        seen = "Only the keeper sees this page."
    elif person.access == ReadAccess.RELATIVES:
        seen = "Relatives who are signed in see this page; visitors do not."
    elif living and not person.open_though_living:
        seen = "So only relatives who are signed in see this page, though it is set to be open to everybody at home."
    else:
        seen = "Everybody on the home network sees this page."
    if not living:
        return seen
    because = (
        f"no death is recorded and the birth was less than {kept.privacy_years} years ago"
        if person.born_latest
        else "no death is recorded and no date of birth is known"
    )
    opened = (
        " The keeper opened the page all the same."
        if person.open_though_living and person.access == ReadAccess.ALL
        else ""
    )
    return f"Taken to be living: {because}. {seen}{opened}"


def namesakes(person: Person, reader: Account | None) -> list[Person]:
    """Return other people with the same name, so that nobody stands here twice unseen."""
    people = Person.objects.visible_to(reader).present().exclude(pk=person.pk)
    return list(people.filter(name_folded=person.name_folded)[:5])


ROWS: dict[str, type[PersonName] | type[Parentage] | type[Partnership]] = {
    "name": PersonName,
    "parent": Parentage,
    "child": Parentage,
    "partner": Partnership,
}


def find_row(what: str, public_id: str) -> Any:
    """Return a name, parent or partner of somebody.

    Raises:
        Http404: there is none.
    """
    model: Any = ROWS.get(what)
    row = model.objects.filter(public_id=public_id).first() if model is not None else None
    if row is None:
        raise Http404
    return row
