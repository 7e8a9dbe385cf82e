"""The form of a thing."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.records import ReadAccess
from archive.kinds import FAMILIES, kinds, states
from archive.preferences.fields import MeasureField
from archive.preferences.models import Preferences
from archive.preferences.units import G_PER_OUNCE, MM_PER_INCH
from archive.things.models import FilmBase, StripLevel, Use

LENGTHS = ("width_mm", "height_mm", "depth_mm")


def kind_choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Return the kinds as grouped choices, in the order of the list of kinds."""
    return [
        (family.name, [(each.code, each.name) for each in kinds() if each.family == family.code]) for family in FAMILIES
    ]


class ThingForm(forms.Form):
    """What is recorded of a thing; only the title is asked for, all else may wait."""

    title = forms.CharField(
        max_length=300, help_text="A few words by which you would ask for it, such as “Letter from the ferry house”."
    )
    kind_code = forms.ChoiceField(
        label="Kind", initial="unknown", help_text="It decides the advice. Not sure is a kind too."
    )
    made_text = forms.CharField(
        label="When it was made",
        max_length=200,
        required=False,
        help_text="As you would say it: about 1930, summer 1954, before 1914, 12 May 1910.",
    )
    states = forms.MultipleChoiceField(
        label="Condition",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick what you see or smell. Leave all empty when it is sound.",
    )
    parts = forms.MultipleChoiceField(
        label="Parts of another material",
        required=False,
        widget=forms.SelectMultiple(attrs={"size": 6}),
        help_text="The ribbon of a medal, the glass of a frame. The most delicate part decides.",
    )
    count = forms.IntegerField(
        label="How many pieces",
        initial=1,
        required=False,
        min_value=1,
        max_value=100_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    use = forms.ChoiceField(label="How often it is taken out", choices=Use.choices, initial=Use.RARE, required=False)
    film_base = forms.ChoiceField(
        label="Film base, if you know it", choices=[("", "not known"), *FilmBase.choices], required=False
    )
    strip_level = forms.ChoiceField(
        label="Acid strip reading, if you made one", choices=[("", "not tested"), *StripLevel.choices], required=False
    )
    note = forms.CharField(
        label="What you know about it",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 5}),
    )
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )

    def __init__(self, *args: Any, kept: Preferences, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        inch = kept.units == Preferences.Units.INCH
        unit, factor = ("in", MM_PER_INCH) if inch else ("mm", 1.0)
        for name in LENGTHS:
            word = name.partition("_")[0].capitalize()
            self.fields[name] = MeasureField(factor, 20_000, label=f"{word} ({unit})")
        self.fields["depth_mm"].help_text = "Thickness of one piece. Guess if you must; it sets the size of the box."
        self.fields["weight_g"] = MeasureField(
            G_PER_OUNCE if inch else 1.0,
            2_000_000,
            label="Weight (oz)" if inch else "Weight (g)",
            help_text="All pieces together.",
        )
        kind_field, states_field, parts_field = self.fields["kind_code"], self.fields["states"], self.fields["parts"]
        kind_field.choices = kind_choices()  # type: ignore[attr-defined]
        states_field.choices = [(each.code, each.name) for each in states() if each.code != "sound"]  # type: ignore[attr-defined]
        parts_field.choices = kind_choices()  # type: ignore[attr-defined]
        self.order_fields(
            [
                "title",
                "kind_code",
                "made_text",
                "states",
                *LENGTHS,
                "weight_g",
                "count",
                "use",
                "film_base",
                "strip_level",
                "parts",
                "note",
                "access",
            ]
        )

    def clean_count(self) -> int:
        return self.cleaned_data.get("count") or 1

    def clean_use(self) -> str:
        return self.cleaned_data.get("use") or Use.RARE

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES
