"""What the editing pages of sorting share: merging with what somebody else saved meanwhile, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from archive.access.history_words import shown
from archive.access.merging import Merge, merge, state_at
from archive.pictures.actions import Refused, TakenIn, held, take_in
from archive.pictures.models import View


def merged(
    record: Any,
    names: Iterable[str],
    mine: Mapping[str, Any],
    opened: str,
    form: forms.BaseForm,
    extra: tuple[Mapping[str, Any], Mapping[str, Any]] | None = None,
    labels: Mapping[str, str] | None = None,
) -> Merge:
    """Merge a form's values with what a record says now, from the version at which it was opened.

    ``extra`` holds further values, as they were when the form was opened and as they stand now.
    """
    names = list(names)
    theirs = {name: getattr(record, name) for name in names}
    base = state_at(record, opened, names)
    base = base if base is not None else dict(theirs)
    if extra is not None:
        base.update(extra[0])
        theirs.update(extra[1])
    told = {name: str(field.label) for name, field in form.fields.items()} | dict(labels or {})
    found = merge(base, theirs, mine, told)
    return Merge(found.values, shown(found.conflicts, form), found.theirs_kept)


def take_pictures(
    request: Any, fields: Iterable[tuple[View, str]]
) -> tuple[list[tuple[View, list[TakenIn]]], list[Refused]]:
    """Take in the pictures of a form with a file field for each view; those held since an earlier sending come first.

    Call it outside any transaction.

    Raises:
        archive.keeping.media_store.NoRoom: the disk is nearly full.
    """
    taken: list[tuple[View, list[TakenIn]]] = []
    refused: list[Refused] = []
    for view, name in fields:
        fresh, bad = take_in(request.FILES.getlist(f"pictures_{name}"))
        taken.append((view, [*held(request.POST.getlist(f"held_{name}")), *fresh]))
        refused += bad
    return taken, refused
