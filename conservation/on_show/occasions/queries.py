"""Reading the dated records that make days of the year, the keeper's own days, and the things that belong to them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.db.models import F, FloatField, Func, Q, Value
from django.db.models.functions import Substr
from django.http import Http404
from django.urls import reverse
from django.utils import timezone

from archive.access.models import Account
from archive.people.models import Partnership, Person, presumed_living
from archive.places.models import Place
from archive.preferences.queries import preferences
from archive.stories.models import Story, StoryPerson, StoryPlace, StoryThing
from archive.things.models import PiecePerson, Standing, Thing, ThingPerson
from conservation.on_show.models import OccasionChoice, OccasionThing, OwnOccasion

MOST_THINGS = 200  # dated things of round years that are read at most, those that matter most first
_LETTERS = ("letter", "postcard-or-stamp")
_NARROW_DAYS = 7


@dataclass(frozen=True)
class Fact:
    """A dated record: what sort of day it makes, its date, who or what it is about and where it can be read."""

    kind: str
    record: str  # the record's address
    edtf: str
    earliest: str
    latest: str
    who: str
    url: str
    people: tuple[int, ...] = ()
    thing: int | None = None
    story: int | None = None
    text: str = ""

    @property
    def key(self) -> str:
        """The name of the day whatever year it is, and whatever a story's words make of it."""
        sort = "story" if self.story is not None else self.kind.removesuffix("-living")
        return f"{sort}:{self.record}"


@dataclass(frozen=True)
class Link:
    """A thing that belongs to a day, and how: a code of the page's words and a name to put into them."""

    thing: int
    how: str
    name: str = ""


@dataclass
class ThingLine:
    """A thing as pages of occasions name it."""

    pk: int
    public_id: str
    number: str
    title: str
    significance: int | None
    may_be_planned: bool = True
    how: list[tuple[str, str]] = field(default_factory=list)

    @property
    def url(self) -> str:
        return reverse("things:page", args=[self.public_id])


def _narrow(first: str, last: str) -> dict[str, Any]:
    """Return an annotation: how many days lie between two ISO days."""
    days = Func(F(last), function="julianday") - Func(F(first), function="julianday")
    return {"_width": Func(days, Value(0.0), function="IFNULL", output_field=FloatField())}


def _known(records: Any, first: str, last: str) -> Any:
    """Return the records whose date is known to within a week."""
    dated = records.exclude(**{first: ""}).exclude(**{last: ""})
    return dated.annotate(**_narrow(first, last)).filter(_width__gte=0, _width__lt=_NARROW_DAYS).order_by("pk")


def of_people(reader: Account | None) -> list[Fact]:
    """Return births and deaths known to within a week; two queries."""
    people = Person.objects.visible_to(reader).present().filter(unidentified=False)
    living = presumed_living(timezone.localdate(), preferences().privacy_years)
    alive = set(people.filter(living).order_by().values_list("pk", flat=True))
    found = []
    for kind, column in (("birthday", "born"), ("death", "died")):
        names = ("pk", "public_id", "name", f"{column}_edtf", f"{column}_earliest", f"{column}_latest")
        for pk, public_id, name, edtf, first, last in _known(people, *names[4:]).values_list(*names):
            code = f"{kind}-living" if kind == "birthday" and pk in alive else kind
            url = reverse("people:page", args=[public_id])
            found.append(Fact(code, public_id, edtf, first, last, name, url, people=(pk,)))
    return found


def of_couples(reader: Account | None) -> list[Fact]:
    """Return weddings known to within a week, of two whom the reader may see; one query."""
    people = Person.objects.visible_to(reader).present().order_by().values("pk")
    rows = Partnership.objects.filter(one__in=people, other__in=people, sort=Partnership.Sort.MARRIED)
    columns = (
        "public_id", "since_edtf", "since_earliest", "since_latest", "one_id", "other_id", "one__name", "other__name",
        "one__public_id",
    )  # fmt: skip
    return [
        Fact(
            "wedding", public_id, edtf, first, last, f"{one} and {other}", reverse("people:page", args=[of]),
            people=(one_id, other_id),
        )
        for public_id, edtf, first, last, one_id, other_id, one, other, of in _known(
            rows, "since_earliest", "since_latest"
        ).values_list(*columns)
    ]  # fmt: skip


