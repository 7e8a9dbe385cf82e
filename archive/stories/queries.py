"""Reading stories for pages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import Count, Prefetch, Q, Window
from django.db.models.functions import Substr
from django.http import Http404

from archive.access.models import Account
from archive.folding import fold
from archive.people.models import Person
from archive.people.queries import find_person
from archive.pictures.models import Picture
from archive.places.models import Place
from archive.places.queries import find_place
from archive.stories.models import Story
from archive.stories.paragraphs import first_lines
from archive.things.models import Thing
from archive.things.queries import find_thing

PER_PAGE = 48
BESIDE = 6  # how many stories stand on the page of a thing, person or place; the rest are a link away
_FIRST_SIGNS = 400


@dataclass(frozen=True)
class StoryRow:
    """A story in a list: who told it, its first lines and its first picture."""

    story: Story
    teller: Person | None
    teller_text: str
    opening: str
    first_picture: Picture | None


@dataclass(frozen=True)
class StoriesOf:
    """What is told of one record: the latest stories, and how many more there are."""

    rows: list[StoryRow]
    more: int
    what: str  # thing, person or place
    public_id: str


@dataclass(frozen=True)
class Filters:
    """What a list of stories is narrowed to; a record is one that the reader may see."""

    teller: str = ""
    earliest: str = ""
    latest: str = ""
    about: tuple[str, Any] | None = None


@dataclass(frozen=True)
class Linked:
    """What a story tells of, as far as this reader may see it."""

    things: list[Thing]
    people: list[Person]
    places: list[Place]


def find_story(public_id: str, reader: Account | None) -> Story:
    """Return a story that this reader may see.

    Raises:
        Http404: there is none, or none for this reader; the two cannot be told apart.
    """
    stories = Story.objects.visible_to(reader).select_related("teller", "written_by")
    story: Story | None = stories.filter(public_id=public_id).first()
    if story is None:
        raise Http404
    return story


def find_own(public_id: str, writer: Account) -> Story:
    """Return a story that this account may change: the keeper any, a relative those they wrote themselves.

    Raises:
        Http404: there is none, or it is somebody else's.
    """
    story = find_story(public_id, writer)
    if not may_change(story, writer):
        raise Http404
    return story


def may_change(story: Story, account: Account | None) -> bool:
    """Say whether somebody may change a story that they may see."""
    return account is not None and (account.is_keeper or story.written_by_id == account.pk)


def find_picture(story: Story, public_id: str) -> Picture:
    """Return a picture of a story.

    Raises:
        Http404: the story has no such picture.
    """
    picture: Picture | None = story.pictures.filter(public_id=public_id).first()
    if picture is None:
        raise Http404
    return picture


def find_subject(what: str, public_id: str, reader: Account | None) -> Any:
    """Return the thing, person or place that a story is or will be about, if this reader may see it.

    Raises:
        Http404: there is none for this reader, or stories are not told of such a thing.
    """
    finders: dict[str, Any] = {"thing": find_thing, "person": find_person, "place": find_place}
    if what not in finders:
        raise Http404
    return finders[what](public_id, reader)


def list_page(reader: Account | None, number: str, filters: Filters) -> tuple[Page[Any], list[StoryRow]]:
    """Return one page of stories, the newest first, in a constant number of queries."""
    found = Story.objects.visible_to(reader).present().order_by("-created_at", "-pk")
    if filters.about:
        what, record = filters.about
        found = found.filter(**{f"{what}_rows__{what}": record})
    if filters.earliest or filters.latest:
        found = found.filter(_tells_of(filters.earliest, filters.latest))
    if filters.teller:
        found = found.filter(_told_by(filters.teller, reader))
    page = Paginator(_for_rows(found), PER_PAGE).get_page(number)
    return page, rows(list(page.object_list), reader)


def _tells_of(earliest: str, latest: str) -> Q:
    """Return the condition that the time a story tells of meets a span of days; an empty bound is open."""
    meets = ~Q(about_earliest="", about_latest="")
    if latest:
        meets &= Q(about_earliest__lte=latest)
    if earliest:
        meets &= Q(about_latest="") | Q(about_latest__gte=earliest)
    return meets


def _told_by(typed: str, reader: Account | None) -> Q:
    """Return the condition that a story's teller has a name like the typed one; people not open to this reader
    cannot be asked after."""
    name = typed.rpartition(" (")[0] if typed.endswith(")") else typed
    people = Person.objects.visible_to(reader).filter(name_folded__contains=fold(name))
    # SQLite knows capitals of plain letters only, so that a name like Åse is also tried as a name is written.
    return Q(teller__in=people) | Q(teller_text__icontains=name) | Q(teller_text__icontains=name.title())


def stories_of_thing(thing: Thing, reader: Account | None) -> StoriesOf:
    """Return what is told of a thing, as far as this reader may see it, in a constant number of queries."""
    return _stories_of("thing", thing, reader)


def _stories_of(what: str, record: Any, reader: Account | None) -> StoriesOf:
    found = Story.objects.visible_to(reader).present().filter(**{f"{what}_rows__{what}": record})
    counted: Any = found.annotate(in_all=Window(Count("pk")))
    latest: list[Any] = list(_for_rows(counted.order_by("-created_at", "-pk"))[:BESIDE])
    in_all = latest[0].in_all if latest else 0
    return StoriesOf(rows(latest, reader), max(0, in_all - BESIDE), what, record.public_id)


def unread(keeper: Account) -> Any:
    """Return the stories that others told and the keeper has not marked as read, the oldest first."""
    return Story.objects.visible_to(keeper).present().filter(seen_by_keeper=False).order_by("created_at", "pk")


def unread_page(keeper: Account, number: str) -> tuple[Page[Any], list[StoryRow]]:
    """Return one page of what was told since the keeper last looked."""
    page = Paginator(_for_rows(unread(keeper)), PER_PAGE).get_page(number)
    return page, rows(list(page.object_list), keeper)


def unread_with_subjects(keeper: Account, how_many: int) -> list[tuple[Story, str]]:
    """Return the oldest unread stories, each with what it is about in words (a title or name), in four queries."""
    found = unread(keeper).select_related("written_by").defer("body").prefetch_related(
        "thing_rows__thing", "person_rows__person", "place_rows__place"
    )  # fmt: skip
    named = []
    for story in found[:how_many]:
        linked = [
            *(row.thing.title for row in story.thing_rows.all()),
            *(row.person.name for row in story.person_rows.all()),
            *(row.place.name for row in story.place_rows.all()),
        ]
        named.append((story, linked[0] if linked else story.title))
    return named


def linked(story: Story, reader: Account | None) -> Linked:
    """Return what a story tells of; each table's own rule says what this reader may see of it."""
    people: Any = Person.objects.visible_to(reader).filter(story_rows__story=story)
    places: Any = Place.objects.visible_to(reader).filter(story_rows__story=story)
    things = Thing.objects.visible_to(reader).filter(story_rows__story=story).order_by("story_rows__pk")
    return Linked(
        list(things.prefetch_related(_pictures())),
        list(people.order_by("story_rows__pk")),
        list(places.select_related("within").order_by("story_rows__pk")),
    )


