"""Forms of days that matter: one that the keeper adds, and what they make of one that the catalogue knows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.stories.fields import ThingField
from archive.things.fields import DayField
from archive.things.models import Thing

_SPARE_LINES = 3
WEIGHTS = ((1, "a little (1)"), (2, "much (2)"), (3, "most of all (3)"))


class OwnForm(forms.Form):
    """A day that the keeper adds, and things that would be right for it."""

    title = forms.CharField(label="What day it is", max_length=300, help_text="Such as: the village fair.")
    day = DayField(label="Day", required=True, help_text="If it comes every year, the first time it was kept.")
    yearly = forms.BooleanField(label="It comes every year", required=False, initial=True)
    weight = forms.TypedChoiceField(label="How much it matters", choices=WEIGHTS, coerce=int, initial=2)
    note = forms.CharField(label="Note", max_length=300, required=False)
    access = forms.ChoiceField(label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES)

    def __init__(self, data: Any = None, *, reader: Account, things: Sequence[Thing] = (), **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        for number in range(len(things) + _SPARE_LINES):
            field = ThingField(label=f"Thing {number + 1} that would be right for it")
            field.reader = reader
            if number < len(things):
                field.initial = things[number]
            self.fields[f"thing_{number}"] = field

    def values(self) -> dict[str, Any]:
        """Return what is recorded of the day itself."""
        return {name: self.cleaned_data[name] for name in ("title", "day", "yearly", "weight", "note", "access")}

    def things(self) -> list[Thing]:
        """Return the things named, each once."""
        found = [value for name, value in self.cleaned_data.items() if name.startswith("thing_") and value]
        return list(dict.fromkeys(found))


class ChoiceForm(forms.Form):
    """Whether a day of the catalogue counts, and how much."""

    counts = forms.BooleanField(label="It counts as an occasion", required=False)
    weight = forms.TypedChoiceField(
        label="How much it matters", choices=(("", "as the rule says"), *WEIGHTS), required=False, empty_value=None,
        coerce=int,
    )  # fmt: skip
