"""The forms of lots."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.people.fields import PersonField
from archive.pictures.models import View
from archive.places.fields import PlaceField
from archive.sorting.forms import Choices

LOT_PICTURES = (
    (View.AS_FOUND, "as_found", "As it came, before anything is moved: the whole, then each layer"),
    (View.WRAPPER, "wrapper", "Wrappers, labels, string: everything with writing"),
)


class LotForm(forms.Form):
    """What arrived together."""

    title = forms.CharField(
        label="What you call it", max_length=300, help_text="“The sea chest from Aunt Ragna’s flat”."
    )
    from_whom = PersonField(label="Whose it was")
    from_whom_text = forms.CharField(label="Or in words", max_length=300, required=False)
    from_where = PlaceField(label="Where it came from")
    arrived_text = forms.CharField(
        label="When it came", max_length=200, required=False, help_text="As you would say it: March 2019, after 2001."
    )
    found_in = forms.CharField(
        label="Found in", max_length=300, required=False, help_text="The chest, drawer or bag it lay in."
    )
    found_with = forms.CharField(
        label="Found with", max_length=300, required=False, help_text="What lay beside it and stayed elsewhere."
    )
    position_note = forms.CharField(
        label="How it lay",
        required=False,
        max_length=20_000,
        help_text="Order, layers, bundles: what is lost when the first thing is lifted.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    wrapper_text = forms.CharField(
        label="What stood on wrappers and labels",
        required=False,
        max_length=20_000,
        help_text="Letter by letter, mistakes too.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 4}))
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )

    def __init__(self, *args: Any, reader: Account | None, only: tuple[str, ...] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("from_whom", "from_where"):
            self.fields[name].reader = reader  # type: ignore[attr-defined]
        for name in list(self.fields):
            if only and name not in only:
                del self.fields[name]

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES


class NumbersForm(forms.Form):
    """Numbers to add, as typed."""

    numbers = forms.CharField(
        label="Numbers",
        max_length=20_000,
        help_text="As on the tags, one on a line or with commas between, in the order in which they lay.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    found_where = forms.CharField(
        label="Where in the lot they lay", max_length=300, required=False, help_text="“Second layer, under the shirts.”"
    )


class ApartForm(forms.Form):
    """Keep a lot apart until a day."""

    until = forms.DateField(label="Look again on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    why = forms.CharField(
        label="Why it is kept apart", max_length=300, help_text="“Small holes and fresh dust in the chair leg.”"
    )

    def clean_until(self) -> Any:
        day = self.cleaned_data["until"]
        if day <= timezone.localdate():
            raise forms.ValidationError("Choose a day that is still to come.")
        return day


class AgainForm(forms.Form):
    """What was seen on looking again."""

    seen = forms.CharField(label="What you saw", max_length=1_000, widget=forms.Textarea(attrs={"rows": 3}))
    outcome = forms.ChoiceField(
        label="And so",
        choices=[("release", "it joins the others"), ("prolong", "it stays apart")],
        widget=Choices,
    )
    until = forms.DateField(
        label="Look again on",
        required=False,
        help_text="If it stays apart.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("outcome") == "prolong" and "until" not in self.errors:
            day = cleaned.get("until")
            if day is None or day <= timezone.localdate():
                self.add_error("until", "Choose a day that is still to come.")
        return cleaned
