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
from archive.keeping import media_store
from archive.pictures.decoding import PictureRefused, inspect
from archive.pictures.models import OWNERS, Picture, View
from archive.pictures.thumbnails import fingerprint, make_sizes

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

_SALT = "held-picture"
_HELD_FOR_SECONDS = 24 * 3600


@dataclass(frozen=True)
class TakenIn:
    """A picture file that is in the media store, with what was read from it."""

    sha256: str
    name: str
    mime: str
    width: int
    height: int
    taken: str
    fingerprint: str

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

    Each file stands for itself: the good ones are kept, each bad one gets a sentence.

    Raises:
        archive.keeping.media_store.NoRoom: the disk is nearly full.
    """
    taken: list[TakenIn] = []
    refused: list[Refused] = []
    for file in files:
        name = Path(file.name or "picture").name
        try:
            taken.append(_take_in_one(file, name))
        except PictureRefused as error:
            refused.append(Refused(name, str(error)))
    return taken, refused


def _take_in_one(file: UploadedFile[Any], name: str) -> TakenIn:
    received = media_store.receive(file, settings.UPLOAD_LIMIT_BYTES)
    try:
        seen = inspect(received.path, name=name, decode=False)
        print_of_it = make_derived(received.path, received.sha256)
    except BaseException:
        received.discard()
        raise
    media_store.publish(received)
    return TakenIn(received.sha256, name[:255], seen.mime, seen.width, seen.height, seen.taken or "", print_of_it)


def make_derived(source: Path, sha256: str) -> str:
    """Make a picture's three sizes and return its fingerprint as 16 hexadecimal digits."""
    sizes = make_sizes(source, media_store.derived_folder(sha256))
    return f"{fingerprint(sizes[min(sizes)]):016x}"


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
    """Add taken-in pictures to a thing, box, story or lot, after those it has.

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
            )
            row.save()
            rows.append(row)
            position += 1
    return rows


def edit_picture(who: Account, picture: Picture, values: dict[str, Any]) -> None:
    """Change what a picture shows, its caption or its place in the order."""
    with changing(who, "pictures.edit"):
        for name, value in values.items():
            setattr(picture, name, value)
        picture.version += 1
        picture.changed_at = timezone.now()
        picture.save()


def move_picture(who: Account, picture: Picture, step: int) -> None:
    """Move a picture one place forward (-1) or back (+1) in its thing's order."""
    with changing(who, "pictures.move"):
        order = list(picture.owner.pictures.all())
        here = next(i for i, each in enumerate(order) if each.pk == picture.pk)
        there = min(max(here + step, 0), len(order) - 1)
        order.insert(there, order.pop(here))
        for position, each in enumerate(order):
            if each.position != position:
                each.position = position
                each.save()


def remove_picture(who: Account, picture: Picture) -> None:
    """Take a picture off its thing. The file stays in the media store; undo brings the row back."""
    with changing(who, "pictures.remove"):
        picture.delete()
