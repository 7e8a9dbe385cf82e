"""Taking in picture files, and the rows that show them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.core import signing
from django.db.models import Max
from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.keeping import media_store
from archive.people.actions import person_for
from archive.people.models import Person
from archive.people.queries import NewName
from archive.pictures.alike import look_alikes
from archive.pictures.decoding import PictureRefused
from archive.pictures.derived import take_apart
from archive.pictures.models import OWNERS, Likeness, PersonMark, Picture, View
from archive.things.models import ThingPerson

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

_SALT = "held-picture"
_HELD_FOR_SECONDS = 24 * 3600


@dataclass(frozen=True)
class TakenIn:
    """A picture file that is in the media store, with what was read from it; of a PDF, one page (from 1)."""

    sha256: str
    name: str
    mime: str
    width: int
    height: int
    taken: str
    fingerprint: str
    page: int = 0
    frames: int = 1  # pictures or pages in the file

    def ticket(self) -> str:
        """Return a signed note of this file, so that a form with an error need not be sent its files again."""
        return signing.dumps(self.__dict__, salt=_SALT, compress=True)


@dataclass(frozen=True)
class Refused:
    """A file that is not taken in, and why, in a sentence."""

    name: str
    why: str


def take_in(files: Iterable[UploadedFile[Any]]) -> tuple[list[TakenIn], list[Refused]]:
    """Put picture files into the media store and make their sizes, outside any transaction.

    Each file stands for itself: the good ones are kept, each bad one gets a sentence. A PDF gives one for each page.

    Raises:
        archive.keeping.media_store.NoRoom: the disk is nearly full.
    """
    taken: list[TakenIn] = []
    refused: list[Refused] = []
    for file in files:
        name = Path(file.name or "picture").name
        try:
            taken.extend(_take_in_one(file, name))
        except PictureRefused as error:
            refused.append(Refused(name, str(error)))
    return taken, refused


def _take_in_one(file: UploadedFile[Any], name: str) -> list[TakenIn]:
    received = media_store.receive(file, settings.UPLOAD_LIMIT_BYTES)
    try:
        seen = take_apart(received.path, received.sha256, name)
    except BaseException:
        received.discard()
        raise
    media_store.publish(received)
    return [
        TakenIn(
            received.sha256, name[:255], each.mime, each.width, each.height, each.taken, each.fingerprint,
            page=each.page, frames=each.frames,
        )
        for each in seen
    ]  # fmt: skip


def in_words(taken: Sequence[TakenIn]) -> list[str]:
    """Return what is worth saying of files that hold more than one picture."""
    said = []
    for each in {one.sha256: one for one in taken}.values():
        if each.page:
            said.append(f"{each.name}: each of its {each.frames} pages is a picture now." if each.frames > 1 else "")
        elif each.frames > 1 and each.mime in ("image/gif", "image/webp", "image/avif", "image/png"):
            said.append(f"{each.name} moves: its first picture stands for it, and the file is kept whole.")
        elif each.frames > 1:
            said.append(f"{each.name} holds {each.frames} pictures: the first is shown, and the file is kept whole.")
    return [words for words in said if words]


def held(tickets: Iterable[str]) -> list[TakenIn]:
    """Return the files behind signed notes; spoilt or old notes, and files destroyed since, are left out."""
    found = []
    for ticket in tickets:
        try:
            values: dict[str, Any] = signing.loads(ticket, salt=_SALT, max_age=_HELD_FOR_SECONDS)
        except signing.BadSignature:
            continue
        taken = TakenIn(**values)
        if media_store.original_path(taken.sha256).is_file():
            found.append(taken)
    return found


def owner_column(owner: Any) -> str:
    """Return the foreign key of `Picture` that a record fits.

    Raises:
        LookupError: pictures do not belong to such a record.
    """
    for name in OWNERS:
        if isinstance(owner, Picture._meta.get_field(name).related_model):  # type: ignore[arg-type]
            return name
    raise LookupError(type(owner).__name__)


def attach(who: Account | None, owner: Any, pictures: Sequence[TakenIn], view: str = View.FRONT) -> list[Picture]:
    """Add taken-in pictures to a thing, box, story or lot, after those it has, and note which others they look like.

    Raises:
        archive.keeping.media_store.OriginalGone: a file was destroyed for good since it was taken in.
    """
    rows = []
    with changing(who, "pictures.add"):
        media_store.require(taken.sha256 for taken in pictures)
        last = owner.pictures.aggregate(last=Max("position"))["last"]
        position = 0 if last is None else last + 1
        for taken in pictures:
            row = Picture(
                **{owner_column(owner): owner},
                view=view,
                position=position,
                sha256=taken.sha256,
                original_name=taken.name,
                mime=taken.mime,
                width=taken.width,
                height=taken.height,
                taken_text=taken.taken,
                fingerprint=taken.fingerprint,
                page=taken.page,
                frames=taken.frames,
            )
            row.save()
            rows.append(row)
            position += 1
        _note_likenesses(rows)
    return rows


def _note_likenesses(pictures: Sequence[Picture]) -> None:
    pairs: dict[frozenset[int], Likeness] = {}
    for picture, other, bits in look_alikes(pictures):
        pairs.setdefault(frozenset((picture.pk, other.pk)), Likeness(picture=picture, other=other, bits=bits))
    Likeness.objects.bulk_create(pairs.values(), ignore_conflicts=True)


def keep_both(who: Account, likeness: Likeness) -> None:
    """Note that two pictures which look alike are both wanted, so that it is not asked again."""
    with changing(who, "pictures.keep_both"):
        likeness.settled_at = timezone.now()
        likeness.save()


def edit_picture(who: Account, picture: Picture, values: dict[str, Any]) -> None:
    """Change what a picture shows, its caption or its place in the order."""
    with changing(who, "pictures.edit"):
        for name, value in values.items():
            setattr(picture, name, value)
        touch(picture)
        picture.save()


def move_picture(who: Account, picture: Picture, step: int | None) -> None:
    """Move a picture one place forward (-1) or back (+1) in its record's order; None makes it the first."""
    with changing(who, "pictures.move"):
        order = list(picture.owner.pictures.all())
        here = next(i for i, each in enumerate(order) if each.pk == picture.pk)
        there = 0 if step is None else min(max(here + step, 0), len(order) - 1)
        order.insert(there, order.pop(here))
        for position, each in enumerate(order):
            if each.position != position:
                each.position = position
                touch(each)
                each.save()


