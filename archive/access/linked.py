"""What is linked to a record, each of it only as far as the reader may see it: counted at once, shown in parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import IntegerField, Prefetch, QuerySet, Subquery
from django.http import Http404
from django.utils.dateformat import format as say_date

from archive.access.models import Account

FIRST, PER_PAGE = 12, 48


class CountOf(Subquery):
    """The number of rows of a query, as one column of another."""

    template = "(SELECT COUNT(*) FROM (%(subquery)s) _counted)"
    output_field = IntegerField()


@dataclass(frozen=True)
class Row:
    """One linked record: where it leads, what it is called, and a few quiet words."""

    url: str
    title: str
    number: str = ""
    detail: str = ""
    group: str = ""
    picture: Any = None
    crop: str = ""  # the part of the picture to show, as an SVG view box


@dataclass
class Section:
    """One kind of link on a page: the first rows, how many there are, and where the rest is."""

    code: str
    heading: str
    total: int
    rows: list[Row] = field(default_factory=list)

    @property
    def more(self) -> bool:
        return self.total > len(self.rows)

    @property
    def pictured(self) -> bool:
        return any(row.picture for row in self.rows)


@dataclass(frozen=True)
class Kind:
    """How one kind of link is asked for and shown; ``signed_in`` ones are not for visitors, ``keepers`` for keepers."""

    heading: str
    asked: Callable[[Any, Account | None], QuerySet[Any]]
    row: Callable[[Any], Row]
    signed_in: bool = False
    keepers: bool = False

    def is_for(self, reader: Account | None) -> bool:
        """Say whether this kind of link is told to a reader at all."""
        if self.keepers:
            return reader is not None and reader.is_keeper
        return reader is not None or not self.signed_in


def sections(record: Any, reader: Account | None, kinds: Mapping[str, Kind]) -> list[Section]:
    """Return everything linked to a record: one query counts all kinds, then one or two for each kind that there is."""
    wanted = {code: kind for code, kind in kinds.items() if kind.is_for(reader)}
    counted = {
        f"n_{code}": CountOf(kind.asked(record, reader).order_by().values("pk")) for code, kind in wanted.items()
    }
    numbers = type(record).objects.filter(pk=record.pk).annotate(**counted).values(*counted).get()
    found = []
    for code, kind in wanted.items():
        total = numbers[f"n_{code}"]
        if total:
            rows = [kind.row(each) for each in kind.asked(record, reader)[:FIRST]]
            found.append(Section(code, kind.heading, total, rows))
    return found


def section_page(
    record: Any, code: str, number: str, reader: Account | None, kinds: Mapping[str, Kind]
) -> tuple[Section, Page[Any]]:
    """Return one page of one kind of link.

    Raises:
        Http404: there is no such kind, or none for this reader.
    """
    kind = kinds.get(code)
    if kind is None or not kind.is_for(reader):
        raise Http404
    page = Paginator(kind.asked(record, reader), PER_PAGE).get_page(number)
    rows = [kind.row(each) for each in page.object_list]
    return Section(code, kind.heading, page.paginator.count, rows), page


# -- asking ------------------------------------------------------------------------------------------------------------


def seen(model: Any, *paths: str, order: str = "pk") -> Callable[[Any, Account | None], QuerySet[Any]]:
    """Return what asks a table for the records that lead to a record by the paths and that the reader may see."""

    def asked(record: Any, reader: Account | None) -> QuerySet[Any]:
        found: QuerySet[Any] = model.objects.visible_to(reader).present()
        return found.filter(**dict.fromkeys(paths, record)).order_by(order, "pk")

    return asked


def with_pictures(asked: Callable[[Any, Account | None], QuerySet[Any]]) -> Callable[..., QuerySet[Any]]:
    """Return the same question with the pictures of every row at hand, in their order."""

    def more(record: Any, reader: Account | None) -> QuerySet[Any]:
        from archive.pictures.models import Picture

        pictures = Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))
        return asked(record, reader).prefetch_related(pictures)

    return more


# -- showing -----------------------------------------------------------------------------------------------------------


def pictured_row(record: Any, **more: Any) -> Row:
    """Return a thing, box or lot with its first picture; wants its pictures at hand."""
    first = next(iter(record.pictures.all()), None)
    return Row(record.get_absolute_url(), record.title, record.number, picture=first, **more)


def numbered_row(record: Any) -> Row:
    """Return a thing, box or lot without pictures."""
    return Row(record.get_absolute_url(), record.title, record.number)


def story_row(story: Any) -> Row:
    """Return a story, with the time it tells of."""
    return Row(story.get_absolute_url(), story.title, detail=story.about_text)


def day_in_words(day: date) -> str:
    """Return a day such as ``3 April 1951``."""
    return say_date(day, "j F Y")
