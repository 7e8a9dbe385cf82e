"""Everything that has to do with one person, each of it only as far as the reader may see it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db.models import F, Q, QuerySet

from archive.access.linked import (
    Kind,
    Row,
    day_in_words,
    numbered_row,
    pictured_row,
    seen,
    story_row,
    with_pictures,
)
from archive.access.models import Account
from archive.boxes.models import Box
from archive.people.models import Person
from archive.pictures.models import OWNERS, PersonMark, Picture
from archive.sorting.models import Group, Lot
from archive.stories.models import Story
from archive.things.models import Loan, Piece, Share, Thing, ThingPerson


def _things(person: Person, reader: Account | None, path: str) -> QuerySet[Any]:
    """Return the things that the reader may see and that lead to a person; few, so that a list of them is quick."""
    found: QuerySet[Any] = Thing.objects.visible_to(reader).present().filter(**{path: person}).order_by()
    return found


def _in_roles(person: Person, reader: Account | None) -> QuerySet[Any]:
    found = _things(person, reader, "person_rows__person")
    roles: QuerySet[Any] = found.annotate(role=F("person_rows__role"), sure=F("person_rows__sure"))
    return roles.order_by("role", "serial_id")


def _in_role_row(thing: Any) -> Row:
    words = ThingPerson.Role(thing.role).label
    return pictured_row(thing, group=words, detail="" if thing.sure else "perhaps")


def _marks(person: Person, reader: Account | None) -> QuerySet[Any]:
    """Return the marks on pictures whose thing, box, story or lot the reader may see."""
    may_see = Q()
    for owner in OWNERS:
        model: Any = Picture._meta.get_field(owner).related_model
        owners = model.objects.visible_to(reader).present().filter(pictures__marks__person=person)
        may_see |= Q(**{f"picture__{owner}__in": owners.order_by().values("pk")})
    marks = PersonMark.objects.filter(may_see, person=person)
    return marks.select_related("picture", *(f"picture__{owner}" for owner in OWNERS)).order_by("picture_id", "pk")


def crop_of(mark: PersonMark) -> str:
    """Return the square around a mark as an SVG view box of its picture, or nothing when it marks no spot.

    Marks are in ten-thousandths of the picture's width and height; the box is in its pixels.
    """
    if mark.left is None or mark.top is None or not mark.width or not mark.height:
        return ""
    picture = mark.picture
    wide, high = mark.width * picture.width / 10_000, mark.height * picture.height / 10_000
    side = max(wide, high, 1)
    x = mark.left * picture.width / 10_000 - (side - wide) / 2
    y = mark.top * picture.height / 10_000 - (side - high) / 2
    return f"{x:.0f} {y:.0f} {side:.0f} {side:.0f}"


def _mark_row(mark: Any) -> Row:
    owner = mark.picture.owner
    words = "" if mark.sure else "perhaps"
    title = mark.picture.caption or owner.title
    return Row(owner.get_absolute_url(), title, detail=words, picture=mark.picture, crop=crop_of(mark))


def _pieces(person: Person, reader: Account | None) -> QuerySet[Any]:
    things = _things(person, reader, "pieces__person_rows__person")
    found = Piece.objects.filter(person_rows__person=person, thing__in=things.values("pk"))
    return found.select_related("thing").order_by("thing__serial_id", "order", "side")


def _piece_row(piece: Any) -> Row:
    return Row(piece.thing.get_absolute_url(), piece.title or piece.thing.title, piece.number, piece.made_text)


def _rows_of(model: Any, path: str) -> Callable[[Person, Account | None], QuerySet[Any]]:
    def asked(person: Person, reader: Account | None) -> QuerySet[Any]:
        things = _things(person, reader, f"{path}__person")
        found: QuerySet[Any] = model.objects.filter(person=person, thing__in=things.values("pk"))
        return found.select_related("thing").order_by("-pk")

    return asked


def _loan_row(loan: Any) -> Row:
    words = f"since {day_in_words(loan.since)}"
    if loan.returned_on:
        words += f", came back on {day_in_words(loan.returned_on)}"
    elif loan.until:
        words += f", to be back by {day_in_words(loan.until)}"
    return Row(loan.thing.get_absolute_url(), loan.thing.title, loan.thing.number, words)


def _share_row(share: Any) -> Row:
    return Row(share.thing.get_absolute_url(), share.thing.title, share.thing.number, share.part)


def _groups(person: Person, reader: Account | None) -> QuerySet[Any]:
    things = _things(person, reader, "person_rows__person")
    found: QuerySet[Any] = Group.objects.visible_to(reader).present()
    return found.filter(thing_rows__thing__in=things.values("pk")).distinct().order_by("title", "pk")


def _group_row(group: Any) -> Row:
    return Row(group.get_absolute_url(), group.title)


KINDS: dict[str, Kind] = {
    "pictures": Kind("In pictures", _marks, _mark_row),
    "things": Kind("Things", with_pictures(_in_roles), _in_role_row),
    "pieces": Kind("Leaves and sheets", _pieces, _piece_row),
    "told": Kind("Stories they told", seen(Story, "teller"), story_row),
    "stories": Kind("Stories about them", seen(Story, "person_rows__person"), story_row),
    "given": Kind("What came from them", with_pictures(seen(Thing, "came_from")), pictured_row, signed_in=True),
    "lots": Kind("What arrived together from them", seen(Lot, "from_whom"), numbered_row),
    "boxes": Kind("Boxes they packed", seen(Box, "first_look__packed_by"), numbered_row),
    "groups": Kind("Groups", _groups, _group_row),
    "shares": Kind("What is theirs", _rows_of(Share, "shares"), _share_row, signed_in=True),
    "loans": Kind("Lent to them", _rows_of(Loan, "loans"), _loan_row, keepers=True),
    "borrowed": Kind(
        "On loan to us from them", with_pictures(seen(Thing, "borrowed_from")), pictured_row, signed_in=True
    ),
}
