"""Forms of housing: what the keeper decided, and where a box stands."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from conservation.fields import PastDayField
from conservation.housing.assess_whole import enclosure_choices, place_choices


class DecisionForm(forms.Form):
    """What a thing is put in."""

    form = forms.ChoiceField(label="Put it in")
    material = forms.ChoiceField(label="Of", required=False)
    words = forms.CharField(
        label="In your own words", max_length=300, required=False, help_text="Such as: the grey box from the mill."
    )
    reason = forms.CharField(label="Why so", max_length=300, required=False)
    decided_on = PastDayField(label="Decided on", initial=timezone.localdate)
    done_on = PastDayField(label="Done on", help_text="Leave empty until it is done; then it is on the list to do.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        forms_, materials = enclosure_choices()
        self.fields["form"].choices = forms_  # type: ignore[attr-defined]
        self.fields["material"].choices = materials  # type: ignore[attr-defined]

    def clean_decided_on(self) -> Any:
        return self.cleaned_data.get("decided_on") or timezone.localdate()


class PlaceForm(forms.Form):
    """In what furniture and what part of the house something stands."""

    furniture = forms.ChoiceField(label="What it is, or what it stands in", required=False)
    location = forms.ChoiceField(
        label="Which part of the house", required=False, help_text="It holds for everything inside, too."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["furniture"].choices = place_choices("furniture")  # type: ignore[attr-defined]
        self.fields["location"].choices = place_choices("location")  # type: ignore[attr-defined]
