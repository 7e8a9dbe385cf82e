"""Changing records: every write happens inside one `changing` block, which is one transaction and one change set."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.db import IntegrityError, transaction

from archive.access.models import Account, ActedForm, ChangeSet
from archive.once import reading_anew

_current: ContextVar[ChangeSet | None] = ContextVar("current_change_set", default=None)
_before_commit: list[Callable[[], None]] = []
_form: ContextVar[FormUse | None] = ContextVar("current_form", default=None)


@dataclass
class FormUse:
    """The form now being carried out: its id, the digest of its fields, and whether it has acted."""

    form_id: str
    digest: str
    acted: bool = False


class AlreadyDone(Exception):
    """The same form was sent before and has acted."""


class ChangedMeanwhile(RuntimeError):
    """A record was to be written over what somebody else has saved since it was read; nothing is changed."""


def current_change_set() -> ChangeSet | None:
    """Return the change set that history rows written now belong to."""
    return _current.get()


def before_commit(work: Callable[[], None]) -> None:
    """Have something done at the end of every change set, inside its transaction (the search index)."""
    if work not in _before_commit:
        _before_commit.append(work)


@contextmanager
def using_form(form: FormUse | None) -> Iterator[None]:
    """Tie what is changed inside to one form, so that it acts once."""
    token = _form.set(form)
    try:
        yield
    finally:
        _form.reset(token)


@contextmanager
def changing(who: Account | None, verb: str, *, undoes: ChangeSet | None = None) -> Iterator[ChangeSet]:
    """Open a transaction whose history rows share one change set; blocks inside join the outer one.

    Raises:
        AlreadyDone: the form being carried out has acted before; nothing is changed.
    """
    outer = _current.get()
    if outer is not None:
        with transaction.atomic():
            yield outer
        return
    form = _form.get()
    with reading_anew(), transaction.atomic():
        if form is not None and not form.acted:
            try:
                with transaction.atomic():
                    ActedForm.objects.create(form_id=form.form_id, digest=form.digest)
            except IntegrityError:
                raise AlreadyDone from None
        change_set = ChangeSet.objects.create(who=who, verb=verb, undoes=undoes)
        token = _current.set(change_set)
        try:
            yield change_set
            for work in _before_commit:
                work()
        finally:
            _current.reset(token)
    if form is not None:
        form.acted = True
