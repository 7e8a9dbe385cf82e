"""The forms of a place and of its older names."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.places.coordinates import NotCoordinates, in_words, read_coordinates
from archive.places.fields import PlaceField


class GlobeField(forms.CharField):
    """Latitude and longitude typed in one field; cleans to a pair of degrees or None."""

    def prepare_value(self, value: Any) -> Any:
        return in_words(*value) if isinstance(value, tuple) else value

    def clean(self, value: Any) -> Any:
        typed = str(super().clean(value) or "").strip()
        if not typed:
            return None
        try:
            latitude, longitude = read_coordinates(typed)
        except NotCoordinates as error:
            raise forms.ValidationError(str(error)) from None
        return round(latitude, 6), round(longitude, 6)  # a tenth of a metre; as the page says them


class PlaceForm(forms.Form):
    """What is recorded of a place; only the name is asked for."""

    name = forms.CharField(max_length=300, help_text="As it is called today, or as the family calls it.")
    within = PlaceField(label="Lies in", help_text="The town of a street, the parish of a farm.")
    globe = GlobeField(
        label="On the globe",
        required=False,
        max_length=100,
        help_text="Degrees, such as 54.32 N, 10.14 E, or 54°19′N 10°8′E. It stays in this archive.",
    )
    note = forms.CharField(
        label="What you know", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 5})
    )
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        within: Any = self.fields["within"]
        within.reader, within.current = reader, self.get_initial_for_field(within, "within")

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES

    @property
    def values(self) -> dict[str, Any]:
        """Return what to save, with the two columns of the globe."""
        typed = dict(self.cleaned_data)
        latitude, longitude = typed.pop("globe") or (None, None)
        return {**typed, "latitude": latitude, "longitude": longitude}


class NameForm(forms.Form):
    """A name that a place had."""

    name = forms.CharField(label="Name", max_length=300)
    when = forms.CharField(
        label="When it was used", max_length=200, required=False, help_text="Such as “until 1920” or “in old letters”."
    )
