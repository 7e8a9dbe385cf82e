"""When two people are one: who may be, who never, and what becomes of the lost one's name."""

from __future__ import annotations

import difflib

from django.db.models import Q

from archive.access.models import Account
from archive.access.uniting import Rules, register_rules
from archive.people.family import line_up
from archive.people.models import Partnership, Person, PersonName
from archive.people.queries import named

_LOOKED_AT = 400  # of many people with a like name, as many are compared


def _near(person: Person, reader: Account | None) -> list[Person]:
    """Return people whose name is much like this one's, the likest first."""
    begins = Q()
    for word in person.name_folded.split():
        if len(word) >= 3:
            begins |= Q(name_folded__contains=word[:4])
    if not begins:
        return []
    people = Person.objects.visible_to(reader).present().exclude(pk=person.pk).filter(begins)[:_LOOKED_AT]
    return sorted(people, key=lambda each: _likeness(person, each), reverse=True)[:8]


def _likeness(person: Person, other: Person) -> float:
    """Return how alike two names are, from 0 to 1, whatever the order of their words."""
    one, two = (" ".join(sorted(each.name_folded.split())) for each in (person, other))
    return difflib.SequenceMatcher(None, one, two, autojunk=False).ratio()


def _refuse(keep: Person, lose: Person) -> str | None:
    for young, old in ((keep, lose), (lose, keep)):
        line = line_up(young.pk, old.pk)
        if line is not None:
            names = dict(Person.objects.filter(pk__in=line).values_list("pk", "name"))
            said = " → ".join(names[each] for each in line)
            return f"{old.name} stands above {young.name} in the family: {said}. Nobody is their own forebear."
    tied = Q(one=keep, other=lose) | Q(one=lose, other=keep)
    if Partnership.objects.filter(tied).exists():
        return f"{keep.name} and {lose.name} are recorded as partners. Take that away first if they are one person."
    return None


def _other_name(keep: Person, lose: Person) -> PersonName | None:
    if lose.name == keep.name:
        return None
    sort = PersonName.Sort.CALLED if lose.unidentified else PersonName.Sort.SPELT
    return PersonName(person=keep, name=lose.name, sort=sort)


register_rules(
    "people",
    Rules(
        near=_near,
        find=named,
        refuse=_refuse,
        other_name=_other_name,
        never=("sort_name",),
        empty=(("known_dead", False),),
    ),
)