def remove_picture(who: Account, picture: Picture) -> None:
    """Take a picture off its record, with its marks. The file stays in the media store; undo brings all of it back."""
    with changing(who, "pictures.remove"):
        for mark in picture.marks.all():
            mark.delete()
        picture.delete()


def mark_person(who: Account, picture: Picture, person: Person | NewName, values: dict[str, Any]) -> PersonMark:
    """Say that somebody is in a picture, and where; who was not yet told to be in the thing is now.

    Args:
        values: ``left``, ``top``, ``width``, ``height`` in ten-thousandths or None, and ``sure``.
    """
    with changing(who, "pictures.mark"):
        found = person_for(who, person)
        if found is None:
            raise ValueError("a mark needs somebody")
        mark = PersonMark(picture=picture, person=found, **values)
        mark.save()
        _tell_thing(picture, found, values["sure"])
    return mark


def change_mark(who: Account, mark: PersonMark, person: Person | NewName, values: dict[str, Any]) -> None:
    """Change who a mark is for, or where it is."""
    with changing(who, "pictures.change_mark"):
        found = person_for(who, person)
        if found is None:
            raise ValueError("a mark needs somebody")
        mark.person = found
        for name, value in values.items():
            setattr(mark, name, value)
        touch(mark)
        mark.save()
        _tell_thing(mark.picture, found, values["sure"])


def remove_mark(who: Account, mark: PersonMark) -> None:
    """Take a mark off its picture; that the person is in the thing stays until it is changed there."""
    with changing(who, "pictures.remove_mark"):
        mark.delete()


def _tell_thing(picture: Picture, person: Person, sure: bool) -> None:
    if picture.thing_id is None or ThingPerson.objects.filter(thing=picture.thing_id, person=person).exists():
        return
    ThingPerson(thing_id=picture.thing_id, person=person, role=ThingPerson.Role.SHOWN, sure=sure).save()
