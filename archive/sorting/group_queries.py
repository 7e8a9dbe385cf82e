"""Reading groups: what the keeper arranges together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, Exists, OuterRef, Subquery
from django.http import Http404

from archive import extend
from archive.access.models import Account
from archive.pictures.models import Picture
from archive.sorting.models import Group, GroupThing
from archive.sorting.proposals import Proposal, Told, told
from archive.sorting.queries import PER_PAGE, first_pictures
from archive.things.models import Thing

PROPOSALS_PER_PAGE = 12
SHOWN_OF_A_PROPOSAL = 6


@dataclass(frozen=True)
class GroupRow:
    """A group in a list: how many things of it the reader sees, and the first picture among them."""

    group: Group
    count: int
    picture: Picture | None


@dataclass(frozen=True)
class MemberRow:
    """A thing of a group, with its row, first picture and marks; a member of a proposal has no row yet."""

    row: GroupThing | None
    thing: Thing
    first_picture: Picture | None
    flags: list[extend.Flag]


@dataclass(frozen=True)
class ProposalRow:
    """A proposed group as pages show it: its reasons in words and some of its things."""

    proposal: Proposal
    reasons: list[str]
    title: str
    sort: str
    members: list[MemberRow]


def find_group(public_id: str, reader: Account | None) -> Group:
    """Return a group that this reader may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    group: Group | None = Group.objects.visible_to(reader).filter(public_id=public_id).first()
    if group is None:
        raise Http404
    return group


def list_page(reader: Account | None, number: str) -> tuple[Page[Any], list[GroupRow]]:
    """Return one page of groups by name; things that the reader may not see are not counted."""
    visible = Thing.objects.visible_to(reader).present()
    groups = Group.objects.visible_to(reader).present().order_by("title", "pk")
    page = Paginator(groups, PER_PAGE).get_page(number)
    shown = list(page.object_list)
    # Asked row by row, since a group is small and the things that may be seen are many.
    rows = GroupThing.objects.filter(Exists(visible.filter(pk=OuterRef("thing"))), group__in=shown)
    counts = dict(rows.order_by().values_list("group").annotate(n=Count("pk")))
    pictured = rows.filter(Exists(Picture.objects.filter(thing=OuterRef("thing"))), group=OuterRef("pk"))
    first_thing = pictured.order_by("position", "pk").values("thing")
    leading = dict(
        Group.objects.filter(pk__in=[each.pk for each in shown])
        .annotate(leading=Subquery(first_thing[:1]))
        .values_list("pk", "leading")
    )
    pictures: dict[int, Picture] = {}
    for picture in Picture.objects.filter(thing__in=[each for each in leading.values() if each]).order_by(
        "position", "pk"
    ):
        pictures.setdefault(picture.thing_id or 0, picture)
    return page, [GroupRow(group, counts.get(group.pk, 0), pictures.get(leading.get(group.pk) or 0)) for group in shown]


def _members(group: Group, reader: Account | None) -> Any:
    seen = Exists(Thing.objects.visible_to(reader).filter(pk=OuterRef("thing")))
    return GroupThing.objects.filter(seen, group=group).order_by("position", "pk")


def group_page(group: Group, reader: Account | None, number: str) -> tuple[Page[Any], list[MemberRow]]:
    """Return one page of a group's things in their order, in a constant number of queries."""
    page = Paginator(_members(group, reader), PER_PAGE).get_page(number)
    rows = list(page.object_list)
    things = Thing.objects.filter(pk__in=[row.thing_id for row in rows]).prefetch_related(first_pictures()).in_bulk()
    return page, _with_marks([(row, things[row.thing_id]) for row in rows], reader)


def _with_marks(pairs: Sequence[tuple[GroupThing | None, Thing]], reader: Account | None) -> list[MemberRow]:
    marks = extend.flags([thing for _, thing in pairs], reader)
    return [
        MemberRow(row, thing, next(iter(thing.pictures.all()), None), marks.get(thing.pk, [])) for row, thing in pairs
    ]


def member_row(group: Group, public_id: str) -> GroupThing:
    """Return a row of a group.

    Raises:
        Http404: there is none.
    """
    row = GroupThing.objects.filter(group=group, public_id=public_id).select_related("thing").first()
    if row is None:
        raise Http404
    return row


def in_words(found: Sequence[Proposal], reader: Account | None, at_most: int | None) -> list[ProposalRow]:
    """Return proposals with their reasons in words and their things (at most so many of each)."""
    words = told([key for each in found for key in each.keys], reader)
    chosen = {each.key: sorted(each.things)[:at_most] for each in found}
    wanted = {pk for things in chosen.values() for pk in things}
    things = (
        Thing.objects.visible_to(reader).present().filter(pk__in=wanted).prefetch_related(first_pictures()).in_bulk()
    )
    rows = []
    for each in found:
        said: list[Told] = [words[key] for key in each.keys]
        members = [
            MemberRow(None, things[pk], next(iter(things[pk].pictures.all()), None), [])
            for pk in chosen[each.key]
            if pk in things
        ]
        title = next((one.title for one in said if one.title), "")
        rows.append(ProposalRow(each, [one.reason for one in said], title, said[0].sort, members))
    return rows
