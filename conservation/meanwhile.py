"""Two people change one record: whoever saves second is told before theirs takes the place of the other's."""

from __future__ import annotations

from typing import Any, Protocol

from django import forms
from django.http import HttpRequest

_SAID = (
    "Somebody changed this while your form was open. Nothing of theirs is lost: look at it in another window. "
    "Save again to put yours in place of it."
)


class Versioned(Protocol):
    """A row that counts how often it was changed."""

    version: Any


class Opened:
    """The version of a record that a form was opened with; the page sends ``str(opened)`` as ``opened_version``."""

    def __init__(self, request: HttpRequest, record: Versioned | None) -> None:
        self.now = "0" if record is None else str(record.version)
        self.version = request.POST.get("opened_version") or self.now

    def __str__(self) -> str:
        return self.version

    def is_still_so(self, form: forms.Form) -> bool:
        """Say whether nobody changed the record since; else the form is told, and its next sending stands."""
        if self.version == self.now:
            return True
        self.version = self.now
        form.add_error(None, _SAID)
        return False
