"""Two rules that every change set keeps, whoever writes it: an accepted lot stays as it is, and nothing leaves unsaid.

They are looked at when a change set ends, inside its transaction, so that no page, batch, paste or undo gets past.
"""

from __future__ import annotations

from typing import Any

from django.db.models import OuterRef, Q, Subquery

from archive.access.changes import current_change_set
from archive.access.models import ChangeSet
from archive.access.undo import Clash, NotAllowed
from archive.access.uniting import UNITING
from archive.boxes.models import Box
from archive.pictures.models import Picture
from archive.sorting.models import GONE, NEEDS_A_REASON, Lot
from archive.things.models import Thing

# What is fixed once a lot is accepted.
FROZEN = (
    "from_whom_id", "from_whom_text", "from_where_id", "arrived_text", "arrived_edtf", "arrived_earliest",
    "arrived_latest", "found_in", "found_with", "position_note", "wrapper_text",
)  # fmt: skip
_IN_THE_LOT: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (Thing, ("lot_id", "lot_position", "found_where")),
    (Box, ("lot_id", "lot_position")),
    (Picture, ("lot_id", "position", "view", "caption", "sha256")),
)


class LotIsAccepted(NotAllowed):
    """An accepted lot would be changed."""


class LeavesUnsaid(NotAllowed):
    """A thing would leave without a reason, or without how, to whom, who agreed and whether a copy is kept."""


def keep_the_rules() -> None:
    """Refuse the change set that is open when it breaks a rule; called at its end, inside its transaction.

    Raises:
        LotIsAccepted, LeavesUnsaid: with a sentence for the page.
    """
    change_set = current_change_set()
    if change_set is None:
        return
    _nothing_leaves_unsaid(change_set)
    _accepted_lots_stay(change_set)


def _nothing_leaves_unsaid(change_set: ChangeSet) -> None:
    unsaid = Q(standing__in=NEEDS_A_REASON, standing_why="") | Q(standing__in=GONE) & (
        Q(gone_how="") | Q(gone_agreed="") | Q(copy_kept=None)
    )
    for row in Thing.history.filter(change_set=change_set).exclude(history_type="-").filter(unsaid):
        before = row.prev_record
        if before is None or before.standing != row.standing:
            raise LeavesUnsaid(
                f"{row.instance} cannot be set to “{row.standing}” yet: nothing leaves without a reason, how it went "
                "and to whom, who agreed, and whether a copy is kept. Use its standing page.",
                [Clash(str(row.instance), "standing", None, row.standing)],
            )


def _accepted_lots_stay(change_set: ChangeSet) -> None:
    if _unites(change_set):
        return  # the same person, place or thing under its one address: what came stays as it came
    accepted = set(Lot.objects.filter(accepted_at__isnull=False).values_list("pk", flat=True))
    if not accepted:
        return
    for row in Lot.history.filter(change_set=change_set, id__in=accepted):
        before = row.prev_record
        if before is None or before.accepted_at is None:
            accepted.discard(row.id)  # accepted by this very act
        elif any(getattr(before, name) != getattr(row, name) for name in FROZEN):
            raise _refusal(row.id)
    for model, names in _IN_THE_LOT:
        for row, before in _rows_about(model, change_set, accepted):
            gone = row.history_type == "-" or before is None
            if gone or any(getattr(before, name) != getattr(row, name) for name in names):
                raise _refusal(row.lot_id if row.lot_id in accepted else before.lot_id)


def _unites(change_set: ChangeSet) -> bool:
    """Say whether a change set makes one record of two, or undoes that."""
    first = change_set
    while first.undoes is not None:
        first = first.undoes
    return first.verb == UNITING


def _rows_about(model: Any, change_set: ChangeSet, lots: set[int]) -> list[tuple[Any, Any]]:
    """Return the history rows of a change set that are, or were, in one of some lots, each with the one before it."""
    earlier = model.history.filter(id=OuterRef("id"), history_id__lt=OuterRef("history_id")).order_by("-history_id")
    rows = model.history.filter(change_set=change_set).annotate(
        before=Subquery(earlier.values("history_id")[:1]), before_lot=Subquery(earlier.values("lot_id")[:1])
    )
    found = list(rows.filter(Q(lot_id__in=lots) | Q(before_lot__in=lots)))
    earlier_rows = model.history.in_bulk([row.before for row in found if row.before is not None])
    return [(row, earlier_rows.get(row.before)) for row in found]


def _refusal(lot_id: int) -> LotIsAccepted:
    lot = Lot.objects.get(pk=lot_id)
    return LotIsAccepted(
        f"Lot {lot} is accepted: its first order, its wrapper, its pictures and what is in it stay as they are. "
        "Write what you know now in its note, or undo the acceptance on the page “What happened to it”.",
        [Clash(str(lot), "accepted", None, "it is accepted and stays as it came")],
    )
