"""The form of a sheet of labels."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.labels.layouts import layouts


class SheetForm(forms.Form):
    """Which layout, where to begin, and how far this printer is off."""

    layout = forms.ChoiceField(
        label="Sheet", help_text="Measure one label and the sheet’s margins if you are not sure."
    )
    start = forms.IntegerField(
        label="Begin at label",
        initial=1,
        min_value=1,
        max_value=200,
        required=False,
        help_text="Count from the top left, row by row. So a begun sheet is used up.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    right_mm = forms.FloatField(
        label="Move everything right (mm)",
        initial=0,
        min_value=-15,
        max_value=15,
        required=False,
        help_text="A minus sign moves it left.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )
    down_mm = forms.FloatField(
        label="Move everything down (mm)",
        initial=0,
        min_value=-15,
        max_value=15,
        required=False,
        help_text="A minus sign moves it up.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "short"}),
    )
    content = forms.ChoiceField(
        label="What the square code holds",
        required=False,
        initial="address",
        choices=[("address", "the address of the thing’s page here"), ("number", "the number only")],
    )
    outline = forms.BooleanField(label="Draw the edges (for a test on plain paper)", required=False)
    ruler = forms.BooleanField(label="Draw a 100 mm line, to see whether the printer shrinks the page", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["layout"].choices = [(each.code, each.name) for each in layouts()]  # type: ignore[attr-defined]

    def clean_start(self) -> int:
        return self.cleaned_data.get("start") or 1

    def clean_right_mm(self) -> float:
        return self.cleaned_data.get("right_mm") or 0.0

    def clean_down_mm(self) -> float:
        return self.cleaned_data.get("down_mm") or 0.0
