"""Fields of story forms: a thing by number or title, a teller who may be a person or a name, and a story's text."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.people.fields import PersonField
from archive.people.models import Person
from archive.people.queries import NewName, named
from archive.places.fields import PlaceField
from archive.places.queries import NewPlace
from archive.stories.queries import things_named
from archive.things.models import Thing

_LONGEST_NAME = 300
_LONGEST_LABEL = 900  # a name with life years, or with what the place lies in


def plain(typed: Any) -> str:
    """Return typed text in one line with single spaces."""
    return " ".join(str(typed or "").split())


def label_of(record: Any) -> str:
    """Return the words by which a form's field names a record."""
    return plain(getattr(record, "label", record))


class Remembering(forms.CharField):
    """A field that knows some records by their labels: those a story is tied to already.

    Another record of the same name, or one withdrawn since, must not stand in the way of saving.
    """

    known: dict[str, Any]

    def clean(self, value: Any) -> Any:
        found = self.known.get(plain(value))
        if found is not None:
            return found
        cleaned = super().clean(value)
        if isinstance(cleaned, (NewName, NewPlace)) and len(cleaned.name) > _LONGEST_NAME:
            raise forms.ValidationError(f"A name has at most {_LONGEST_NAME} signs.")
        return cleaned


class ThingInput(forms.TextInput):
    """A text field with a list of things that follows what is typed (htmx); without JavaScript one types the number."""

    template_name = "stories/_thing_input.html"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"autocomplete": "off", **(attrs or {})})


class ThingField(forms.CharField):
    """Cleans a number, ``0214-6 Title`` or a whole title to a `Thing`, or to None.

    ``reader`` is the account whose view of things counts; set it in the form's ``__init__``.
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("max_length", _LONGEST_LABEL)
        super().__init__(widget=ThingInput(), **kwargs)
        self.reader: Account | None = None

    def prepare_value(self, value: Any) -> Any:
        return str(value) if isinstance(value, Thing) else value

    def clean(self, value: Any) -> Thing | None:
        typed = plain(super().clean(value))
        if not typed:
            return None
        found = things_named(typed, self.reader)
        if len(found) == 1:
            return found[0]
        if found:
            numbers = ", ".join(thing.number for thing in found)
            raise forms.ValidationError(f"More than one thing has this title: {numbers}. Type the number you mean.")
        raise forms.ValidationError("No thing has this number or title. Type the number on its tag, such as 0214-6.")


class ThingLine(Remembering, ThingField):
    """A thing that a story tells of."""


class PersonLine(Remembering, PersonField):
    """Somebody whom a story tells of."""


class PlaceLine(Remembering, PlaceField):
    """A place that a story tells of."""


class TellerField(PersonField):
    """Cleans to the `Person` of that name where there is just one, else to the name as it was typed."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=_LONGEST_LABEL, **kwargs)

    def clean(self, value: Any) -> Any:
        typed = plain(forms.CharField.clean(self, value))
        found: list[Person] = named(typed, self.reader) if typed else []
        if len(found) == 1:
            return found[0]
        if len(typed) > _LONGEST_NAME:
            raise forms.ValidationError(f"A name has at most {_LONGEST_NAME} signs.")
        return typed


class StoryText(forms.CharField):
    """Text of many lines; every system's line ends become one sign, so that lengths are counted alike."""

    def to_python(self, value: Any) -> str:
        return str(super().to_python(value) or "").replace("\r\n", "\n").replace("\r", "\n")
