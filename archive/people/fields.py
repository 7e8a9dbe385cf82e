"""A form's field for somebody: a name is typed, with the people of the archive offered while typing."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.people.models import Person
from archive.people.queries import NewName, named


class PersonInput(forms.TextInput):
    """A text field with a list of people that follows what is typed (htmx); without JavaScript one types the name."""

    template_name = "people/_input.html"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"autocomplete": "off", **(attrs or {})})


class PersonField(forms.CharField):
    """Cleans to a `Person`, to a `NewName` (nobody has it yet; `people.actions.person_for` makes them), or to None.

    ``reader`` is the account whose view of people counts; set it in the form's ``__init__``. ``current`` is
    what the record holds now: its label left as it stands means the same one, also where two share it.
    """

    def __init__(self, *, may_be_new: bool = True, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("max_length", 300)
        super().__init__(widget=kwargs.pop("widget", PersonInput()), **kwargs)
        self.may_be_new = may_be_new
        self.reader: Account | None = None
        self.current: Any = None

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, Person):
            return value.label
        return value.name if isinstance(value, NewName) else value

    def clean(self, value: Any) -> Person | NewName | None:
        typed = " ".join(str(super().clean(value) or "").split())
        if not typed:
            return None
        if isinstance(self.current, Person) and typed == " ".join(self.current.label.split()):
            return self.current
        found = named(typed, self.reader)
        if len(found) == 1:
            return found[0]
        if found:
            labels = "; ".join(sorted({person.label for person in found}))
            if len({person.label for person in found}) == 1:
                raise forms.ValidationError(
                    f"{len(found)} people are recorded as {labels}. Make them one, or give each a year of birth."
                )
            raise forms.ValidationError(f"More than one person has this name: {labels}. Type the one you mean in full.")
        if not self.may_be_new:
            raise forms.ValidationError("Nobody in the archive has this name. Record them under People first.")
        return NewName(typed)
