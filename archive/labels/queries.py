"""Reading what may be labelled, and what was."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Exists, OuterRef, Q

from archive.access.models import Account
from archive.labels.models import PrintedSheet
from archive.things.models import Thing


def choice(reader: Account | None, how_many: int, chosen: Sequence[str]) -> list[tuple[Thing, bool]]:
    """Return the things chosen already and those recorded last, each with whether a label was ever made for it."""
    printed = PrintedSheet.labels.through.objects.filter(issuednumber_id=OuterRef("serial_id"))
    things = Thing.objects.visible_to(reader).annotate(was_printed=Exists(printed))
    latest = things.order_by("-created_at", "-pk").values("pk")[:how_many]
    shown = things.filter(Q(pk__in=latest) | Q(public_id__in=list(chosen)[:how_many])).order_by("-created_at", "-pk")
    return [(thing, thing.was_printed) for thing in shown]