def picture_of(what: str, record: Any, reader: Account | None) -> Picture | None:
    """Return a picture of what a story is about, if there is one that this reader may see."""
    pictures = Picture.objects.visible_to(reader)
    which = {
        "thing": Q(thing=record),
        "person": Q(marks__person=record) | Q(thing__person_rows__person=record),
        "place": Q(thing__place_rows__place=record),
    }[what]
    return pictures.filter(which).order_by("position", "pk").first()


def visible_tellers(stories: Iterable[Story], reader: Account | None) -> dict[int, Person]:
    """Return the tellers of stories by their keys, without those whom this reader may not see; one query at most."""
    keys = {story.teller_id for story in stories if story.teller_id is not None}
    return {each.pk: each for each in Person.objects.visible_to(reader).filter(pk__in=keys)} if keys else {}


def rows(stories: Sequence[Story], reader: Account | None) -> list[StoryRow]:
    """Return stories as rows of a list, read by `_for_rows`."""
    tellers = visible_tellers(stories, reader)
    return [
        StoryRow(
            story,
            tellers.get(story.teller_id or 0),
            story.teller_text,
            first_lines(getattr(story, "opening", "")),
            next(iter(story.pictures.all()), None),
        )
        for story in stories
    ]


def _for_rows(stories: Any) -> Any:
    """Read what rows need: not the whole of every story, which may be long, but how it begins."""
    begins = stories.defer("body").annotate(opening=Substr("body", 1, _FIRST_SIGNS))
    return begins.select_related("written_by").prefetch_related(_pictures())


def _pictures() -> Any:
    return Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))


def find_things(typed: str, reader: Account | None, how_many: int = 12) -> list[Thing]:
    """Return things whose number or title holds what is typed, the latest first."""
    from archive.numbers import read_typed

    wanted = typed.strip()
    if len(wanted) < 2:
        return []
    read = read_typed(wanted)
    holds = Q(serial_id=read.serial) if read.serial is not None else Q(title__icontains=wanted)
    things = Thing.objects.visible_to(reader).present().filter(holds)
    return list(things.order_by("-created_at", "-pk")[:how_many])


def things_named(typed: str, reader: Account | None) -> list[Thing]:
    """Return the things that a typed number, ``0214-6 Title``, or title in full means: none, one, or several."""
    from archive.numbers import read_typed

    typed = " ".join(typed.split())
    things = Thing.objects.visible_to(reader).present()
    for number in (typed, typed.partition(" ")[0]):
        read = read_typed(number)
        if read.serial is not None:
            found = list(things.filter(serial_id=read.serial))
            if found:
                return found
    return list(things.filter(title__iexact=typed).order_by("pk")[:20])
