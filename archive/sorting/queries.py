"""Reading first looks: what was found, the order of work, what is done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q
from django.http import Http404
from django.urls import reverse

from archive.access.models import Account
from archive.boxes.models import Box, Level, RoughCount
from archive.kinds import kind
from archive.people.models import Person
from archive.pictures.models import Picture
from archive.sorting import texts
from archive.sorting.models import FirstLook
from archive.sorting.texts import ASK, CLOCK, DANGER, REST, Question
from archive.things.models import Thing

PER_PAGE = 48


@dataclass(frozen=True)
class Count:
    """About how many things of a kind a first look found."""

    kind_code: str
    name: str
    count: int


def _tier(noticed: Sequence[Question], could_tell: str, settled: bool) -> int:
    if noticed:
        return noticed[0].tier
    return ASK if could_tell and not settled else REST


def _place(
    noticed: Sequence[Question], could_tell: str, settled: bool, said: int, interest: int, serial: int
) -> tuple[int, int, int, int]:
    """Return the key of the order of work from what a look found and what the keeper said of its box."""
    worst = noticed[0].urgency if noticed else 0
    urgency = max([said, *(each.urgency for each in noticed)])
    return (_tier(noticed, could_tell, settled), -worst, -urgency * interest, serial)


@dataclass
class Look:
    """A first look as pages show it: only what the reader may see of it."""

    row: FirstLook
    noticed: list[Question]
    counts: list[Count]
    packed_by: Person | None
    pictures: list[Picture] = field(default_factory=list)

    @property
    def box(self) -> Box:
        return self.row.box

    @property
    def url(self) -> str:
        return reverse("sorting:look", args=[self.row.public_id])

    @property
    def total(self) -> int:
        return sum(each.count for each in self.counts)

    @property
    def tier(self) -> int:
        """Return how pressing the box is: 1 danger, 2 a running clock, 3 somebody can still tell, 4 the rest."""
        return _tier(self.noticed, self.row.could_tell, self.settled)

    @property
    def settled(self) -> bool:
        """Say whether nothing is left to record: its things are recorded, or it stays described as a whole."""
        return self.row.things_done or self.row.stays_whole

    @property
    def open(self) -> bool:
        """Say whether there is work: a danger or a clock goes on whatever is recorded."""
        return bool(self.noticed) or not self.settled

    @property
    def urgency(self) -> int:
        """Return the larger of what the keeper said and what was noticed asks for."""
        return max([self.row.urgency, *(each.urgency for each in self.noticed)])

    @property
    def first(self) -> Picture | None:
        return self.pictures[0] if self.pictures else None

    @property
    def place_in_order(self) -> tuple[int, int, int, int]:
        """Return the key of the order of work, the most pressing first."""
        row = self.row
        return _place(self.noticed, row.could_tell, self.settled, row.urgency, row.interest, row.box.serial_id)

    @property
    def why(self) -> str:
        """Return in words why the box stands where it does in the order of work."""
        told = []
        if self.tier == DANGER:
            told.append("People come first.")
        elif self.tier == CLOCK:
            told.append("It gets worse while it waits.")
        told.extend(f"{each.words[0].upper()}{each.words[1:]}." for each in self.noticed)
        if self.row.could_tell and not self.settled:
            told.append(f"Somebody can still tell about it: {self.row.could_tell}.")
        told.append(f"Pressing {self.urgency} of 5, interesting {self.row.interest} of 5.")
        return " ".join(told)

    @property
    def job_words(self) -> str:
        """Return what to do with the box next, as a job."""
        number = self.row.box.number
        if self.noticed:
            return self.noticed[0].job.format(number=number)
        if self.tier == ASK:
            return f"Ask about box {number} while somebody can tell: {self.row.could_tell}"
        return f"Record the things in box {number}: {self.row.box.title}"

    @property
    def sort(self) -> str:
        """Return the kind of the job: seeing to something wrong, asking, or recording."""
        if self.noticed:
            return "sorting.notice"
        return "sorting.ask" if self.tier == ASK else "sorting.box"

    @property
    def minutes(self) -> int:
        """Return about how many minutes the job takes."""
        if self.noticed:
            return self.noticed[0].minutes
        if self.tier == ASK:
            return texts.work("minutes_to_ask_somebody")
        each = texts.work("minutes_to_record_a_thing")
        whole = self.total * each or texts.work("minutes_to_record_an_uncounted_box")
        return min(whole, texts.work("minutes_for_a_sitting"))


def _looks(reader: Account | None) -> Any:
    # A look's box is what access is set on; whoever may see the box may see how it was found.
    return FirstLook.objects.filter(box__in=Box.objects.visible_to(reader)).select_related("box")


def _shown(rows: Sequence[FirstLook], reader: Account | None) -> list[Look]:
    """Return looks with what belongs to them, in a constant number of queries."""
    boxes = [row.box_id for row in rows]
    counts: dict[int, list[Count]] = {}
    for each in RoughCount.objects.filter(box__in=boxes).order_by("pk"):
        counts.setdefault(each.box_id, []).append(Count(each.kind_code, kind(each.kind_code).name, each.count))
    packers = Person.objects.visible_to(reader).in_bulk([row.packed_by_id for row in rows if row.packed_by_id])
    return [
        Look(row, texts.noticed(row.found), counts.get(row.box_id, []), packers.get(row.packed_by_id or 0))
        for row in rows
    ]


def find_look(public_id: str, reader: Account | None) -> Look:
    """Return a first look that this reader may see, with its pictures.

    Raises:
        Http404: there is none, or none for this reader.
    """
    row = _looks(reader).filter(public_id=public_id).first()
    if row is None:
        raise Http404
    (look,) = _shown([row], reader)
    look.pictures = list(row.box.pictures.order_by("position", "pk"))
    return look


def look_at(box: Box, reader: Account | None) -> Look | None:
    """Return the first look at a box that the reader may see; None when nobody has looked yet. For the box's page."""
    row = _looks(reader).filter(box=box).first()
    return _shown([row], reader)[0] if row is not None else None


