"""Which things a batch is about: those that a filter finds, and those that were ticked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Page, Paginator
from django.http import QueryDict

from archive.access.models import Account
from archive.numbers import read_typed
from archive.things.filters import ThingFilter
from archive.things.models import Thing
from archive.things.queries import PER_PAGE

_SPLIT_AT = 500


@dataclass(frozen=True)
class Found:
    """The things that the page's address asks for, in the words of the list of things."""

    things: Any
    query: str  # the address's own words, without the page
    filter: ThingFilter
    numbers: str

    @classmethod
    def of(cls, asked: QueryDict, reader: Account) -> Found:
        """Return what an address asks for: what a filter of things finds, or some numbers of it."""
        chosen = ThingFilter(asked, reader)
        things = chosen.apply(Thing.objects.visible_to(reader).present().order_by("-created_at", "-pk"))
        numbers = asked.get("numbers", "").strip()[:20_000]
        if numbers:
            serials = [read_typed(each).serial for each in numbers.replace(",", " ").split()]
            things = things.filter(serial_id__in=[each for each in serials if each is not None])
        query = chosen.querystring()
        if numbers:
            query = "&".join(part for part in (query, urlencode({"numbers": numbers})) if part)
        return cls(things, query, chosen, numbers)

    def page(self, number: str) -> Page[Any]:
        """Return one page of them."""
        return Paginator(self.things.select_related("box"), PER_PAGE).get_page(number)

    def ids(self, at_most: int) -> list[str]:
        """Return the addresses of the first of them."""
        return list(self.things.values_list("public_id", flat=True)[:at_most])


def known(ids: Iterable[str], reader: Account) -> list[str]:
    """Return of some addresses those of things that are there, each once, in the order given."""
    asked = list(dict.fromkeys(ids))
    there: set[str] = set()
    for start in range(0, len(asked), _SPLIT_AT):
        part = asked[start : start + _SPLIT_AT]
        found = Thing.objects.visible_to(reader).present().filter(public_id__in=part)
        there.update(found.order_by().values_list("public_id", flat=True))
    return [each for each in asked if each in there]


def things(ids: Iterable[str], reader: Account) -> list[Thing]:
    """Return the things with these addresses."""
    asked = list(ids)
    found: list[Thing] = []
    for start in range(0, len(asked), _SPLIT_AT):
        part = Thing.objects.visible_to(reader).present().filter(public_id__in=asked[start : start + _SPLIT_AT])
        found.extend(part.select_related("box", "lot").order_by("serial_id"))
    return found
