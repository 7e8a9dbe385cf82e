"""Form fields for quick typing: a kind, a state, a box, a lot, a group, each typed as a word or a number."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.boxes.models import Box
from archive.entry.queries import Finder, NotNamed
from archive.kinds import KIND_CODES, STATE_CODES, kind, state
from archive.kinds.typed import CodeReading, read_kind, read_state
from archive.sorting.models import Group, Lot


def near_sentence(read: CodeReading, word: str) -> str:
    """Return what to do about a word that is none of the list, with near ones to type instead."""
    if not read.near:
        return f"“{read.typed}” is no {word} in the list. Pick one from the list, or leave it empty."
    return f"“{read.typed}” is no {word} in the list. Near it: {', '.join(read.near)}."


def typed_input(datalist: str, **attrs: Any) -> forms.TextInput:
    """Return a text field with the page's list of that id under it."""
    return forms.TextInput({"autocomplete": "off", "list": datalist, **attrs})


class KindField(forms.CharField):
    """Cleans a typed name or code to the code of a kind; nothing typed is the empty text."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=typed_input("kinds-list"), max_length=100, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return kind(value).name if value in KIND_CODES else value

    def clean(self, value: Any) -> str:
        typed = str(super().clean(value) or "").strip()
        if not typed:
            return ""
        read = read_kind(typed)
        if read.code is None:
            raise forms.ValidationError(near_sentence(read, "kind"))
        return read.code


class StateField(forms.CharField):
    """Cleans a typed name or code to the code of a state."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=typed_input("states-list"), max_length=100, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return state(value).name if value in STATE_CODES else value

    def clean(self, value: Any) -> str:
        typed = str(super().clean(value) or "").strip()
        if not typed:
            return ""
        read = read_state(typed)
        if read.code is None or read.code == "sound":
            raise forms.ValidationError(near_sentence(read, "condition"))
        return read.code


class _NumberedField(forms.CharField):
    """A record of the one series of numbers, typed as its number, its name, or both."""

    datalist = ""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=typed_input(self.datalist), max_length=400, **kwargs)
        self.reader: Account | None = None

    def find(self, typed: str) -> Any:
        raise NotNamed

    def prepare_value(self, value: Any) -> Any:
        return str(value) if isinstance(value, Box | Lot) else value

    def clean(self, value: Any) -> Any:
        typed = " ".join(str(super().clean(value) or "").split())
        if not typed:
            return None
        try:
            return self.find(typed)
        except NotNamed as error:
            raise forms.ValidationError(str(error)) from None


class TypedBoxField(_NumberedField):
    """Cleans to a `Box` or None."""

    datalist = "boxes-list"

    def find(self, typed: str) -> Box:
        return Finder(self.reader).box(typed)


class TypedLotField(_NumberedField):
    """Cleans to a `Lot` or None."""

    datalist = "lots-list"

    def find(self, typed: str) -> Lot:
        return Finder(self.reader).lot(typed)


class TypedGroupField(forms.CharField):
    """Cleans to a `Group`, to the typed name where no group has it yet, or to None."""

    def __init__(self, *, may_be_new: bool = True, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=typed_input("groups-list"), max_length=300, **kwargs)
        self.may_be_new = may_be_new
        self.reader: Account | None = None

    def clean(self, value: Any) -> Group | str | None:
        typed = " ".join(str(super().clean(value) or "").split())
        if not typed:
            return None
        try:
            found = Finder(self.reader).group(typed)
        except NotNamed as error:
            raise forms.ValidationError(str(error)) from None
        if found is None and not self.may_be_new:
            raise forms.ValidationError("No group has this name.")
        return found or typed


def see_as(form: forms.Form, reader: Account) -> None:
    """Let every field of a form find what this account may see."""
    for each in form.fields.values():
        if hasattr(each, "reader"):
            each.reader = reader
