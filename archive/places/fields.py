"""A form's field for a place: a name is typed, with the places of the archive offered while typing."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.places.models import Place
from archive.places.queries import NewPlace, named


class PlaceInput(forms.TextInput):
    """A text field with a list of places that follows what is typed (htmx); without JavaScript one types the name."""

    template_name = "places/_input.html"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"autocomplete": "off", **(attrs or {})})


class PlaceField(forms.CharField):
    """Cleans to a `Place`, to a `NewPlace` (not there yet; `places.actions.place_for` makes it), or to None.

    ``reader`` is the account whose view of places counts; set it in the form's ``__init__``. ``current`` is
    what the record holds now: its label left as it stands means the same one, also where two share it.
    """

    def __init__(self, *, may_be_new: bool = True, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        kwargs.setdefault("max_length", 300)
        super().__init__(widget=kwargs.pop("widget", PlaceInput()), **kwargs)
        self.may_be_new = may_be_new
        self.reader: Account | None = None
        self.current: Any = None

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, Place):
            return value.label
        return value.name if isinstance(value, NewPlace) else value

    def clean(self, value: Any) -> Place | NewPlace | None:
        typed = " ".join(str(super().clean(value) or "").split())
        if not typed:
            return None
        if isinstance(self.current, Place) and typed == " ".join(self.current.label.split()):
            return self.current
        found = named(typed, self.reader)
        if len(found) == 1:
            return found[0]
        if found:
            labels = "; ".join(sorted({place.label for place in found}))
            if len({place.label for place in found}) == 1:
                raise forms.ValidationError(
                    f"{len(found)} places are recorded as {labels}. Make them one, or say what each lies in."
                )
            raise forms.ValidationError(f"More than one place has this name: {labels}. Type the one you mean in full.")
        if not self.may_be_new:
            raise forms.ValidationError("No place in the archive has this name. Record it under Places first.")
        return NewPlace(typed)
