"""What is written into the index for each record, made for many records at once with few questions."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.utils import timezone

from archive.access.records import ReadAccess
from archive.boxes.models import Box
from archive.folding import fold
from archive.people.models import Person, PersonName
from archive.pictures.models import PersonMark, Picture
from archive.places.models import Place, PlaceName
from archive.search.models import ALL, KEEPER, RELATIVES, entry_id
from archive.sorting.models import FirstLook, Group, Lot
from archive.stories.models import Story, StoryPerson, StoryPlace
from archive.things.models import Inscription, Piece, PiecePerson, Thing, ThingPerson, ThingPlace

_LEVELS = {ReadAccess.KEEPER: KEEPER, ReadAccess.RELATIVES: RELATIVES, ReadAccess.ALL: ALL}
# The longest time that the keeper may choose for people to be taken as living: a name in the index must stay private
# under every choice.
LONGEST_PRIVACY_YEARS = 130
_JOINED = re.compile(r"[^\W_]+(?:['\-.][^\W_]+)+")
_LONGEST_TITLE = 600
_LONGEST_BODY = 200_000


@dataclass
class Document:
    """One record's texts, folded, by who may find it by them."""

    subject: str
    record_id: int
    level: int
    title: str
    names: str = ""
    body: str = ""
    relatives: str = ""
    keeper: str = ""
    name_level: int = KEEPER

    @property
    def id(self) -> int:
        return entry_id(self.subject, self.level, self.record_id)

    @property
    def texts(self) -> tuple[str, str, str, str, str]:
        return (self.title, self.names, self.body, self.relatives, self.keeper)


@dataclass
class _Links:
    """Names of others on a record, by who may know of them."""

    by_level: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))

    def add(self, level: int, text: str) -> None:
        self.by_level[level].append(text)

    def texts(self, level: int) -> str:
        return " ".join(dict.fromkeys(self.by_level.get(level, ())))


def documents(subject: str, ids: Sequence[int]) -> list[Document]:
    """Return the documents of the records of one subject that still exist, in no particular order."""
    return _MAKERS[subject](list(ids))


def _level(record: Any) -> int:
    """Return who may see a record at most; what closes it for a time is asked of the record itself at each search."""
    return KEEPER if record.withdrawn_at is not None else _LEVELS.get(record.access, KEEPER)


def _text(*parts: Any) -> str:
    """Join and fold texts; words joined by a sign (O'Brien, Mary-Ann) stand once more as one word."""
    joined = " ".join(str(part) for part in parts if part)[:_LONGEST_BODY]
    # Most text is plain ASCII, of which only the capitals have to go.
    folded = " ".join((joined.casefold() if joined.isascii() else fold(joined)).replace("\0", " ").split())
    joins = "'" in folded or "-" in folded or "." in folded
    also = {re.sub(r"['\-.]", "", each) for each in _JOINED.findall(folded)} if joins else set()
    return " ".join([folded, *sorted(also - set(folded.split()))]) if also else folded


def _title(text: str) -> str:
    return " ".join(fold(text.replace("\0", " ")).split())[:_LONGEST_TITLE]


def person_name_level(person: Person) -> int:
    """Return who may find other records by somebody's name: those surely allowed to know of them, now and later."""
    level = _level(person)
    may_live = person.is_presumed_living(timezone.localdate(), LONGEST_PRIVACY_YEARS) and not person.open_though_living
    return min(level, RELATIVES) if may_live else level


def _names(model: type[PersonName] | type[PlaceName], key: str, ids: Iterable[int]) -> dict[int, list[str]]:
    found: dict[int, list[str]] = defaultdict(list)
    rows = model._default_manager.filter(**{f"{key}__in": set(ids)}).order_by("pk").values_list(key, "name")
    for owner, name in rows:
        found[owner].append(name)
    return found


def _people_by_id(ids: Iterable[int]) -> dict[int, tuple[int, str]]:
    """Return name level and all names of people."""
    people = list(Person.objects.filter(pk__in=set(ids)))
    others = _names(PersonName, "person", [person.pk for person in people])
    return {p.pk: (person_name_level(p), _text(p.name, *others[p.pk])) for p in people}


def _places_by_id(ids: Iterable[int]) -> dict[int, tuple[int, str]]:
    places = list(Place.objects.filter(pk__in=set(ids)))
    others = _names(PlaceName, "place", [place.pk for place in places])
    return {p.pk: (_level(p), _text(p.name, *others[p.pk])) for p in places}


