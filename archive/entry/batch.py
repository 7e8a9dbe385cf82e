"""What a keeper wants done to many things, and what it would change: one wish for each field or link."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from archive.kinds import KIND_CODES, kind
from archive.people.models import Person
from archive.places.models import Place
from archive.sorting.models import Group, GroupThing
from archive.things.models import Thing, ThingPerson, ThingPlace

AT_MOST = 2_000
_OLD_VALUES_SHOWN = 5

# What a thing can be linked to: the table of the links and the roles they have.
LINKS: dict[str, tuple[Any, Any]] = {
    "person": (ThingPerson, ThingPerson.Role),
    "place": (ThingPlace, ThingPlace.Role),
    "group": (GroupThing, None),
}


@dataclass(frozen=True)
class SetFields:
    """Some fields get a value; the first of them is the one that is told about."""

    label: str
    values: Mapping[str, Any]
    words: str

    def differs(self, thing: Thing) -> bool:
        """Say whether a thing would change."""
        return any(getattr(thing, name) != value for name, value in self.values.items())


@dataclass(frozen=True)
class SetStanding:
    """A standing is given, with its reason and all that is asked of what leaves."""

    values: Mapping[str, Any]
    words: str

    def differs(self, thing: Thing) -> bool:
        """Say whether a thing would change."""
        return any(getattr(thing, name) != value for name, value in self.values.items() if name != "standing_on")


@dataclass(frozen=True)
class AddState:
    """A state is added."""

    code: str
    words: str


@dataclass(frozen=True)
class RemoveState:
    """A state is taken away."""

    code: str
    words: str


@dataclass(frozen=True)
class AddLink:
    """A person, place or group is linked; ``target`` is the record, or a name that is new."""

    what: str
    target: Any
    role: str


@dataclass(frozen=True)
class RemoveLink:
    """Links to a person, place or group are taken away; an empty role stands for all."""

    what: str
    target: Any
    role: str


Wish = SetFields | SetStanding | AddState | RemoveState | AddLink | RemoveLink


@dataclass(frozen=True)
class Outlook:
    """What one wish would do: how many things it changes, and what stands there now."""

    label: str
    becomes: str
    changes: int
    stands: str
    new: bool = False  # somebody or something is recorded that is not in the archive yet


def outlook(wishes: Sequence[Wish], things: Sequence[Thing]) -> list[Outlook]:
    """Return what each wish would do to these things; two queries for each kind of link."""
    return [_outlook_of(wish, things) for wish in wishes]


def _outlook_of(wish: Wish, things: Sequence[Thing]) -> Outlook:
    if isinstance(wish, SetFields):
        name = next(iter(wish.values))
        olds = Counter(_in_words(thing, name) for thing in things)
        return Outlook(wish.label, wish.words, sum(wish.differs(thing) for thing in things), _told(olds))
    if isinstance(wish, SetStanding):
        olds = Counter(_in_words(thing, "standing") for thing in things)
        return Outlook("Standing", wish.words, sum(wish.differs(thing) for thing in things), _told(olds))
    if isinstance(wish, AddState | RemoveState):
        have = sum(wish.code in thing.states for thing in things)
        adding = isinstance(wish, AddState)
        return Outlook(
            "Condition",
            f"{'with' if adding else 'without'} “{wish.words}”",
            len(things) - have if adding else have,
            f"{have} of {len(things)} have it",
        )
    have = len({row.thing_id for row in links(wish, things)})
    adding = isinstance(wish, AddLink)
    role = LINKS[wish.what][1]
    words = f"{_name(wish.target)}{f', {role(wish.role).label}' if role and wish.role else ''}"
    return Outlook(
        f"{wish.what.capitalize()} {'to add' if adding else 'to take away'}",
        words,
        len(things) - have if adding else have,
        f"{have} of {len(things)} have it",
        new=adding and not isinstance(wish.target, Person | Place | Group),
    )


def links(wish: AddLink | RemoveLink, things: Sequence[Thing]) -> list[Any]:
    """Return the rows that link these things to what a wish names."""
    model = LINKS[wish.what][0]
    if not isinstance(wish.target, Person | Place | Group):
        return []  # it is new, so nothing is linked to it
    ids = {thing.pk for thing in things}
    found = model.objects.filter(**{wish.what: wish.target})
    if wish.role:
        found = found.filter(role=wish.role)
    return [row for row in found if row.thing_id in ids]


def _name(target: Any) -> str:
    return str(getattr(target, "label", None) or getattr(target, "name", None) or target)


def _in_words(thing: Thing, name: str) -> str:
    value = getattr(thing, name)
    if name == "kind_code":
        return kind(value).name if value in KIND_CODES else str(value)
    if hasattr(thing, f"get_{name}_display"):
        return str(getattr(thing, f"get_{name}_display")())
    return str(value) if value not in (None, "") else "nothing"


def _told(olds: Counter[str]) -> str:
    """Return how often each old value stands there, the most frequent first."""
    most = olds.most_common(_OLD_VALUES_SHOWN)
    rest = sum(olds.values()) - sum(count for _, count in most)
    return ", ".join(f"{value} ({count})" for value, count in most) + (f", and {rest} others" if rest else "")