def of_stories(reader: Account | None) -> list[Fact]:
    """Return stories that tell of a day, with their opening; one query."""
    stories = Story.objects.visible_to(reader).present()
    rows = _known(stories, "about_earliest", "about_latest").annotate(opening=Substr("body", 1, 600))
    return [
        Fact(
            "story", public_id, edtf, first, last, title, reverse("stories:page", args=[public_id]), story=pk,
            text=f"{title} {opening}",
        )
        for pk, public_id, title, edtf, first, last, opening in rows.values_list(
            "pk", "public_id", "title", "about_edtf", "about_earliest", "about_latest", "opening"
        )
    ]  # fmt: skip


def of_things(reader: Account | None, years: Iterable[int]) -> list[Fact]:
    """Return letters and other things made on a known day of some years, those that matter most first; one query."""
    wanted = [f"{year:04d}" for year in years]
    things = _known(_kept(reader), "made_earliest", "made_latest")
    things = things.annotate(_year=Substr("made_earliest", 1, 4)).filter(_year__in=wanted)
    rows = things.order_by(F("significance").desc(nulls_last=True), "pk").values_list(
        "pk", "public_id", "title", "kind_code", "made_edtf", "made_earliest", "made_latest"
    )
    return [
        Fact(
            "letter" if kind in _LETTERS else "made", public_id, edtf, first, last, title,
            reverse("things:page", args=[public_id]), thing=pk,
        )
        for pk, public_id, title, kind, edtf, first, last in rows[:MOST_THINGS]
    ]  # fmt: skip


def of_years_only(reader: Account | None, years: Iterable[int], how_many: int) -> list[Fact]:
    """Return people and things of whom only the year is known, in some years; two queries."""
    wanted = [f"{year:04d}" for year in years]
    found = []
    people = Person.objects.visible_to(reader).present().filter(unidentified=False)
    names = ("public_id", "name", "born_edtf", "born_earliest", "born_latest")
    for public_id, name, edtf, first, last in people.filter(born_edtf__in=wanted).values_list(*names)[:how_many]:
        url = reverse("people:page", args=[public_id])
        found.append(Fact("birthday", public_id, edtf, first, last, name, url))
    columns = ("public_id", "title", "kind_code", "made_edtf", "made_earliest", "made_latest")
    things = _kept(reader).filter(made_edtf__in=wanted).order_by(F("significance").desc(nulls_last=True), "pk")
    for public_id, title, kind, edtf, first, last in things.values_list(*columns)[:how_many]:
        url = reverse("things:page", args=[public_id])
        found.append(Fact("letter" if kind in _LETTERS else "made", public_id, edtf, first, last, title, url))
    return found


def own(reader: Account | None) -> list[OwnOccasion]:
    """Return the days that the keeper added."""
    return list(OwnOccasion.objects.visible_to(reader).present())


def choices() -> dict[str, OccasionChoice]:
    """Return what the keeper made of days of the catalogue, by their keys."""
    return {each.key: each for each in OccasionChoice.objects.all()}


def find_own(public_id: str, reader: Account | None) -> OwnOccasion:
    """Return an own day that this reader may see.

    Raises:
        Http404: there is none for this reader.
    """
    found: OwnOccasion | None = OwnOccasion.objects.visible_to(reader).filter(public_id=public_id).first()
    if found is None:
        raise Http404
    return found


def things_for(occasion: OwnOccasion, reader: Account | None) -> list[Thing]:
    """Return the things that the keeper named for an own day."""
    things = Thing.objects.visible_to(reader).present().filter(own_occasions__occasion=occasion)
    return list(things.order_by("own_occasions__pk"))


