"""What is shown of records that were found: a line each, with few questions for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, F, IntegerField, Value, When
from django.db.models.functions import Cast
from django.urls import reverse

from archive.access.models import Account
from archive.access.subjects import subject as subject_row
from archive.boxes.models import Level
from archive.numbers import number_of
from archive.places.models import Place
from archive.search.documents import MODELS
from archive.search.models import SUBJECTS
from archive.sorting.models import Group

# One and many, as a person would say them.
WORDS: dict[str, tuple[str, str]] = {
    "things": ("thing", "things"),
    "people": ("person", "people"),
    "places": ("place", "places"),
    "stories": ("story", "stories"),
    "boxes": ("box", "boxes"),
    "lots": ("lot", "lots"),
    "groups": ("group", "groups"),
}


@dataclass(frozen=True)
class Line:
    """A record that is not a thing, in one line."""

    subject: str
    record_id: int
    title: str
    url: str
    number: str
    detail: str
    withdrawn: bool

    @property
    def word(self) -> str:
        return WORDS[self.subject][0]


def lines(ids: Mapping[str, Sequence[int]], reader: Account | None) -> dict[str, list[Line]]:
    """Return lines for records of several subjects in the order of their ids; one question for all subjects."""
    parts = [_rows(subject, some, reader) for subject, some in ids.items() if some and subject != "things"]
    if not parts:
        return {}
    rows = parts[0].union(*parts[1:], all=True) if len(parts) > 1 else parts[0]
    found: dict[str, dict[int, Line]] = {}
    for place, pk, public_id, title, serial, first, second, withdrawn in rows:
        subject = SUBJECTS[place]
        number = number_of(serial) if serial else ""
        url = reverse(str(subject_row(subject).route), args=[public_id])
        detail = _detail(subject, str(first or ""), str(second or ""))
        found.setdefault(subject, {})[pk] = Line(subject, pk, title, url, number, detail, bool(withdrawn))
    return {subject: [found[subject][pk] for pk in ids[subject] if pk in found.get(subject, {})] for subject in found}


def _rows(subject: str, ids: Iterable[int], reader: Account | None) -> Any:
    """Return the same eight columns of every subject: place, id, address, title, serial, two details, withdrawn."""
    title = "name" if subject in ("people", "places") else "title"
    serial: Any = F("serial_id") if subject in ("boxes", "lots") else Value(0)
    first: Any
    second: Any = Value("")
    if subject == "people":
        first, second = F("born_text"), F("died_text")
    elif subject == "places":
        # Where a place lies is told to those alone who may see that other place.
        first = Case(When(within__in=Place.objects.visible_to(reader), then=F("within__name")), default=Value(""))
    elif subject == "stories":
        first, second = F("about_text"), F("teller_text")
    elif subject == "boxes":
        first = F("level")
    elif subject == "lots":
        first = F("arrived_text")
    else:
        first = F("sort")
    return (
        MODELS[subject]
        .objects.visible_to(reader)
        .filter(pk__in=list(ids))
        .order_by()
        .annotate(
            _place=Value(SUBJECTS.index(subject), IntegerField()),
            _title=F(title),
            _serial=Cast(serial, IntegerField()),
            _first=first,
            _second=second,
            _gone=F("withdrawn_at"),
        )
        .values_list("_place", "pk", "public_id", "_title", "_serial", "_first", "_second", "_gone")
    )


def _detail(subject: str, first: str, second: str) -> str:
    if subject == "people":
        if first and second:
            return f"{first}–{second}" if len(first) <= 6 and len(second) <= 6 else f"{first} – {second}"
        return f"born {first}" if first else f"died {second}" if second else ""
    if subject == "places":
        return f"in {first}" if first else ""
    if subject == "stories":
        said = (first, f"told by {second}" if second else "")
        return ", ".join(each for each in said if each)
    if subject == "boxes":
        return dict(Level.choices).get(first, first)
    if subject == "lots":
        return f"came {first}" if first else ""
    return dict(Group.Sort.choices).get(first, first)
