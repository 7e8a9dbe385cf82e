"""The forms of groups."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.records import ReadAccess
from archive.sorting.models import Group


class GroupForm(forms.Form):
    """A group of things."""

    title = forms.CharField(
        label="Name", max_length=300, help_text="“Elsbeth’s wedding”, “The summer at the sanatorium”."
    )
    sort = forms.ChoiceField(
        label="What holds it together", choices=Group.Sort.choices, initial=Group.Sort.OTHER, required=False
    )
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )

    def clean_sort(self) -> str:
        return self.cleaned_data.get("sort") or Group.Sort.OTHER

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES


class AddThingsForm(forms.Form):
    """Numbers of things to add, as typed."""

    numbers = forms.CharField(
        label="Numbers of things to add",
        max_length=20_000,
        required=False,
        help_text="As on the tags, one on a line or with commas between.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, needed: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["numbers"].required = needed
