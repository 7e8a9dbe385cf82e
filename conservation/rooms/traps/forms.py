"""Forms of traps: where one lies, and what is in it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from conservation.fields import PastDayField
from conservation.rooms.traps.models import Trap


class _Percent(forms.IntegerField):
    """A place in percent of a wall, kept in thousandths."""

    def __init__(self, label: str) -> None:
        super().__init__(
            label=label, min_value=0, max_value=100,
            widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
        )  # fmt: skip

    def clean(self, value: Any) -> int:
        return int(super().clean(value)) * 10


class TrapForm(forms.Form):
    """Where a trap lies."""

    across = _Percent("From the left, in percent of the room’s width")
    along = _Percent("From the top, in percent of the room’s length")
    where = forms.CharField(
        label="Where that is", max_length=300, required=False, help_text="Such as: left of the door, on the skirting."
    )
    lure = forms.BooleanField(label="It has a lure for moths (pheromone)", required=False)
    placed_on = PastDayField(label="Laid on", required=True, initial=timezone.localdate)

    def __init__(self, *args: Any, moving: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if moving:
            del self.fields["placed_on"]


class CountForm(forms.Form):
    """What is in a trap, by group; an empty field is none."""

    def __init__(self, *args: Any, trap: Trap, groups: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.trap = trap
        for code, name in groups:
            self.fields[code] = forms.IntegerField(
                label=name, required=False, min_value=0, max_value=10_000, initial="",
                widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short", "autocomplete": "off"}),
            )  # fmt: skip
        self.fields["counted_on"] = PastDayField(label="Counted on", required=True, initial=timezone.localdate)
        self.fields["renewed"] = forms.BooleanField(label="I laid a new trap in its place", required=False)
        self.fields["note"] = forms.CharField(label="Note", max_length=300, required=False)
        self.codes = [code for code, _ in groups]

    def clean_counted_on(self) -> Any:
        day = self.cleaned_data["counted_on"]
        if day < self.trap.placed_on:
            raise forms.ValidationError("The trap was laid after this day.")
        return day

    def values(self) -> dict[str, Any]:
        """Return the count's columns."""
        return {**self.cleaned_data, **{code: self.cleaned_data[code] or 0 for code in self.codes}}
