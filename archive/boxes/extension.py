"""What boxes add to a thing's page: where it is, and where it was before."""

from __future__ import annotations

from collections.abc import Iterable

from archive.access.models import Account
from archive.boxes.queries import moves_of, paths_of
from archive.extend import Extension, Panel
from archive.things.models import Thing


def panels(thing: Thing, user: Account | None) -> Iterable[Panel]:
    """Return where a thing is, as this reader may know it; nothing where there is nothing to say."""
    path = paths_of([thing.box_id], user).get(thing.box_id or 0, [])
    moves = moves_of(thing, user) if user is not None else []
    before = next((each for each in moves if each.source is not None and each.source.pk != thing.box_id), None)
    may_write = user is not None and user.is_keeper
    if not (path or moves or may_write):
        return []
    context = {"path": path, "moves": moves, "before": before, "may_write": may_write, "thing_id": thing.public_id}
    return [Panel("Where it is", "boxes/_where_panel.html", context, order=5)]


BOXES = Extension(subject="boxes", panels=panels)
