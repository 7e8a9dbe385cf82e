"""Reading things for pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Count, Prefetch
from django.http import Http404

from archive import extend
from archive.access.models import Account
from archive.access.uniting import kept_one
from archive.numbers import number_of, read_piece, read_typed
from archive.pictures.models import Picture
from archive.search.queries import kept
from archive.things.models import Standing, Thing
from archive.things.paging import ListPage, page_of

if TYPE_CHECKING:
    from archive.things.filters import ThingFilter

PER_PAGE = 48


@dataclass(frozen=True)
class ThingRow:
    """A thing in a list, with the marks that subjects put beside it."""

    thing: Thing
    first_picture: Picture | None
    flags: list[extend.Flag]


def find_thing(public_id: str, reader: Account | None) -> Thing:
    """Return a thing that this reader may see.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    thing: Thing | None = Thing.objects.visible_to(reader).filter(public_id=public_id).first()
    if thing is None:
        raise Http404
    return thing


def by_number(typed: str, reader: Account | None) -> Thing | None:
    """Return the thing with a typed number, if it is valid and this reader may see it.

    The number of a thing that was united with another means that other one.
    """
    read = read_typed(typed)
    if read.serial is None:
        return None
    public_id = Thing.objects.filter(serial_id=read.serial).values_list("public_id", flat=True).first() or ""
    united: Thing | None = kept_one(Thing, public_id, reader)
    return united or Thing.objects.visible_to(reader).filter(serial_id=read.serial).first()


def by_piece_number(typed: str, reader: Account | None) -> tuple[Thing, int] | None:
    """Return the thing and the piece of a typed number such as ``0214-6/12``, if this reader may see the thing."""
    read = read_piece(typed)
    if read is None:
        return None
    thing = by_number(number_of(read[0]), reader)
    return (thing, read[1]) if thing is not None else None


def list_page(reader: Account | None, number: str, chosen: ThingFilter) -> tuple[ListPage, list[ThingRow]]:
    """Return one page of the list of things, the newest first, in a constant number of queries."""
    things = chosen.apply(Thing.objects.visible_to(reader).order_by("-created_at", "-pk"))
    total = kept("things", reader, things.order_by().count) if chosen.is_empty else None
    page = page_of(things, number, PER_PAGE, total)
    return page, rows_of(page.ids, reader)


def rows_of(ids: Sequence[int], reader: Account | None) -> list[ThingRow]:
    """Return the things with these ids that the reader may see, in the order of the ids."""
    found = Thing.objects.visible_to(reader).filter(pk__in=list(ids)).prefetch_related(_pictures())
    by_id = {thing.pk: thing for thing in found}
    return rows([by_id[each] for each in ids if each in by_id], reader)


def not_kept(reader: Account | None) -> list[tuple[str, str, int]]:
    """Return how many things have another standing than kept: code, words, count."""
    others = [each for each in Standing.values if each != Standing.KEPT]
    things = Thing.objects.visible_to(reader).filter(standing__in=others).order_by()
    rows = things.values_list("standing").annotate(how_many=Count("pk"))
    counted = kept("standings", reader, lambda: dict(rows))
    return [(each, Standing(each).label, counted[each]) for each in others if each in counted]


def latest(reader: Account | None, how_many: int = 6) -> list[ThingRow]:
    """Return the things recorded last."""
    things = Thing.objects.visible_to(reader).order_by("-created_at", "-pk").prefetch_related(_pictures())
    return rows(list(things[:how_many]), reader)


def rows(things: list[Thing], reader: Account | None) -> list[ThingRow]:
    """Return things with their first picture and marks."""
    marks = extend.flags(things, reader)
    return [ThingRow(thing, next(iter(thing.pictures.all()), None), marks.get(thing.pk, [])) for thing in things]


def _pictures() -> Any:
    return Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))
