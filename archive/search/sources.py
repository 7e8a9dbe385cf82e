"""From which rows the index is made: the tables whose change touches a record's entry."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.db import connection

from archive.boxes.models import Box
from archive.people.models import Person, PersonName
from archive.pictures.models import PersonMark, Picture
from archive.places.models import Place, PlaceName
from archive.sorting.models import FirstLook, Group, Lot
from archive.stories.models import Story, StoryPerson, StoryPlace
from archive.things.models import Inscription, Piece, PiecePerson, Thing, ThingPerson, ThingPlace


@dataclass(frozen=True)
class Source:
    """A table, the subject whose entries it feeds, the column with the record's id, and the table in between."""

    model: Any
    subject: str
    column: str
    via: str = ""


SOURCES: tuple[Source, ...] = (
    Source(Thing, "things", "id"),
    Source(Person, "people", "id"),
    Source(Place, "places", "id"),
    Source(Story, "stories", "id"),
    Source(Box, "boxes", "id"),
    Source(Lot, "lots", "id"),
    Source(Group, "groups", "id"),
    Source(ThingPerson, "things", "thing_id"),
    Source(ThingPlace, "things", "thing_id"),
    Source(Piece, "things", "thing_id"),
    Source(PiecePerson, "things", "thing_id", "piece"),
    Source(Inscription, "things", "thing_id"),
    Source(Picture, "things", "thing_id"),
    Source(PersonMark, "things", "thing_id", "picture"),
    Source(PersonName, "people", "person_id"),
    Source(PlaceName, "places", "place_id"),
    Source(StoryPerson, "stories", "story_id"),
    Source(StoryPlace, "stories", "story_id"),
    Source(FirstLook, "boxes", "box_id"),
)


def touched_by(row: Any) -> list[tuple[str, int]]:
    """Return the subject and id of the records whose entries a row feeds."""
    found = []
    for source in SOURCES:
        if isinstance(row, source.model):
            owner = getattr(row, source.via) if source.via else row
            record_id = getattr(owner, source.column)
            if record_id is not None:
                found.append((source.subject, int(record_id)))
    return found


def touched_in(change_set_id: int) -> set[tuple[str, int]]:
    """Return the records whose entries a change set touched, told by its history rows, however they were written.

    A link that moved from one record to another touched both.
    """
    sql = _sql()
    with connection.cursor() as cursor:
        cursor.execute(sql, [change_set_id] * sql.count("%s"))
        return {(subject, record_id) for subject, record_id in cursor.fetchall() if record_id is not None}


@cache
def _sql() -> str:
    """Return one question over the history of all tables; it holds names of our tables and columns alone."""
    parts = []
    for source in SOURCES:
        past = source.model.history.model._meta.db_table
        rows = f"(SELECT id FROM {past} WHERE change_set_id = %s)"  # noqa: S608
        if source.via:
            between = source.model._meta.get_field(source.via).related_model._meta.db_table
            parts.append(
                f"SELECT '{source.subject}', o.{source.column} FROM {past} h "  # noqa: S608
                f"JOIN {between} o ON o.id = h.{source.via}_id WHERE h.id IN {rows}"
            )
        elif source.column == "id":
            parts.append(f"SELECT '{source.subject}', id FROM {past} WHERE change_set_id = %s")  # noqa: S608
        else:
            parts.append(f"SELECT '{source.subject}', {source.column} FROM {past} WHERE id IN {rows}")  # noqa: S608
    return " UNION ".join(parts)
