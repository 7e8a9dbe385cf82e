"""Pages of long lists: the ids of one page come from an index, and not everything is counted (pure of pages)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

COUNTED = 1000


@dataclass(frozen=True)
class ListPage:
    """One page of a list, with as much of Django's own page as the page links need."""

    ids: list[int]
    number: int
    has_next: bool
    count: int | None  # None: more than are counted
    num_pages: int | None

    @property
    def has_previous(self) -> bool:
        return self.number > 1

    @property
    def previous_page_number(self) -> int:
        return self.number - 1

    @property
    def next_page_number(self) -> int:
        return self.number + 1

    @property
    def paginator(self) -> ListPage:
        """Return where page links look for the number of pages."""
        return self

    @property
    def how_many(self) -> str:
        """Return the number of all rows in words."""
        return f"more than {COUNTED:,}" if self.count is None else f"{self.count:,}"


def page_of(records: QuerySet[Any], asked: str, per_page: int, total: int | None = None) -> ListPage:
    """Return the ids on one page of an ordered queryset; a page that is not there becomes the nearest that is.

    Where no ``total`` is given, rows are counted up to a thousand.
    """
    number = max(1, int(asked)) if asked.isdecimal() and len(asked) < 7 else 1
    pks = records.values_list("pk", flat=True)
    counted = pks.order_by()[: COUNTED + 1].count() if total is None else total
    count = counted if total is not None or counted <= COUNTED else None
    pages = None if count is None else max(1, -(-count // per_page))
    if pages is not None:
        number = min(number, pages)
    found = list(pks[(number - 1) * per_page : number * per_page + 1])
    if not found and number > 1:
        return page_of(records, "1", per_page, total)
    return ListPage(found[:per_page], number, len(found) > per_page, count, pages)
