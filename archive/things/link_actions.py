"""Writing the rows that hang on a thing: people, places, pieces, inscriptions, owners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.db import IntegrityError
from django.db.models import Max

from archive.access.bulk import create_many
from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.people.models import Person
from archive.pictures.actions import edit_picture
from archive.preferences.queries import preferences, read_into
from archive.things.actions import set_fields
from archive.things.models import Inscription, Piece, PiecePerson, Share, Thing, ThingPerson, ThingPlace
from archive.things.newcomers import Newcomers
from archive.things.rows import RowChange


class TwiceTheSame(ValueError):
    """Two rows would say the same: one person twice in one role, one piece number twice."""


def set_people(who: Account | None, thing: Thing, changes: Sequence[RowChange]) -> None:
    """Change who has to do with a thing.

    Raises:
        TwiceTheSame: somebody would stand there twice in one role.
    """
    _save_rows(who, "things.people", ThingPerson, thing, changes)


def set_places(who: Account | None, thing: Thing, changes: Sequence[RowChange]) -> None:
    """Change which places have to do with a thing.

    Raises:
        TwiceTheSame: a place would stand there twice in one role.
    """
    _save_rows(who, "things.places", ThingPlace, thing, changes)


def set_inscriptions(who: Account | None, thing: Thing, changes: Sequence[RowChange]) -> None:
    """Change what is written on a thing."""
    _save_rows(who, "things.inscriptions", Inscription, thing, changes)


def set_owners(who: Account | None, thing: Thing, changes: Sequence[RowChange], fields: Mapping[str, Any]) -> None:
    """Change whose a thing is: the shares, and the thing's own fields of a loan to us.

    Raises:
        TwiceTheSame: somebody would be named twice.
    """
    newcomers = Newcomers(who)
    with changing(who, "things.owners"):
        _save_rows(who, "things.owners", Share, thing, changes, newcomers)
        if fields:
            set_fields(who, thing, {name: newcomers.settle(value) for name, value in fields.items()}, "things.owners")


def set_pieces(who: Account | None, thing: Thing, changes: Sequence[RowChange]) -> None:
    """Change a thing's pieces, each with its date and the people on it; one without a number takes the next.

    Raises:
        TwiceTheSame: a piece number with the same side would stand there twice.
    """
    typed = [change.values.get("order") or 0 for change in changes]
    following = max([thing.pieces.aggregate(last=Max("order"))["last"] or 0, *typed]) + 1
    numbered = []
    for change in changes:
        if change.row is None and not change.values.get("order"):
            change = RowChange(None, {**change.values, "order": following})
            following += 1
        numbered.append(change)
    _save_rows(who, "things.pieces", Piece, thing, numbered)


def make_pieces(who: Account | None, thing: Thing, last: int) -> int:
    """Make the pieces 1 to ``last`` that are not there yet, as one act; return how many were made."""
    with changing(who, "things.make_pieces"):
        there = set(thing.pieces.values_list("order", flat=True))
        fresh = [Piece(thing=thing, order=order) for order in range(1, last + 1) if order not in there]
        create_many(fresh)
    return len(fresh)


def _save_rows(
    who: Account | None,
    verb: str,
    model: Any,
    thing: Thing,
    changes: Sequence[RowChange],
    newcomers: Newcomers | None = None,
) -> None:
    """Remove first, then change, then add, so that a row can take the place of one that goes."""
    newcomers = newcomers or Newcomers(who)
    try:
        with changing(who, verb):
            for change in changes:
                if change.remove and change.row is not None:
                    _remove(who, change.row)
            for change in changes:
                if not change.remove and change.row is not None:
                    touch(change.row)
                    _fill(who, change.row, change.values, newcomers)
            for change in changes:
                if not change.remove and change.row is None:
                    _fill(who, model(thing=thing), change.values, newcomers)
    except IntegrityError as error:
        if "UNIQUE" not in str(error):
            raise
        raise TwiceTheSame from error


def _fill(who: Account | None, row: Any, values: Mapping[str, Any], newcomers: Newcomers) -> None:
    for name, value in values.items():
        if name != "people":
            setattr(row, name, newcomers.settle(value))
    if "made_text" in values:
        read_into(row, "made", preferences())
    row.save()
    if "people" in values:
        _people_on(row, [newcomers.settle(each) for each in values["people"]])


def _people_on(piece: Piece, people: Sequence[Person]) -> None:
    wanted = {person.pk: person for person in people}
    for row in list(piece.person_rows.all()):
        if wanted.pop(row.person_id, None) is None:
            row.delete()
    for person in wanted.values():
        PiecePerson(piece=piece, person=person).save()


def _remove(who: Account | None, row: Any) -> None:
    if isinstance(row, Piece):
        for on_it in list(row.person_rows.all()):
            on_it.delete()
        for picture in list(row.pictures.all()):
            edit_picture(who, picture, {"piece": None})  # type: ignore[arg-type]
    row.delete()
