"""Fields of the forms of care: days and moments that have been, temperatures in the keeper's unit."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from archive.preferences.units import fahrenheit
from archive.things.fields import DayField

_CLOCKS_DIFFER = timedelta(minutes=5)


class PastDayField(DayField):
    """A day that has begun: today or one before."""

    def __init__(self, *, still_to_come: str = "This day is still to come.", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.still_to_come = still_to_come

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day is not None and day > timezone.localdate():
            raise forms.ValidationError(self.still_to_come)
        return day


class PastMomentField(forms.DateTimeField):
    """A day and time on the home's clock that has been."""

    def __init__(self, *, still_to_come: str = "This time is still to come.", **kwargs: Any) -> None:
        super().__init__(
            widget=forms.DateTimeInput(attrs={"type": "datetime-local", "class": "moment"}, format="%Y-%m-%dT%H:%M"),
            input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
            **kwargs,
        )
        self.still_to_come = still_to_come

    def to_python(self, value: Any) -> datetime | None:
        try:
            return super().to_python(value)
        except forms.ValidationError as error:
            if error.code != "ambiguous_timezone":
                raise
            sentence = "The clocks changed then, so this time came twice or not at all. Take one an hour from it."
            raise forms.ValidationError(sentence) from None

    def clean(self, value: Any) -> datetime | None:
        at: datetime | None = super().clean(value)
        if at is not None and at > timezone.now() + _CLOCKS_DIFFER:
            raise forms.ValidationError(self.still_to_come)
        return at


def typed_celsius(text: str, *, inch: bool) -> float:
    """Return a temperature as typed, in °C. A unit typed behind it (“64 °F”) counts before the keeper's own.

    Raises:
        ValueError: it is no number.
    """
    text = text.strip().replace(",", ".").replace("−", "-").replace("–", "-")
    unit = text[-1:].upper()
    typed = float(text.rstrip("°CcFf "))
    return (typed - 32) / 1.8 if unit == "F" or (inch and unit != "C") else typed


class DegreesField(forms.Field):
    """A temperature typed in the keeper's unit and kept in °C."""

    def __init__(self, *, inch: bool, coldest_c: float, warmest_c: float, unlikely: str, **kwargs: Any) -> None:
        widget = forms.TextInput(attrs={"inputmode": "text", "class": "short", "autocomplete": "off"})
        super().__init__(widget=widget, **kwargs)
        self.inch, self.coldest_c, self.warmest_c, self.unlikely = inch, coldest_c, warmest_c, unlikely

    def to_python(self, value: Any) -> float | None:
        if not str(value or "").strip():
            return None
        try:
            celsius = typed_celsius(str(value), inch=self.inch)
        except ValueError:
            raise forms.ValidationError("Type a number, such as −18.") from None
        if not math.isfinite(celsius) or not self.coldest_c <= celsius <= self.warmest_c:
            raise forms.ValidationError(self.unlikely)
        return celsius

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, (int, float)):
            shown = fahrenheit(value) if self.inch else value
            return f"{shown:.1f}".removesuffix(".0")
        return value