def all_looks(reader: Account | None) -> tuple[list[Look], list[Look]]:
    """Return the boxes that need something, in the order of work, and those that are settled, the latest first."""
    rows = _looks(reader).filter(box__withdrawn_at__isnull=True).order_by("-changed_at", "-pk")
    looks = _shown(list(rows), reader)
    needy = sorted((look for look in looks if look.open), key=lambda look: look.place_in_order)
    return needy, [look for look in looks if not look.open]


def most_pressing(reader: Account | None, how_many: int) -> list[Look]:
    """Return the boxes that need something, the most pressing first, as `all_looks` has them; two light queries."""
    needy = Q(things_done=False, stays_whole=False) | ~Q(found=[])
    rows = _looks(reader).filter(needy, box__withdrawn_at__isnull=True).select_related(None)
    columns = ("pk", "found", "could_tell", "things_done", "stays_whole", "urgency", "interest", "box__serial_id")
    light = []
    for pk, found, could_tell, things_done, stays_whole, urgency, interest, serial in rows.values_list(*columns):
        noticed, settled = texts.noticed(found), things_done or stays_whole
        if noticed or not settled:
            light.append((_place(noticed, could_tell, settled, urgency, interest, serial), pk))
    first = [pk for _, pk in sorted(light)[:how_many]]
    looks = {look.row.pk: look for look in _shown(list(_looks(reader).filter(pk__in=first)), reader)}
    return [looks[pk] for pk in first]


def without_look(reader: Account | None, how_many: int) -> list[Box]:
    """Return boxes that nobody has looked into: no first look, nothing recorded in them; the oldest record first."""
    boxes: Any = Box.objects.visible_to(reader).present().filter(level__in=(Level.BOX, Level.FOLDER))
    inside = (Thing.objects.filter(box=OuterRef("pk")), Box.objects.filter(inside=OuterRef("pk")))
    looked = FirstLook.objects.filter(box=OuterRef("pk"))
    empty = boxes.filter(*(~Exists(each) for each in (*inside, looked)))
    return list(empty.order_by("pk")[:how_many])


def with_pictures(looks: Sequence[Look]) -> list[Look]:
    """Give looks their pictures, in one query for all of them."""
    found: dict[int, list[Picture]] = {}
    boxes = [look.row.box_id for look in looks]
    for picture in Picture.objects.filter(box__in=boxes).order_by("position", "pk"):
        found.setdefault(picture.box_id or 0, []).append(picture)
    for look in looks:
        look.pictures = found.get(look.row.box_id, [])
    return list(looks)


def find_box(public_id: str, reader: Account | None) -> Box:
    """Return a box that this reader may see.

    Raises:
        Http404: there is none, or none for this reader.
    """
    box: Box | None = Box.objects.visible_to(reader).filter(public_id=public_id).first()
    if box is None:
        raise Http404
    return box


def counts_at(look: FirstLook, change_set_id: int | None) -> dict[str, int]:
    """Return the rough counts of a look's box as they stood after a change set (None: as they stand now)."""
    if change_set_id is None:
        rows: Any = RoughCount.objects.filter(box=look.box_id)
        return {row.kind_code: row.count for row in rows}
    found: dict[int, Any] = {}
    history = RoughCount.history.filter(box=look.box_id, change_set__lte=change_set_id)
    for row in history.order_by("history_id"):
        found[row.id] = row
    return {row.kind_code: row.count for row in found.values() if row.history_type != "-"}


def first_pictures() -> Prefetch[str]:
    """Return the prefetch of pictures that rows of things want."""
    return Prefetch("pictures", queryset=Picture.objects.order_by("position", "pk"))
