"""What sorting adds to other pages: jobs, marks of what is kept apart or has left, and with what a thing belongs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from django.urls import reverse
from django.utils import timezone

from archive.access.changes import before_commit
from archive.access.models import Account
from archive.boxes.models import Box, Level
from archive.extend import Extension, Flag, Job, Panel
from archive.sorting.lot_queries import due_again
from archive.sorting.models import GONE, Lot
from archive.sorting.queries import look_at, most_pressing, without_look
from archive.sorting.rules import keep_the_rules
from archive.sorting.shelf_queries import how_many_wait
from archive.sorting.texts import CLOCK, work
from archive.things.models import Standing, Thing


def jobs(user: Account | None) -> Iterable[Job]:
    """Return what the boxes ask for, the lots to be looked at again, and the open questions; for the keeper."""
    if user is None or not user.is_keeper:
        return
    today = timezone.localdate()
    for lot in due_again(user, today):
        yield Job(
            words=f"Look again at lot {lot}: {lot.quarantine_why}",
            url=reverse("sorting:quarantine", args=[lot.public_id]),
            minutes=work("minutes_to_look_again"),
            due=lot.quarantine_until,
            tier=CLOCK,
            why="It was kept apart until this day, so that it cannot harm the others.",
            key=f"sorting.look-again/{lot.public_id}",
            sort="sorting.look-again",
            first="open it away from the others, look and smell for mould, insects and damp, and note what you find",
        )
    for look in most_pressing(user, work("jobs_at_most")):
        yield Job(
            words=look.job_words,
            url=look.url,
            minutes=look.minutes,
            tier=look.tier,
            why=look.why,
            key=f"{look.sort}/{look.row.public_id}",
            sort=look.sort,
            first=look.noticed[0].do if look.noticed else "",
            matters=look.row.interest,
            exposed=(look.urgency + 1) / 2,  # 1 to 5 as 1 to 3
            things=look.total or 1,
        )
    for box in without_look(user, work("unseen_boxes_at_most")):
        yield Job(
            words=f"Take a first look at box {box}",
            url=f"{reverse('sorting:first_look')}?box={box.public_id}",
            minutes=work("minutes_for_a_first_look"),
            why="Nobody has written down yet what is in it. Five minutes tell whether it can wait.",
            key=f"sorting.first-look/{box.public_id}",
            sort="sorting.first-look",
        )
    most = work("waiting_counted_at_most")
    count = how_many_wait(user, most)
    if count:
        things = "1 thing waits" if count == 1 else f"{count} things wait" if count < most else "many things wait"
        yield Job(
            words=f"Settle a question on the waiting shelf: {things}",
            url=reverse("sorting:waiting"),
            minutes=work("minutes_for_a_question"),
            why="What is undecided or not known yet waits there, each with the question that is open.",
            key="sorting.question",
            sort="sorting.question",
        )


def flags(things: Sequence[Thing], user: Account | None) -> Mapping[int, Sequence[Flag]]:
    """Return the marks of things whose lot is kept apart, that wait, or that have left; one query where any has a lot.

    Only those who may see the lot learn that it is kept apart.
    """
    lots = {thing.lot_id for thing in things if thing.lot_id and thing.standing not in GONE}
    seen = Lot.objects.visible_to(user).filter(pk__in=lots, quarantine_until__isnull=False).order_by()
    apart = dict(seen.values_list("pk", "quarantine_until")) if lots else {}
    found: dict[int, list[Flag]] = {}
    for thing in things:
        marks = []
        if thing.standing not in (Standing.KEPT, Standing.UNDECIDED):
            marks.append(Flag("note", str(Standing(thing.standing).label).capitalize()))
        elif thing.standing == Standing.UNDECIDED:
            marks.append(Flag("note", "Undecided"))
        until = apart.get(thing.lot_id or 0)
        if until is not None and thing.standing not in GONE:
            marks.append(Flag("care", f"Kept apart until {until.day} {until:%B %Y}"))
        if marks:
            found[thing.pk] = marks
    return found


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return for the keeper what is still open about a thing, and the way to say what becomes of it."""
    if user is not None and user.is_keeper:
        yield Panel("What becomes of it", "sorting/panel.html", {"thing": thing}, order=60)


def box_panels(box: Box, user: Account | None) -> Iterable[Panel]:
    """Return how a box was found: what to do at once above all else; for the keeper the way to a first look."""
    look = look_at(box, user)
    keeper = user is not None and user.is_keeper
    if look is not None and look.noticed:
        yield Panel("At once", "sorting/box_at_once.html", {"look": look}, first=True)
    if look is not None or (keeper and box.level in (Level.BOX, Level.FOLDER)):
        yield Panel("First look", "sorting/box_panel.html", {"look": look, "box": box}, order=10)


SORTING = Extension(subject="sorting", panels=panels, box_panels=box_panels, flags=flags, jobs=jobs)
# Whatever writes, these rules are looked at before it is done.
before_commit(keep_the_rules)