def _linked(people: Iterable[tuple[int, int]], places: Iterable[tuple[int, int]]) -> dict[int, _Links]:
    """Return the names on records, from pairs of the record's id and the id of a person or place."""
    found: dict[int, _Links] = defaultdict(_Links)
    for pairs, known in ((list(people), _people_by_id), (list(places), _places_by_id)):
        by_id = known(other for _, other in pairs) if pairs else {}
        for owner, other in pairs:
            if other in by_id:
                found[owner].add(*by_id[other])
    return found


def _pairs(rows: Iterable[Any]) -> list[tuple[int, int]]:
    return [(owner, other) for owner, other in rows if owner is not None and other is not None]


def _things(ids: list[int]) -> list[Document]:
    things = list(Thing.objects.filter(pk__in=ids))
    people = [
        *ThingPerson.objects.filter(thing__in=ids).values_list("thing_id", "person_id"),
        *PiecePerson.objects.filter(piece__thing__in=ids).values_list("piece__thing_id", "person_id"),
        *PersonMark.objects.filter(picture__thing__in=ids).values_list("picture__thing_id", "person_id"),
    ]
    givers = _people_by_id({thing.came_from_id for thing in things if thing.came_from_id is not None})
    places = ThingPlace.objects.filter(thing__in=ids).values_list("thing_id", "place_id")
    links = _linked(_pairs(people), _pairs(places))
    pieces, said = defaultdict(list), defaultdict(list)
    for owner, *texts in Piece.objects.filter(thing__in=ids).values_list("thing_id", "title", "made_text"):
        pieces[owner].extend(texts)
    for owner, *texts in Inscription.objects.filter(thing__in=ids).values_list("thing_id", "text", "reading"):
        said[owner].extend(texts)
    for owner, text in Picture.objects.filter(thing__in=ids).exclude(caption="").values_list("thing_id", "caption"):
        said[owner].append(text)
    found = []
    for thing in things:
        own = links[thing.pk]
        # How it came is told to relatives; where in its lot it lay, only to those who may see the lot.
        giver_level, giver = givers.get(thing.came_from_id or 0, (RELATIVES, ""))
        own.add(min(giver_level, RELATIVES), giver)
        own.add(RELATIVES, _text(thing.came_note, thing.came_text))
        own.add(KEEPER, _text(thing.found_where))
        parts = [each.name for each in (thing.kind, *thing.part_rows)]
        found.append(
            Document(
                "things",
                thing.pk,
                _level(thing),
                _title(thing.title),
                _text(
                    thing.number, *_compounds(thing.title), *parts, thing.made_text, own.texts(ALL), *pieces[thing.pk]
                ),
                _text(thing.note, *said[thing.pk]),
                _text(own.texts(RELATIVES)),
                _text(
                    own.texts(KEEPER), thing.open_question, thing.standing_why, thing.gone_how, thing.gone_agreed,
                    thing.significance_why, thing.rights_maker, thing.rights_holder, thing.rights_note,
                ),
            )
        )  # fmt: skip
    return found


def _compounds(title: str) -> list[str]:
    """Return the words of a title that a sign joins, as one word each."""
    return [re.sub(r"['\-.]", "", each) for each in _JOINED.findall(fold(title))]


def _people(ids: list[int]) -> list[Document]:
    others = _names(PersonName, "person", ids)
    return [
        Document(
            "people",
            person.pk,
            _level(person),
            _title(person.name),
            _text(person.sort_name, *_compounds(person.name), *others[person.pk], person.years),
            _text(person.note),
            name_level=person_name_level(person),
        )
        for person in Person.objects.filter(pk__in=ids)
    ]


def _places(ids: list[int]) -> list[Document]:
    places = list(Place.objects.filter(pk__in=ids))
    others = _names(PlaceName, "place", ids)
    within = _linked([], _pairs((place.pk, place.within_id) for place in places))
    return [
        Document(
            "places",
            place.pk,
            _level(place),
            _title(place.name),
            _text(*_compounds(place.name), *others[place.pk]),
            _text(place.note, within[place.pk].texts(ALL)),
            _text(within[place.pk].texts(RELATIVES)),
            _text(within[place.pk].texts(KEEPER)),
            name_level=_level(place),
        )
        for place in places
    ]


