"""Forms of boxes: recording one, several of a sort, and moving."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.access.models import Account
from archive.access.records import ReadAccess
from archive.boxes.fields import BoxField
from archive.boxes.models import Level
from archive.preferences.fields import MeasureField
from archive.preferences.models import Preferences
from archive.preferences.units import MM_PER_INCH

INNER = ("inner_width_mm", "inner_height_mm", "inner_depth_mm")
NUMBERS_AT_MOST = 2_000
MANY_AT_MOST = 100


class _Sized(forms.Form):
    """What every form of a box shares: where it stands, inner sizes in the keeper's unit, what it is made of."""

    level = forms.ChoiceField(label="What it is", choices=Level.choices, initial=Level.BOX)
    inside = BoxField(label="Stands in")
    made_of = forms.CharField(
        label="What it is made of",
        max_length=200,
        required=False,
        help_text="Such as oak, tin, grey board, plastic. It matters for what may lie in it.",
    )
    access = forms.ChoiceField(
        label="Who may see it", choices=ReadAccess.choices, initial=ReadAccess.RELATIVES, required=False
    )

    def __init__(self, *args: Any, kept: Preferences, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit, factor = ("in", MM_PER_INCH) if kept.units == Preferences.Units.INCH else ("mm", 1.0)
        for name in INNER:
            word = name.split("_")[1].capitalize()
            self.fields[name] = MeasureField(factor, 20_000, 1.0, label=f"{word} ({unit})")
        inside = self.fields["inside"]
        if isinstance(inside, BoxField):
            inside.see_as(reader)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        for name in INNER:
            # A size shown rounded and sent back as shown stays what it was.
            if name in values and name not in self.changed_data:
                values[name] = self.get_initial_for_field(self.fields[name], name)
        return values

    def clean_access(self) -> str:
        return self.cleaned_data.get("access") or ReadAccess.RELATIVES


class BoxForm(_Sized):
    """One box, shelf, piece of furniture or room; only its name is asked for."""

    title = forms.CharField(
        label="Name", max_length=300, help_text="What you call it, such as “Bureau”, “Top drawer”, “Shoe box, letters”."
    )
    position = forms.IntegerField(
        label="Its place in the row",
        required=False,
        min_value=0,
        max_value=1_000_000,
        help_text="1 comes first among what stands beside it.",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    note = forms.CharField(label="Note", required=False, max_length=20_000, widget=forms.Textarea(attrs={"rows": 4}))
    field_order = ("title", "level", "inside", *INNER, "made_of", "note", "access", "position")

    def __init__(self, *args: Any, is_new: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_new:
            del self.fields["position"]
        self.order_fields(self.field_order)

    def clean_position(self) -> int:
        typed = self.cleaned_data.get("position")
        return int(self.initial.get("position") or 0) if typed is None else int(typed)


class ManyForm(_Sized):
    """Several of a sort at once: “Shelf 1” to “Shelf 4”."""

    stem = forms.CharField(label="Name, without the figure", max_length=290, initial="Shelf")
    first = forms.IntegerField(
        label="First figure",
        initial=1,
        min_value=0,
        max_value=100_000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    how_many = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=MANY_AT_MOST,
        initial=4,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "short"}),
    )
    field_order = ("level", "stem", "first", "how_many", "inside", *INNER, "made_of", "access")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["level"].initial = Level.SHELF
        self.order_fields(self.field_order)

    def titles(self) -> list[str]:
        """Return the names that are asked for."""
        first, how_many = self.cleaned_data["first"], self.cleaned_data["how_many"]
        return [f"{self.cleaned_data['stem']} {figure}" for figure in range(first, first + how_many)]


class MoveForm(forms.Form):
    """What is to be moved, by typed numbers; and where to. Photographs are read in the view."""

    numbers = forms.CharField(
        label="Numbers of what is to be moved",
        required=False,
        initial="",
        max_length=60_000,
        help_text="Type or paste them, one on each line or with commas between. A box takes along what is in it.",
        widget=forms.Textarea(attrs={"rows": 6, "inputmode": "text", "autocapitalize": "none", "spellcheck": "false"}),
    )
    into = BoxField(
        label="Into which box, shelf or room", initial="", help_text="Its number, its name, or one of the list."
    )
    take_out = forms.BooleanField(label="Take them out: they are in no box for now", required=False)

    def __init__(self, *args: Any, reader: Account | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        into = self.fields["into"]
        if isinstance(into, BoxField):
            into.see_as(reader)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        if values.get("take_out") and values.get("into"):
            self.add_error("take_out", "Either name a box, or tick this; not both.")
        return values
