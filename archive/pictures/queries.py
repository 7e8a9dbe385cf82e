"""Reading pictures, the people marked on them, and those that look alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Q
from django.http import Http404
from django.urls import reverse

from archive.access.models import Account
from archive.access.queries import find_record
from archive.access.subjects import Subject, subject
from archive.people.models import Person
from archive.pictures.models import OWNERS, Likeness, PersonMark, Picture, View
from archive.things.models import Thing

PER_PAGE = 24
_WHOLE = 10_000


def find_picture(public_id: str, reader: Account | None) -> Picture:
    """Return a picture that this reader may see.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    found: Picture | None = (
        Picture.objects.visible_to(reader).select_related(*OWNERS).filter(public_id=public_id).first()
    )
    if found is None:
        raise Http404
    return found


def find_owner(code: str, public_id: str, reader: Account | None) -> tuple[Subject, Any]:
    """Return a record to which pictures can be added, and what kind of record it is.

    Raises:
        Http404: there is none for this reader, or such records have no pictures.
    """
    kind = subject(code)
    if kind.model not in [Picture._meta.get_field(name).related_model for name in OWNERS]:
        raise Http404
    return kind, find_record(kind, public_id, reader)


def find_mark(public_id: str, reader: Account | None) -> PersonMark:
    """Return a mark on a picture that this reader may see, of a person they may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    mark: PersonMark | None = (
        PersonMark.objects.filter(
            public_id=public_id,
            picture__in=Picture.objects.visible_to(reader),
            person__in=Person.objects.visible_to(reader),
        )
        .select_related("person", *(f"picture__{owner}" for owner in OWNERS))
        .first()
    )
    if mark is None:
        raise Http404
    return mark


@dataclass(frozen=True)
class Shown:
    """A mark as it is drawn: its number in the list, and its rectangle in pixels of the picture, where it has one."""

    number: int
    mark: PersonMark
    x: int | None = None
    y: int | None = None
    width: int = 0
    height: int = 0
    text_y: int = 0
    words: str = ""  # as much of the name as has room beside its neighbours

    @property
    def placed(self) -> bool:
        return self.x is not None


def marks_of(picture: Picture, reader: Account | None) -> list[Shown]:
    """Return the marks of a picture, from left to right, of the people whom this reader may see."""
    rows = picture.marks.filter(person__in=Person.objects.visible_to(reader)).select_related("person")
    ordered = sorted(rows, key=lambda mark: (mark.left is None, mark.left or 0, mark.pk))
    size = letters(picture)
    shown = []
    for number, mark in enumerate(ordered, 1):
        if mark.left is None or mark.top is None or mark.width is None or mark.height is None:
            shown.append(Shown(number, mark))
            continue
        y = round(mark.top * picture.height / _WHOLE)
        height = round(mark.height * picture.height / _WHOLE)
        below = y + height + size + size // 4
        x = round(mark.left * picture.width / _WHOLE)
        width = round(mark.width * picture.width / _WHOLE)
        shown.append(
            Shown(
                number,
                mark,
                x=x,
                y=y,
                width=width,
                height=height,
                # A name stands under its rectangle, or within it where the picture ends there.
                text_y=below if below < picture.height else y + height - size // 2,
                words=_shortened(mark.person.name, min(max(width, size * 4), picture.width - x), size),
            )
        )
    return shown


def _shortened(name: str, room: int, size: int) -> str:
    """Cut a name to the signs that fit into `room` pixels; a letter is about six tenths as wide as it is high."""
    most = max(2, int(room / (size * 0.62)))
    return name if len(name) <= most else f"{name[: most - 1].rstrip()}…"


def letters(picture: Picture) -> int:
    """Return the size of letters drawn over a picture, in its pixels."""
    return max(1, max(picture.width, picture.height) // 48)


def neighbours(picture: Picture) -> tuple[Picture | None, Picture | None]:
    """Return the pictures of the same record before and after one in its order."""
    order = list(picture.owner.pictures.all())
    here = next((i for i, each in enumerate(order) if each.pk == picture.pk), 0)
    return (order[here - 1] if here else None, order[here + 1] if here + 1 < len(order) else None)


def _open(likenesses: Any) -> Any:
    """Keep the questions that are open, between records that are not withdrawn."""
    there = Q()
    for side in ("picture", "other"):
        for owner in OWNERS:
            there &= Q(**{f"{side}__{owner}__withdrawn_at__isnull": True})
    owners = [f"{side}__{owner}" for side in ("picture", "other") for owner in OWNERS]
    return likenesses.filter(there, settled_at__isnull=True).select_related(*owners).order_by("-pk")


def twins_page(number: str) -> tuple[Page[Any], list[Likeness]]:
    """Return one page of all pairs of pictures that look alike and are not settled (for the keeper)."""
    page = Paginator(_open(Likeness.objects), PER_PAGE).get_page(number)
    return page, list(page.object_list)


def open_pairs() -> int:
    """Return how many pairs wait for the keeper's word."""
    return int(_open(Likeness.objects).count())


def likenesses_of(picture: Picture) -> list[Likeness]:
    """Return the open questions about one picture, the nearest first."""
    mine = Likeness.objects.filter(Q(picture=picture) | Q(other=picture))
    return sorted(_open(mine), key=lambda each: each.bits)


def likenesses_on(thing: Thing, how_many: int = 3) -> list[Likeness]:
    """Return a few open questions about the pictures of a thing."""
    own = [picture.pk for picture in thing.pictures.all()]
    mine = Likeness.objects.filter(Q(picture__in=own) | Q(other__in=own), settled_at__isnull=True).order_by()
    # Most things have none, and then the many tables of both pictures' owners need not be joined.
    found = list(mine.values_list("pk", flat=True)) if own else []
    return list(_open(Likeness.objects.filter(pk__in=found))[:how_many]) if found else []


def first_with_date(thing: Thing) -> Picture | None:
    """Return the first picture of a thing whose camera noted a day; pictures at hand already are not asked for anew.

    The day on which a thing was photographed as it was found says nothing of when it was made.
    """
    for each in thing.pictures.all():
        if each.day_taken and each.view != View.AS_FOUND:
            each.thing = thing
            return each
    return None


def find_likeness(picture: Picture, other_id: str) -> Likeness:
    """Return the question about two pictures.

    Raises:
        Http404: nobody asks.
    """
    pair = Q(picture=picture, other__public_id=other_id) | Q(other=picture, picture__public_id=other_id)
    found = Likeness.objects.filter(pair).first()
    if found is None:
        raise Http404
    return found


def unite_url(one: Picture, other: Picture) -> str | None:
    """Return where the records of two pictures are made one; None where that is no way to go."""
    if one.thing is None or other.thing is None or one.thing == other.thing:
        return None
    return f"{reverse('access:unite', args=['things', one.thing.public_id])}?other={other.thing.public_id}"