def _stories(ids: list[int]) -> list[Document]:
    stories = list(Story.objects.filter(pk__in=ids))
    people = [
        *StoryPerson.objects.filter(story__in=ids).values_list("story_id", "person_id"),
        *((story.pk, story.teller_id) for story in stories),
    ]
    places = StoryPlace.objects.filter(story__in=ids).values_list("story_id", "place_id")
    links = _linked(_pairs(people), _pairs(places))
    return [
        Document(
            "stories",
            story.pk,
            _level(story),
            _title(story.title),
            _text(*_compounds(story.title), story.teller_text, story.about_text, links[story.pk].texts(ALL)),
            _text(story.body),
            _text(links[story.pk].texts(RELATIVES)),
            _text(links[story.pk].texts(KEEPER)),
        )
        for story in stories
    ]


def _boxes(ids: list[int]) -> list[Document]:
    looks = {look.box_id: look for look in FirstLook.objects.filter(box__in=ids)}
    found = []
    for box in Box.objects.filter(pk__in=ids):
        look = looks.get(box.pk)
        seen = (look.stood_where, look.packed_by_text, look.could_tell, look.note) if look else ()
        found.append(
            Document(
                "boxes",
                box.pk,
                _level(box),
                _title(box.title),
                _text(box.number, *_compounds(box.title), box.get_level_display(), box.made_of),
                _text(box.note),
                keeper=_text(*seen),
            )
        )
    return found


def _lots(ids: list[int]) -> list[Document]:
    lots = list(Lot.objects.filter(pk__in=ids))
    links = _linked(
        _pairs((lot.pk, lot.from_whom_id) for lot in lots), _pairs((lot.pk, lot.from_where_id) for lot in lots)
    )
    return [
        Document(
            "lots",
            lot.pk,
            _level(lot),
            _title(lot.title),
            _text(lot.number, *_compounds(lot.title), lot.from_whom_text, lot.arrived_text, links[lot.pk].texts(ALL)),
            _text(lot.found_in, lot.found_with, lot.position_note, lot.wrapper_text, lot.note),
            _text(links[lot.pk].texts(RELATIVES)),
            _text(links[lot.pk].texts(KEEPER), lot.quarantine_why),
        )
        for lot in lots
    ]


def _groups(ids: list[int]) -> list[Document]:
    return [
        Document("groups", group.pk, _level(group), _title(group.title), _text(*_compounds(group.title)),
                 _text(group.note))
        for group in Group.objects.filter(pk__in=ids)
    ]  # fmt: skip


_MAKERS: dict[str, Callable[[list[int]], list[Document]]] = {
    "things": _things,
    "people": _people,
    "places": _places,
    "stories": _stories,
    "boxes": _boxes,
    "lots": _lots,
    "groups": _groups,
}

MODELS: dict[str, type[Any]] = {
    "things": Thing,
    "people": Person,
    "places": Place,
    "stories": Story,
    "boxes": Box,
    "lots": Lot,
    "groups": Group,
}


def dependents(people: Iterable[int], places: Iterable[int]) -> dict[str, set[int]]:
    """Return the records that carry the name of one of these people or places."""
    who, where = set(people), set(places)
    found: dict[str, set[int]] = {"things": set(), "stories": set(), "lots": set(), "places": set()}
    if who:
        found["things"].update(
            ThingPerson.objects.filter(person__in=who).values_list("thing_id", flat=True),
            PiecePerson.objects.filter(person__in=who).values_list("piece__thing_id", flat=True),
            Thing.objects.filter(came_from__in=who).values_list("pk", flat=True),
            PersonMark.objects.filter(person__in=who, picture__thing__isnull=False).values_list(
                "picture__thing_id", flat=True
            ),
        )
        found["stories"].update(
            StoryPerson.objects.filter(person__in=who).values_list("story_id", flat=True),
            Story.objects.filter(teller__in=who).values_list("pk", flat=True),
        )
        found["lots"].update(Lot.objects.filter(from_whom__in=who).values_list("pk", flat=True))
    if where:
        found["things"].update(ThingPlace.objects.filter(place__in=where).values_list("thing_id", flat=True))
        found["stories"].update(StoryPlace.objects.filter(place__in=where).values_list("story_id", flat=True))
        found["lots"].update(Lot.objects.filter(from_where__in=where).values_list("pk", flat=True))
        found["places"].update(Place.objects.filter(within__in=where).values_list("pk", flat=True))
    return {subject: ids for subject, ids in found.items() if ids}
