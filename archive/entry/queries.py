"""Finding what a keeper names while recording: lots, boxes, people and places; and what one act recorded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.core.paginator import Page, Paginator
from django.http import Http404

from archive.access.models import Account, ChangeSet
from archive.boxes.models import Box
from archive.boxes.queries import named as boxes_named
from archive.folding import fold
from archive.numbers import number_of, read_typed
from archive.people.models import Person
from archive.people.queries import named as people_named
from archive.pictures.models import Picture
from archive.places.models import Place
from archive.places.queries import named as places_named
from archive.sorting.models import Group, Lot
from archive.things.models import Thing
from archive.things.queries import PER_PAGE, ThingRow, rows

# Choices offered while typing; a home with more boxes types the number.
OFFERED_AT_MOST = 300


class NotNamed(ValueError):
    """What was typed names nothing, or more than one; the message says what to type instead."""


@dataclass
class Finder:
    """Finds records by what was typed for one reader, asking the database once for each different text."""

    reader: Account | None
    _found: dict[tuple[str, str], list[Any]] = field(default_factory=dict)

    def people(self, typed: str) -> list[Person]:
        """Return the people that a typed name means: none, one, or several."""
        return self._once("people", typed, people_named)

    def places(self, typed: str) -> list[Place]:
        """Return the places that a typed name means: none, one, or several."""
        return self._once("places", typed, places_named)

    def box(self, typed: str) -> Box:
        """Return the box with this number or name; ``0012-3 Shoe box`` is understood too.

        Raises:
            NotNamed: none has it, or several have.
        """
        box: Box = self._numbered("boxes", typed, boxes_named, "box, shelf or room", "boxes")
        return box

    def lot(self, typed: str) -> Lot:
        """Return the lot with this number or name.

        Raises:
            NotNamed: none has it, several have, or it is accepted and stays as it came.
        """
        lot: Lot = self._numbered("lots", typed, _lots_named, "lot", "lots")
        if lot.accepted_at is not None:
            raise NotNamed(f"Lot {lot} is accepted: what is in it stays as it came.")
        return lot

    def group(self, typed: str) -> Group | None:
        """Return the group with this name, or None.

        Raises:
            NotNamed: several have it.
        """
        found = self._once("groups", typed, _groups_named)
        if len(found) > 1:
            raise NotNamed(f"{len(found)} groups are called “{typed}”. Give one of them another name first.")
        return found[0] if found else None

    def _once(self, what: str, typed: str, find: Any) -> list[Any]:
        key = (what, " ".join(typed.split()))
        if key not in self._found:
            self._found[key] = find(key[1], self.reader)
        return self._found[key]

    def _numbered(self, what: str, typed: str, find: Any, word: str, subject: str) -> Any:
        found = self._once(what, typed, find)
        first = typed.split()[0] if typed.split() else ""
        if not found and first != typed and read_typed(first).serial is not None:
            found = self._once(what, first, find)
        if len(found) == 1:
            return found[0]
        if found:
            numbers = ", ".join(f"{each.number} {each.title}" for each in found[:5])
            raise NotNamed(f"More than one {word} has this name: {numbers}. Type the number of the one you mean.")
        read = read_typed(typed)
        if read.near:
            raise NotNamed(f"{typed} is not one of our numbers: its last sign does not fit. Near it: {read.near[0]}.")
        raise NotNamed(f"No {word} has this number or name. Record it under {subject.capitalize()} first.")


def _lots_named(typed: str, reader: Account | None) -> list[Lot]:
    lots: Any = Lot.objects.visible_to(reader).present()
    read = read_typed(typed)
    if read.serial is not None:
        return list(lots.filter(serial_id=read.serial))
    wanted = fold(typed)
    ids = [pk for pk, title in lots.values_list("pk", "title") if fold(title) == wanted]
    return list(lots.filter(pk__in=ids).order_by("pk")[:20])


def _groups_named(typed: str, reader: Account | None) -> list[Group]:
    groups: Any = Group.objects.visible_to(reader).present()
    wanted = fold(typed)
    ids = [pk for pk, title in groups.values_list("pk", "title") if fold(title) == wanted]
    return list(groups.filter(pk__in=ids).order_by("pk")[:20])


def boxes_offered(reader: Account | None) -> list[str]:
    """Return boxes as one may type them, the newest first, for the list under a field."""
    found = Box.objects.visible_to(reader).present().order_by("-pk").values_list("serial_id", "title")
    return [f"{number_of(serial)} {title}" for serial, title in found[:OFFERED_AT_MOST]]


def lots_offered(reader: Account | None) -> list[str]:
    """Return lots as one may type them, the newest first."""
    found = (
        Lot.objects.visible_to(reader)
        .present()
        .filter(accepted_at__isnull=True)
        .order_by("-pk")
        .values_list("serial_id", "title")
    )
    return [f"{number_of(serial)} {title}" for serial, title in found[:OFFERED_AT_MOST]]


def groups_offered(reader: Account | None) -> list[str]:
    """Return the names of groups, the newest first."""
    found = Group.objects.visible_to(reader).present().order_by("-pk").values_list("title", flat=True)
    return list(found[:OFFERED_AT_MOST])


# -- what was just recorded ---------------------------------------------------------------------------------


def change_set_of(public_id: str, verbs: Iterable[str]) -> ChangeSet:
    """Return a change set of one of these verbs.

    Raises:
        Http404: there is none.
    """
    found = ChangeSet.objects.filter(public_id=public_id, verb__in=list(verbs)).select_related("who").first()
    if found is None:
        raise Http404
    return found


def things_of(change_set: ChangeSet, reader: Account | None) -> Any:
    """Return the things that an act recorded or changed, themselves or through what hangs on them, in their order."""
    ids: set[int] = set(_history(Thing).filter(change_set=change_set).values_list("id", flat=True))
    for relation in Thing._meta.related_objects:
        model: Any = relation.related_model
        if hasattr(model, "history"):
            found = _history(model).filter(change_set=change_set).values_list(relation.field.attname, flat=True)
            ids.update(pk for pk in found if pk is not None)
    return Thing.objects.visible_to(reader).filter(pk__in=ids).order_by("serial_id")


def _history(model: Any) -> Any:
    return model.history


def thing_rows(things: Any, number: str, reader: Account | None) -> tuple[Page[Any], list[ThingRow]]:
    """Return one page of things with their first pictures, in a constant number of queries."""
    page = Paginator(things.prefetch_related(pictures_in_order()), PER_PAGE).get_page(number)
    return page, rows(list(page.object_list), reader)


def pictures_in_order() -> Any:
    """Return the prefetch that `things.queries.rows` wants."""
    from django.db.models import Prefetch

    return Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))


@dataclass(frozen=True)
class Sitting:
    """What quick entry has recorded since it was opened."""

    count: int
    last: Thing | None
    change_set: ChangeSet | None
    undone: Any = None  # the last history row of a thing that was just taken back


def sitting(who: Account, first: str, last: str) -> Sitting:
    """Return how many things quick entry recorded since the change set ``first``, and the last of them.

    Things that were taken back since do not count.
    """
    began = ChangeSet.objects.filter(public_id=first, verb="entry.quick", who=who).first()
    latest = ChangeSet.objects.filter(public_id=last, verb="entry.quick", who=who).first()
    if latest is None:
        return Sitting(0, None, None)
    began = began or latest
    made = Thing.history.filter(
        change_set__verb="entry.quick",
        change_set__who=who,
        change_set__pk__range=(began.pk, latest.pk),
        history_type="+",
    )
    count = Thing.objects.filter(pk__in=made.values("id")).count()
    row = Thing.history.filter(change_set=latest, history_type="+").first()
    thing = Thing.objects.visible_to(who).filter(pk=row.id).first() if row is not None else None
    return Sitting(count, thing, latest, undone=row if thing is None else None)


def people_rows_of(change_set: ChangeSet) -> list[tuple[Person, str]]:
    """Return the people and roles that a change set put on its thing; those that are there no more are left out."""
    from archive.things.models import ThingPerson

    found = list(ThingPerson.history.filter(change_set=change_set, history_type="+").order_by("history_id"))
    people = Person.objects.present().in_bulk([row.person_id for row in found])
    return [(people[row.person_id], row.role) for row in found if row.person_id in people]


def already_recorded(digests: Iterable[str], reader: Account | None) -> dict[str, Thing]:
    """Return for picture files that are in the archive already the thing that shows them."""
    found = Picture.objects.visible_to(reader).filter(sha256__in=list(digests), thing__isnull=False)
    return {picture.sha256: picture.thing for picture in found.select_related("thing") if picture.thing}
