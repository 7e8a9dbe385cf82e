"""Reading things for pages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Prefetch
from django.http import Http404

from archive import extend
from archive.access.models import Account
from archive.numbers import read_typed
from archive.pictures.models import Picture
from archive.things.models import Thing

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
    """Return the thing with a typed number, if it is valid and this reader may see it."""
    read = read_typed(typed)
    if read.serial is None:
        return None
    return Thing.objects.visible_to(reader).filter(serial_id=read.serial).first()


def list_page(reader: Account | None, number: str, kind_code: str = "") -> tuple[Page[Any], list[ThingRow]]:
    """Return one page of the list of things, the newest first, in a constant number of queries."""
    things = Thing.objects.visible_to(reader).order_by("-created_at", "-pk")
    if kind_code:
        things = things.filter(kind_code=kind_code)
    page = Paginator(things.prefetch_related(_pictures()), PER_PAGE).get_page(number)
    return page, rows(list(page.object_list), reader)


def latest(reader: Account | None, how_many: int = 6) -> list[ThingRow]:
    """Return the things recorded last."""
    things = Thing.objects.visible_to(reader).order_by("-created_at", "-pk").prefetch_related(_pictures())
    return rows(list(things[:how_many]), reader)


def rows(things: list[Thing], reader: Account | None) -> list[ThingRow]:
    """Return things with their first picture and marks."""
    marks = extend.flags([thing.pk for thing in things], reader)
    return [ThingRow(thing, next(iter(thing.pictures.all()), None), marks.get(thing.pk, [])) for thing in things]


def kinds_in_use(reader: Account | None) -> set[str]:
    """Return the kinds of which this reader can see a thing."""
    return set(Thing.objects.visible_to(reader).order_by().values_list("kind_code", flat=True).distinct())


def _pictures() -> Any:
    return Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))
