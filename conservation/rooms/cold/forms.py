"""Forms of cold places: what one is like, and what is taken out."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.fields import BoxField
from archive.preferences.models import Preferences
from conservation.fields import DegreesField, PastDayField, PastMomentField
from conservation.rooms.cold.assess import choices

_COLDEST_C, _WARMEST_C = -60.0, 30.0
_YES_NO = [("", "I do not know"), ("yes", "yes"), ("no", "no")]


class ColdForm(forms.Form):
    """A refrigerator or freezer for film and colour; a new one has a name and stands in a room."""

    title = forms.CharField(label="Name", max_length=300, help_text="Such as “Small freezer” or “Film refrigerator”.")
    inside = BoxField(label="Stands in", help_text="The room: its number, its name, or one of the list.")
    appliance = forms.ChoiceField(label="What it is", widget=forms.RadioSelect)
    frost_free = forms.ChoiceField(
        label="Does it keep itself free of frost?", required=False, choices=_YES_NO, widget=forms.RadioSelect
    )
    no_food = forms.BooleanField(label="No food is kept in it, and none will be", required=False)
    measured_on = PastDayField(label="Read on")
    card_pct = forms.IntegerField(
        label="The dampest card in it shows (%)",
        required=False,
        min_value=0,
        max_value=100,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
        help_text="Leave it empty if nothing is packed yet.",
    )
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))
    field_order = (
        "title", "inside", "appliance", "frost_free", "no_food", "temperature_c", "measured_on", "card_pct", "note",
    )  # fmt: skip

    def __init__(self, *args: Any, kept: Preferences, reader: Account | None, is_new: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        inch = kept.units == Preferences.Units.INCH
        self.fields["temperature_c"] = DegreesField(
            inch=inch,
            coldest_c=_COLDEST_C,
            warmest_c=_WARMEST_C,
            unlikely="No refrigerator or freezer is like that. Look at the thermometer again.",
            required=False,
            label=f"Temperature in it ({'°F' if inch else '°C'})",
            help_text="Leave a thermometer in it for a day with the door shut. A minus sign for frost.",
        )
        self.fields["appliance"].choices = choices("appliance")  # type: ignore[attr-defined]
        inside = self.fields["inside"]
        if isinstance(inside, BoxField):
            inside.see_as(reader)
        if not is_new:
            del self.fields["title"], self.fields["inside"]
        self.order_fields(self.field_order)

    def clean_frost_free(self) -> bool | None:
        return {"yes": True, "no": False}.get(self.cleaned_data.get("frost_free", ""))

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("temperature_c") is not None and "temperature_c" not in self.changed_data:
            values["temperature_c"] = self.get_initial_for_field(self.fields["temperature_c"], "temperature_c")
        if values.get("temperature_c") is not None and not values.get("measured_on"):
            values["measured_on"] = timezone.localdate()
        return values


class OutForm(forms.Form):
    """What is taken out, how large the package is, and what for."""

    what = forms.ChoiceField(label="What comes out")
    package = forms.ChoiceField(label="How large the package is", widget=forms.RadioSelect)
    why = forms.CharField(
        label="What for", max_length=300, required=False, help_text="Such as: to be photographed, to show Ida."
    )

    def __init__(self, *args: Any, what: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["what"].choices = what  # type: ignore[attr-defined]
        self.fields["package"].choices = choices("package")  # type: ignore[attr-defined]
        self.fields["out_at"] = PastMomentField(
            label="Taken out at",
            initial=timezone.now,
            still_to_come="That is still to come. Say when it was taken out.",
        )
        self.order_fields(("what", "package", "out_at", "why"))
