"""The kinds of record that have addresses, histories and can be withdrawn: one row each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db import models
from django.http import Http404
from django.urls import reverse


@dataclass(frozen=True)
class Subject:
    """A recorded kind of record: its code in addresses, its table, the word for one, and its page."""

    code: str
    model: type[models.Model]
    word: str
    route: str | None
    # What goes with a record when it is destroyed for good: files to be forgotten, by digest.
    files: Callable[[Any], list[str]] = lambda record: []

    def url(self, record: Any) -> str:
        """Return the address of a record's page."""
        return reverse(self.route, args=[record.public_id]) if self.route else "/"


_subjects: dict[str, Subject] = {}


def register_subject(subject: Subject) -> None:
    """Add a kind of record; subjects call this when their models load."""
    _subjects[subject.code] = subject


def subjects() -> list[Subject]:
    """Return all kinds of record."""
    return list(_subjects.values())


def subject(code: str) -> Subject:
    """Return one kind of record; an unknown code is a page that does not exist."""
    try:
        return _subjects[code]
    except KeyError:
        raise Http404 from None
