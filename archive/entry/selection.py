"""Which things a batch is about: those that a filter finds, and those that were ticked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.http import QueryDict

from archive.access.models import Account
from archive.kinds import Kind, kinds
from archive.numbers import read_typed
from archive.things.models import Thing
from archive.things.queries import PER_PAGE

_SPLIT_AT = 500


@dataclass(frozen=True)
class Found:
    """The things that the page's address asks for."""

    things: Any
    query: str  # the address's own words, without the page
    kind_code: str
    numbers: str

    @classmethod
    def of(cls, asked: QueryDict, reader: Account) -> Found:
        """Return what an address asks for: a kind, numbers, or everything."""
        things = Thing.objects.visible_to(reader).present().order_by("-created_at", "-pk")
        code, numbers = asked.get("kind", ""), asked.get("numbers", "").strip()[:20_000]
        if code in {each.code for each in kinds()}:
            things = things.filter(kind_code=code)
        else:
            code = ""
        if numbers:
            serials = [read_typed(each).serial for each in numbers.replace(",", " ").split()]
            things = things.filter(serial_id__in=[each for each in serials if each is not None])
        query = asked.copy()
        query.pop("page", None)
        query.pop("thing", None)
        return cls(things, query.urlencode(), code, numbers)

    def page(self, number: str) -> Page[Any]:
        """Return one page of them."""
        return Paginator(self.things.select_related("box"), PER_PAGE).get_page(number)

    def ids(self, at_most: int) -> list[str]:
        """Return the addresses of the first of them."""
        return list(self.things.values_list("public_id", flat=True)[:at_most])

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """Return the kinds that the filter offers."""
        return kinds()


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
