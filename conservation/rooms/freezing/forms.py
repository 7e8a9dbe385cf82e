"""Forms of treating by cold."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.utils import timezone

from archive.access.models import Account
from archive.boxes.fields import BoxField
from archive.boxes.queries import numbered
from archive.things.models import Thing
from conservation.fields import DegreesField, PastMomentField
from conservation.rooms.freezing import assess

_COLDEST_C, _WARMEST_C = -90.0, 60.0


class FreezingForm(forms.Form):
    """What goes into a bag."""

    title = forms.CharField(
        label="A name for the bag", max_length=200, help_text="Such as: scarves from the hall chest."
    )
    things = forms.CharField(
        label="The things in it", max_length=4000, help_text="Their numbers, such as 0214-6 0300-3. Dry and sound."
    )
    box = BoxField(label="Where it came from", help_text="That place is looked at again afterwards.")
    advised = forms.BooleanField(
        label="A conservator has said that these may be frozen", required=False,
        help_text="Needed for glass, bone, ivory, shell and weak or mixed things only.",
    )  # fmt: skip
    freezer = forms.CharField(label="Which freezer", max_length=200, required=False, help_text="Without food in it.")
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, reader: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.reader = reader
        box: Any = self.fields["box"]
        box.see_as(reader)
        for code, ask in assess.questions():
            self.fields[f"told_{code}"] = forms.BooleanField(label=ask, required=False)
        self.refused: list[tuple[Thing, list[assess.RefusalShown]]] = []

    def clean_things(self) -> list[Thing]:
        typed = [each for each in re.split(r"[\s,;]+", self.cleaned_data["things"]) if each]
        found = numbered(typed, self.reader)
        if found.bad or found.boxes:
            wrong = [f"{each.typed}: {each.why}" for each in found.bad]
            wrong += [f"{box.number} is a box: name the things in it" for box in found.boxes]
            raise forms.ValidationError("; ".join(wrong) + ".")
        return found.things

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        told = [name.removeprefix("told_") for name, value in cleaned.items() if name.startswith("told_") and value]
        for thing in cleaned.get("things") or []:
            if found := assess.refusals_of(thing, told):
                self.refused.append((thing, found))
        never = [thing for thing, found in self.refused if any(each.level == "never" for each in found)]
        if never:
            names = ", ".join(str(each) for each in never)
            self.add_error("things", f"Not to be frozen: {names}. Why, and what to do instead, stands above.")
        elif self.refused and not cleaned.get("advised"):
            names = ", ".join(str(thing) for thing, _ in self.refused)
            self.add_error("advised", f"Ask a conservator about {names} first, and tick this when you have.")
        return cleaned

    def values(self) -> dict[str, Any]:
        """Return the columns of the treatment."""
        return {name: self.cleaned_data[name] for name in ("title", "box", "freezer", "note")}

    def packed(self) -> list[tuple[Thing, bool]]:
        """Return the things with whether each needed, and has, a conservator's word."""
        asked = {thing.pk for thing, _ in self.refused}
        return [(thing, thing.pk in asked) for thing in self.cleaned_data["things"]]


class TimeForm(forms.Form):
    """When a step was taken."""

    at = PastMomentField(label="When")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"at": timezone.now().replace(second=0, microsecond=0), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)


class ReadingForm(TimeForm):
    """The temperature inside the bag."""

    field_order = ("celsius", "at")

    def __init__(self, *args: Any, inch: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["celsius"] = DegreesField(
            inch=inch,
            coldest_c=_COLDEST_C,
            warmest_c=_WARMEST_C,
            unlikely="No freezer is like that. Look at the thermometer again.",
            label=f"Inside the bag ({'°F' if inch else '°C'})",
            help_text="With the minus sign, such as −4 or −20.5." if inch else "With the minus sign, such as −21.5.",
        )
        self.order_fields(["celsius", "at"])


class StopForm(forms.Form):
    """Why a treatment is stopped."""

    why = forms.CharField(label="Why it is stopped", max_length=300)