# -- things that belong to days ------------------------------------------------------------------------------


def _kept(reader: Account | None) -> Any:
    return Thing.objects.visible_to(reader).present().filter(standing=Standing.KEPT)


def lines_of(ids: Iterable[int], reader: Account | None) -> dict[int, ThingLine]:
    """Return things that are kept and that the reader may see, by id; one query."""
    from archive.numbers import number_of

    rows = _kept(reader).filter(pk__in=list(ids)).order_by()
    return {
        pk: ThingLine(pk, public_id, number_of(serial), title, significance, home)
        for pk, public_id, serial, title, significance, home in rows.values_list(
            "pk", "public_id", "serial_id", "title", "significance", "show_home"
        )
    }


def linked_people() -> set[int]:
    """Return the people who have to do with any thing, piece or story at all; three queries."""
    found = set(ThingPerson.objects.order_by().values_list("person_id", flat=True).distinct())
    found |= set(PiecePerson.objects.order_by().values_list("person_id", flat=True).distinct())
    return found | set(StoryPerson.objects.order_by().values_list("person_id", flat=True).distinct())


def links_of_people(people: Iterable[int], reader: Account | None) -> dict[int, list[Link]]:
    """Return things by person: those they have to do with, those with a piece they are on, those of their stories."""
    wanted = sorted(set(people))
    found: dict[int, list[Link]] = {each: [] for each in wanted}
    if not wanted:
        return found
    for person, thing, role in ThingPerson.objects.filter(person__in=wanted).values_list(
        "person_id", "thing_id", "role"
    ):
        found[person].append(Link(thing, f"person-{role}"))
    for person, thing in PiecePerson.objects.filter(person__in=wanted).values_list("person_id", "piece__thing_id"):
        found[person].append(Link(thing, "person-shown"))
    seen = Story.objects.visible_to(reader).present().order_by().values("pk")
    rows = StoryThing.objects.filter(story__in=seen, story__person_rows__person__in=wanted)
    for person, thing, title in rows.values_list("story__person_rows__person", "thing_id", "story__title"):
        if person in found:
            found[person].append(Link(thing, "story", title))
    return found


def links_of_stories(stories: Iterable[int], reader: Account | None) -> dict[int, list[Link]]:
    """Return things by story: its own; where it names none, those of its people and places the reader may see."""
    wanted = sorted(set(stories))
    found: dict[int, list[Link]] = {each: [] for each in wanted}
    if not wanted:
        return found
    for story, thing in StoryThing.objects.filter(story__in=wanted).values_list("story_id", "thing_id"):
        found[story].append(Link(thing, "story-own"))
    rest = [each for each in wanted if not found[each]]
    seen = Person.objects.visible_to(reader).present().order_by().values("pk")
    people = StoryPerson.objects.filter(story__in=rest, person__in=seen).filter(~Q(person__thing_rows=None))
    for story, thing, name in people.values_list("story_id", "person__thing_rows__thing", "person__name"):
        found[story].append(Link(thing, "story-person", name))
    seen = Place.objects.visible_to(reader).present().order_by().values("pk")
    places = StoryPlace.objects.filter(story__in=rest, place__in=seen).filter(~Q(place__thing_rows=None))
    for story, thing, name in places.values_list("story_id", "place__thing_rows__thing", "place__name"):
        found[story].append(Link(thing, "story-place", name))
    return found


def links_of_own(occasions: Iterable[int]) -> dict[int, list[Link]]:
    """Return the things that the keeper named for own days, by day."""
    found: dict[int, list[Link]] = {}
    for occasion, thing in OccasionThing.objects.filter(occasion__in=list(occasions)).values_list(
        "occasion_id", "thing_id"
    ):
        found.setdefault(occasion, []).append(Link(thing, "own"))
    return found
