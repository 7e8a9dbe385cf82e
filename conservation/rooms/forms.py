"""The form of what a room is like."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.preferences.fields import MeasureField
from archive.preferences.models import Preferences
from archive.preferences.units import MM_PER_INCH
from conservation.rooms.assess import Choices, choices

SIDES = ("width_mm", "length_mm")
_SHORTEST_MM, _LONGEST_MM = 300.0, 100_000.0


class _Several(forms.MultipleChoiceField):
    """Some codes of a list, kept in the list's order."""

    def __init__(self, which: str, **kwargs: Any) -> None:
        super().__init__(required=False, widget=forms.CheckboxSelectMultiple, choices=choices(which), **kwargs)

    def clean(self, value: Any) -> list[str]:
        chosen = set(super().clean(value))
        offered: Any = self.choices
        return [code for code, _ in offered if code in chosen]


def _with_nothing(which: str) -> Choices:
    return [("", "not said yet"), *choices(which)]


class FactsForm(forms.Form):
    """Walls, windows, heat, water and equipment of a room."""

    def __init__(self, *args: Any, kept: Preferences, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit, factor = ("in", MM_PER_INCH) if kept.units == Preferences.Units.INCH else ("mm", 1.0)
        self.fields["floor"] = forms.ChoiceField(
            label="Where in the house it is", required=False, choices=_with_nothing("floor")
        )
        self.fields["outside_walls"] = _Several("wall", label="Its outside walls look to the")
        self.fields["windows"] = forms.IntegerField(
            label="How many windows",
            required=False,
            min_value=0,
            max_value=50,
            widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
        )
        self.fields["light"] = forms.ChoiceField(
            label="How much daylight", required=False, choices=_with_nothing("light")
        )
        self.fields["heat"] = _Several("heat", label="What heats it")
        self.fields["water"] = _Several("water", label="Where water could come from")
        self.fields["equipment"] = _Several("equipment", label="What else stands or hangs in it")
        for name in SIDES:
            self.fields[name] = MeasureField(
                factor, _LONGEST_MM, _SHORTEST_MM, label=f"{name.split('_')[0].capitalize()} of the room ({unit})"
            )
        self.fields["note"] = forms.CharField(
            label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 4})
        )

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for name in SIDES:
            # A size shown rounded and sent back as shown stays what it was.
            if name in values and name not in self.changed_data:
                values[name] = self.get_initial_for_field(self.fields[name], name)
        return values
