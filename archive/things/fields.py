"""Fields of the forms of a thing that keep somebody who stands there already, whatever their name is shared with."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from archive.folding import fold
from archive.people.fields import PersonField
from archive.people.models import Person
from archive.people.queries import NewName
from archive.places.fields import PlaceField
from archive.places.models import Place
from archive.places.queries import NewPlace


class KeptPersonField(PersonField):
    """A person; while the text stays as it was, ``kept`` stays, though two people share the name."""

    kept: Person | None = None

    def clean(self, value: Any) -> Person | NewName | None:
        if self.kept is not None and " ".join(str(value or "").split()) == " ".join(self.kept.label.split()):
            return self.kept
        return super().clean(value)


class KeptPlaceField(PlaceField):
    """A place; while the text stays as it was, ``kept`` stays, though two places share the name."""

    kept: Place | None = None

    def clean(self, value: Any) -> Place | NewPlace | None:
        if self.kept is not None and " ".join(str(value or "").split()) == " ".join(self.kept.label.split()):
            return self.kept
        return super().clean(value)


class PeopleField(PersonField):
    """Several people in one line, with a semicolon between them; cleans to a frozen set."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=3000, widget=forms.TextInput(attrs={"autocomplete": "off"}), **kwargs)
        self.kept: frozenset[Person] = frozenset()

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, frozenset):
            return "; ".join(sorted(super(PeopleField, self).prepare_value(each) for each in value))
        return value

    def clean(self, value: Any) -> Any:
        kept = {" ".join(person.label.split()): person for person in self.kept}
        typed = [" ".join(each.split()) for each in re.split(r"[;\n]", str(value or ""))]
        named = {fold(each): each for each in reversed(typed) if each}  # the first spelling of a name counts
        return frozenset(kept.get(each) or super(PeopleField, self).clean(each) for each in named.values())


class DayField(forms.DateField):
    """A day, chosen or typed as the browser offers it."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "class": "short"}), **kwargs)


class TextField(forms.CharField):
    """Text of several lines, with one sort of line end, so that nothing seems changed that is not."""

    def __init__(self, *, rows: int = 3, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=forms.Textarea(attrs={"rows": rows, "dir": "auto"}), **kwargs)

    def to_python(self, value: Any) -> str:
        return str(super().to_python(value) or "").replace("\r\n", "\n")
